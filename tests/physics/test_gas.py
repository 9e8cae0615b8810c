"""Gas: against the gas law in pint, and the verdict case by case."""

from __future__ import annotations

import pint
import pytest

from upkeep.physics.gas import judge_leak_test

UNITS = pint.UnitRegistry()
TEST = {
    "start_mbar": 30,
    "end_mbar": 30,
    "start_c": 15,
    "end_c": 15,
    "volume_l": 0.6,
    "minutes": 5,
}


def test_leak_agrees_with_the_gas_law_in_pint():
    """Moles lost between start and end, as volume at the atmosphere, per minute."""
    volume = UNITS.Quantity(0.6, "L")
    constant = UNITS.Quantity(1, "molar_gas_constant")

    def moles(gauge_mbar, celsius):
        pressure = UNITS.Quantity(gauge_mbar, "mbar") + UNITS.Quantity(1, "atm")
        return pressure * volume / (constant * UNITS.Quantity(celsius + 273.15, "K"))

    lost = moles(30, 15) - moles(27, 16)
    leaked = lost * constant * UNITS.Quantity(289.15, "K") / UNITS.Quantity(1, "atm")
    found = judge_leak_test(**{**TEST, "end_mbar": 27, "end_c": 16})
    expected = (leaked / UNITS.Quantity(5, "min")).to("mL/min").magnitude
    assert found.leak_ml_per_min == pytest.approx(expected, rel=1e-9)


def test_one_kelvin_is_worth_over_three_millibars():
    """3.6 mbar at 30 mbar, by hand: (30 + 1013.25) / 288.15."""
    warmed = judge_leak_test(**{**TEST, "end_c": 16})
    assert warmed.temperature_alone_mbar - 30 == pytest.approx(3.62, abs=0.005)


# A gas installation standard, clause E.3.2: no detectable fall in 5 min. That gas coming in,
# or a test cut short, proves nothing is the cautious reading, ours.
@pytest.mark.parametrize(
    ("changed", "verdict"),
    [
        ({}, "pass"),
        ({"end_mbar": 30.4}, "pass"),
        ({"end_mbar": 29.9}, "fail"),
        ({"end_c": 16}, "fail"),
        ({"end_c": 14}, "fail"),
        ({"end_mbar": 31}, "fail"),
        ({"minutes": 4.9}, "fail"),
        ({"minutes": 10}, "pass"),
    ],
    ids=str,
)
def test_verdict_passes_only_a_steady_gauge(changed, verdict):
    """Any doubt fails."""
    assert judge_leak_test(**{**TEST, **changed}).verdict == verdict
