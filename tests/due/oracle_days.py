"""Where a boat is, day by day, and her winters and storage spells: the slow reader's first part.

Written from the contract's own words. Nothing here is clever; it may be slow.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from upkeep.model import Fleet, Period, Vessel, Water

DAY = timedelta(days=1)
FIRST_YEAR, LAST_YEAR = 2015, 2115  # the boats of the tests live well inside
LAST_DAY = date(LAST_YEAR, 12, 31)
LONG_SPELL_DAYS = 30


@dataclass(kw_only=True)
class Winter:
    """A lay-up; launch None is not known."""

    lay_up: date
    launch: date | None


@dataclass(kw_only=True)
class Spell:
    """Days lying unused, from start to before end."""

    start: date
    end: date | None
    isolated: bool


class Days:
    """The days of one vessel."""

    def __init__(self, vessel: Vessel, fleet: Fleet) -> None:
        self.vessel, self.fleet = vessel, fleet
        self._afloat: dict[date, bool] = {}

    def is_afloat(self, day: date) -> bool:
        if day not in self._afloat:
            self._afloat[day] = self._look(day)
        return self._afloat[day]

    def _look(self, day: date) -> bool:
        if any(holds(spell, day) for spell in self.vessel.ashore):
            return False
        return self._recorded_afloat(day) or day not in self._winter_days

    def _recorded_afloat(self, day: date) -> bool:
        return any(holds(spell, day) for spell in self.vessel.afloat)

    @cached_property
    def _winter_days(self) -> set[date]:
        """Days of usual winters, or of the spells that replace them, joined."""
        periods = [join(spells) if spells else usual[0] for usual, spells in self._groups]
        return {day for period in periods for day in days(period.first, period.end)}

    def _usual_winters(self) -> list[Period]:
        season = self.vessel.season
        if season is None:
            return []
        winters = []
        for year in range(FIRST_YEAR, LAST_YEAR):
            lay_up, launch = season.lay_up.in_year(year), season.launch.in_year(year)
            if launch <= lay_up:
                launch = season.launch.in_year(year + 1)
            winters.append(Period(first=lay_up, end=launch))
        return winters

    @cached_property
    def _groups(self) -> list[tuple[list[Period], list[Period]]]:
        """Usual winters and the spells that replace them, joined where they share a day."""
        groups: list[tuple[list[Period], list[Period]]] = []
        for winter in self._usual_winters():
            spells = [spell for spell in self.vessel.ashore if share_a_day(winter, spell)]
            before = groups[-1] if groups else ([], [])
            if any(spell in before[1] for spell in spells):
                before[0].append(winter)
                before[1].extend(spell for spell in spells if spell not in before[1])
            else:
                groups.append(([winter], spells))
        return groups

    @cached_property
    def winters(self) -> list[Winter]:
        """All lay-ups in order: usual ones, those that replace them, long spells besides."""
        winters, met = [], []
        for usual, spells in self._groups:
            met += spells
            if spells:
                whole = join(spells)
                winters.append(Winter(lay_up=whole.first, launch=whole.end))
                continue
            out = [d for d in days(usual[0].first, usual[0].end) if not self._recorded_afloat(d)]
            if out:
                winters.append(Winter(lay_up=out[0], launch=out[-1] + DAY))
        for spell in self.vessel.ashore:
            long = spell.end is None or (spell.end - spell.first).days >= LONG_SPELL_DAYS
            if spell not in met and long:
                winters.append(Winter(lay_up=spell.first, launch=spell.end))
        return sorted(winters, key=lambda winter: winter.lay_up)

    @cached_property
    def spells(self) -> list[Spell]:
        """Winters and days left, joined where they share a day."""
        rows = [Spell(start=w.lay_up, end=w.launch, isolated=False) for w in self.winters]
        for left in self.vessel.left:
            period = left.period
            rows.append(Spell(start=period.first, end=period.end, isolated=left.isolated))
        joined: list[Spell] = []
        for row in sorted(rows, key=lambda spell: spell.start):
            before = joined[-1] if joined else None
            if before and (before.end is None or row.start < before.end):
                before.end = latest([before.end, row.end])
                before.isolated = before.isolated or row.isolated
            else:
                joined.append(row)
        return joined

    def water(self, day: date) -> Water:
        name = self.vessel.water
        for water, first in sorted(self.vessel.berths, key=lambda berth: berth[1]):
            if first <= day:
                name = water
        return self.fleet.waters[name]

    def afloat_days_of_a_year(self) -> int:
        season = self.vessel.season
        if season is None:
            return 365
        launch, lay_up = season.launch.in_year(2025), season.lay_up.in_year(2025)
        count = 0
        for day in days(date(2025, 1, 1), date(2026, 1, 1)):
            if launch < lay_up:
                count += launch <= day < lay_up
            else:
                count += day >= launch or day < lay_up
        return count

    def afloat_until(self, day: date) -> int:
        """Count the days afloat since long ago, up to and with a day."""
        return self._counted[day]

    @cached_property
    def _counted(self) -> dict[date, int]:
        counted, count = {}, 0
        for day in days(date(FIRST_YEAR, 1, 1), LAST_DAY):
            count += self.is_afloat(day)
            counted[day] = count
        return counted


def days(first: date, end: date | None) -> Iterator[date]:
    """Yield the days from first to before end; without one, as far as anybody looks."""
    day = first
    while day < (end or LAST_DAY):
        yield day
        day += DAY


def holds(period: Period, day: date) -> bool:
    return period.first <= day and (period.end is None or day < period.end)


def share_a_day(one: Period, other: Period) -> bool:
    return (other.end is None or one.first < other.end) and (
        one.end is None or other.first < one.end
    )


def latest(ends: Sequence[date | None]) -> date | None:
    """The latest end; one that is not known runs on."""
    known = [end for end in ends if end is not None]
    return max(known) if len(known) == len(ends) else None


def join(spells: Sequence[Period]) -> Period:
    """First day out to last day in."""
    first = min(spell.first for spell in spells)
    return Period(first=first, end=latest([spell.end for spell in spells]))
