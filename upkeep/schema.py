"""One table engine: checks a TOML table against its rows and reports every fault at once.

The same rows print the reference (`kinds`) and write the starter files.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from upkeep import values as single
from upkeep.errors import Fault, KeyPath
from upkeep.model import Draw, Field, Output
from upkeep.naming import ID, LINE_LENGTH, describe, name_key, name_value, nearest, show
from upkeep.values import Check, check_number, find_text_fault, match_pattern, wrong

__all__ = ["Table", "compile_table", "describe", "is_misspelt", "nearest", "read_table"]


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
    data: object, table: Table, path: KeyPath, faults: list[Fault], *, partial: bool = False
) -> dict[str, Any]:
    """Check one TOML table; give its converted values, with defaults, faulty keys left out.

    partial: neither asks for required keys nor fills in defaults (a fit-out's share).
    """
    if not isinstance(data, dict):
        faults.append(Fault(path, f"{table.name} is {name_value(data)}", "write a table of keys"))
        return {}
    values: dict[str, Any] = {} if partial else dict(table.defaults)
    rows = table.rows
    meant: set[str] = set()  # keys that an unknown one stands for
    for key, value in data.items():
        row = rows.get(key)
        if row is None:
            near = _find_meant(key, data, rows)
            meant.add(near)
            fix = f"did you mean {near}?" if near else f"known keys: {', '.join(sorted(rows))}"
            faults.append(Fault((*path, key), f"unknown key {show(key)}", fix))
            continue
        converted = _CHECKS[row.type](value, row, (*path, key), faults)
        if converted is not None:
            values[key] = converted
    if not partial:
        for row in table.required:
            if row.key not in data and row.key not in meant:
                faults.append(_missing(row, table.name, path))
    return values


def is_misspelt(key: str, data: Mapping[str, Any], table: Table) -> bool:
    """Tell whether an unknown key of a table stands for a known one, so that its rows are lost."""
    unknown = (other for other in data if other not in table.rows)
    return any(_find_meant(other, data, table.rows) == key for other in unknown)


def _find_meant(key: str, data: Mapping[str, Any], rows: Mapping[str, Field]) -> str:
    return nearest(key, [other for other in rows if other not in data]) or nearest(key, tuple(rows))


def _missing(row: Field, name: str, path: KeyPath) -> Fault:
    return Fault(path, f"{name} has no {row.key}", f"{describe(row)} ({row.text or row.key})")


def _levels(
    value: Any, row: Field, path: KeyPath, faults: list[Fault], *, keys: tuple[str, ...]
) -> list[float] | None:
    """Read one number for all levels, or a table of rising ones."""
    if not isinstance(value, dict):
        number = check_number(value, row, path, faults)
        return None if number is None else [number] * len(keys)
    rows = [Field(key=key, type="number", unit=row.unit, low=row.low, high=row.high,
                  required=True, text=f"{row.text}, {key}") for key in keys]  # fmt: skip
    before = len(faults)
    levels = read_table(value, compile_table(name_key(path), rows), path, faults)
    if len(faults) > before:
        return None
    numbers: list[float] = [levels[key] for key in keys]
    if numbers != sorted(numbers):
        fix = f"write {' ≤ '.join(keys)}"
        faults.append(Fault(path, f"{name_key(path)} does not rise", fix))
        return None
    return numbers


def _draw(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> Draw | None:
    levels = _levels(value, row, path, faults, keys=("low", "usual", "full"))
    return Draw(low=levels[0], usual=levels[1], full=levels[2]) if levels else None


def _output(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> Output | None:
    levels = _levels(value, row, path, faults, keys=("idle", "cruise"))
    return Output(idle=levels[0], cruise=levels[1]) if levels else None


def _months(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> tuple[float, ...] | None:
    if type(value) is not list:
        wrong(value, row, path, faults)
        return None
    if len(value) != 12:
        faults.append(Fault(path, f"{name_key(path)} has {len(value)} items", describe(row)))
        return None
    item = _item_row(row, "number")
    numbers = [check_number(v, item, (*path, index), faults) for index, v in enumerate(value)]
    kept = tuple(number for number in numbers if number is not None)
    return kept if len(kept) == 12 else None


def _list(check: Check, item_type: str, *, keep_places: bool = False) -> Check:
    """Make the check of a list. keep_places: "" stands for a faulty item, so that places hold."""

    def check_list(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> Any:
        if type(value) is not list:
            wrong(value, row, path, faults)
            return None
        inner = _item_row(row, item_type)
        items = [check(item, inner, (*path, index), faults) for index, item in enumerate(value)]
        if keep_places:
            return tuple(item or "" for item in items)
        return tuple(item for item in items if item is not None)

    return check_list


def _mapping(check: Check, item_type: str) -> Check:
    """Make the check of a table of texts; "" stands for a faulty one."""

    def check_mapping(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> Any:
        if type(value) is not dict:
            wrong(value, row, path, faults)
            return None
        inner = _item_row(row, item_type)
        found = {}
        for key, item in value.items():
            at = (*path, key)
            fault = find_text_fault(key, most=LINE_LENGTH, breaks=False)
            if fault:
                faults.append(Fault(at, f"key {show(key)} {fault[0]}", fault[1]))
            else:
                found[key] = check(item, inner, at, faults) or ""
        return found

    return check_mapping


def _table(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> dict[str, Any]:
    return read_table(value, _compiled(row), path, faults)


def _tables(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> Any:
    if type(value) is not list:
        wrong(value, row, path, faults)
        return None
    table = _compiled(row)
    return tuple(
        read_table(item, table, (*path, index), faults) for index, item in enumerate(value)
    )


def _any(value: Any, row: Field, path: KeyPath, faults: list[Fault]) -> Any:
    return value


# Both keyed by identity, holding the row so that it stays alive.
_TABLES: dict[int, tuple[Field, Table]] = {}
_ITEMS: dict[int, tuple[Field, Field]] = {}


def _compiled(row: Field) -> Table:
    """Compile the rows inside once."""
    found = _TABLES.get(id(row))
    if found is None:
        found = _TABLES[id(row)] = (row, compile_table(row.key, row.fields))
    return found[1]


def _item_row(row: Field, item_type: str) -> Field:
    """Make the row of one item of a list, once."""
    found = _ITEMS.get(id(row))
    if found is None:
        found = _ITEMS[id(row)] = (row, replace(row, type=item_type))
    return found[1]


_id, _reference = match_pattern(ID), match_pattern(f"@?{ID}")
_fleet_task, _flag = match_pattern(r"[a-z0-9-]+/[a-z0-9-]+/[a-z0-9-]+"), match_pattern("[a-z]{2}")
_CHECKS: Mapping[str, Check] = {
    "number": check_number,
    "whole": single.check_whole,
    "text": single.check_text,
    "note": single.check_note,
    "id": _id,
    "reference": _reference,
    "task": match_pattern(r"[a-z0-9-]+/[a-z0-9-]+"),
    "fleet task": _fleet_task,
    "photo": match_pattern(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,80}\.(?:jpg|jpeg|png)"),
    "email": match_pattern(r"[^\s@<>\"',;?&%]{1,64}@[A-Za-z0-9.-]{1,190}"),
    "address": match_pattern(r"https://[a-z0-9.-]+(?::[0-9]{1,5})?(?:/[A-Za-z0-9._~/-]*)?"),
    "language": match_pattern(r"[a-z]{2,3}(?:-[A-Za-z0-9]{2,8})*"),
    "flag": _flag,
    "key": match_pattern(r"[a-z][a-z0-9_]*"),
    "uuid": single.check_uuid,
    "choice": single.check_choice,
    "yes-no": single.check_yes_no,
    "day": single.check_day,
    "stamp": single.check_stamp,
    "month-day": single.check_month_day,
    "draw": _draw,
    "output": _output,
    "month-list": _months,
    "ids": _list(_id, "id", keep_places=True),
    "references": _list(_reference, "reference", keep_places=True),
    "fleet tasks": _list(_fleet_task, "fleet task", keep_places=True),
    "flags": _list(_flag, "flag"),
    "choices": _list(single.check_choice, "choice"),
    "texts": _list(single.check_text, "text"),
    "names": _mapping(single.check_text, "text"),
    "bindings": _mapping(_id, "id"),
    "anything": _any,
    "table": _table,
    "tables": _tables,
}
