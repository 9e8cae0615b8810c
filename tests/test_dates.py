"""Civil dates, against dateutil and a calendar walked day by day."""

from __future__ import annotations

from calendar import isleap
from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from upkeep.dates import (
    MonthDay,
    add_months,
    find_earliest,
    find_first_end_day,
    find_last_valid_day,
    find_month_due,
    find_season_due,
    parse_day,
    parse_month_day,
    parse_stamp,
    say_day,
)
from upkeep.errors import QuantityError

days = st.dates(date(1800, 1, 1), date(2400, 12, 31))
leap_days = st.sampled_from([date(year, 2, 29) for year in range(1804, 2400, 4) if isleap(year)])
month_days = st.builds(
    lambda day: MonthDay(month=day.month, day=day.day),
    st.dates(date(2000, 1, 1), date(2000, 12, 31)),
)


@given(st.one_of(days, leap_days), st.integers(-6000, 6000))
def test_adding_months_agrees_with_dateutil(anchor, months):
    """Leap days, century years and month ends among them."""
    assert add_months(anchor, months) == anchor + relativedelta(months=months)


@given(st.one_of(days, leap_days), st.integers(1, 120), st.integers(1, 40))
def test_month_due_counts_from_the_anchor_like_dateutil(anchor, months, times):
    """Never stepped from a clipped day."""
    expected = anchor + relativedelta(months=months * times)
    assert find_month_due(anchor, months, times) == expected


@pytest.mark.parametrize("year", [1900, 1996, 2000, 2023, 2024, 2096, 2100, 2400])
def test_end_of_january_clips_to_the_end_of_february(year):
    """Century years are leap years only by four hundred."""
    assert add_months(date(year, 1, 31), 1).day == (29 if isleap(year) else 28)


@pytest.mark.parametrize(
    ("anchor", "months", "times", "key"),
    [
        (date(2026, 1, 1), 0, 1, "months"),
        (date(2026, 1, 1), 1, 0, "times"),
        (date(9999, 12, 1), 1, 1, "months"),
        (date(2026, 1, 1), 12, 9000, "times"),
    ],
)
def test_month_due_refuses_by_name(anchor, months, times, key):
    """Below one, or past the end of the calendar."""
    with pytest.raises(QuantityError) as caught:
        find_month_due(anchor, months, times)
    assert caught.value.key == key


@given(st.integers(1800, 2400), st.integers(1, 12), st.integers(0, 400))
def test_month_stamp_with_a_life_ends_on_its_months_last_day(year, month, life):
    """The day before the first of the month after, by dateutil."""
    after = date(year, month, 1) + relativedelta(months=life + 1)
    stamp = parse_stamp(f"{year:04}-{month:02}")
    assert find_last_valid_day(stamp, life) == after - timedelta(days=1)
    assert find_first_end_day(stamp, life) == date(year, month, 1) + relativedelta(months=life)


@given(st.integers(1800, 2400), st.integers(0, 30))
def test_year_stamp_with_a_life_of_years_ends_on_new_years_eve(year, life):
    """Read cautiously it ends on its first day."""
    stamp = parse_stamp(str(year))
    assert find_last_valid_day(stamp, 12 * life) == date(year + life, 12, 31)
    assert find_first_end_day(stamp, 12 * life) == date(year + life, 1, 1)


@given(days, st.integers(0, 400))
def test_full_stamp_is_itself_and_its_life_counts_like_dateutil(day, life):
    """A day is its own first and last."""
    stamp = parse_stamp(day.isoformat())
    assert (stamp.first, stamp.last) == (day, day)
    assert find_last_valid_day(stamp, life) == day + relativedelta(months=life)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "27-05",
        "2027-13",
        "2027-00",
        "2027-05-00",
        "2027-02-29",
        "2027-5",
        "0000",
        "0000-01",
        "2027-05-",
        "202\uff17",
        "2027-05-14T00:00",
        "20270514",
        " 2027",
        "2027\n",
        "May 2027",
    ],
)
def test_stamp_of_another_shape_is_refused(text):
    """YYYY, YYYY-MM and YYYY-MM-DD only, in plain digits."""
    with pytest.raises(QuantityError) as caught:
        parse_stamp(text)
    assert caught.value.key == "stamp"


@pytest.mark.parametrize("life", [-1, 12 * 9000])
@pytest.mark.parametrize("find", [find_last_valid_day, find_first_end_day])
@pytest.mark.parametrize("text", ["2027", "2027-05", "2027-05-14"])
def test_life_that_leaves_the_calendar_is_refused_by_name(find, text, life):
    """Below nothing too."""
    with pytest.raises(QuantityError) as caught:
        find(parse_stamp(text), life)
    assert caught.value.key == "life_months"


@given(days)
def test_day_is_read_back_from_how_it_is_written(day):
    """ISO form."""
    assert parse_day(day.isoformat()) == day


@pytest.mark.parametrize(
    "text", ["2026-02-30", "20260228", "2026-W05-3", "2026-2-28", "28.02.2026", "", "2026-02-28 "]
)
def test_day_of_another_shape_is_refused(text):
    """A week date is a day to the standard, but not to a record."""
    with pytest.raises(QuantityError) as caught:
        parse_day(text, "start")
    assert caught.value.key == "start"


@given(st.dates(date(2000, 1, 1), date(2000, 12, 31)))
def test_month_day_is_read_back_from_how_it_is_written(day):
    """A leap year holds them all."""
    text = f"{day:%m-%d}"
    assert str(parse_month_day(text)) == text
    assert parse_month_day(text).in_year(2000) == day


@pytest.mark.parametrize("text", ["02-30", "13-05", "00-10", "04-31", "4-15", "04-15-1", "04/15"])
def test_month_day_outside_every_year_is_refused(text):
    """29 February is in some."""
    with pytest.raises(QuantityError) as caught:
        parse_month_day(text)
    assert caught.value.key == "anchor"


def test_leap_day_falls_on_the_28th_in_common_years():
    """Never on 1 March."""
    leap = parse_month_day("02-29")
    assert [leap.in_year(year).day for year in (1900, 2000, 2023, 2024)] == [28, 29, 28, 29]


@given(days, month_days, st.integers(0, 400), st.integers(-60, 60))
def test_season_due_is_the_first_anchor_after_the_window(done, anchor, window, offset):
    """Walking the calendar day by day."""
    walked = done + timedelta(days=window + 1)
    while walked != anchor.in_year(walked.year):
        walked += timedelta(days=1)
    due = find_season_due(done, anchor, window_days=window, offset_days=offset)
    assert due == walked + timedelta(days=offset)


@pytest.mark.parametrize(
    ("done", "window", "offset", "key"),
    [
        (date(2026, 1, 1), -1, 0, "window_d"),
        (date(2026, 1, 1), 10**9, 0, "window_d"),
        (date(9999, 12, 1), 0, 0, "done"),
        (date(2026, 1, 1), 0, 10**12, "offset_d"),
    ],
)
def test_season_due_refuses_by_name(done, window, offset, key):
    """What leaves the calendar, and a window that runs backwards."""
    anchor = MonthDay(month=4, day=15)
    with pytest.raises(QuantityError) as caught:
        find_season_due(done, anchor, window_days=window, offset_days=offset)
    assert caught.value.key == key


@given(st.lists(st.one_of(st.none(), days)))
def test_earliest_ignores_clocks_without_a_date(found):
    """None of them gives none."""
    earliest = find_earliest(found)
    dated = [day for day in found if day is not None]
    if dated:
        assert earliest in dated
        assert all(earliest <= day for day in dated)
    else:
        assert earliest is None


def test_day_is_written_for_a_reader():
    """Full in sentences, short in tables."""
    assert say_day(date(2027, 7, 14)) == "14 July 2027"
    assert say_day(date(2027, 7, 4), style="short") == "4 Jul"
