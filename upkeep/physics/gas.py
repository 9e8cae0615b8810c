"""Gas: judging a leak-down test of an LPG system.

Let the temperature settle 2 min; no detectable fall in 5 min passes: a gas installation
standard, clause E.3.2. The supply must be shut: an open cylinder hides the leak.
A fail means: shut off, ventilate, no switches or flame, a competent gas fitter.
"""

from __future__ import annotations

from dataclasses import dataclass

from upkeep.physics.ranges import check_above, check_within

ATMOSPHERE_MBAR = 1013.25  # standard atmosphere, exact by definition
ZERO_CELSIUS_K = 273.15
GAUGE_RESOLUTION_MBAR = 0.5  # what a manometer shows; common practice, no source
LEAST_MINUTES = 5.0  # module docstring
LOWEST_C, HIGHEST_C = -40.0, 60.0  # air; common practice, no source
ROUNDING_MBAR = 1e-9


@dataclass(frozen=True, kw_only=True, slots=True)
class LeakTest:
    """What a leak-down test says.

    temperature_alone_mbar: where a tight system would end. leak_mbar: below that; negative
    means gas came in. leak_ml_per_min: the same as gas at the atmosphere. verdict: "pass" or
    "fail".
    """

    temperature_alone_mbar: float
    leak_mbar: float
    leak_ml_per_min: float
    verdict: str


def judge_leak_test(
    *,
    start_mbar: float,
    end_mbar: float,
    start_c: float,
    end_c: float,
    volume_l: float,
    minutes: float,
) -> LeakTest:
    """Judge a pressure held with the supply shut.

    start_mbar, end_mbar (gauge): 0 or more, start above 0. start_c, end_c: -40 to 60.
    volume_l, minutes: above 0. Passes only when the gauge has not fallen, the difference
    is within its resolution once the temperature is allowed for, and it was held 5 min;
    1 K is worth 3.6 mbar at 30 mbar, so test again if the temperature moved.
    Raises QuantityError. Source: module docstring, gas law.
    """
    start = check_above("start_mbar", start_mbar)
    end = check_within("end_mbar", end_mbar, 0)
    start_k = check_within("start_c", start_c, LOWEST_C, HIGHEST_C) + ZERO_CELSIUS_K
    end_k = check_within("end_c", end_c, LOWEST_C, HIGHEST_C) + ZERO_CELSIUS_K
    volume_ml = check_above("volume_l", volume_l) * 1000
    held = check_above("minutes", minutes)
    alone = (start + ATMOSPHERE_MBAR) * end_k / start_k - ATMOSPHERE_MBAR
    leak = alone - end
    is_steady = end >= start and abs(leak) <= GAUGE_RESOLUTION_MBAR + ROUNDING_MBAR
    return LeakTest(
        temperature_alone_mbar=alone,
        leak_mbar=leak,
        leak_ml_per_min=leak / ATMOSPHERE_MBAR * volume_ml / held,
        verdict="pass" if is_steady and held >= LEAST_MINUTES else "fail",
    )
