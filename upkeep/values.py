"""Checks of single values: numbers, texts, days, words. Each gives the value, or reports it."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from datetime import date, datetime, time
from math import isfinite
from typing import Any
from uuid import UUID

from upkeep.dates import MonthDay, Stamp, parse_month_day, parse_stamp
from upkeep.errors import Fault, KeyPath, QuantityError
from upkeep.model import Field
from upkeep.naming import (
    LARGEST_WHOLE,
    LINE_LENGTH,
    NOTE_LENGTH,
    REORDERING,
    describe,
    name_key,
    name_value,
    nearest,
    say_choices,
)

FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2200, 12, 31)

Check = Callable[[Any, Field, KeyPath, list[Fault]], Any]


def wrong(value: object, row: Field, path: KeyPath, faults: list[Fault]) -> None:
    """Report a value that is not what its row asks for."""
    faults.append(Fault(path, f"{name_key(path)} is {name_value(value)}", describe(row)))


def find_text_fault(value: str, *, most: int, breaks: bool) -> tuple[str, str] | None:
    """Find what is wrong with a text, and what would be right; breaks allows several lines."""
    if len(value) > most:
        return f"is {len(value)} characters long", f"write at most {most}"
    if value.isprintable():
        return None
    if REORDERING.search(value):
        return "holds marks that reorder text", "remove the invisible direction marks"
    for character in value:
        if breaks and character in "\n\t":
            continue
        if character in "\n\r\u2028\u2029":
            return "holds a line break", "write it on one line as plain text"
        if unicodedata.category(character) == "Cc":
            code = f"U+{ord(character):04X}"
            return f"holds the control character {code}", "remove it"
    return None


def check_number(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> float | None:
    """Check a number: neither true nor text, finite, within the row's bounds."""
    kind = type(value)
    if kind is int:
        usable = -LARGEST_WHOLE <= value <= LARGEST_WHOLE
    else:
        usable = kind is float and isfinite(value)
    if not usable:
        wrong(value, row, path, faults)
        return None
    if (row.low is not None and value < row.low) or (row.high is not None and value > row.high):
        if row.unit == "0-1" and 1 < value <= 100:
            fix = f"write the fraction {value / 100:g}, not a percentage"
            faults.append(Fault(path, f"{name_key(path)} is {value:g}", fix))
        else:
            wrong(value, row, path, faults)
        return None
    return value  # type: ignore[no-any-return]


def check_whole(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> int | None:
    """Check a whole number within the row's bounds."""
    if type(value) is not int:
        wrong(value, row, path, faults)
        return None
    return value if check_number(value, row, path, faults) is not None else None


def _check_text(
    value: Any, row: Field, path: KeyPath, faults: list[Fault], *, most: int, breaks: bool
) -> str | None:
    fault = find_text_fault(value, most=most, breaks=breaks) if type(value) is str else None
    if fault:
        faults.append(Fault(path, f"{name_key(path)} {fault[0]}", fault[1]))
        return None
    if type(value) is not str or not value.strip():
        wrong(value, row, path, faults)
        return None
    return value.strip()


def check_text(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> str | None:
    """Check a text of one line without control characters."""
    return _check_text(value, row, path, faults, most=LINE_LENGTH, breaks=False)


def check_note(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> str | None:
    """Check a text of several lines without control characters."""
    return _check_text(value, row, path, faults, most=NOTE_LENGTH, breaks=True)


def match_pattern(pattern: str) -> Check:
    """Make the check of a text that must match a pattern whole."""
    compiled = re.compile(pattern)

    def check(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> str | None:
        if (
            type(value) is not str
            or len(value) > LINE_LENGTH
            or not compiled.fullmatch(value)
            or not value.isprintable()
        ):
            wrong(value, row, path, faults)
            return None
        return value

    return check


def check_choice(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> str | None:
    """Check a word of the row's choices."""
    if type(value) is str and value in row.choices:
        return value
    near = nearest(value, row.choices) if type(value) is str else ""
    fix = f'did you mean "{near}"?' if near else "write " + say_choices(row.choices)
    faults.append(Fault(path, f"{name_key(path)} is {name_value(value)}", fix))
    return None


def check_yes_no(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> bool | None:
    """Check true or false."""
    if type(value) is bool:
        return value
    wrong(value, row, path, faults)
    return None


def check_day(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> date | None:
    """Check a day without a time, FIRST_DAY to LAST_DAY."""
    if isinstance(value, datetime | time):
        fix = "write the day alone, YYYY-MM-DD without quotes"
        faults.append(Fault(path, f"{name_key(path)} has a time of day", fix))
        return None
    if type(value) is not date:
        wrong(value, row, path, faults)
        return None
    if not FIRST_DAY <= value <= LAST_DAY:
        fix = f"write a day from {FIRST_DAY} to {LAST_DAY}"
        faults.append(Fault(path, f"{name_key(path)} is {value}", fix))
        return None
    return value


def check_stamp(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> Stamp | None:
    """Check a date as printed on a part: a day, or a text of a year or month."""
    if isinstance(value, date | time):
        on = check_day(value, row, path, faults)
        return Stamp(first=on, last=on, text=on.isoformat()) if on else None
    if type(value) is not str:
        wrong(value, row, path, faults)
        return None
    try:
        found = parse_stamp(value)
    except QuantityError:
        wrong(value, row, path, faults)
        return None
    return found if check_day(found.first, row, path, faults) else None


def check_month_day(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> MonthDay | None:
    """Check a day of every year, "MM-DD"."""
    try:
        if type(value) is str:
            return parse_month_day(value)
    except QuantityError:
        pass
    wrong(value, row, path, faults)
    return None


def check_uuid(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> str | None:
    """Check a UUID in its usual form; lower case is given back."""
    try:
        if type(value) is str and str(UUID(value)) == value.lower():
            return value.lower()
    except ValueError:
        pass
    wrong(value, row, path, faults)
    return None
