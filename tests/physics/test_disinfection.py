"""Disinfection: against pint, simulation of the flushes, and the cited table."""

from __future__ import annotations

import pint
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from upkeep.physics.disinfection import count_flushes, estimate_bleach, find_contact_time

UNITS = pint.UnitRegistry()


def test_bleach_for_five_hundred_gallons_is_half_a_gallon():
    """A state water agency's sheet citing AWWA C652: 50 mg/L with 5 %; gallons by pint."""
    tank = UNITS.Quantity(500, "gallon").to("L").magnitude
    bleach = estimate_bleach(tank_l=tank, target_mg_per_l=50, available_chlorine_pct_w_v=5)
    assert UNITS.Quantity(bleach, "mL").to("gallon").magnitude == pytest.approx(0.50)


def test_bleach_brings_the_tank_to_its_target():
    """Pint weighs the chlorine: per cent weight by volume is g in 100 mL."""
    bleach = estimate_bleach(tank_l=300, target_mg_per_l=50, available_chlorine_pct_w_v=8.25)
    chlorine = UNITS.Quantity(bleach, "mL") * UNITS.Quantity(8.25, "g") / UNITS.Quantity(100, "mL")
    strength = (chlorine / UNITS.Quantity(300, "L")).to("mg/L").magnitude
    assert strength == pytest.approx(50)


@pytest.mark.parametrize(("strength", "hours"), [(10, 24), (49.9, 24), (50, 6), (199, 6), (200, 3)])
def test_contact_time_steps_down_with_strength(strength, hours):
    """AWWA C652, by the same sheet."""
    assert find_contact_time(free_chlorine_mg_per_l=strength) == hours


@given(st.floats(0.02, 0.9), st.floats(0.1, 200), st.floats(0.1, 5))
def test_flushes_are_the_fewest_that_reach_the_target(left, now, target):
    """Flushing step by step."""
    flushes = count_flushes(left_fraction=left, now_mg_per_l=now, target_mg_per_l=target)
    strengths = [now]
    for _ in range(flushes + 1):
        strengths.append(strengths[-1] * left)
    assume(all(abs(strength / target - 1) > 1e-6 for strength in strengths))
    assert strengths[flushes] < target
    assert flushes == 0 or strengths[flushes - 1] > target
