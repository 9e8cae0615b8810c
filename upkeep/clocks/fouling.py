"""Fouling clock: days afloat counted as days in water of 20 °C.

Rates and their sources: upkeep.physics.fouling.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from functools import lru_cache

from upkeep.clocks.boat_days import FOREVER, Interval
from upkeep.clocks.rates import HORIZON_DAYS, RateClock, build_clock
from upkeep.errors import QuantityError
from upkeep.model import Period, Water
from upkeep.physics.fouling import CLASS_FACTORS, estimate_fouling_rate
from upkeep.physics.ranges import (
    HIGHEST_WATER_C,
    LOWEST_WATER_C,
    check_above,
    check_series,
    check_within,
)


def find_class_factor(water: Water) -> float:
    """Give a water's factor; fresh water has its own, whatever its class."""
    return CLASS_FACTORS["fresh" if water.salinity == "fresh" else water.moving]


@lru_cache(maxsize=1024)
def monthly_rates(monthly_water_c: tuple[float, ...], factor: float) -> tuple[float, ...]:
    """Give the equivalent days at 20 °C that one day of each month counts."""
    return tuple(
        estimate_fouling_rate(water_c=water_c, class_factor=factor) for water_c in monthly_water_c
    )


@lru_cache(maxsize=512)
def build_fouling_clock(
    waters: tuple[tuple[int, tuple[float, ...]], ...],
    ashore: tuple[Interval, ...],
    first: int,
    end: int,
) -> RateClock:
    """Build the fouling clock of one boat over a range of days (ordinals).

    waters: (first day, monthly rates) of each water she lay in, rising; the first also holds
    before its day. ashore: disjoint rising intervals, when nothing grows.
    """
    edges = {day for interval in ashore for day in interval if first < day < end}
    edges.update(day for day, _ in waters if first < day < end)
    edges.update(_month_starts(first, end))
    return build_clock(_spells(sorted(edges), waters, ashore), end)


@lru_cache(maxsize=512)
def build_afloat_clock(ashore: tuple[Interval, ...], first: int, end: int) -> RateClock:
    """Build the clock that counts days afloat over a range of days (ordinals)."""
    spells = [(first, 1.0)]
    for out, back in ashore:
        if back <= first or out >= end:
            continue
        if out <= first:
            spells = [(first, 0.0)]
        else:
            spells.append((out, 0.0))
        if back < min(end, FOREVER):
            spells.append((back, 1.0))
    return build_clock(spells, end)


def _month_starts(first: int, end: int) -> Iterator[int]:
    yield first
    day = date.fromordinal(first)
    year, month = day.year, day.month
    while True:
        year, month = (year, month + 1) if month < 12 else (year + 1, 1)
        start = date(year, month, 1).toordinal() if year <= 9999 else FOREVER
        if start >= end:
            return
        yield start


def _spells(
    edges: Sequence[int],
    waters: Sequence[tuple[int, tuple[float, ...]]],
    ashore: Sequence[Interval],
) -> Iterator[tuple[int, float]]:
    spells = iter([*ashore, (FOREVER, FOREVER)])
    out, back = next(spells)
    water = 0
    for day in edges:
        while day >= back:
            out, back = next(spells)
        while water + 1 < len(waters) and waters[water + 1][0] <= day:
            water += 1
        month = date.fromordinal(day).month
        yield day, 0.0 if day >= out else waters[water][1][month - 1]


def count_fouling(
    *,
    start: date,
    end: date,
    monthly_water_c: Sequence[float],
    class_factor: float,
    immersed: Sequence[Period] | None = None,
) -> float:
    """Count equivalent days at 20 °C over the days after start up to and with end.

    immersed: spells in the water; None is always. Raises QuantityError.
    """
    if end < start:
        raise QuantityError("end", f"{end} is before {start}")
    clock = _clock(start, end.toordinal() + 1, monthly_water_c, class_factor, immersed)
    return clock.count_between(start.toordinal(), end.toordinal())


def find_fouling_due(
    *,
    start: date,
    limit_days_at_20c: float,
    monthly_water_c: Sequence[float],
    class_factor: float,
    immersed: Sequence[Period] | None = None,
) -> date | None:
    """Find the last day with at most the limit of equivalent days; None past the horizon.

    limit_days_at_20c: 0 or more. Other inputs and errors as count_fouling.
    """
    limit = check_within("limit_days_at_20c", limit_days_at_20c, 0)
    end = start.toordinal() + HORIZON_DAYS + 2
    clock = _clock(start, end, monthly_water_c, class_factor, immersed)
    due = clock.find_due(start.toordinal(), limit)
    return None if due is None else date.fromordinal(due)


def _clock(
    start: date,
    end: int,
    monthly_water_c: Sequence[float],
    class_factor: float,
    immersed: Sequence[Period] | None,
) -> RateClock:
    months = check_series(
        "monthly_water_c", monthly_water_c, LOWEST_WATER_C, HIGHEST_WATER_C, length=12
    )
    rates = monthly_rates(months, check_above("class_factor", class_factor))
    dry = () if immersed is None else tuple(_between(immersed))
    return build_fouling_clock(((0, rates),), dry, start.toordinal(), min(end, FOREVER))


def _between(immersed: Sequence[Period]) -> Iterator[Interval]:
    out = 0
    for period in immersed:
        first = period.first.toordinal()
        if first < out:
            raise QuantityError("immersed", f"the spell from {period.first} is out of order")
        if first > out:
            yield out, first
        out = period.end.toordinal() if period.end else FOREVER
    if out < FOREVER:
        yield out, FOREVER
