"""Antifreeze: against NumPy's interpolation, an open property library, and properties."""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from upkeep.physics.antifreeze import (
    dilute_antifreeze,
    estimate_freeze_point,
    estimate_glycol_needed,
    find_burst_strength,
)

# Chemistry handbook, 15th ed., table 5.13: propylene glycol, vol %, degC.
STRENGTHS = (0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50)
FREEZE_C = (0, -1.1, -2.2, -3.9, -6.7, -8.9, -12.8, -16.1, -20.6, -26.7, -33.3)


@given(st.floats(0, 50))
def test_freeze_point_agrees_with_the_handbook_table(strength):
    """NumPy interpolates the table as typed here."""
    expected = np.interp(strength, STRENGTHS, FREEZE_C)
    assert estimate_freeze_point(glycol_vol_pct=strength) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("strength", range(10, 51, 5))
def test_freeze_point_is_cautious_beside_a_property_library(strength):
    """CoolProp's fit by volume freezes colder, by up to a degree and a half."""
    fluid = f"INCOMP::APG[{strength / 100}]"
    fitted_c = PropsSI("T_freeze", "T", 300, "P", 101_325, fluid) - 273.15
    assert fitted_c < estimate_freeze_point(glycol_vol_pct=strength) < fitted_c + 1.5


@given(st.floats(-33.3, 0))
def test_strength_needed_freezes_just_there(lowest):
    """There and back."""
    strength = estimate_glycol_needed(lowest_c=lowest)
    assert estimate_freeze_point(glycol_vol_pct=strength) == pytest.approx(lowest, abs=1e-9)


@given(st.floats(-51.1, 60), st.floats(-51.1, 60))
def test_colder_winter_never_needs_a_weaker_mix(one, other):
    """Burst protection steps up, never down."""
    cold, mild = (find_burst_strength(lowest_c=t) for t in sorted((one, other)))
    assert cold >= mild


@pytest.mark.parametrize(
    ("lowest", "strength"), [(0, 0), (-0.1, 12), (-6.7, 12), (-6.8, 20), (-34.5, 35), (-51.1, 35)]
)
def test_burst_strength_takes_the_next_stronger_row(lowest, strength):
    """Rows MEMORY but for 30 and 35 % (antifreeze makers' pages, weak)."""
    assert find_burst_strength(lowest_c=lowest) == strength


@given(st.floats(0.1, 100), st.floats(1, 100), st.floats(0, 100))
def test_water_left_in_the_pipes_never_strengthens_a_mix(litres, strength, water):
    """None left leaves it as it is."""
    mixed = dilute_antifreeze(
        antifreeze_l=litres, strength_vol_pct=strength, residual_water_l=water
    )
    assert 0 < mixed <= strength * (1 + 1e-12)
