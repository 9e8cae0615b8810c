"""Growth counted in days at 20 °C, against a sum over single days."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upkeep.clocks.fouling import count_fouling, find_class_factor, find_fouling_due
from upkeep.model import Period, Water

DAY = timedelta(days=1)
starts = st.dates(date(2024, 1, 1), date(2029, 12, 31))
months = st.lists(st.integers(-2, 36), min_size=12, max_size=12)
factors = st.sampled_from((0.3, 0.6, 1.0, 1.6))
limits = st.floats(0.1, 120)


@st.composite
def immersions(draw: st.DrawFn) -> list[Period] | None:
    """Spells in the water, in order; None is always."""
    if draw(st.booleans()):
        return None
    rows, day = [], date(2023, 6, 1)
    for _ in range(draw(st.integers(1, 8))):
        day += timedelta(days=draw(st.integers(1, 250)))
        end = day + timedelta(days=draw(st.integers(1, 300)))
        rows.append(Period(first=day, end=end))
        day = end
    if draw(st.booleans()):
        rows.append(Period(first=day + 5 * DAY, end=None))
    return rows


def count(
    start: date, end: date, monthly_c: Sequence[float], factor: float, wet: list[Period] | None
) -> float:
    total, day = 0.0, start
    while day < end:
        day += DAY
        if wet is None or any(p.first <= day and (p.end is None or day < p.end) for p in wet):
            warmth = min(30, max(0, monthly_c[day.month - 1]))
            total += factor * 2 ** ((warmth - 20) / 10)
    return total


@given(starts, st.integers(0, 900), months, factors, immersions())
def test_count_is_the_sum_over_days_in_the_water(
    start: date, span: int, monthly_c: list[int], factor: float, wet: list[Period] | None
) -> None:
    end = start + timedelta(days=span)
    found = count_fouling(
        start=start, end=end, monthly_water_c=monthly_c, class_factor=factor, immersed=wet
    )
    assert found == pytest.approx(count(start, end, monthly_c, factor, wet), abs=1e-6)


@given(starts, limits, months, factors, immersions())
def test_due_day_is_within_the_limit_and_the_next_day_past_it(
    start: date, limit: float, monthly_c: list[int], factor: float, wet: list[Period] | None
) -> None:
    due = find_fouling_due(
        start=start,
        limit_days_at_20c=limit,
        monthly_water_c=monthly_c,
        class_factor=factor,
        immersed=wet,
    )
    last = start + timedelta(days=3660)
    if due is None:
        assert count(start, last, monthly_c, factor, wet) <= limit + 1e-6
    else:
        assert start <= due <= last
        assert count(start, due, monthly_c, factor, wet) <= limit + 1e-6
        assert count(start, due + DAY, monthly_c, factor, wet) > limit - 1e-6


@given(starts, st.tuples(limits, limits), months, factors, immersions())
def test_larger_limit_is_never_earlier(
    start: date,
    two: tuple[float, float],
    monthly_c: list[int],
    factor: float,
    wet: list[Period] | None,
) -> None:
    small, large = (
        find_fouling_due(
            start=start,
            limit_days_at_20c=limit,
            monthly_water_c=monthly_c,
            class_factor=factor,
            immersed=wet,
        )
        for limit in sorted(two)
    )
    assert large is None or (small is not None and small <= large)


@given(starts, limits, months)
def test_richer_water_is_never_later(start: date, limit: float, monthly_c: list[int]) -> None:
    open_water, rich = (
        find_fouling_due(
            start=start, limit_days_at_20c=limit, monthly_water_c=monthly_c, class_factor=factor
        )
        for factor in (0.6, 1.6)
    )
    assert open_water is None or (rich is not None and rich <= open_water)


def test_thirty_days_at_20_degrees_are_thirty_days() -> None:
    due = find_fouling_due(
        start=date(2026, 6, 1), limit_days_at_20c=30, monthly_water_c=[20] * 12, class_factor=1
    )
    assert due == date(2026, 7, 1)


@pytest.mark.parametrize(
    ("moving", "salinity", "factor"),
    [
        ("open", "sea", 0.6),
        ("marina", "brackish", 1.0),
        ("rich", "sea", 1.6),
        ("rich", "fresh", 0.3),
    ],
)
def test_fresh_water_has_its_own_factor(moving: str, salinity: str, factor: float) -> None:
    water = Water(
        id="w",
        name="w",
        moving=moving,
        salinity=salinity,
        monthly_c=(10.0,) * 12,
        monthly_air_c=None,
        jurisdiction="",
    )
    assert find_class_factor(water) == factor
