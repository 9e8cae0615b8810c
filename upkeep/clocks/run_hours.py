"""Run-hours clock: hour-meter readings and stated use, counted over days afloat.

Rate: the stated use pooled with readings, from four readings on the median of all slopes.
Sources: upkeep.physics.run_hours.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from upkeep.clocks.rates import HORIZON_DAYS, SLACK, PausedClock
from upkeep.physics.run_hours import SLOPES_FROM
from upkeep.physics.run_hours import estimate_rate as pool_or_take_slopes

MOST_H_PER_DAY = 24.0


@dataclass(frozen=True, kw_only=True, slots=True)
class HourMeter:
    """Hours against days afloat: known points, and the rate outside them.

    afloat: the clock that counts days afloat. points: (days afloat, hours), rising.
    rate_h_per_day: per day afloat; None when nothing is known of the use.
    stated_h_per_day: what the owner says she runs; None when not said.
    """

    afloat: PausedClock
    points: tuple[tuple[float, float], ...]
    rate_h_per_day: float | None
    stated_h_per_day: float | None

    @property
    def end(self) -> int:
        """Give the day (ordinal) before which the meter can tell."""
        return self.afloat.end

    def hours_on(self, day: int) -> float:
        """Read the meter at the end of a day (ordinal); 0 stands for the first point if none."""
        return self._hours(self.afloat.count_before(day + 1))

    def _hours(self, at: float) -> float:
        rate = self.rate_h_per_day or 0.0
        if not self.points:
            return rate * at
        index = bisect_right(self.points, (at, float("inf")))
        if index == 0:
            return self.points[0][1] - rate * (self.points[0][0] - at)
        before = self.points[index - 1]
        if index == len(self.points):
            return before[1] + rate * (at - before[0])
        after = self.points[index]
        slope = (after[1] - before[1]) / (after[0] - before[0])
        return before[1] + slope * (at - before[0])

    def _days_afloat_at(self, hours: float) -> float | None:
        """Find the days afloat at which the meter shows so many hours; the latest such."""
        points = self.points or ((0.0, 0.0),)
        rate = self.rate_h_per_day or 0.0
        if hours < points[0][1]:
            return points[0][0] - (points[0][1] - hours) / rate if rate else None
        if hours >= points[-1][1]:
            return points[-1][0] + (hours - points[-1][1]) / rate if rate else None
        for before, after in pairwise(points):
            if before[1] <= hours < after[1]:
                share = (hours - before[1]) / (after[1] - before[1])
                return before[0] + share * (after[0] - before[0])
        return None

    def find_due(self, anchor: int, limit_h: float) -> int | None:
        """Find the last day on which not more than limit_h have run since the anchor."""
        hours = self.hours_on(anchor) + limit_h
        at = self._days_afloat_at(hours + SLACK * max(1.0, limit_h))
        if at is None:
            return None
        horizon = min(anchor + HORIZON_DAYS, self.afloat.end - 1)
        return self.afloat.last_day_within(at, horizon)


def estimate_rate(
    points: Sequence[tuple[float, float]], stated_h_per_day: float | None
) -> float | None:
    """Estimate hours a day afloat from readings (days afloat, hours) and the stated use.

    Below four readings the stated use is pooled with them; from four on the median slope
    counts alone. None when neither says anything.
    """
    days, hours = [point[0] for point in points], [point[1] for point in points]
    if stated_h_per_day is None and len(points) < SLOPES_FROM:
        if len(points) < 2:
            return None
        return min(MOST_H_PER_DAY, (hours[-1] - hours[0]) / (days[-1] - days[0]))
    prior = min(MOST_H_PER_DAY, stated_h_per_day or 0.0)
    return pool_or_take_slopes(days, hours, prior_h_per_day=prior)


def build_meter(
    *, afloat: PausedClock, readings: Sequence[tuple[date, float]], stated_h_per_day: float | None
) -> HourMeter:
    """Build the meter of one engine from dated readings and the stated use."""
    points: list[tuple[float, float]] = []
    for on, hours in readings:
        at = afloat.count_before(on.toordinal() + 1)
        while points and not _can_follow(points[-1], (at, hours)):
            points.pop()  # run ashore, or read twice in one spell: the later counts
        points.append((at, hours))
    rate = estimate_rate(points, stated_h_per_day)
    return HourMeter(
        afloat=afloat, points=tuple(points), rate_h_per_day=rate, stated_h_per_day=stated_h_per_day
    )


def _can_follow(before: tuple[float, float], point: tuple[float, float]) -> bool:
    passed = point[0] - before[0]
    return passed > 0 and point[1] - before[1] <= MOST_H_PER_DAY * passed
