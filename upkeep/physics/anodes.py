"""Sacrificial anodes: how long they last, what is left of them, and which metal suits a water.

Life from mass, capacity and current: two cathodic-protection weight calculators. Aluminium
above 20 degC: a summary of the ABS Guidance Notes on Cathodic Protection of Ships.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from upkeep.errors import QuantityError
from upkeep.physics.ranges import check_above, check_water_c, check_within

CAPACITY_AH_PER_KG: Mapping[str, float] = MappingProxyType(
    {
        "zinc": 780.0,  # cathodic-protection weight calculators
        "aluminium": 2000.0,  # ABS Guidance Notes, design value
        "magnesium": 1100.0,  # half of the equivalent 2205 (Corrosion 1(2) p. 59); 50 % MEMORY
    }
)
REPLACE_AT_FRACTION = 0.5  # consumed; a forum post, weak
ALUMINIUM_LOSS_PER_K = 27.0  # Ah/kg above 20 degC: ABS Guidance Notes
ALUMINIUM_FULL_C = 20.0
HOURS_PER_DAY = 24

SUITABILITY: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "sea": MappingProxyType({"zinc": "yes", "aluminium": "yes", "magnesium": "no"}),
        "brackish": MappingProxyType({"zinc": "poor", "aluminium": "yes", "magnesium": "no"}),
        "fresh": MappingProxyType({"zinc": "no", "aluminium": "poor", "magnesium": "yes"}),
    }
)  # two chandlers' anode guides, weak; the words are ours


@dataclass(frozen=True, kw_only=True, slots=True)
class AnodeState:
    """What weighing an anode tells.

    mean_ma: the current it gave on average, 0 or more. days_left: 0 past the limit, None when
    it has lost nothing, which is a fault sign. wear: 0 as new, 1 at the limit.
    """

    mean_ma: float
    days_left: float | None
    wear: float


def estimate_days_to_consume(
    *, mass_g: float, capacity_ah_per_kg: float, current_ma: float, consumed_fraction: float
) -> float:
    """Estimate when a fraction of an anode is consumed [days].

    mass_g, capacity_ah_per_kg, current_ma, consumed_fraction: above 0, the last up to 1.
    What falls off the core unused is not to be taken off here. Raises QuantityError.
    Source: module docstring.
    """
    charge_ah = _check_charge_ah(mass_g, capacity_ah_per_kg)
    current_a = check_above("current_ma", current_ma) / 1000
    part = check_above("consumed_fraction", consumed_fraction, high=1)
    return part * charge_ah / (HOURS_PER_DAY * current_a)


def estimate_life(
    *, mass_g: float, capacity_ah_per_kg: float, current_ma: float, utilisation: float
) -> float:
    """Estimate when an anode falls off its core [days].

    mass_g, capacity_ah_per_kg, current_ma, utilisation: above 0, the last up to 1, the part
    used before it falls off (0.80-0.90: weight calculators). Raises QuantityError. Source:
    module docstring.
    """
    charge_ah = _check_charge_ah(mass_g, capacity_ah_per_kg)
    current_a = check_above("current_ma", current_ma) / 1000
    part = check_above("utilisation", utilisation, high=1)
    return part * charge_ah / (HOURS_PER_DAY * current_a)


def weigh_anode(
    *,
    mass_new_g: float,
    mass_now_g: float,
    capacity_ah_per_kg: float,
    days: float,
    limit_fraction: float,
) -> AnodeState:
    """Judge an anode weighed dry, brushed clean and without its fixings.

    mass_new_g, capacity_ah_per_kg, days in the water: above 0. mass_now_g: 0 to mass_new_g.
    limit_fraction consumed: above 0 to 1. A rate that jumps suggests stray current: call a
    competent person.
    Raises QuantityError. Source: module docstring.
    """
    new = check_above("mass_new_g", mass_new_g)
    used = new - check_within("mass_now_g", mass_now_g, 0, new)
    capacity = check_above("capacity_ah_per_kg", capacity_ah_per_kg)
    span = check_above("days", days)
    allowed = check_above("limit_fraction", limit_fraction, high=1) * new
    left = max(0.0, allowed - used) * span / used if used > 0 else None
    mean_ma = used * capacity / (HOURS_PER_DAY * span)  # g for kg, mA for A
    return AnodeState(mean_ma=mean_ma, days_left=left, wear=used / allowed)


def estimate_pencil_consumed(
    *,
    diameter_new_mm: float,
    length_new_mm: float,
    diameter_now_mm: float,
    length_now_mm: float,
) -> float:
    """Estimate how much of a pencil anode is gone from its size [0-1].

    diameter_new_mm, length_new_mm: above 0. diameter_now_mm, length_now_mm: 0 up to those new.
    Raises QuantityError. Source: a cylinder's volume.
    """
    width = check_above("diameter_new_mm", diameter_new_mm)
    length = check_above("length_new_mm", length_new_mm)
    thin = check_within("diameter_now_mm", diameter_now_mm, 0, width) / width
    return 1 - thin**2 * (check_within("length_now_mm", length_now_mm, 0, length) / length)


def estimate_aluminium_capacity(*, water_c: float) -> float:
    """Estimate the design capacity of aluminium alloy in warm water [Ah/kg].

    water_c: -3 to 45. Raises QuantityError. Source: ABS Guidance Notes, by a summary.
    """
    warmer_k = max(0.0, check_water_c("water_c", water_c) - ALUMINIUM_FULL_C)
    return CAPACITY_AH_PER_KG["aluminium"] - ALUMINIUM_LOSS_PER_K * warmer_k


def judge_alloy(*, water: str, alloy: str) -> str:
    """Say whether an alloy suits a water: "yes", "poor" or "no".

    water: sea, brackish, fresh. alloy: zinc, aluminium, magnesium. Never mix alloys on one
    bonded system. Raises QuantityError. Source: two chandlers' anode guides (weak).
    """
    if water not in SUITABILITY:
        raise QuantityError("water", f"{water:.40} is not one of {', '.join(SUITABILITY)}")
    alloys = SUITABILITY[water]
    if alloy not in alloys:
        raise QuantityError("alloy", f"{alloy:.40} is not one of {', '.join(alloys)}")
    return alloys[alloy]


def _check_charge_ah(mass_g: float, capacity_ah_per_kg: float) -> float:
    mass_kg = check_above("mass_g", mass_g) / 1000
    return mass_kg * check_above("capacity_ah_per_kg", capacity_ah_per_kg)
