"""Months and stamps as limits: never stepped, never earlier for a larger limit."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from upkeep.dates import find_last_valid_day, find_month_due, parse_stamp

anchors = st.dates(date(1990, 1, 1), date(2100, 12, 31)) | st.builds(
    lambda year, month: date(year, month, 1) - timedelta(days=1),  # last days of months
    st.integers(1991, 2100),
    st.integers(1, 12),
)


@given(anchors, st.integers(1, 240), st.integers(1, 24))
def test_month_limit_agrees_with_dateutil(anchor: date, months: int, times: int) -> None:
    expected = anchor + relativedelta(months=months * times)
    assert find_month_due(anchor, months, times) == expected


@given(anchors, st.integers(1, 600), st.integers(1, 600))
def test_longer_month_limit_is_later(anchor: date, one: int, other: int) -> None:
    short, long = sorted((one, other))
    assert (find_month_due(anchor, short) < find_month_due(anchor, long)) == (short < long)


@given(anchors, anchors, st.integers(1, 600))
def test_later_anchor_is_never_due_earlier(one: date, other: date, months: int) -> None:
    early, late = sorted((one, other))
    assert find_month_due(early, months) <= find_month_due(late, months)


@given(anchors, st.integers(0, 200), st.sampled_from((4, 7, 10)))
def test_stamp_is_valid_at_least_its_life_from_its_last_day_or_month(
    day: date, life: int, precision: int
) -> None:
    stamp = parse_stamp(day.isoformat()[:precision])
    last = find_last_valid_day(stamp, life)
    assert last >= day + relativedelta(months=life)
    if precision < 10:
        assert (last + timedelta(days=1)).day == 1  # a month or a year runs to its end


@pytest.mark.parametrize(
    ("anchor", "months", "due"),
    [
        (date(2027, 1, 31), 1, date(2027, 2, 28)),
        (date(2027, 1, 31), 2, date(2027, 3, 31)),  # counted from the anchor, not from February
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
        (date(2028, 2, 29), 48, date(2032, 2, 29)),
        (date(2096, 2, 29), 48, date(2100, 2, 28)),
    ],
)
def test_month_limit_clips_to_the_last_day(anchor: date, months: int, due: date) -> None:
    assert find_month_due(anchor, months) == due
