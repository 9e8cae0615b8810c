"""Whole days: the last day on which a limit has not been passed."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upkeep.errors import QuantityError
from upkeep.physics.whole_days import find_last_whole_day

START = date(2026, 10, 15)


@pytest.mark.parametrize(
    ("days", "due"),
    [
        (0, date(2026, 10, 15)),
        (0.99, date(2026, 10, 15)),
        (16.999_999_999_99, date(2026, 11, 1)),
        (17, date(2026, 11, 1)),
        (17.01, date(2026, 11, 1)),
    ],
)
def test_limit_met_exactly_keeps_its_day(days, due):
    """Counted on a calendar by hand; rounding never costs a day."""
    assert find_last_whole_day(START, days) == due


@given(st.floats(0, 2e6))
def test_due_day_is_inside_the_limit_and_the_next_is_past_it(days):
    """Either way within the slack."""
    count = (find_last_whole_day(START, days) - START).days
    assert count <= days + 1e-9 < count + 1 + 1e-6


def test_limit_beyond_the_calendar_gives_no_date():
    """Endless too."""
    assert find_last_whole_day(START, 3e6) is None
    assert find_last_whole_day(START, float("inf")) is None
    assert find_last_whole_day(date.max, 0) == date.max


@pytest.mark.parametrize("days", [-1.0, float("nan")])
def test_limit_below_zero_is_refused(days):
    """It would be due before it began."""
    with pytest.raises(QuantityError):
        find_last_whole_day(START, days)
