"""Clocks that run at changing rates, against a sum over single days."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upkeep.clocks.rates import RateSpell, build_clock, find_rate_due, pause_clock
from upkeep.errors import QuantityError

START = date(2026, 3, 1)
DAY = timedelta(days=1)
SLACK = 1e-6  # far above rounding, far below what a day counts


@st.composite
def spells(draw: st.DrawFn) -> list[RateSpell]:
    """Rising spells about the start, some touching, some standing still."""
    rows, day = [], START + timedelta(days=draw(st.integers(-60, 60)))
    for _ in range(draw(st.integers(0, 5))):
        day += timedelta(days=draw(st.integers(0, 40)))
        end = day + timedelta(days=draw(st.integers(1, 120)))
        rate = draw(st.sampled_from((0.0, 0.25, 0.7, 1.0, 3.2)))
        rows.append(RateSpell(first=day, end=end, rate=rate))
        day = end
    return rows


def rate_on(day: date, rates: Sequence[RateSpell], default: float) -> float:
    return next((row.rate for row in rates if row.first <= day < row.end), default)


def count(after: date, until: date, rates: Sequence[RateSpell], default: float) -> float:
    whole = (until - after).days
    return sum(rate_on(after + n * DAY, rates, default) for n in range(1, whole + 1))


limits = st.floats(0, 200) | st.integers(0, 200).map(float)
defaults = st.sampled_from((0.0, 0.5, 1.0))


@given(spells(), limits, defaults)
def test_due_day_is_within_the_limit_and_the_next_day_past_it(
    rates: list[RateSpell], limit: float, default: float
) -> None:
    due = find_rate_due(start=START, limit=limit, rates=rates, default_rate=default)
    if due is None:
        end = max((row.end for row in rates), default=START)
        assert default == 0  # nothing after the last spell
        assert count(START, max(end, START), rates, default) <= limit + SLACK
    else:
        assert count(START, due, rates, default) <= limit + SLACK
        assert count(START, due + DAY, rates, default) > limit - SLACK


@given(spells(), limits, limits, defaults)
def test_larger_limit_is_never_earlier(
    rates: list[RateSpell], one: float, other: float, default: float
) -> None:
    small, large = (
        find_rate_due(start=START, limit=limit, rates=rates, default_rate=default)
        for limit in sorted((one, other))
    )
    assert large is None or (small is not None and small <= large)


def test_limit_met_on_the_last_day_before_a_pause_holds_through_the_pause() -> None:
    rates = [RateSpell(first=START + 10 * DAY, end=START + 30 * DAY, rate=0.0)]
    met = find_rate_due(start=START, limit=9, rates=rates, default_rate=1)
    assert met == START + 29 * DAY  # days 1 to 9 count, days 10 to 29 do not
    assert find_rate_due(start=START, limit=8.5, rates=rates, default_rate=1) == START + 8 * DAY


def test_limit_that_takes_more_than_ten_years_gives_no_day() -> None:
    assert find_rate_due(start=START, limit=3660, default_rate=1) == START + 3660 * DAY
    assert find_rate_due(start=START, limit=3661, default_rate=1) is None


def test_spells_out_of_order_are_refused() -> None:
    late = RateSpell(first=START + 9 * DAY, end=START + 12 * DAY, rate=1)
    early = RateSpell(first=START, end=START + 10 * DAY, rate=1)
    with pytest.raises(QuantityError) as caught:
        find_rate_due(start=START, limit=1, rates=[late, early])
    assert caught.value.key == "rates"


@given(
    st.lists(st.integers(1, 40), min_size=0, max_size=7),
    st.integers(0, 250),
    st.floats(0, 150) | st.integers(0, 150).map(float),
    st.sampled_from((0.25, 0.7, 1.0)),
)
def test_paused_clock_agrees_with_a_sum_over_single_days(
    lengths: list[int], anchor: int, limit: float, rate: float
) -> None:
    # stretches running and paused by turns, from day 0 on; after the last it runs or stands
    edges = [sum(lengths[:n]) for n in range(len(lengths) + 1)]
    paused = list(zip(edges[1::2], edges[2::2], strict=False))
    end = 400
    if len(edges) % 2 == 0:
        paused.append((edges[-1], 10**6))  # out for good
    clock = pause_clock(build_clock([(0, rate)], 10**6), paused, 0, end)

    def runs(day: int) -> bool:
        return not any(out <= day < back for out, back in paused)

    due, total, expected = clock.find_due(anchor, limit), 0.0, None
    for day in range(anchor + 1, end):
        total += rate * runs(day)
        if total > limit + 1e-9 * max(1.0, limit):
            expected = day - 1
            break
    assert due == expected
    assert clock.count_between(anchor, end - 1) == pytest.approx(
        sum(rate * runs(day) for day in range(anchor + 1, end))
    )
