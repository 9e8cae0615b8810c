"""Where a boat is each day: ashore or afloat, in which water, and her winters.

A season gives the usual winters; recorded spells win day by day. Rules: docs/dates.md.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from operator import itemgetter

from upkeep.model import Period, Season

LONG_SPELL_DAYS = 30  # a shorter spell ashore is no winter (common practice, no source)
FOREVER = date.max.toordinal()

Interval = tuple[int, int]  # first day, and the day after the last, as ordinals


@dataclass(frozen=True, kw_only=True, slots=True)
class Winter:
    """A lay-up: ashore from lay_up to before launch; launch None is not yet known."""

    lay_up: date
    launch: date | None


@dataclass(frozen=True, kw_only=True, slots=True)
class BoatDays:
    """A boat's spells ashore as disjoint rising intervals, and the winters among them."""

    winters: tuple[Winter, ...]
    ashore: tuple[Interval, ...]
    firsts: tuple[int, ...]  # of ashore, for bisection
    lay_ups: tuple[tuple[date, date | None], ...]
    launches: tuple[tuple[date, date | None], ...]

    def season_days(self, lay_up: bool, today: date) -> Iterator[tuple[date, date | None]]:
        """Give each lay-up or launch, and the day its cycle lapses undone, from about today."""
        days = self.lay_ups if lay_up else self.launches
        # The one before the last that began by today may still be open; earlier ones lapsed.
        start = max(0, bisect_right(days, today, key=itemgetter(0)) - 1)
        return iter(days[start:])

    def spell_ashore(self, day: date) -> Interval | None:
        """Find the spell ashore that holds a day; None when she is afloat."""
        at = day.toordinal()
        index = bisect_right(self.firsts, at) - 1
        if index >= 0 and at < self.ashore[index][1]:
            return self.ashore[index]
        return None

    def is_afloat(self, day: date) -> bool:
        """Tell whether she is afloat on a day."""
        return self.spell_ashore(day) is None

    def last_ashore_before(self, day: date) -> date | None:
        """Find the last day ashore before a day on which she is afloat."""
        index = bisect_right(self.firsts, day.toordinal()) - 1
        return date.fromordinal(self.ashore[index][1] - 1) if index >= 0 else None

    def next_ashore(self, day: date) -> date | None:
        """Find the first day ashore on or after a day."""
        if self.spell_ashore(day):
            return day
        index = bisect_right(self.firsts, day.toordinal())
        return date.fromordinal(self.firsts[index]) if index < len(self.firsts) else None

    def next_afloat(self, day: date) -> date | None:
        """Find the first day afloat on or after a day; None when no launch is known."""
        spell = self.spell_ashore(day)
        if spell is None:
            return day
        return date.fromordinal(spell[1]) if spell[1] < FOREVER else None


@lru_cache(maxsize=4096)
def build_boat_days(
    season: Season | None,
    ashore: tuple[Period, ...],
    afloat: tuple[Period, ...],
    first_year: int,
    last_year: int,
) -> BoatDays:
    """Work out winters and days ashore for a range of years.

    A spell ashore that shares a day with a season's winter replaces it whole; several join,
    first day out to last day in. Other spells of 30 days or more are winters too; shorter
    ones count for place and growth only. Days recorded afloat are taken out again.
    """
    usual = _usual_winters(season, first_year, last_year)
    if not ashore and not afloat:
        return _arrange([[winter] for winter in usual], usual)
    spells = sorted((p.first.toordinal(), p.end.toordinal() if p.end else FOREVER) for p in ashore)
    winters, short = _replace_winters(usual, spells)
    taken = [(p.first.toordinal(), p.end.toordinal() if p.end else FOREVER) for p in afloat]
    pieces = [_subtract(winter, taken) for winter in winters]
    return _arrange(pieces, _merge([piece for group in pieces for piece in group] + short))


def _arrange(pieces: Sequence[Sequence[Interval]], ashore_days: Sequence[Interval]) -> BoatDays:
    found = tuple(_winter(group) for group in pieces if group)
    after = [winter.lay_up for winter in found[1:]]
    launches = [
        (winter.launch, lapse)
        for winter, lapse in zip(found, [*after, None], strict=False)
        if winter.launch is not None
    ]
    return BoatDays(
        winters=found,
        ashore=tuple(ashore_days),
        firsts=tuple(first for first, _ in ashore_days),
        lay_ups=tuple((winter.lay_up, winter.launch) for winter in found),
        launches=tuple(launches),
    )


def count_afloat_days(season: Season | None) -> int:
    """Count the days afloat of a usual year of 365 days."""
    if season is None:
        return 365
    launch, lay_up = season.launch.in_year(2001), season.lay_up.in_year(2001)
    return (lay_up - launch).days % 365 or 365


def _usual_winters(season: Season | None, first_year: int, last_year: int) -> list[Interval]:
    if season is None:
        return []
    winters = []
    for year in range(first_year - 1, last_year + 1):
        lay_up = season.lay_up.in_year(year)
        launch = season.launch.in_year(year)
        if launch <= lay_up:
            launch = season.launch.in_year(year + 1)
        winters.append((lay_up.toordinal(), launch.toordinal()))
    return winters


def _replace_winters(
    usual: Sequence[Interval], spells: Sequence[Interval]
) -> tuple[list[Interval], list[Interval]]:
    """Give all winters, and the short spells that are none."""
    groups: list[tuple[list[Interval], list[Interval]]] = []  # winters met, spells that met them
    for spell in spells:
        met = [winter for winter in usual if winter[0] < spell[1] and spell[0] < winter[1]]
        if groups and set(met) & set(groups[-1][0]):
            groups[-1][0].extend(met)
            groups[-1][1].append(spell)
        else:
            groups.append((met, [spell]))
    replaced = {winter for met, _ in groups for winter in met}
    winters = [winter for winter in usual if winter not in replaced]
    short = []
    for met, joined in groups:
        whole = (joined[0][0], max(end for _, end in joined))
        if met or whole[1] - whole[0] >= LONG_SPELL_DAYS:
            winters.append(whole)
        else:
            short.append(whole)
    return sorted(winters), short


def _subtract(interval: Interval, taken: Sequence[Interval]) -> list[Interval]:
    pieces = [interval]
    for first, end in taken:
        pieces = [
            piece
            for old in pieces
            for piece in ((old[0], min(old[1], first)), (max(old[0], end), old[1]))
            if piece[0] < piece[1]
        ]
    return pieces


def _merge(intervals: list[Interval]) -> list[Interval]:
    merged: list[Interval] = []
    for first, end in sorted(intervals):
        if merged and first <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((first, end))
    return merged


def _winter(pieces: Sequence[Interval]) -> Winter:
    end = pieces[-1][1]
    launch = date.fromordinal(end) if end < FOREVER else None
    return Winter(lay_up=date.fromordinal(pieces[0][0]), launch=launch)
