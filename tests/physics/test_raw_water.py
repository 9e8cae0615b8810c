"""Raw water: against TEOS-10, IAPWS water, pint and a root finder, and properties."""

from __future__ import annotations

import gsw
import pint
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from upkeep.errors import QuantityError
from upkeep.physics import raw_water

UNITS = pint.UnitRegistry()
LOOP = {
    "shutoff_head_m": 4,
    "open_flow_l_per_min": 40,
    "static_head_m": 0.5,
    "pipe_k_m_per_lpm2": 0.004,
    "strainer_k_m_per_lpm2": 0.001,
}


@pytest.mark.parametrize("water_c", [5, 10, 15, 20, 25, 30])
def test_sea_water_constants_hold_within_a_third_of_a_percent(water_c):
    """TEOS-10 at a practical salinity of 35 and the surface."""
    salinity = gsw.SA_from_SP(35, 0, 0, 45)
    heat = gsw.cp_t_exact(salinity, water_c, 0)
    density = gsw.rho_t_exact(salinity, water_c, 0)
    assert pytest.approx(heat, rel=0.003) == raw_water.SEA_CP_J_PER_KG_K
    assert pytest.approx(density, rel=0.0033) == raw_water.SEA_DENSITY_KG_PER_M3


@pytest.mark.parametrize("water_c", [5, 15, 20, 30])
def test_fresh_water_constants_hold_within_half_a_percent(water_c):
    """CoolProp, by the IAPWS formulation, at the surface."""
    state = ("T", 273.15 + water_c, "P", 101_325, "Water")
    assert pytest.approx(PropsSI("C", *state), rel=0.005) == raw_water.FRESH_CP_J_PER_KG_K
    assert pytest.approx(PropsSI("D", *state), rel=0.005) == raw_water.FRESH_DENSITY_KG_PER_M3


@pytest.mark.parametrize(("heat_w", "rise_k"), [(4500, 5), (12_000, 3.5)])
def test_flow_needed_agrees_with_pint(heat_w, rise_k):
    """Units carried through by pint."""
    capacity = UNITS.Quantity(3993, "J/(kg*K)") * UNITS.Quantity(1025, "kg/m^3")
    expected = UNITS.Quantity(heat_w, "W") / (UNITS.Quantity(rise_k, "K") * capacity)
    flow = raw_water.estimate_flow_needed(heat_w=heat_w, rise_k=rise_k)
    assert flow == pytest.approx(expected.to("L/min").magnitude, rel=1e-12)


def test_us_rule_agrees_with_the_heat_balance_in_fresh_water():
    """The table's 15 000 Btu/h per ton over 10 degF; it rounds 500 Btu/(h gpm degF)."""
    heat = UNITS.Quantity(15_000, "Btu/h").to("W").magnitude
    rise = UNITS.Quantity(10, "delta_degF").to("K").magnitude
    flow = raw_water.estimate_flow_needed(
        heat_w=heat,
        rise_k=rise,
        cp_j_per_kg_k=raw_water.FRESH_CP_J_PER_KG_K,
        density_kg_per_m3=raw_water.FRESH_DENSITY_KG_PER_M3,
    )
    gallons = UNITS.Quantity(flow, "L/min").to("gallon/min").magnitude
    assert raw_water.estimate_us_flow_needed(cooling_tons=1, rise_f=10) == pytest.approx(
        gallons, rel=0.003
    )


def test_bucket_flow_agrees_with_pint():
    """A US five-gallon bucket in 95 s."""
    litres = UNITS.Quantity(5, "gallon").to("L").magnitude
    expected = UNITS.Quantity(5, "gallon") / UNITS.Quantity(95, "s")
    assert raw_water.measure_flow(volume_l=litres, time_s=95) == pytest.approx(
        expected.to("L/min").magnitude
    )


@given(st.floats(100, 50_000), st.floats(0.5, 20))
def test_rise_undoes_flow(heat_w, rise_k):
    """What was asked for comes back."""
    flow = raw_water.estimate_flow_needed(heat_w=heat_w, rise_k=rise_k)
    rise = raw_water.estimate_rise(heat_w=heat_w, flow_l_per_min=flow)
    assert rise == pytest.approx(rise_k)


def test_heat_drawn_and_rejected_differ_by_the_electricity():
    """5 kW delivered for 1.25 kW leaves the sea 3.75 kW colder, by hand."""
    assert raw_water.estimate_heat_drawn(heating_w=5000, electrical_w=1250) == 3750
    assert raw_water.estimate_heat_rejected(cooling_w=3750, electrical_w=1250) == 5000
    with pytest.raises(QuantityError) as caught:
        raw_water.estimate_heat_drawn(heating_w=1000, electrical_w=1001)
    assert caught.value.key == "electrical_w"


@pytest.mark.parametrize("blocked", [0, 0.25, 0.5, 0.9, 0.999])
def test_loop_flow_is_where_pump_and_pipe_meet(blocked):
    """SciPy finds the crossing of the two curves."""

    def spare_head(flow):
        lift = 4 * (1 - (flow / 40) ** 2)
        return lift - 0.5 - 0.004 * flow**2 - 0.001 * (flow / (1 - blocked)) ** 2

    flow = raw_water.estimate_loop_flow(**LOOP, blocked_fraction=blocked)
    assert flow == pytest.approx(brentq(spare_head, 0, 40, xtol=1e-12), rel=1e-9)


@given(st.floats(0, 0.99))
def test_blocked_fraction_undoes_the_drop_it_costs(blocked):
    """Through the flow and back; a clean strainer's drop has no more digits than a double."""
    clean = raw_water.estimate_loop_flow(**LOOP, blocked_fraction=0)
    flow = raw_water.estimate_loop_flow(**LOOP, blocked_fraction=blocked)
    found = raw_water.estimate_blocked_fraction(**LOOP, drop_fraction=max(0, 1 - flow / clean))
    assert found == pytest.approx(blocked, abs=1e-8)


@given(st.floats(1, 100), st.floats(0, 200))
def test_wear_reaches_one_exactly_when_the_flow_is_at_its_limit(first, flow):
    """More flow than at commissioning is no wear."""
    drop = raw_water.compare_flow(commissioning_l_per_min=first, flow_l_per_min=flow)
    assert drop.at_limit == (drop.wear >= 1 - 1e-11)
    assert (drop.wear == 0) == (flow >= first)
