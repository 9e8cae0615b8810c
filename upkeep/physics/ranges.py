"""Ranges: a model refuses a number it does not hold for, and never clips it.

A percentage where a fraction belongs is refused, not guessed. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, isfinite

from upkeep.errors import QuantityError

LOWEST_WATER_C, HIGHEST_WATER_C = -3.0, 45.0  # natural water; common practice, no source
LOWEST_BATTERY_C, HIGHEST_BATTERY_C = -30.0, 60.0  # common practice, no source


def check_within(key: str, value: object, low: float = -inf, high: float = inf) -> float:
    """Give a finite number from low to high, both included. Raises QuantityError naming key."""
    number = _check_number(key, value)
    if not low <= number <= high:
        raise QuantityError(key, f"{number:g} is out of range; write {_say(low, high)}")
    return number


def check_above(key: str, value: object, low: float = 0.0, high: float = inf) -> float:
    """Give a finite number above low, up to and including high. Raises QuantityError."""
    number = _check_number(key, value)
    if not low < number <= high:
        top = f", {high:g} at most" if isfinite(high) else ""
        raise QuantityError(key, f"{number:g} is out of range; write more than {low:g}{top}")
    return number


def check_below_one(key: str, value: object) -> float:
    """Give a fraction from 0 up to, not including, 1. Raises QuantityError naming key."""
    number = _check_number(key, value)
    if not 0 <= number < 1:
        raise QuantityError(key, f"{number:g} is out of range; write 0 or more, below 1")
    return number


def check_series(
    key: str, values: object, low: float, high: float = inf, *, length: int | None = None
) -> tuple[float, ...]:
    """Give a list of numbers, each from low to high. Raises QuantityError naming key."""
    if isinstance(values, str | bytes) or not isinstance(values, Sequence):
        raise QuantityError(key, "is not a list of numbers")
    if length is not None and len(values) != length:
        raise QuantityError(key, f"has {len(values)} numbers; write {length}")
    return tuple(check_within(key, value, low, high) for value in values)


def check_battery_c(key: str, value: object) -> float:
    """Give a temperature a battery may have [degC], -30 to 60. Raises QuantityError."""
    return check_within(key, value, LOWEST_BATTERY_C, HIGHEST_BATTERY_C)


def check_water_c(key: str, value: object) -> float:
    """Give a temperature natural water may have [degC], -3 to 45. Raises QuantityError."""
    return check_within(key, value, LOWEST_WATER_C, HIGHEST_WATER_C)


def _check_number(key: str, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise QuantityError(key, f"{value!r:.40} is not a number")
    try:
        number = float(value)
    except OverflowError:
        raise QuantityError(key, "is too large") from None
    if not isfinite(number):
        raise QuantityError(key, f"{number} is not a finite number")
    return number


def _say(low: float, high: float) -> str:
    if high == inf:
        return f"{low:g} or more"
    return f"{high:g} or less" if low == -inf else f"{low:g} to {high:g}"
