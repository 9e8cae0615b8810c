"""Recharge: how long a charger needs to bring a bank back.

A bank takes what is offered until it is nearly full, then less and less: acceptance falls
with the charge still missing. Model and defaults MEMORY; the slow last fifth of lead-acid and
the ban on charging lithium below freezing: trade pages (weak).
"""

from __future__ import annotations

from math import log

from upkeep.errors import QuantityError
from upkeep.physics.ranges import check_above, check_battery_c, check_within
from upkeep.physics.storage import CHEMISTRIES

LITHIUM = "lithium"
LITHIUM_CHARGE_MIN_C = 0.0  # trade pages on charging lithium cells (weak)


def estimate_recharge_hours(
    *,
    capacity_ah: float,
    soc_from: float,
    soc_to: float,
    charger_a: float,
    load_a: float = 0.0,
    efficiency: float | None = None,
    acceptance_per_h: float | None = None,
    chemistry: str | None = None,
    cell_c: float | None = None,
) -> float | None:
    """Estimate the time from one charge to another [h].

    capacity_ah: above 0. soc_from, soc_to: 0 to 1. charger_a, load_a: 0 or more.
    efficiency (ampere-hours out per one in): above 0 to 1, by default the chemistry's,
    lithium's without one. acceptance_per_h: above 0; None: the bank takes all that is
    offered. cell_c: -30 to 60; lithium below 0 must not be charged.
    A charger's rating holds at its best temperature. Returns 0 when already there, None
    when the load takes all the current. Raises QuantityError, also on full charge with an
    acceptance, which is never reached. Source: module docstring.
    """
    capacity = check_above("capacity_ah", capacity_ah)
    low, high = check_within("soc_from", soc_from, 0, 1), check_within("soc_to", soc_to, 0, 1)
    net_a = check_within("charger_a", charger_a, 0) - check_within("load_a", load_a, 0)
    yielded = _choose_efficiency(efficiency, chemistry)
    taken = None if acceptance_per_h is None else _check_acceptance(acceptance_per_h, high)
    _check_cell(chemistry, cell_c)
    if high <= low:
        return 0.0
    if net_a <= 0:
        return None
    rate = net_a / capacity
    if taken is None:
        return (high - low) / (yielded * rate)
    return _sum_two_stages(low, high, rate, taken) / yielded


def _choose_efficiency(efficiency: float | None, chemistry: str | None) -> float:
    if chemistry is not None and chemistry not in CHEMISTRIES:
        known = ", ".join(CHEMISTRIES)
        raise QuantityError("chemistry", f"{chemistry:.40} is not known; write one of {known}")
    if efficiency is None:
        return CHEMISTRIES[chemistry or LITHIUM].efficiency
    return check_above("efficiency", efficiency, high=1)


def _check_acceptance(acceptance_per_h: float, soc_to: float) -> float:
    acceptance = check_above("acceptance_per_h", acceptance_per_h)
    if soc_to == 1:
        raise QuantityError("soc_to", "full charge is never reached; write less than 1")
    return acceptance


def _check_cell(chemistry: str | None, cell_c: float | None) -> None:
    if cell_c is None:
        return
    cell = check_battery_c("cell_c", cell_c)
    if chemistry == LITHIUM and cell < LITHIUM_CHARGE_MIN_C:
        raise QuantityError("cell_c", f"{cell:g} degC: lithium must not be charged below 0")


def _sum_two_stages(low: float, high: float, rate: float, acceptance: float) -> float:
    knee = 1 - rate / acceptance  # from here on the bank takes less than is offered
    steady_h = max(0.0, min(knee, high) - low) / rate
    if high <= knee:
        return steady_h
    return steady_h + log((1 - max(low, knee)) / (1 - high)) / acceptance
