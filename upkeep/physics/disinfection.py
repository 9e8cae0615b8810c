"""Disinfection: chlorine for a fresh-water tank, how long it stands, how often to flush.

Source: a state water agency's sheet citing AWWA C652. Plain unscented bleach only, never
with acids.
"""

from __future__ import annotations

from math import ceil, log

from upkeep.errors import QuantityError
from upkeep.physics.ranges import check_above

MOST_MG_PER_L = 200.0
CONTACT_H = ((200.0, 3.0), (50.0, 6.0), (10.0, 24.0))  # from mg/L, hours: AWWA C652
ROUNDING = 1e-9  # a whole number of flushes met exactly is not one more


def estimate_bleach(
    *, tank_l: float, target_mg_per_l: float, available_chlorine_pct_w_v: float
) -> float:
    """Estimate the bleach a tank needs [mL].

    tank_l: above 0. target_mg_per_l: above 0 to 200. available_chlorine_pct_w_v: above 0 to
    100, weight by volume; for a strength by weight multiply by the density.
    Raises QuantityError. Source: module docstring.
    """
    tank = check_above("tank_l", tank_l)
    target = check_above("target_mg_per_l", target_mg_per_l, high=MOST_MG_PER_L)
    strength = check_above("available_chlorine_pct_w_v", available_chlorine_pct_w_v, high=100)
    return tank * target / (10 * strength)


def find_contact_time(*, free_chlorine_mg_per_l: float) -> float:
    """Find how long chlorinated water must stand [h].

    free_chlorine_mg_per_l: 10 or more. Raises QuantityError. Source: module docstring.
    """
    strength = check_above("free_chlorine_mg_per_l", free_chlorine_mg_per_l)
    for least, hours in CONTACT_H:
        if strength >= least:
            return hours
    raise QuantityError("free_chlorine_mg_per_l", f"{strength:g} is too weak; write 10 or more")


def count_flushes(*, left_fraction: float, now_mg_per_l: float, target_mg_per_l: float) -> int:
    """Count the flushes that bring chlorine down to a target.

    left_fraction: above 0, below 1, of the water that stays behind at each. now_mg_per_l,
    target_mg_per_l: above 0. Returns 0 at or below the target. Raises QuantityError.
    Source: arithmetic.
    """
    left = check_above("left_fraction", left_fraction, high=1)
    if left == 1:
        raise QuantityError("left_fraction", "nothing is flushed out; write less than 1")
    now = check_above("now_mg_per_l", now_mg_per_l)
    target = check_above("target_mg_per_l", target_mg_per_l)
    return max(0, ceil(log(target / now) / log(left) - ROUNDING))
