"""Recharge: against a differential-equation solver, and properties."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from upkeep.errors import QuantityError
from upkeep.physics.recharge import estimate_recharge_hours


@pytest.mark.parametrize("acceptance", [0.2, 0.5, 1.0, 3.0])
@pytest.mark.parametrize(("low", "high"), [(0.0, 0.99), (0.5, 0.7), (0.9, 0.98)])
def test_recharge_agrees_with_a_solver_of_differential_equations(acceptance, low, high):
    """SciPy integrates what the bank accepts until the target is met."""

    def reaches_target(_, charge):
        return charge[0] - high

    reaches_target.terminal = True
    solved = solve_ivp(
        lambda _, charge: 0.85 * min(42, acceptance * 220 * (1 - charge[0])) / 220,
        (0, 500),
        [low],
        events=reaches_target,
        max_step=0.01,
        rtol=1e-9,
    )
    hours = estimate_recharge_hours(
        capacity_ah=220,
        soc_from=low,
        soc_to=high,
        charger_a=42,
        efficiency=0.85,
        acceptance_per_h=acceptance,
    )
    assert hours == pytest.approx(solved.t_events[0][0], rel=1e-4)


charges = st.floats(0, 0.999)


@given(charges, charges, st.floats(1, 200), st.floats(0, 100), st.floats(0.1, 5))
def test_bank_that_tapers_never_charges_sooner(one, other, charger, load, acceptance):
    """Acceptance can only take current away."""
    low, high = sorted((one, other))
    given_ = {
        "capacity_ah": 220,
        "soc_from": low,
        "soc_to": high,
        "charger_a": charger,
        "load_a": load,
        "efficiency": 0.9,
    }
    steady = estimate_recharge_hours(**given_)
    tapered = estimate_recharge_hours(**given_, acceptance_per_h=acceptance)
    if steady is None:
        assert tapered is None
    else:
        assert tapered >= steady - 1e-9


@pytest.mark.parametrize(("cell_c", "chemistry"), [(-0.1, "agm"), (0, "lithium"), (-5, None)])
def test_cold_cell_is_refused_for_lithium_only(cell_c, chemistry):
    """0 degC itself is allowed; 220 Ah, half of it at 44 A and 100 %, by hand 2.5 h."""
    hours = estimate_recharge_hours(
        capacity_ah=220,
        soc_from=0.5,
        soc_to=1,
        charger_a=44,
        efficiency=1,
        chemistry=chemistry,
        cell_c=cell_c,
    )
    assert hours == 2.5


def test_unknown_chemistry_is_refused_by_name():
    """Nothing is assumed of it."""
    with pytest.raises(QuantityError) as caught:
        estimate_recharge_hours(
            capacity_ah=220, soc_from=0.5, soc_to=1, charger_a=44, chemistry="nickel"
        )
    assert caught.value.key == "chemistry"
