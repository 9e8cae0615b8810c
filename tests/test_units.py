"""Units shown to US readers, against pint."""

from __future__ import annotations

import pint
import pytest

from upkeep.units import US, show_quantity

UNITS = pint.UnitRegistry()
NAMES = {
    "m": ("m", "ft"),
    "mm": ("mm", "inch"),
    "mm2": ("mm^2", "inch^2"),
    "°C": ("degC", "degF"),
    "K": ("delta_degC", "delta_degF"),
    "L": ("L", "gallon"),
    "L/min": ("L/min", "gallon/min"),
    "t": ("tonne", "pound"),
    "g": ("g", "ounce"),
    "kg": ("kg", "pound"),
}


@pytest.mark.parametrize("unit", US)
@pytest.mark.parametrize("value", [-40.0, 0.0, 1.0, 37.5, 1e4])
def test_factor_agrees_with_pint(unit, value):
    """Every unit of the table; a new one must be named here."""
    ours, theirs = NAMES[unit]
    expected = UNITS.Quantity(value, ours).to(theirs).magnitude
    shown = value * US[unit].factor + US[unit].offset
    assert shown == pytest.approx(expected, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize(
    ("value", "unit", "system", "text"),
    [
        (0.85, "0-1", "us", "85 %"),
        (12, "L/min", "metric", "12 L/min"),
        (12, "L/min", "us", "12 L/min (3.17 US gal/min)"),
        (-40, "°C", "us", "-40 °C (-40 °F)"),
        (16, "mm2", "metric", "16 mm²"),
        (38, "A", "us", "38 A"),
        (4, "", "us", "4"),
    ],
)
def test_quantity_is_shown_with_its_unit(value, unit, system, text):
    """SI first; fractions as percentages; figures by pint, rounded by hand."""
    assert show_quantity(value, unit, system) == text
