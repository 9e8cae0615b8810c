"""Fouling: how fast growth and scale build up in sea water.

Growth about doubles per 10 degC and stops rising at 30-35 degC: a forum thread quoting an
offshore fouling guide (weak). Kern and Seaton's curve: named in a review paper on
crystallisation fouling, equation MEMORY.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import expm1, log1p
from types import MappingProxyType

from upkeep.physics.ranges import check_above, check_below_one, check_water_c, check_within

REFERENCE_C = 20.0
DOUBLING_K = 10.0  # module docstring
GROWTH_LOW_C, GROWTH_HIGH_C = 0.0, 30.0  # no slower below, no faster above; module docstring
CLASS_FACTORS: Mapping[str, float] = MappingProxyType(
    {"open": 0.6, "marina": 1.0, "rich": 1.6, "fresh": 0.3}
)  # open moving water, ordinary marina, warm or rich basin: common practice, no source


def estimate_fouling_rate(*, water_c: float, class_factor: float) -> float:
    """Estimate growth [equivalent days at 20 degC per day].

    water_c: -3 to 45; the rate is that of 0 degC below it and of 30 degC above it.
    class_factor: above 0, see CLASS_FACTORS. Raises QuantityError.
    Source: module docstring.
    """
    water = check_water_c("water_c", water_c)
    factor = check_above("class_factor", class_factor)
    return factor * _scale(min(GROWTH_HIGH_C, max(GROWTH_LOW_C, water)))


def estimate_resistance(
    *, asymptote_m2k_per_w: float, time_constant_d: float, time_d: float
) -> float:
    """Estimate fouling resistance after a time of Kern and Seaton's curve [m2K/W].

    asymptote_m2k_per_w, time_constant_d: above 0. time_d: 0 or more, in seasonal water
    equivalent days at 20 degC rather than calendar days. Raises QuantityError.
    Source: Kern and Seaton, module docstring (equation MEMORY).
    """
    asymptote = check_above("asymptote_m2k_per_w", asymptote_m2k_per_w)
    constant = check_above("time_constant_d", time_constant_d)
    return -asymptote * expm1(-check_within("time_d", time_d, 0) / constant)


def estimate_days_to_resistance(
    *, asymptote_m2k_per_w: float, time_constant_d: float, limit_m2k_per_w: float
) -> float | None:
    """Estimate when Kern and Seaton's curve meets a limit [days].

    All above 0; the days are those of the time constant. Returns None when the curve levels
    off at or below the limit: it never forces cleaning. Raises QuantityError.
    Source: as estimate_resistance.
    """
    asymptote = check_above("asymptote_m2k_per_w", asymptote_m2k_per_w)
    constant = check_above("time_constant_d", time_constant_d)
    part = check_above("limit_m2k_per_w", limit_m2k_per_w) / asymptote
    return None if part >= 1 else -constant * log1p(-part)


def estimate_resistance_of_drop(*, clean_u_w_per_m2k: float, u_drop_fraction: float) -> float:
    """Estimate the fouling resistance that costs a part of the heat transfer [m2K/W].

    clean_u_w_per_m2k: above 0. u_drop_fraction: 0 up to, not including, 1.
    Raises QuantityError. Source: resistances in series.
    """
    clean = check_above("clean_u_w_per_m2k", clean_u_w_per_m2k)
    drop = check_below_one("u_drop_fraction", u_drop_fraction)
    return drop / (1 - drop) / clean


def estimate_descaling_days(
    *,
    rate_m2k_per_w_per_day_at_20c: float,
    limit_m2k_per_w: float,
    residual_m2k_per_w: float,
    water_c: float,
) -> float:
    """Estimate when scale that grows steadily meets its limit [days].

    Rate and limit above 0; residual (left after the last clean) 0 or more; water_c -3 to
    45, the rate doubling per 10 degC. Returns 0 at or past the limit. Raises QuantityError.
    Source: linear growth, ours.
    """
    rate = check_above("rate_m2k_per_w_per_day_at_20c", rate_m2k_per_w_per_day_at_20c)
    limit = check_above("limit_m2k_per_w", limit_m2k_per_w)
    room = limit - check_within("residual_m2k_per_w", residual_m2k_per_w, 0)
    return max(0.0, room) / (rate * _scale(check_water_c("water_c", water_c)))


def _scale(water_c: float) -> float:
    return float(2.0 ** ((water_c - REFERENCE_C) / DOUBLING_K))
