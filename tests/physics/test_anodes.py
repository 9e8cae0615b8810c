"""Anodes: against Faraday's law, a handbook's worked weights and pint, and properties."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from upkeep.physics import anodes

UNITS = pint.UnitRegistry()
FARADAY = constants.physical_constants["Faraday constant"][0]


# Molar masses (IUPAC) and charges of the ions. Current efficiency: zinc about 95 %, magnesium
# about half (MEMORY); aluminium's design value stays well below theory.
@pytest.mark.parametrize(
    ("alloy", "g_per_mol", "charge", "low", "high"),
    [
        ("zinc", 65.38, 2, 0.90, 1.0),
        ("aluminium", 26.982, 3, 0.6, 0.95),
        ("magnesium", 24.305, 2, 0.45, 0.55),
    ],
)
def test_capacity_stays_within_faradays_law(alloy, g_per_mol, charge, low, high):
    """An anode cannot give more than its metal holds."""
    theory = charge * FARADAY / 3600 / (g_per_mol / 1000)
    assert low <= anodes.CAPACITY_AH_PER_KG[alloy] / theory <= high


# MIL-HDBK-1004/10, worked examples: pounds of anode, amperes, pounds per ampere and year, part
# of that got as current (the last example has it in the pounds), years.
@pytest.mark.parametrize(
    ("pounds", "amperes", "consumption", "efficiency", "years"),
    [
        (193, 0.73, 8.8, 0.50, 15),  # p. 198, magnesium
        (227, 0.858, 8.8, 0.50, 15),  # p. 186, magnesium
        (1117.2, 14.7, 7.6, 1, 10),  # p. 209, in sea water and mud
    ],
)
def test_life_agrees_with_the_handbooks_worked_weights(
    pounds, amperes, consumption, efficiency, years
):
    """Pint turns pounds per ampere and year about; the handbook rounds to whole pounds."""
    capacity = 1 / UNITS.Quantity(consumption, "pound/(A*year)")
    days = anodes.estimate_life(
        mass_g=UNITS.Quantity(pounds, "pound").to("g").magnitude,
        capacity_ah_per_kg=capacity.to("A*h/kg").magnitude,
        current_ma=amperes * 1000,
        utilisation=efficiency,
    )
    assert UNITS.Quantity(days, "day").to("year").magnitude == pytest.approx(years, rel=0.003)


def test_capacity_of_magnesium_is_the_handbooks():
    """MIL-HDBK-1004/10 p. 198: 8.8 lb for an ampere and year, half of it got as current."""
    handbook = 0.50 / UNITS.Quantity(8.8, "pound/(A*year)")
    assert anodes.CAPACITY_AH_PER_KG["magnesium"] == pytest.approx(
        handbook.to("A*h/kg").magnitude, rel=0.005
    )


def test_days_to_consume_agree_with_pint():
    """Units carried through by pint."""
    charge = UNITS.Quantity(85, "g") * UNITS.Quantity(780, "A*h/kg") * 0.5
    expected = (charge / UNITS.Quantity(13, "mA")).to("day").magnitude
    days = anodes.estimate_days_to_consume(
        mass_g=85, capacity_ah_per_kg=780, current_ma=13, consumed_fraction=0.5
    )
    assert days == pytest.approx(expected, rel=1e-12)


@given(st.floats(10, 5000), st.floats(1, 200), st.floats(1, 60))
def test_weighing_finds_the_current_and_the_day_it_was_consumed_at(mass, current, days):
    """An anode consumed at a known current is weighed: current and days left come back."""
    used = current * 24 * days / 780  # g, from the meaning of the capacity
    if used > mass:
        return
    total = anodes.estimate_days_to_consume(
        mass_g=mass, capacity_ah_per_kg=780, current_ma=current, consumed_fraction=0.5
    )
    state = anodes.weigh_anode(
        mass_new_g=mass,
        mass_now_g=mass - used,
        capacity_ah_per_kg=780,
        days=days,
        limit_fraction=0.5,
    )
    assert state.mean_ma == pytest.approx(current, rel=1e-6)
    assert state.days_left == pytest.approx(max(0, total - days), rel=1e-6, abs=1e-6)
    assert (state.wear > 1 + 1e-9) <= (state.days_left == 0)


@pytest.mark.parametrize(("water_c", "capacity"), [(-3, 2000), (20, 2000), (21, 1973), (45, 1325)])
def test_aluminium_loses_capacity_in_warm_water_only(water_c, capacity):
    """27 Ah/kg for each kelvin above 20 degC: ABS Guidance Notes, by a summary."""
    assert anodes.estimate_aluminium_capacity(water_c=water_c) == capacity


# Two chandlers' anode guides (weak).
@pytest.mark.parametrize(
    ("water", "words"),
    [
        ("sea", ["yes", "yes", "no"]),
        ("brackish", ["poor", "yes", "no"]),
        ("fresh", ["no", "poor", "yes"]),
    ],
)
def test_alloy_suits_its_water(water, words):
    """The whole table."""
    alloys = ("zinc", "aluminium", "magnesium")
    assert [anodes.judge_alloy(water=water, alloy=alloy) for alloy in alloys] == words


def test_pencil_anode_is_gone_by_its_volume():
    """Half the diameter and the whole length leaves a quarter, by hand; nothing left is 1."""
    new = {"diameter_new_mm": 16, "length_new_mm": 50}
    half = anodes.estimate_pencil_consumed(**new, diameter_now_mm=8, length_now_mm=50)
    gone = anodes.estimate_pencil_consumed(**new, diameter_now_mm=0, length_now_mm=0)
    assert (half, gone) == (0.75, 1)
