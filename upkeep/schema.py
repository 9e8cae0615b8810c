"""One table engine: checks a TOML table against its rows and reports every fault at once.

The same rows print the reference (`kinds`) and write the starter files.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from difflib import get_close_matches
from math import isfinite
from typing import Any, NamedTuple
from uuid import UUID

from upkeep.dates import MonthDay, Stamp, parse_month_day, parse_stamp
from upkeep.errors import QuantityError
from upkeep.model import Draw, Field, Output

Path = tuple[str | int, ...]
LINE_LENGTH, NOTE_LENGTH = 200, 4000  # a label must fit a page (practice, no source)
FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2200, 12, 31)
_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_REFERENCE = re.compile(r"@?[a-z0-9]+(?:-[a-z0-9]+)*")
_TASK = re.compile(r"[a-z0-9-]+/[a-z0-9-]+")
_FLEET_TASK = re.compile(r"[a-z0-9-]+/[a-z0-9-]+/[a-z0-9-]+")
_FILE_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,80}\.(?:jpg|jpeg|png)")
_EMAIL = re.compile(r"[^\s@<>\"',;?&%]{1,64}@[A-Za-z0-9.-]{1,190}")
_ADDRESS = re.compile(r"https://[a-z0-9.-]+(?::\d{1,5})?(?:/[A-Za-z0-9._~/-]*)?")
# Marks that reorder their neighbours on screen; the ordinary right-to-left mark is allowed.
_REORDERING = re.compile("[\u202a-\u202e\u2066-\u2069]")


class Fault(NamedTuple):
    """A fault at a key path of one document."""

    path: Path
    message: str
    fix: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Table:
    """The compiled rows of one structure."""

    name: str
    rows: Mapping[str, Field]
    required: tuple[Field, ...]
    defaults: Mapping[str, Any]


def compile_table(name: str, fields: Sequence[Field]) -> Table:
    """Index the rows of one structure once, for many checks."""
    return Table(
        name=name,
        rows={row.key: row for row in fields},
        required=tuple(row for row in fields if row.required),
        defaults={row.key: row.default for row in fields if row.default is not None},
    )


def read_table(
    data: object, table: Table, path: Path, faults: list[Fault], *, partial: bool = False
) -> dict[str, Any]:
    """Check one TOML table; give its converted values, with defaults, faulty keys left out.

    partial: neither asks for required keys nor fills in defaults (a fit-out's share).
    """
    if not isinstance(data, dict):
        faults.append(Fault(path, f"{table.name} is {_name(data)}", "write a table of keys"))
        return {}
    values: dict[str, Any] = {} if partial else dict(table.defaults)
    rows = table.rows
    for key, value in data.items():
        row = rows.get(key)
        if row is None:
            faults.append(_unknown_key(key, rows, (*path, key)))
            continue
        converted = _CHECKS[row.type](value, row, (*path, key), faults)
        if converted is not None:
            values[key] = converted
    if not partial:
        for row in table.required:
            if row.key not in data:
                faults.append(_missing(row, table.name, path))
    return values


def describe(row: Field) -> str:
    """Say what would be right for a row: "write a number of A, 0 to 400"."""
    if row.type in ("number", "whole", "draw", "output"):
        return _describe_number(row)
    if row.type == "choice" or row.type == "choices":
        return "write " + _one_of(row.choices, many=row.type == "choices")
    return "write " + _WORDS[row.type]


def nearest(word: str, known: Sequence[str]) -> str:
    """Find the known word nearest to a mistyped one; "" if none is near."""
    found = get_close_matches(word, known, n=1, cutoff=0.6)
    return found[0] if found else ""


def _describe_number(row: Field) -> str:
    kind = "a whole number" if row.type == "whole" else "a number"
    if row.unit == "0-1":
        text = "write a fraction"
    else:
        text = f"write {kind}" + (f" of {row.unit}" if row.unit else "")
    if row.low is not None and row.high is not None:
        text += f", {row.low:g} to {row.high:g}"
    elif row.low is not None:
        text += f", {row.low:g} or more"
    if row.type == "draw":
        text += ", or { low = …, usual = …, full = … }"
    if row.type == "output":
        text += ", or { idle = …, cruise = … }"
    return text


def _one_of(choices: Sequence[str], *, many: bool) -> str:
    listed = ", ".join(f'"{choice}"' for choice in choices[:-1]) + f' or "{choices[-1]}"'
    if len(choices) == 1:
        listed = f'"{choices[0]}"'
    return f"a list of {listed}" if many else listed


def _unknown_key(key: str, rows: Mapping[str, Field], path: Path) -> Fault:
    near = nearest(key, tuple(rows))
    fix = f"did you mean {near}?" if near else f"known keys: {', '.join(sorted(rows))}"
    return Fault(path, f"unknown key {show(key)}", fix)


def _missing(row: Field, name: str, path: Path) -> Fault:
    return Fault(path, f"{name} has no {row.key}", f"{describe(row)} ({row.text or row.key})")


def show(value: object) -> str:
    """Show a value in a message: short, on one line, no control characters."""
    text = value if isinstance(value, str) else str(value)
    text = "".join(c if c.isprintable() and not _REORDERING.match(c) else "�" for c in text)
    return text if len(text) <= 40 else text[:37] + "…"


def _name(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{show(value)}"'
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    return show(value)


def _wrong(value: object, row: Field, path: Path, faults: list[Fault]) -> None:
    faults.append(Fault(path, f"{path[-1]} is {_name(value)}", describe(row)))


def _number(value: Any, row: Field, path: Path, faults: list[Fault]) -> float | None:
    kind = type(value)
    if (kind is not int and kind is not float) or not isfinite(value):
        _wrong(value, row, path, faults)
        return None
    if (row.low is not None and value < row.low) or (row.high is not None and value > row.high):
        if row.unit == "0-1" and 1 < value <= 100:
            fix = f"write the fraction {value / 100:g}, not a percentage"
            faults.append(Fault(path, f"{path[-1]} is {value:g}", fix))
        else:
            _wrong(value, row, path, faults)
        return None
    return value  # type: ignore[no-any-return]


def _whole(value: Any, row: Field, path: Path, faults: list[Fault]) -> int | None:
    if type(value) is not int:
        _wrong(value, row, path, faults)
        return None
    return value if _number(value, row, path, faults) is not None else None


def _text_fault(value: str, *, most: int, breaks: bool) -> tuple[str, str] | None:
    if len(value) > most:
        return f"is {len(value)} characters long", f"write at most {most}"
    if value.isprintable():
        return None
    if _REORDERING.search(value):
        return "holds marks that reorder text", "remove the invisible direction marks"
    for character in value:
        if unicodedata.category(character) == "Cc" and not (breaks and character in "\n\t"):
            code = f"U+{ord(character):04X}"
            return f"holds the control character {code}", "write it on one line as plain text"
        if character in "\u2028\u2029":
            return "holds a line separator", "write it on one line as plain text"
    return None


def _check_text(
    value: Any, row: Field, path: Path, faults: list[Fault], *, most: int, breaks: bool
) -> str | None:
    if type(value) is not str or not value.strip():
        _wrong(value, row, path, faults)
        return None
    fault = _text_fault(value, most=most, breaks=breaks)
    if fault:
        faults.append(Fault(path, f"{path[-1]} {fault[0]}", fault[1]))
        return None
    return value.strip()


def _text(value: Any, row: Field, path: Path, faults: list[Fault]) -> str | None:
    return _check_text(value, row, path, faults, most=LINE_LENGTH, breaks=False)


def _note(value: Any, row: Field, path: Path, faults: list[Fault]) -> str | None:
    return _check_text(value, row, path, faults, most=NOTE_LENGTH, breaks=True)


def _pattern(pattern: re.Pattern[str]) -> Check:
    def check(value: Any, row: Field, path: Path, faults: list[Fault]) -> str | None:
        if type(value) is not str or len(value) > LINE_LENGTH or not pattern.fullmatch(value):
            _wrong(value, row, path, faults)
            return None
        return value

    return check


def _choice(value: Any, row: Field, path: Path, faults: list[Fault]) -> str | None:
    if type(value) is str and value in row.choices:
        return value
    near = nearest(value, row.choices) if type(value) is str else ""
    fix = f'did you mean "{near}"?' if near else describe(row)
    faults.append(Fault(path, f"{path[-1]} is {_name(value)}", fix))
    return None


def _yes_no(value: Any, row: Field, path: Path, faults: list[Fault]) -> bool | None:
    if type(value) is bool:
        return value
    _wrong(value, row, path, faults)
    return None


def _day(value: Any, row: Field, path: Path, faults: list[Fault]) -> date | None:
    if isinstance(value, datetime | time):
        fix = "write the day alone, YYYY-MM-DD without quotes"
        faults.append(Fault(path, f"{path[-1]} has a time of day", fix))
        return None
    if type(value) is not date:
        _wrong(value, row, path, faults)
        return None
    if not FIRST_DAY <= value <= LAST_DAY:
        fix = f"write a day from {FIRST_DAY} to {LAST_DAY}"
        faults.append(Fault(path, f"{path[-1]} is {value}", fix))
        return None
    return value


def _stamp(value: Any, row: Field, path: Path, faults: list[Fault]) -> Stamp | None:
    if type(value) is date:
        day = _day(value, row, path, faults)
        return Stamp(first=day, last=day, text=day.isoformat()) if day else None
    if type(value) is not str:
        _wrong(value, row, path, faults)
        return None
    try:
        stamp = parse_stamp(value)
    except QuantityError as error:
        faults.append(Fault(path, f"{path[-1]} is {_name(value)}", str(error).split(": ", 1)[1]))
        return None
    return stamp if _day(stamp.first, row, path, faults) else None


def _month_day(value: Any, row: Field, path: Path, faults: list[Fault]) -> MonthDay | None:
    try:
        if type(value) is str:
            return parse_month_day(value)
    except QuantityError:
        pass
    _wrong(value, row, path, faults)
    return None


def _levels(
    value: Any, row: Field, path: Path, faults: list[Fault], *, keys: tuple[str, ...]
) -> list[float] | None:
    """Read one number for all levels, or a table of rising ones."""
    if not isinstance(value, dict):
        number = _number(value, row, path, faults)
        return None if number is None else [number] * len(keys)
    rows = [Field(key=key, type="number", unit=row.unit, low=row.low, high=row.high,
                  required=True, text=f"{row.text}, {key}") for key in keys]  # fmt: skip
    before = len(faults)
    levels = read_table(value, compile_table(str(path[-1]), rows), path, faults)
    if len(faults) > before:
        return None
    numbers: list[float] = [levels[key] for key in keys]
    if numbers != sorted(numbers):
        fix = f"write {' ≤ '.join(keys)}"
        faults.append(Fault(path, f"{path[-1]} does not rise", fix))
        return None
    return numbers


def _draw(value: Any, row: Field, path: Path, faults: list[Fault]) -> Draw | None:
    levels = _levels(value, row, path, faults, keys=("low", "usual", "full"))
    return Draw(low=levels[0], usual=levels[1], full=levels[2]) if levels else None


def _output(value: Any, row: Field, path: Path, faults: list[Fault]) -> Output | None:
    levels = _levels(value, row, path, faults, keys=("idle", "cruise"))
    return Output(idle=levels[0], cruise=levels[1]) if levels else None


def _months(value: Any, row: Field, path: Path, faults: list[Fault]) -> tuple[float, ...] | None:
    if type(value) is not list or len(value) != 12:
        _wrong(value, row, path, faults)
        return None
    numbers = [_number(v, row, (*path, index), faults) for index, v in enumerate(value)]
    kept = tuple(number for number in numbers if number is not None)
    return kept if len(kept) == 12 else None


def _list(check: Check) -> Check:
    def check_list(value: Any, row: Field, path: Path, faults: list[Fault]) -> Any:
        if type(value) is not list:
            _wrong(value, row, path, faults)
            return None
        items = (check(item, row, (*path, index), faults) for index, item in enumerate(value))
        return tuple(item for item in items if item is not None)

    return check_list


def _mapping(check: Check) -> Check:
    def check_mapping(value: Any, row: Field, path: Path, faults: list[Fault]) -> Any:
        if type(value) is not dict:
            _wrong(value, row, path, faults)
            return None
        items = ((key, check(item, row, (*path, key), faults)) for key, item in value.items())
        return {key: item for key, item in items if item is not None}

    return check_mapping


def _table(value: Any, row: Field, path: Path, faults: list[Fault]) -> dict[str, Any]:
    return read_table(value, _compiled(row), path, faults)


def _tables(value: Any, row: Field, path: Path, faults: list[Fault]) -> Any:
    if type(value) is not list:
        _wrong(value, row, path, faults)
        return None
    table = _compiled(row)
    return tuple(
        read_table(item, table, (*path, index), faults) for index, item in enumerate(value)
    )


def _any(value: Any, row: Field, path: Path, faults: list[Fault]) -> Any:
    return value


def _uuid(value: Any, row: Field, path: Path, faults: list[Fault]) -> str | None:
    try:
        if type(value) is str and str(UUID(value)) == value.lower():
            return value.lower()
    except ValueError:
        pass
    _wrong(value, row, path, faults)
    return None


_TABLES: dict[int, tuple[Field, Table]] = {}


def _compiled(row: Field) -> Table:
    """Compile the rows inside once; keyed by identity, holding the row so that it stays alive."""
    found = _TABLES.get(id(row))
    if found is None:
        found = _TABLES[id(row)] = (row, compile_table(row.key, row.fields))
    return found[1]


Check = Callable[[Any, Field, Path, list[Fault]], Any]
_CHECKS: Mapping[str, Check] = {
    "number": _number,
    "whole": _whole,
    "text": _text,
    "note": _note,
    "id": _pattern(_ID),
    "reference": _pattern(_REFERENCE),
    "task": _pattern(_TASK),
    "fleet task": _pattern(_FLEET_TASK),
    "photo": _pattern(_FILE_NAME),
    "email": _pattern(_EMAIL),
    "address": _pattern(_ADDRESS),
    "language": _pattern(re.compile(r"[a-z]{2,3}(?:-[A-Za-z0-9]{2,8})*")),
    "flag": _pattern(re.compile(r"[a-z]{2}")),
    "uuid": _uuid,
    "choice": _choice,
    "yes-no": _yes_no,
    "day": _day,
    "stamp": _stamp,
    "month-day": _month_day,
    "draw": _draw,
    "output": _output,
    "month-list": _months,
    "ids": _list(_pattern(_ID)),
    "references": _list(_pattern(_REFERENCE)),
    "fleet tasks": _list(_pattern(_FLEET_TASK)),
    "choices": _list(_choice),
    "texts": _list(_text),
    "names": _mapping(_text),
    "bindings": _mapping(_pattern(_ID)),
    "anything": _any,
    "table": _table,
    "tables": _tables,
}
_WORDS: Mapping[str, str] = {
    "text": f"text on one line, at most {LINE_LENGTH} characters",
    "note": f"text, at most {NOTE_LENGTH} characters",
    "id": "lower-case letters, digits and hyphens",
    "reference": "the id of a component",
    "task": '"component/rule"',
    "fleet task": '"vessel/component/rule"',
    "photo": "the name of a .jpg or .png file in photos/",
    "email": "an e-mail address",
    "address": 'the public address, "https://…"',
    "language": 'a language code such as "en"',
    "flag": 'the two lower-case letters of the flag state, such as "gb"',
    "uuid": "a UUID, 8-4-4-4-12 hexadecimal digits",
    "yes-no": "true or false",
    "day": "a day without quotes, YYYY-MM-DD",
    "stamp": 'the date as printed, "YYYY", "YYYY-MM" or YYYY-MM-DD',
    "month-day": '"MM-DD"',
    "month-list": "twelve numbers, January first",
    "ids": "a list of ids",
    "references": "a list of component ids",
    "fleet tasks": 'a list of "vessel/component/rule"',
    "texts": "a list of texts",
    "names": "a table of names",
    "bindings": "a table of component ids",
    "anything": "a table",
    "table": "a table of keys",
    "tables": "a list of tables",
}
