"""Wiring: the conductor a run needs, and whether a fuse protects it. A check, never a design.

Voltage drop: ABYC E-11 wire tables, as printed by two chandlers. Overcurrent rule: ABYC E-11,
by a retailer's account. Gauge diameters: MEMORY.
"""

from __future__ import annotations

from collections.abc import Sequence

from upkeep.errors import QuantityError
from upkeep.physics.ranges import check_above, check_series, check_within

CMIL_OHM_PER_FT = 10.75  # ABYC E-11: resistance of a foot of one circular mil
OHM_MM2_PER_M = 0.017871  # the same constant in SI
SAFETY_DROP = 0.03  # of the supply, for circuits that safety hangs on: ABYC E-11
OTHER_DROP = 0.10  # for all others: ABYC E-11
MOST_OF_AMPACITY = 1.5  # ABYC E-11
GAUGES = ("18", "16", "14", "12", "10", "8", "6", "4", "2", "1", "1/0", "2/0", "3/0", "4/0")
STANDARD_SIZES_A = (5, 10, 15, 20, 25, 30, 40, 50, 60, 80, 100, 125, 150)  # practice, no source


def estimate_circular_mils(*, current_a: float, round_trip_ft: float, drop_v: float) -> float:
    """Estimate the copper that keeps a voltage drop [circular mils].

    current_a: 0 or more. round_trip_ft (out and back), drop_v: above 0. The current the
    wire may carry is a separate check; the larger wire wins. Raises QuantityError.
    Source: ABYC E-11, module docstring.
    """
    current = check_within("current_a", current_a, 0)
    length = check_above("round_trip_ft", round_trip_ft)
    return CMIL_OHM_PER_FT * current * length / check_above("drop_v", drop_v)


def estimate_voltage_drop(*, current_a: float, round_trip_m: float, area_mm2: float) -> float:
    """Estimate the voltage a run of copper costs [V].

    current_a: 0 or more. round_trip_m (out and back), area_mm2: above 0.
    Raises QuantityError. Source: ABYC E-11 in SI.
    """
    current = check_within("current_a", current_a, 0)
    length = check_above("round_trip_m", round_trip_m)
    return current * length * OHM_MM2_PER_M / check_above("area_mm2", area_mm2)


def find_gauge(*, needed_cmil: float) -> str:
    """Find the smallest American wire gauge with the copper needed, "18" to "4/0".

    needed_cmil: above 0, up to that of 4/0. Real strands may fall short: check the
    maker's area. Raises QuantityError. Source: d = 0.005 * 92^((36 - n) / 39) in (MEMORY).
    """
    needed = check_above("needed_cmil", needed_cmil)
    for gauge in GAUGES:
        if _find_area_cmil(gauge) >= needed:
            return gauge
    raise QuantityError("needed_cmil", f"{needed:g} is more than 4/0; run two or go nearer")


def judge_fuse(
    *, load_a: float, ampacity_a: float, fuse_a: float, standard_sizes_a: Sequence[float]
) -> str:
    """Say whether a fuse suits its load and wire.

    All above 0; standard_sizes_a, the sizes made, is not empty. Returns "ok", "next size
    up" (allowed), "fuse too large", "fuse too small" or "wire too small".
    Raises QuantityError. Source: ABYC E-11, module docstring.
    """
    load, ampacity = check_above("load_a", load_a), check_above("ampacity_a", ampacity_a)
    fuse, sizes = check_above("fuse_a", fuse_a), _check_sizes(standard_sizes_a)
    if load > ampacity:
        return "wire too small"
    if fuse < load:
        return "fuse too small"
    if fuse <= ampacity:
        return "ok"
    larger = min((size for size in sizes if size > ampacity), default=0.0)
    is_next = fuse == larger and ampacity not in sizes
    return "next size up" if is_next and fuse <= MOST_OF_AMPACITY * ampacity else "fuse too large"


def _find_area_cmil(gauge: str) -> float:
    number = 1 - int(gauge[0]) if "/" in gauge else int(gauge)
    mils = 5 * 92 ** ((36 - number) / 39)
    return float(mils * mils)


def _check_sizes(sizes: Sequence[float]) -> tuple[float, ...]:
    checked = check_series("standard_sizes_a", sizes, 0)
    if not checked or 0 in checked:
        raise QuantityError("standard_sizes_a", "write one size or more, each above 0")
    return checked
