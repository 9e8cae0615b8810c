"""Raw water: the heat a cooling loop carries, the flow it needs, and what a strainer costs it.

Condenser heat of 30 x tons / rise: an engineering reference table. Sea water at 35 g/kg and
15 degC: TEOS-10. Pump and strainer curves: quadratic, MEMORY.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from upkeep.errors import QuantityError
from upkeep.physics.ranges import check_above, check_below_one, check_within

SEA_CP_J_PER_KG_K = 3993.0  # TEOS-10; within 0.3 % from 5 to 30 degC
SEA_DENSITY_KG_PER_M3 = 1025.0  # TEOS-10; as above
FRESH_CP_J_PER_KG_K = 4186.0  # MEMORY
FRESH_DENSITY_KG_PER_M3 = 1000.0  # MEMORY
LITRES_PER_MIN = 60_000.0  # of 1 m3/s
US_FLOW_PER_TON_F = 30.0  # 15 000 Btu/h per ton over 500 Btu/(h gpm degF): reference table
LIMIT_DROP = 0.10  # of the commissioning flow; common practice, no source
LIMIT_SLACK = 1e-12


@dataclass(frozen=True, kw_only=True, slots=True)
class FlowDrop:
    """How far a flow has fallen below commissioning.

    drop_fraction: of that flow, below 0 when more flows than then. wear: 0 as new, 1 at the
    limit. at_limit: the drop is at the limit or past it.
    """

    drop_fraction: float
    wear: float
    at_limit: bool


def estimate_heat_rejected(*, cooling_w: float, electrical_w: float) -> float:
    """Estimate the heat a cooling unit puts into the water [W].

    cooling_w, electrical_w: 0 or more. Raises QuantityError. Source: energy balance.
    """
    return check_within("cooling_w", cooling_w, 0) + check_within("electrical_w", electrical_w, 0)


def estimate_heat_drawn(*, heating_w: float, electrical_w: float) -> float:
    """Estimate the heat a heating unit takes from the water [W].

    heating_w, delivered: 0 or more. electrical_w: 0 to heating_w. Raises QuantityError.
    Source: energy balance.
    """
    heating = check_within("heating_w", heating_w, 0)
    return heating - check_within("electrical_w", electrical_w, 0, heating)


def estimate_flow_needed(
    *,
    heat_w: float,
    rise_k: float,
    cp_j_per_kg_k: float = SEA_CP_J_PER_KG_K,
    density_kg_per_m3: float = SEA_DENSITY_KG_PER_M3,
) -> float:
    """Estimate the flow that carries a heat at a temperature rise [L/min].

    heat_w: 0 or more; rise_k, cp_j_per_kg_k and density_kg_per_m3 (sea water's unless said):
    above 0. Raises QuantityError. Source: heat balance.
    """
    heat = check_within("heat_w", heat_w, 0)
    rise = check_above("rise_k", rise_k)
    return heat / rise / _check_water(cp_j_per_kg_k, density_kg_per_m3) * LITRES_PER_MIN


def estimate_rise(
    *,
    heat_w: float,
    flow_l_per_min: float,
    cp_j_per_kg_k: float = SEA_CP_J_PER_KG_K,
    density_kg_per_m3: float = SEA_DENSITY_KG_PER_M3,
) -> float:
    """Estimate how much warmer the water leaves [K].

    A rise well above the commissioning rise at the same load means low flow.
    heat_w: 0 or more; flow_l_per_min, cp_j_per_kg_k and density_kg_per_m3 (sea water's
    unless said): above 0. Raises QuantityError. Source: heat balance.
    """
    heat = check_within("heat_w", heat_w, 0)
    flow = check_above("flow_l_per_min", flow_l_per_min)
    return heat / flow / _check_water(cp_j_per_kg_k, density_kg_per_m3) * LITRES_PER_MIN


def measure_flow(*, volume_l: float, time_s: float) -> float:
    """Give the flow that fills a bucket in a time [L/min].

    Both above 0. Take three and use the median: 5 % apart is normal (common practice, no
    source). Raises QuantityError. Source: arithmetic.
    """
    return check_above("volume_l", volume_l) / check_above("time_s", time_s) * 60


def estimate_us_flow_needed(*, cooling_tons: float, rise_f: float) -> float:
    """Estimate the flow a unit rated in tons needs [US gal/min].

    cooling_tons (of 12 000 Btu/h): 0 or more. rise_f: above 0. Raises QuantityError.
    Source: 30 x tons / rise, an engineering reference table and a forum thread (weak).
    """
    tons = check_within("cooling_tons", cooling_tons, 0)
    return US_FLOW_PER_TON_F * tons / check_above("rise_f", rise_f)


def estimate_loop_flow(
    *,
    shutoff_head_m: float,
    open_flow_l_per_min: float,
    static_head_m: float,
    pipe_k_m_per_lpm2: float,
    strainer_k_m_per_lpm2: float,
    blocked_fraction: float,
) -> float:
    """Estimate the flow of a pumped loop whose strainer is partly blocked [L/min].

    shutoff_head_m, open_flow_l_per_min: the pump's two ends, above 0. static_head_m: 0 up
    to, not including, the shut-off head. pipe_k: 0 or more; strainer_k (clean): above 0.
    blocked_fraction: 0 up to, not including, 1. Raises QuantityError.
    Source: quadratic pump curve and losses (MEMORY).
    """
    head, slope, strainer = _check_loop(
        shutoff_head_m,
        open_flow_l_per_min,
        static_head_m,
        pipe_k_m_per_lpm2,
        strainer_k_m_per_lpm2,
    )
    free = 1 - check_below_one("blocked_fraction", blocked_fraction)
    return sqrt(head / (slope + strainer / free**2))


def estimate_blocked_fraction(
    *,
    shutoff_head_m: float,
    open_flow_l_per_min: float,
    static_head_m: float,
    pipe_k_m_per_lpm2: float,
    strainer_k_m_per_lpm2: float,
    drop_fraction: float,
) -> float:
    """Estimate how much of the strainer is blocked when the flow has dropped [0-1].

    drop_fraction: 0 up to, not including, 1, of the clean flow. Flow is a late sign: in a
    usual loop 40 % blocked costs only 10 %. Other inputs, errors and source as
    estimate_loop_flow.
    """
    _, slope, strainer = _check_loop(
        shutoff_head_m,
        open_flow_l_per_min,
        static_head_m,
        pipe_k_m_per_lpm2,
        strainer_k_m_per_lpm2,
    )
    left = 1 - check_below_one("drop_fraction", drop_fraction)
    excess = (1 / left**2 - 1) * (slope + strainer) / strainer
    return 1 - 1 / sqrt(1 + excess)


def compare_flow(*, commissioning_l_per_min: float, flow_l_per_min: float) -> FlowDrop:
    """Compare a flow with the one at commissioning, at the same pump voltage.

    commissioning_l_per_min: above 0. flow_l_per_min: 0 or more. Raises QuantityError.
    Source: a limit of 10 % is common practice, no source.
    """
    first = check_above("commissioning_l_per_min", commissioning_l_per_min)
    drop = 1 - check_within("flow_l_per_min", flow_l_per_min, 0) / first
    return FlowDrop(
        drop_fraction=drop,
        wear=max(0.0, drop / LIMIT_DROP),
        at_limit=drop >= LIMIT_DROP - LIMIT_SLACK,
    )


def _check_water(cp_j_per_kg_k: float, density_kg_per_m3: float) -> float:
    cp = check_above("cp_j_per_kg_k", cp_j_per_kg_k)
    return cp * check_above("density_kg_per_m3", density_kg_per_m3)


def _check_loop(
    shutoff_head_m: float, open_flow: float, static_head_m: float, pipe_k: float, strainer_k: float
) -> tuple[float, float, float]:
    """Give the head to spend, and the losses per flow squared without and of the strainer."""
    shutoff = check_above("shutoff_head_m", shutoff_head_m)
    flow = check_above("open_flow_l_per_min", open_flow)
    static = check_within("static_head_m", static_head_m, 0)
    if static >= shutoff:
        raise QuantityError("static_head_m", f"{static:g} m; the pump lifts {shutoff:g} m at most")
    pipe = check_within("pipe_k_m_per_lpm2", pipe_k, 0)
    strainer = check_above("strainer_k_m_per_lpm2", strainer_k)
    return shutoff - static, shutoff / flow / flow + pipe, strainer
