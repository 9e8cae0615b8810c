"""Clocks that run at a daily rate which changes from spell to spell.

The anchor day counts 0; day d adds the rate of its own spell; the due day is the last whole
day on which the sum has not passed the limit. Definition ours, checked by cited vectors.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import floor, isfinite

from upkeep.errors import QuantityError
from upkeep.physics.ranges import check_within

HORIZON_DAYS = 3660  # a date ten years off says nothing (common practice, no source)
SLACK = 1e-9  # a limit met exactly keeps its last day


@dataclass(frozen=True, kw_only=True, slots=True)
class RateClock:
    """Spells with one rate each, as running sums.

    starts: first day of each spell as ordinals, rising. sums: the count before each spell.
    rates: the count a day adds. The last spell runs to `end` (exclusive).
    """

    starts: Sequence[int]
    sums: Sequence[float]
    rates: Sequence[float]
    end: int

    def count_before(self, day: int) -> float:
        """Count up to and without a day (an ordinal inside the clock's range)."""
        spell = bisect_right(self.starts, day, 1) - 1
        return self.sums[spell] + self.rates[spell] * (day - self.starts[spell])

    def count_between(self, anchor: int, day: int) -> float:
        """Count the days after the anchor up to and with a day."""
        return self.count_before(day + 1) - self.count_before(anchor + 1)

    def last_day_within(self, total: float, horizon: int) -> int | None:
        """Find the last day with the count up to and with it at most total.

        None when that is after the horizon (an ordinal, below `end`).
        """
        spell = bisect_right(self.sums, total) - 1
        if spell < 0:
            return self.starts[0] - 1
        rate = self.rates[spell]
        if rate <= 0 or not isfinite(total):
            return None
        day = self.starts[spell] + floor((total - self.sums[spell]) / rate)
        if spell + 1 < len(self.starts):
            day = min(day, self.starts[spell + 1])
        return day - 1 if day - 1 <= horizon else None

    def find_due(self, anchor: int, limit: float) -> int | None:
        """Find the due day after an anchor; None past the horizon."""
        slack = SLACK * max(1.0, limit)
        total = self.count_before(anchor + 1) + limit + slack
        return self.last_day_within(total, min(anchor + HORIZON_DAYS, self.end - 1))


@dataclass(frozen=True, kw_only=True, slots=True)
class PausedClock:
    """A clock that stands still in given spells, such as the days ashore.

    base: what it counts while it runs. runs: (first day, day after the last) of each spell
    in which it runs, as rising ordinals. sums: the count before each. end: last known day + 1.
    """

    base: RateClock
    runs: Sequence[tuple[int, int]]
    sums: Sequence[float]
    end: int

    def count_before(self, day: int) -> float:
        """Count up to and without a day."""
        spell = bisect_right(self.runs, (day, day)) - 1
        if spell < 0:
            return 0.0
        first, end = self.runs[spell]
        base = self.base
        return self.sums[spell] + base.count_before(min(day, end)) - base.count_before(first)

    def count_between(self, anchor: int, day: int) -> float:
        """Count the days after the anchor up to and with a day."""
        return self.count_before(day + 1) - self.count_before(anchor + 1)

    def last_day_within(self, total: float, horizon: int) -> int | None:
        """Find the last day with the count up to and with it at most total; None past horizon."""
        spell = bisect_right(self.sums, total) - 1
        if spell < 0:
            return self.runs[0][0] - 1 if self.runs and self.runs[0][0] - 1 <= horizon else None
        first, end = self.runs[spell]
        start = self.base.count_before(first)
        day = self.base.last_day_within(start + total - self.sums[spell], end - 2)
        if day is None:  # not passed in this spell: she came out first
            if spell + 1 == len(self.runs):
                return None
            day = self.runs[spell + 1][0] - 1
        return day if day <= horizon else None

    def find_due(self, anchor: int, limit: float) -> int | None:
        """Find the due day after an anchor; None past the horizon or the known days."""
        total = self.count_before(anchor + 1) + limit + SLACK * max(1.0, limit)
        return self.last_day_within(total, min(anchor + HORIZON_DAYS, self.end - 1))


def pause_clock(
    base: RateClock, paused: Sequence[tuple[int, int]], first: int, end: int
) -> PausedClock:
    """Let a clock stand still in disjoint rising spells; known from first to before end."""
    runs: list[tuple[int, int]] = []
    sums: list[float] = []
    total, at = 0.0, first
    for out, back in (*paused, (end, end)):
        if min(out, end) > at:
            runs.append((at, min(out, end)))
            sums.append(total)
            total += base.count_before(min(out, end)) - base.count_before(at)
        at = max(at, back)
    return PausedClock(base=base, runs=tuple(runs), sums=tuple(sums), end=end)


def build_clock(spells: Iterable[tuple[int, float]], end: int) -> RateClock:
    """Build a clock from (first day, rate), rising and without gaps, up to end."""
    starts: list[int] = []
    sums: list[float] = []
    rates: list[float] = []
    total = 0.0
    for first, rate in spells:
        if starts:
            total += rates[-1] * (first - starts[-1])
        starts.append(first)
        sums.append(total)
        rates.append(rate)
    return RateClock(starts=starts, sums=sums, rates=rates, end=end)


@dataclass(frozen=True, kw_only=True, slots=True)
class RateSpell:
    """Days from first to before end at one rate."""

    first: date
    end: date
    rate: float


def find_rate_due(
    *, start: date, limit: float, rates: Sequence[RateSpell] = (), default_rate: float = 0.0
) -> date | None:
    """Find the due day of a count that runs at changing rates.

    limit: 0 or more, in the rates' own unit. rates: rising, not overlapping, 0 or more a day;
    other days run at default_rate. Returns None past the horizon (3660 days).
    Raises QuantityError on limit, rates or default_rate.
    """
    limit = check_within("limit", limit, 0)
    default_rate = check_within("default_rate", default_rate, 0)
    anchor = start.toordinal()
    firsts = [spell.first.toordinal() for spell in _check_spells(rates)]
    spells = [(min(anchor, *firsts) if firsts else anchor, default_rate)]
    for spell in rates:
        spells += [(spell.first.toordinal(), spell.rate), (spell.end.toordinal(), default_rate)]
    end = min(max(anchor + HORIZON_DAYS, spells[-1][0]) + 2, date.max.toordinal())
    due = build_clock(spells, end).find_due(anchor, limit)
    return None if due is None else date.fromordinal(due)


def _check_spells(rates: Sequence[RateSpell]) -> Sequence[RateSpell]:
    before = date.min
    for spell in rates:
        check_within("rates", spell.rate, 0)
        if spell.first < before or spell.end <= spell.first:
            raise QuantityError("rates", f"the spell from {spell.first} is out of order")
        before = spell.end
    return rates
