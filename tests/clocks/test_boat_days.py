"""Where a boat is each day: winters, recorded spells, and the look-ups that jump over days."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upkeep.clocks.boat_days import BoatDays, Winter, build_boat_days, count_afloat_days
from upkeep.dates import MonthDay
from upkeep.model import Period, Season

DAY = timedelta(days=1)
FIRST, LAST = date(2024, 1, 1), date(2029, 12, 31)
SUMMER = Season(launch=MonthDay(month=4, day=1), lay_up=MonthDay(month=11, day=1))
SOUTH = Season(launch=MonthDay(month=10, day=1), lay_up=MonthDay(month=5, day=1))
seasons = st.sampled_from((None, SUMMER, SOUTH))


@st.composite
def spells(draw: st.DrawFn) -> tuple[tuple[Period, ...], tuple[Period, ...]]:
    """Spells ashore and afloat that do not overlap."""
    rows: dict[bool, list[Period]] = {True: [], False: []}
    day = FIRST
    for _ in range(draw(st.integers(0, 6))):
        day += timedelta(days=draw(st.integers(0, 300)))
        end = day + timedelta(days=draw(st.sampled_from((1, 10, 29, 30, 90, 200, 420))))
        rows[draw(st.booleans())].append(Period(first=day, end=end))
        day = end
    return tuple(rows[True]), tuple(rows[False])


def build(season: Season | None, where: tuple[tuple[Period, ...], ...]) -> BoatDays:
    return build_boat_days(season, where[0], where[1], FIRST.year, LAST.year)


def holds(periods: tuple[Period, ...], day: date) -> bool:
    return any(p.first <= day and (p.end is None or day < p.end) for p in periods)


def all_days() -> list[date]:
    return [FIRST + n * DAY for n in range((LAST - FIRST).days + 1)]


@given(seasons, spells())
def test_recorded_spells_win_day_by_day(
    season: Season | None, where: tuple[tuple[Period, ...], tuple[Period, ...]]
) -> None:
    days = build(season, where)
    for day in all_days():
        if holds(where[0], day):
            assert not days.is_afloat(day)
        elif holds(where[1], day) or season is None:
            assert days.is_afloat(day)


@given(seasons, spells())
def test_look_ups_agree_with_going_from_day_to_day(
    season: Season | None, where: tuple[tuple[Period, ...], tuple[Period, ...]]
) -> None:
    days = build(season, where)
    afloat = {day: days.is_afloat(day) for day in all_days()}
    for day in all_days()[400:1200:7]:
        later = [d for d in afloat if d >= day]
        assert days.next_afloat(day) == next((d for d in later if afloat[d]), None)
        if afloat[day]:
            earlier = [d for d in afloat if d < day and not afloat[d]]
            if earlier:
                assert days.last_ashore_before(day) == earlier[-1]
            onward = next((d for d in later if not afloat[d]), None)
            if onward is not None:
                assert days.next_ashore(day) == onward


@given(seasons, spells())
def test_winters_follow_one_another_and_run_from_a_day_ashore_to_a_day_afloat(
    season: Season | None, where: tuple[tuple[Period, ...], tuple[Period, ...]]
) -> None:
    days = build(season, where)
    before = date.min
    for winter in days.winters:
        assert winter.launch is not None
        assert before <= winter.lay_up < winter.launch
        assert not days.is_afloat(winter.lay_up)
        assert not days.is_afloat(winter.launch - DAY)
        before = winter.launch


@given(seasons, spells(), st.integers(0, 1000))
def test_order_of_the_record_does_not_matter(
    season: Season | None, where: tuple[tuple[Period, ...], tuple[Period, ...]], seed: int
) -> None:
    shuffled = tuple(tuple(Random(seed).sample(rows, len(rows))) for rows in where)
    assert build(season, shuffled) == build(season, where)


def test_early_haul_out_replaces_its_winter_whole() -> None:
    out = Period(first=date(2026, 9, 15), end=date(2027, 2, 20))
    days = build(SUMMER, ((out,), ()))
    assert Winter(lay_up=date(2026, 9, 15), launch=date(2027, 2, 20)) in days.winters
    assert days.is_afloat(date(2027, 3, 1))  # the usual winter no longer counts


def test_spell_that_ends_on_the_day_of_lay_up_does_not_meet_that_winter() -> None:
    out = Period(first=date(2026, 10, 20), end=date(2026, 11, 1))
    lay_ups = [winter.lay_up for winter in build(SUMMER, ((out,), ())).winters]
    assert date(2026, 11, 1) in lay_ups
    assert date(2026, 10, 20) not in lay_ups


def test_open_spell_ashore_has_no_launch() -> None:
    days = build(SUMMER, ((Period(first=date(2026, 9, 15), end=None),), ()))
    assert days.winters[-1] == Winter(lay_up=date(2026, 9, 15), launch=None)
    assert days.next_afloat(date(2027, 7, 1)) is None


def test_part_of_a_winter_afloat_moves_its_lay_up() -> None:
    afloat = Period(first=date(2026, 11, 1), end=date(2026, 12, 10))
    days = build(SUMMER, ((), (afloat,)))
    assert Winter(lay_up=date(2026, 12, 10), launch=date(2027, 4, 1)) in days.winters


@pytest.mark.parametrize(("season", "count"), [(None, 365), (SUMMER, 214), (SOUTH, 212)])
def test_afloat_days_of_a_usual_year(season: Season | None, count: int) -> None:
    # 1 April to 31 October: 30 31 30 31 31 30 31; 1 October to 30 April: 31 30 31 31 28 31 30
    assert count_afloat_days(season) == count
