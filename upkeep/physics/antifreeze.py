"""Antifreeze: what a propylene glycol mix withstands.

Freeze points: a chemistry handbook, 15th ed., table 5.13; an open property library lies
0.3-1.4 K colder, so the table is the cautious one. Burst protection: MEMORY, except the 30 %
and 35 % rows from antifreeze makers' pages (weak). A figure of -50 on a bottle is a burst
figure of the undiluted product.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from upkeep.physics.ranges import check_above, check_within

FREEZE_POINTS = (
    (0.0, 0.0),
    (5.0, -1.1),
    (10.0, -2.2),
    (15.0, -3.9),
    (20.0, -6.7),
    (25.0, -8.9),
    (30.0, -12.8),
    (35.0, -16.1),
    (40.0, -20.6),
    (45.0, -26.7),
    (50.0, -33.3),
)  # vol %, degC: chemistry handbook, table 5.13

BURST_POINTS = (
    (0.0, 0.0),
    (12.0, -6.7),
    (20.0, -12.2),
    (24.0, -17.8),
    (28.0, -23.3),
    (30.0, -28.9),
    (33.0, -34.4),
    (35.0, -51.1),
)  # vol %, lowest degC: module docstring

HIGHEST_C = 60.0  # no lowest temperature on earth; ours


def estimate_freeze_point(*, glycol_vol_pct: float) -> float:
    """Estimate where a mix begins to freeze [degC].

    glycol_vol_pct: 0 to 50. Raises QuantityError. Source: table, straight between rows.
    """
    strength = check_within("glycol_vol_pct", glycol_vol_pct, 0, FREEZE_POINTS[-1][0])
    return _interpolate(strength, FREEZE_POINTS)


def estimate_glycol_needed(*, lowest_c: float) -> float:
    """Estimate the strength that does not begin to freeze [vol %].

    lowest_c: -33.3 to 60; 0 % at 0 degC and above. Raises QuantityError. Source: as above.
    """
    lowest = check_within("lowest_c", lowest_c, FREEZE_POINTS[-1][1], HIGHEST_C)
    falling = [(-celsius, strength) for strength, celsius in FREEZE_POINTS]
    return _interpolate(max(0.0, -lowest), falling)


def find_burst_strength(*, lowest_c: float) -> float:
    """Find the strength that turns to slush but bursts nothing [vol %].

    lowest_c: -51.1 to 60. The next stronger row, never between rows; the mix needs room to
    expand. Raises QuantityError. Source: module docstring.
    """
    lowest = check_within("lowest_c", lowest_c, BURST_POINTS[-1][1], HIGHEST_C)
    return next(strength for strength, celsius in BURST_POINTS if celsius <= lowest)


def dilute_antifreeze(
    *, antifreeze_l: float, strength_vol_pct: float, residual_water_l: float
) -> float:
    """Give the strength after mixing with the water left in the pipes [vol %].

    antifreeze_l: above 0. strength_vol_pct: above 0 to 100. residual_water_l: 0 or more.
    Raises QuantityError. Source: arithmetic.
    """
    poured = check_above("antifreeze_l", antifreeze_l)
    strength = check_above("strength_vol_pct", strength_vol_pct, high=100)
    return strength * poured / (poured + check_within("residual_water_l", residual_water_l, 0))


def _interpolate(value: float, table: Sequence[tuple[float, float]]) -> float:
    for (low, from_), (high, to) in pairwise(table):
        if value <= high:
            return from_ + (to - from_) * (value - low) / (high - low)
    return table[-1][1]
