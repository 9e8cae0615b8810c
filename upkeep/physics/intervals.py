"""Intervals: how often to look for a sign of failure, and how often to prove a hidden function.

Looks within the time from sign to failure: naval reliability-centred maintenance guide NAVAIR
00-25-403, by two accounts of it. Proof tests: twice the share of time unready times the mean
life, as reliability handbooks give it (MEMORY).
"""

from __future__ import annotations

from math import ceil, log, log1p

from upkeep.errors import QuantityError
from upkeep.physics.ranges import check_above

MOST_UNREADY_SHARE = 0.1  # above it the straight line no longer holds (MEMORY)
ROUNDING = 1e-9  # a whole number of looks met exactly is not one more


def count_looks(*, seen_chance: float, missed_chance: float) -> int:
    """Count the looks that leave a sign unseen no more often than accepted [looks], 1 or more.

    seen_chance: above 0 to 1, that one look sees a sign that is there. missed_chance: above
    0, below 1, accepted that all looks miss it. Each look counts as independent; two by the
    same eye are less. Raises QuantityError. Source: NAVAIR 00-25-403, module docstring.
    """
    seen = check_above("seen_chance", seen_chance, high=1)
    missed = check_above("missed_chance", missed_chance, high=1)
    if missed == 1:
        raise QuantityError("missed_chance", "nothing would be looked for; write less than 1")
    return 1 if seen == 1 else max(1, ceil(log(missed) / log1p(-seen) - ROUNDING))


def estimate_inspection_interval(
    *, warning_time: float, seen_chance: float, missed_chance: float
) -> float:
    """Estimate how often to look for a sign that failure has begun [unit of warning_time].

    warning_time: from the first sign to failure, above 0, in any unit; take the shortest
    known, not the mean. Others and errors as count_looks. Holds where signs come at random
    between looks. Source: NAVAIR 00-25-403, module docstring.
    """
    warning = check_above("warning_time", warning_time)
    return warning / count_looks(seen_chance=seen_chance, missed_chance=missed_chance)


def estimate_proof_interval(*, unready_share: float, mean_life: float) -> float:
    """Estimate how often to test what only matters in need [unit of mean_life].

    unready_share: above 0 to 0.1, the share of time it may stand failed unnoticed.
    mean_life: mean time to failure, above 0, in any unit. Holds for failures at a steady
    rate, found by the test and mended at once. Raises QuantityError, also above 0.1 where
    the straight line no longer holds. Source: reliability handbooks (MEMORY).
    """
    unready = check_above("unready_share", unready_share, high=MOST_UNREADY_SHARE)
    return 2 * unready * check_above("mean_life", mean_life)
