"""Fouling clock: days afloat counted as days in water of 20 °C.

Rates and their sources: upkeep.physics.fouling.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from functools import lru_cache

from upkeep.clocks.boat_days import FOREVER, Interval
from upkeep.clocks.rates import (
    HORIZON_DAYS,
    PausedClock,
    RateClock,
    build_clock,
    pause_clock,
)
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


@lru_cache(maxsize=256)
def build_growth_clock(waters: tuple[tuple[int, tuple[float, ...]], ...]) -> RateClock:
    """Build the clock of growth on a hull that never leaves the water, 1890 to 2220.

    waters: (first day, monthly rates) of each water she lay in, rising; the first also holds
    before its day. Boats of one water share it.
    """
    edges = {date(year, month, 1).toordinal() for year in _YEARS for month in range(1, 13)}
    edges.update(day for day, _ in waters if _FIRST < day < _END)
    return build_clock(_spells(sorted(edges), waters), _END)


@lru_cache(maxsize=1)
def build_day_clock() -> RateClock:
    """Build the clock that counts every day once, 1890 to 2220."""
    return build_clock([(_FIRST, 1.0)], _END)


_YEARS = range(1890, 2220)  # past every day a record may hold, by more than the horizon
_FIRST, _END = date(1890, 1, 1).toordinal(), date(2220, 1, 1).toordinal()


def _spells(
    edges: Sequence[int], waters: Sequence[tuple[int, tuple[float, ...]]]
) -> Iterator[tuple[int, float]]:
    water = 0
    for day in edges:
        while water + 1 < len(waters) and waters[water + 1][0] <= day:
            water += 1
        yield day, waters[water][1][date.fromordinal(day).month - 1]


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
) -> PausedClock:
    months = check_series(
        "monthly_water_c", monthly_water_c, LOWEST_WATER_C, HIGHEST_WATER_C, length=12
    )
    rates = monthly_rates(months, check_above("class_factor", class_factor))
    first = start.toordinal()
    if not _FIRST <= first < end <= _END:
        raise QuantityError("start", f"{start} is not between 1890 and 2209")
    dry = () if immersed is None else tuple(_between(immersed))
    return pause_clock(build_growth_clock(((0, rates),)), dry, first, end)


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
