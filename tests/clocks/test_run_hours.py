"""The hour meter over days afloat."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from upkeep.clocks.rates import PausedClock, build_clock, pause_clock
from upkeep.clocks.run_hours import HourMeter, build_meter, estimate_rate

FIRST = date(2024, 1, 1)
ORIGIN = FIRST.toordinal()
END = ORIGIN + 15 * 365
Readings = list[tuple[date, float]]


def afloat_but_for(*paused: tuple[int, int]) -> PausedClock:
    """Days afloat, but for spells given in days after the first."""
    spells = [(ORIGIN + out, ORIGIN + back) for out, back in paused]
    return pause_clock(build_clock([(ORIGIN, 1.0)], END), spells, ORIGIN, END)


@st.composite
def readings(draw: st.DrawFn) -> Readings:
    """Rising readings of one meter, at most 24 h a day."""
    rows: Readings = []
    at, hours = draw(st.integers(0, 200)), draw(st.floats(0, 500))
    for _ in range(draw(st.integers(0, 7))):
        days = draw(st.integers(1, 200))
        at, hours = at + days, hours + draw(st.floats(0, 8)) * days
        rows.append((FIRST + timedelta(days=at), hours))
    return rows


winters = st.sampled_from(((), ((100, 250),), ((30, 60), (200, 400), (500, 501))))
stated = st.none() | st.floats(0, 10)
anchors = st.integers(0, 900).map(lambda days: ORIGIN + days)
limits = st.floats(0.1, 600)


def build(rows: Readings, paused: Sequence[tuple[int, int]], use: float | None) -> HourMeter:
    return build_meter(afloat=afloat_but_for(*paused), readings=rows, stated_h_per_day=use)


@given(st.builds(build, readings(), winters, stated), anchors, limits)
def test_due_day_is_within_the_limit_and_the_next_day_past_it(
    meter: HourMeter, anchor: int, limit: float
) -> None:
    due = meter.find_due(anchor, limit)
    assume(due is not None)
    assert due is not None
    assert meter.hours_on(due) - meter.hours_on(anchor) <= limit + 1e-6
    assert meter.hours_on(due + 1) - meter.hours_on(anchor) > limit - 1e-6
    assert anchor <= due <= anchor + 3660


@given(st.builds(build, readings(), winters, stated), anchors, limits, limits)
def test_larger_limit_is_never_earlier(
    meter: HourMeter, anchor: int, one: float, other: float
) -> None:
    small, large = (meter.find_due(anchor, limit) for limit in sorted((one, other)))
    assert large is None or (small is not None and small <= large)


@given(readings(), winters, stated)
def test_meter_never_falls_and_shows_what_was_read(
    rows: Readings, paused: tuple[tuple[int, int], ...], use: float | None
) -> None:
    meter = build(rows, paused, use)
    shown = [meter.hours_on(day) for day in range(ORIGIN, ORIGIN + 1800, 9)]
    assert all(after >= before - 1e-6 for before, after in pairwise(shown))
    if not paused:
        for on, hours in rows:
            assert meter.hours_on(on.toordinal()) == pytest.approx(hours)


def test_rate_is_the_median_slope_of_sens_own_example() -> None:
    # P. K. Sen, J. Am. Stat. Assoc. 63 (1968): 4 per unit of time
    days, hours = (1, 2, 3, 4, 10, 12, 18), (9, 15, 19, 20, 45, 55, 78)
    assert estimate_rate(tuple(zip(days, hours, strict=True)), None) == 4


def test_three_readings_are_pooled_with_the_stated_use() -> None:
    points = ((0.0, 100.0), (20.0, 110.0), (60.0, 160.0))
    assert estimate_rate(points, 0.5) == pytest.approx(0.7)  # (0.5 × 90 + 60) / (90 + 60)
    assert estimate_rate(points, None) == 1.0  # 60 h in 60 days


def test_four_readings_count_alone_by_their_median_slope() -> None:
    points = ((0.0, 100.0), (20.0, 110.0), (60.0, 160.0), (70.0, 180.0))
    # slopes 0.5, 1, 8/7, 1.25, 1.4, 2: half of 8/7 + 5/4
    assert estimate_rate(points, 0.5) == pytest.approx(67 / 56)


def test_hours_run_ashore_count_at_the_later_reading_alone() -> None:
    # read on days 5, 20, 45 and 60, ashore from day 10 to 50: 900 h by day 60 cannot all have
    # run on the ten days afloat after day 45 or day 20, nor on the fifteen after day 5
    rows = [
        (FIRST + timedelta(days=n), h) for n, h in ((5, 0.0), (20, 1.0), (45, 2.0), (60, 900.0))
    ]
    meter = build(rows, ((10, 50),), 1.0)
    assert meter.hours_on(ORIGIN + 60) == 900
    assert meter.find_due(ORIGIN + 60, 10) == ORIGIN + 70  # one reading: the stated use


def test_nothing_known_of_the_use_gives_no_day() -> None:
    assert build([], (), None).find_due(ORIGIN, 100) is None
    assert build([(FIRST, 50.0)], (), None).find_due(ORIGIN, 100) is None


def test_hours_stand_still_ashore() -> None:
    meter = build([], ((10, 40),), 2.0)
    assert meter.find_due(ORIGIN, 18) == ORIGIN + 39  # nine days to day 9, then ashore
    assert meter.find_due(ORIGIN, 20) == ORIGIN + 40
