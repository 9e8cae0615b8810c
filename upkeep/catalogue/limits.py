"""Reads tables of limits, a rule's or a vessel's own, against the fields and readings of a kind."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from upkeep.catalogue.tables import LIMITS
from upkeep.errors import Fault, KeyPath
from upkeep.model import (
    CALENDAR_LIMITS,
    DATA_LIMITS,
    EVENTS,
    Expiry,
    Field,
    Kind,
    Limits,
    LimitValue,
    ReadingLimit,
)
from upkeep.naming import name_value, nearest, show, suggest
from upkeep.schema import read_table

LONGEST_LIFE_MONTHS = 1200
_EXTRA = ("expiry", "life_months", "reading", "each")
_BESIDE = ("task", "source", "drop")  # keys of [[limit]] that are no limits


@dataclass(frozen=True, kw_only=True, slots=True)
class Measures:
    """What a kind's limits may name: its fields (None for a faulty one), readings, whether a bank.

    readings: names written, usable or not.
    """

    fields: Mapping[str, Field | None]
    readings: Collection[str]
    is_bank: bool

    @classmethod
    def of(cls, kind: Kind) -> Measures:
        """Gather those of a whole kind."""
        return cls(
            fields={row.key: row for row in kind.fields},
            readings=[reading.name for reading in kind.readings],
            is_bank="bank" in kind.roles,
        )


def read_limits(
    data: Any, path: KeyPath, faults: list[Fault], measures: Measures
) -> tuple[Limits, tuple[str, ...]]:
    """Read a table of limits; give the clocks' limits and the undated occasions (`each`)."""
    values = read_table(data, LIMITS, path, faults)
    limits = settle_limits(values, data, path, faults, measures)
    return limits, _read_each(values.get("each"), (*path, "each"), faults)


def settle_limits(
    values: Mapping[str, Any],
    data: Any,
    path: KeyPath,
    faults: list[Fault],
    measures: Measures,
    *,
    over: Limits | None = None,
) -> Limits:
    """Turn checked keys into limits. values: what passed its table; data: as written.

    over: the limits these are laid over key by key; a life alone then keeps their field.
    """
    base = (over or {}).get("expiry")
    if isinstance(base, Expiry) and "life_months" in data and "expiry" not in data:
        values, data = {**values, "expiry": base.field}, {**data, "expiry": base.field}
    limits: dict[str, LimitValue] = {
        row.key: values[row.key]
        for row in LIMITS.rows.values()
        if row.key in values and row.key not in _EXTRA
    }
    if "charge_to" in limits and not measures.is_bank:
        del limits["charge_to"]
        fix = "remove it: only a bank is charged"
        faults.append(Fault((*path, "charge_to"), "charge_to stands on what is no bank", fix))
    if "expiry" in values or "life_months" in values:
        expiry = _read_expiry(values, data, path, faults, measures.fields)
        if expiry:
            limits["expiry"] = expiry
    if "reading" in values:
        at = (*path, "reading")
        limits["reading"] = _read_bound(values["reading"], data["reading"], at, faults, measures)
    return MappingProxyType(limits)


def check_calendar(
    limits: Limits, written: Collection[str], path: KeyPath, faults: list[Fault]
) -> None:
    """Report a clock that needs data and has no calendar limit beside it, usable or not.

    written: the keys beside it; a misspelt one may be the calendar limit.
    """
    needs = [key for key in DATA_LIMITS if key in limits]
    unknown = [key for key in written if key not in LIMITS.rows and key not in _BESIDE]
    if needs and not any(
        key in CALENDAR_LIMITS or (key in unknown and nearest(key, CALENDAR_LIMITS))
        for key in written
    ):
        fix = "add days, weeks or months, so that missing data never silences the task"
        fault = Fault((*path, needs[0]), f"{needs[0]} stands without a calendar limit", fix)
        faults.append(fault)


def _read_each(value: Any, path: KeyPath, faults: list[Fault]) -> tuple[str, ...]:
    if value is None:
        return ()
    events = tuple(value) if isinstance(value, list) else (value,)
    for event in events:
        if event not in EVENTS:
            near = nearest(event, EVENTS) if isinstance(event, str) else ""
            fix = f'did you mean "{near}"?' if near else f"one of {', '.join(EVENTS)}"
            faults.append(Fault(path, f"occasion {show(event)} is not known", fix))
    return events


def _read_bound(
    bound: Mapping[str, Any], data: Any, path: KeyPath, faults: list[Fault], measures: Measures
) -> ReadingLimit:
    name = bound.get("name", "")
    if name and name not in measures.readings:
        names = sorted(set(filter(None, measures.readings)))
        fix = suggest(name, names, f"one of {', '.join(names) or 'none: add it to readings'}")
        faults.append(Fault((*path, "name"), f"reading {show(name)} is not known", fix))
    if isinstance(data, dict) and ("above" in data) is ("below" in data):
        faults.append(Fault(path, "reading needs one bound", "give above or below"))
    return ReadingLimit(
        name=name,
        above=bound.get("above"),
        below=bound.get("below"),
        of_commissioning=bound.get("of_commissioning", False),
    )


def _read_expiry(
    values: Mapping[str, Any],
    data: Any,
    path: KeyPath,
    faults: list[Fault],
    fields: Mapping[str, Field | None],
) -> Expiry | None:
    fix = "name a field of this kind that holds a printed date"
    if "expiry" not in data:
        at = (*path, "life_months")
        faults.append(Fault(at, "life_months stands without expiry", f"add expiry: {fix}"))
        return None
    name = values.get("expiry", "")
    row = fields.get(name)
    if name and name not in fields:
        faults.append(Fault((*path, "expiry"), f"expiry names no field {show(name)}", fix))
    elif row is not None and row.type != "stamp":
        faults.append(Fault((*path, "expiry"), f"expiry names {name}, which is no date", fix))
    life = values.get("life_months", 0)
    if isinstance(life, str) and life in fields:
        _check_life(fields[life], (*path, "life_months"), faults)
        return Expiry(field=name, life_months=-1, life_field=life)
    if type(life) is not int or not 0 <= life <= LONGEST_LIFE_MONTHS:
        fix = f"write whole months, 0 to {LONGEST_LIFE_MONTHS}, or the field that holds them"
        faults.append(Fault((*path, "life_months"), f"life_months is {name_value(life)}", fix))
        return None
    return Expiry(field=name, life_months=life, life_field="")


def _check_life(row: Field | None, path: KeyPath, faults: list[Fault]) -> None:
    if row is None:
        return
    low, high = row.low, row.high
    bounded = low is not None and high is not None and 0 <= low <= high <= LONGEST_LIFE_MONTHS
    if row.type != "whole" or not bounded:
        fix = f'name a field of type "whole" with low and high within 0 to {LONGEST_LIFE_MONTHS}'
        faults.append(Fault(path, f"life_months names {row.key}", fix))
