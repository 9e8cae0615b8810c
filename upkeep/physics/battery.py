"""Battery runtime: how long a bank carries a load.

Peukert's law as given in two general formula references; the temperature line is a straight
line of ours through the loss that trade pages report. Results plan work, not safety.
"""

from __future__ import annotations

from collections.abc import Sequence

from upkeep.physics.ranges import check_above, check_battery_c, check_series, check_within

LOSS_PER_K = 0.008  # about 20 % lost at 0 degC: three trade pages, weak
LEAST_TEMPERATURE_FACTOR = 0.4  # where the straight line stops; ours, no source
FULL_CAPACITY_C = 25.0  # capacity is rated here


def estimate_runtime(
    *,
    capacity_ah: float,
    usable_fraction: float,
    draw_a: float,
    source_a: float = 0.0,
    temperature_factor: float = 1.0,
) -> float | None:
    """Estimate how long a bank lasts under a steady draw [h].

    capacity_ah: above 0, measured where known. usable_fraction, temperature_factor: above 0
    to 1. draw_a, source_a (charging meanwhile): 0 or more.
    Holds for lithium iron phosphate at any ordinary rate, for lead-acid only at or below
    its rated current. Returns None when charging covers the draw. Raises QuantityError.
    Source: arithmetic.
    """
    stored_ah = check_above("capacity_ah", capacity_ah)
    stored_ah *= check_above("usable_fraction", usable_fraction, high=1)
    net_a = check_within("draw_a", draw_a, 0) - check_within("source_a", source_a, 0)
    stored_ah *= check_above("temperature_factor", temperature_factor, high=1)
    return stored_ah / net_a if net_a > 0 else None


def find_net_current(*, charger_a: Sequence[float], load_a: float) -> float:
    """Find the current into the bank; below 0 it drains [A].

    charger_a: each charger's output, 0 or more. load_a: 0 or more.
    Raises QuantityError. Source: arithmetic.
    """
    return sum(check_series("charger_a", charger_a, 0)) - check_within("load_a", load_a, 0)


def estimate_peukert_runtime(
    *,
    capacity_ah: float,
    rated_hours_h: float,
    peukert_exponent: float,
    usable_fraction: float,
    draw_a: float,
) -> float | None:
    """Estimate how long a lead-acid bank lasts, drawn faster than it was rated [h].

    capacity_ah: above 0. rated_hours_h, of that capacity: above 0, usually 20.
    peukert_exponent: 1 to 2 (absorbed-mat 1.05-1.15, gel 1.10-1.25, flooded 1.2-1.6).
    usable_fraction: above 0 to 1. draw_a: 0 or more. The exponent acts on the current,
    usable_fraction on the result; at or below the rated current there is no bonus. Returns
    None without draw. Raises QuantityError. Source: Peukert's law.
    """
    capacity = check_above("capacity_ah", capacity_ah)
    rated_h = check_above("rated_hours_h", rated_hours_h)
    exponent = check_within("peukert_exponent", peukert_exponent, 1, 2)
    usable = check_above("usable_fraction", usable_fraction, high=1)
    draw = check_within("draw_a", draw_a, 0)
    if draw == 0:
        return None
    if draw <= capacity / rated_h:
        return usable * capacity / draw
    return usable * rated_h * float((capacity / draw / rated_h) ** exponent)


def estimate_temperature_factor(*, battery_c: float, loss_per_k: float = LOSS_PER_K) -> float:
    """Estimate what part of the rated capacity a cold bank gives [0.4-1].

    battery_c: -30 to 60. loss_per_k: 0 to 1, for each kelvin below 25 degC.
    Raises QuantityError. Source: three trade pages on lithium cells (weak); line ours.
    """
    battery = check_battery_c("battery_c", battery_c)
    factor = 1 - check_within("loss_per_k", loss_per_k, 0, 1) * (FULL_CAPACITY_C - battery)
    return min(1.0, max(LEAST_TEMPERATURE_FACTOR, factor))
