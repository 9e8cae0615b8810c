"""Units a record may carry and how they are shown in metric or US customary form.

Exact factors: NIST SP 811 (2008), appendix B (MEMORY); the tests compare them with pint.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, kw_only=True, slots=True)
class Conversion:
    """How one unit is shown to US readers: us = value * factor + offset."""

    unit: str
    factor: float
    offset: float = 0.0


US: Mapping[str, Conversion] = MappingProxyType(
    {
        "m": Conversion(unit="ft", factor=1 / 0.3048),
        "mm": Conversion(unit="in", factor=1 / 25.4),
        "mm2": Conversion(unit="in²", factor=1 / 645.16),
        "°C": Conversion(unit="°F", factor=1.8, offset=32.0),
        "K": Conversion(unit="°F", factor=1.8),
        "L": Conversion(unit="US gal", factor=1 / 3.785411784),
        "L/min": Conversion(unit="US gal/min", factor=1 / 3.785411784),
        "t": Conversion(unit="lb", factor=1000 / 0.45359237),
        "g": Conversion(unit="oz", factor=1 / 28.349523125),
        "kg": Conversion(unit="lb", factor=1 / 0.45359237),
    }
)


def show_quantity(value: float, unit: str, system: str = "metric") -> str:
    """Write a value with its unit, SI first and the US unit in brackets when asked.

    Fractions (unit "0-1") are shown as percentages. system is "metric" or "us".
    """
    if unit == "0-1":
        return f"{value * 100:.4g} %"
    shown = {"mm2": "mm²"}.get(unit, unit)
    text = f"{value:.4g} {shown}".rstrip()
    other = US.get(unit) if system == "us" else None
    if other is None:
        return text
    return f"{text} ({value * other.factor + other.offset:.3g} {other.unit})"
