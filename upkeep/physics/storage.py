"""Storage: how the charge of a bank falls while a boat lies, and when someone must look.

Self-discharge doubles with every 10 degC: a battery maker's university page (lead-acid) and a
battery trade page (lithium, weak). A month of that data is 30 days. The balance of
self-discharge and what was left on, ds/dt = -loss * s - drain, is solved in closed form.
"""

from __future__ import annotations

from calendar import isleap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import MAXYEAR, date
from math import exp, expm1, log1p
from types import MappingProxyType

from upkeep.errors import QuantityError
from upkeep.physics.ranges import (
    HIGHEST_BATTERY_C,
    LOWEST_BATTERY_C,
    check_above,
    check_battery_c,
    check_series,
    check_within,
)
from upkeep.physics.whole_days import find_last_whole_day

DATA_MONTH_DAYS = 30
DOUBLING_K = 10.0  # same sources as the rates
GAS_CONSTANT_J_PER_MOL_K = 8.314462618  # exact since the SI of 2019
ZERO_CELSIUS_K = 273.15
NEGLIGIBLE = 1e-15  # a loss per day at which the line and the curve cannot be told apart
_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@dataclass(frozen=True, kw_only=True, slots=True)
class Chemistry:
    """What a kind of cell loses, and the charge it starts from and may fall to.

    self_discharge_pct_per_30d holds at reference_c. soc_start: charge taken for granted when
    storage begins. soc_floor: recharge there. efficiency: ampere-hours out per one in.
    acceptance_per_h: None where the bank takes what the charger gives.
    own_draw_a: what built-in management goes on drawing when all else is off.
    """

    self_discharge_pct_per_30d: float
    reference_c: float
    soc_start: float
    soc_floor: float
    efficiency: float
    acceptance_per_h: float | None
    own_draw_a: float
    source: str


_FLOODED = Chemistry(
    self_discharge_pct_per_30d=6.0,
    reference_c=20.0,
    soc_start=1.0,
    soc_floor=0.8,
    efficiency=0.85,
    acceptance_per_h=0.5,
    own_draw_a=0.0,
    source="rate: a battery maker's university page, low-antimony starter cells (tubular "
    "traction cells lose 12); floor: a battery maker's support page; charging MEMORY",
)
CHEMISTRIES: Mapping[str, Chemistry] = MappingProxyType(
    {
        "lithium": Chemistry(
            self_discharge_pct_per_30d=3.0,
            reference_c=25.0,
            soc_start=0.6,
            soc_floor=0.2,
            efficiency=0.98,
            acceptance_per_h=None,
            own_draw_a=0.003,
            source="rate: battery trade page, upper end of 2-3 % a month (weak); start, floor "
            "and own draw: common practice, no source; efficiency MEMORY",
        ),
        "agm": replace(
            _FLOODED,
            self_discharge_pct_per_30d=3.0,
            acceptance_per_h=1.0,
            source="rate: a battery maker's university page, absorbed-mat calcium; floor: a "
            "battery maker's support page; charging MEMORY, lower end of 0.85-0.90",
        ),
        "gel": replace(
            _FLOODED,
            self_discharge_pct_per_30d=2.0,
            source="rate: a battery maker's university page; floor: a battery maker's support "
            "page; charging as flooded: common practice, no source",
        ),
        "flooded": _FLOODED,
    }
)


def estimate_self_discharge(
    *, battery_c: float, self_discharge_pct_per_30d: float, reference_c: float
) -> float:
    """Estimate the part of its charge a bank loses by itself [1/day].

    battery_c, reference_c: -30 to 60. self_discharge_pct_per_30d: 0 to 100, at reference_c.
    Raises QuantityError. Source: doubling per 10 degC, module docstring.
    """
    battery = check_battery_c("battery_c", battery_c)
    rate = _check_rate(self_discharge_pct_per_30d)
    warmer_k = battery - check_battery_c("reference_c", reference_c)
    return rate * float(2.0 ** (warmer_k / DOUBLING_K))


def estimate_arrhenius_rate(
    *, rate_ref_per_day: float, activation_j_per_mol: float, battery_c: float, reference_c: float
) -> float:
    """Estimate self-discharge where a maker gives an activation energy [1/day].

    rate_ref_per_day, at reference_c, activation_j_per_mol: 0 or more. battery_c,
    reference_c: -30 to 60.
    Raises QuantityError. Source: Arrhenius' equation (MEMORY).
    """
    rate = check_within("rate_ref_per_day", rate_ref_per_day, 0)
    energy = check_within("activation_j_per_mol", activation_j_per_mol, 0)
    battery_k = check_battery_c("battery_c", battery_c) + ZERO_CELSIUS_K
    reference_k = check_battery_c("reference_c", reference_c) + ZERO_CELSIUS_K
    try:
        gain = exp(energy / GAS_CONSTANT_J_PER_MOL_K * (1 / reference_k - 1 / battery_k))
    except OverflowError:
        raise QuantityError("activation_j_per_mol", f"{energy:g} is too large") from None
    return rate * gain


def estimate_storage_days(
    *,
    capacity_ah: float,
    soc_start: float,
    soc_floor: float,
    battery_c: float,
    self_discharge_pct_per_30d: float,
    reference_c: float,
    parasitic_a: float,
) -> float | None:
    """Estimate how long a bank lies before its charge falls to the floor [days].

    capacity_ah: above 0. soc_start, soc_floor: 0 to 1. parasitic_a: 0 or more, everything
    left on, the bank's own management included. battery_c, reference_c: -30 to 60.
    self_discharge_pct_per_30d: 0 to 100. An upper bound: warn earlier. Returns 0 at or
    below the floor, None when the floor is never reached. Raises QuantityError. Source:
    module docstring.
    """
    capacity = check_above("capacity_ah", capacity_ah)
    high, low = _check_charge("soc_start", soc_start), _check_charge("soc_floor", soc_floor)
    loss = estimate_self_discharge(
        battery_c=battery_c,
        self_discharge_pct_per_30d=self_discharge_pct_per_30d,
        reference_c=reference_c,
    )
    drain = _find_drain(capacity, parasitic_a)
    if high > low and loss * low + drain == 0:
        return None
    return _solve_days(high, low, loss, drain)


def find_recheck_day(
    *,
    capacity_ah: float,
    soc_start: float,
    soc_floor: float,
    battery_c: float,
    self_discharge_pct_per_30d: float,
    reference_c: float,
    parasitic_a: float,
    start: date,
) -> date | None:
    """Find the last day the charge is not below the floor, at one temperature throughout.

    Inputs, errors and source as estimate_storage_days. Returns None when the floor is never
    reached, or not before the calendar ends.
    """
    days = estimate_storage_days(
        capacity_ah=capacity_ah,
        soc_start=soc_start,
        soc_floor=soc_floor,
        battery_c=battery_c,
        self_discharge_pct_per_30d=self_discharge_pct_per_30d,
        reference_c=reference_c,
        parasitic_a=parasitic_a,
    )
    return None if days is None else find_last_whole_day(start, days)


def find_floor_day(
    *,
    capacity_ah: float,
    soc_start: float,
    soc_floor: float,
    monthly_battery_c: Sequence[float],
    self_discharge_pct_per_30d: float,
    reference_c: float,
    parasitic_a: float,
    start: date,
) -> date | None:
    """Find the last day the charge is not below the floor, month by month.

    monthly_battery_c: January to December, each -30 to 60. A day loses at its own month's
    temperature; the first day that loses is start + 1. Other inputs, errors and source as
    estimate_storage_days. Returns None when the floor is never reached, or not before the
    calendar ends.
    """
    capacity = check_above("capacity_ah", capacity_ah)
    charge, low = _check_charge("soc_start", soc_start), _check_charge("soc_floor", soc_floor)
    losses = find_month_losses(monthly_battery_c, self_discharge_pct_per_30d, reference_c)
    drain = _find_drain(capacity, parasitic_a)
    return walk_to_floor(charge, low, losses, drain, start)


def walk_to_floor(
    charge: float, low: float, losses: Sequence[float], drain: float, start: date
) -> date | None:
    """Find the last day the charge is not below the floor, from inputs already checked.

    charge, low: 0 to 1. losses: of find_month_losses. drain: part of the capacity a day.
    Returns, errors and source as find_floor_day.
    """
    if charge <= low:
        return start
    if losses[0] * low + drain == 0:
        return None
    elapsed = 0
    for month, days in _walk_months(start):
        left = _discharge(charge, losses[month], drain, days)
        if left < low:
            last = _solve_days(charge, low, losses[month], drain)
            return find_last_whole_day(start, elapsed + last)
        charge, elapsed = left, elapsed + days
    return None


def find_month_losses(
    monthly_c: Sequence[float], pct_per_30d: float, reference_c: float
) -> list[float]:
    """Find the part of its charge a bank loses by itself each day, by month [1/day].

    Inputs, errors and source as estimate_self_discharge.
    """
    months = check_series(
        "monthly_battery_c", monthly_c, LOWEST_BATTERY_C, HIGHEST_BATTERY_C, length=12
    )
    rate = _check_rate(pct_per_30d)
    reference = check_battery_c("reference_c", reference_c)
    return [rate * 2.0 ** ((month - reference) / DOUBLING_K) for month in months]


def estimate_charge_left(
    *,
    capacity_ah: float,
    soc_start: float,
    monthly_battery_c: Sequence[float],
    self_discharge_pct_per_30d: float,
    reference_c: float,
    parasitic_a: float,
    start: date,
    on: date,
) -> float:
    """Estimate the charge left at the end of a day of storage [0-1].

    on: start or later. Other inputs, errors and source as find_floor_day. An empty bank
    stays at 0.
    """
    if on < start:
        raise QuantityError("on", f"{on} is before {start}")
    capacity = check_above("capacity_ah", capacity_ah)
    charge = _check_charge("soc_start", soc_start)
    losses = find_month_losses(monthly_battery_c, self_discharge_pct_per_30d, reference_c)
    drain = _find_drain(capacity, parasitic_a)
    remaining = (on - start).days
    for month, days in _walk_months(start):
        charge = _discharge(charge, losses[month], drain, min(days, remaining))
        remaining -= days
        if remaining <= 0 or charge <= 0:
            break
    return max(0.0, charge)


def _check_charge(key: str, value: float) -> float:
    return check_within(key, value, 0, 1)


def _check_rate(pct_per_30d: float) -> float:
    return check_within("self_discharge_pct_per_30d", pct_per_30d, 0, 100) / 100 / DATA_MONTH_DAYS


def _find_drain(capacity_ah: float, parasitic_a: float) -> float:
    return 24 * check_within("parasitic_a", parasitic_a, 0) / capacity_ah


def _solve_days(high: float, low: float, loss: float, drain: float) -> float:
    if high <= low:
        return 0.0
    at_floor = loss * low + drain
    if loss < NEGLIGIBLE:
        return (high - low) / at_floor
    return log1p(loss * (high - low) / at_floor) / loss


def _discharge(charge: float, loss: float, drain: float, days: int) -> float:
    if loss < NEGLIGIBLE:
        return charge - (loss * charge + drain) * days
    gone = -expm1(-loss * days)
    return charge - (charge + drain / loss) * gone


def _walk_months(start: date) -> Iterator[tuple[int, int]]:
    """Give each month (0 to 11) and its days, from the day after start."""
    year, month, passed = start.year, start.month, start.day
    while year <= MAXYEAR:
        length = 29 if month == 2 and isleap(year) else _LENGTHS[month - 1]
        yield month - 1, length - passed
        year, month, passed = year + month // 12, month % 12 + 1, 0
