"""Reads fleet.toml: who runs the fleet, its waters, crew, lifts and shelf."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any

from upkeep.errors import Fault, KeyPath
from upkeep.model import (
    Contact,
    CrewMember,
    Fleet,
    Licence,
    Lift,
    Part,
    Period,
    Service,
    Travel,
    Water,
)
from upkeep.naming import is_id, show, suggest
from upkeep.records.fleet_tables import FLEET_DOCUMENT
from upkeep.records.tables import WATER_TABLE
from upkeep.schema import is_misspelt, read_table

_SERVICE = {"yard": ("competent", "licensed")}


def read_fleet(data: Mapping[str, Any], faults: list[Fault]) -> Fleet:
    """Read the fleet, what is at fault left empty. Every fault is reported."""
    values = read_table(data, FLEET_DOCUMENT, (), faults)
    fleet = {"id": "", "name": "", "units": "metric", "language": "en", "address": "",
             "contact": {}, **values.get("fleet", {})}  # fmt: skip
    crew = tuple(_read_crew(row, ("crew", i), faults) for i, row in _rows(values, "crew"))
    lifts = tuple(_read_lift(row, ("lift", i), faults) for i, row in _rows(values, "lift"))
    parts = [Part(**row) for _, row in _rows(values, "part") if "id" in row]
    waters = _read_waters(data.get("water"), faults)
    _check_references(values, written_waters(data), faults)
    service = {**_SERVICE, **values.get("service", {})}
    return Fleet(
        id=fleet["id"],
        name=fleet["name"],
        units=fleet["units"],
        language=fleet["language"],
        address=fleet["address"].rstrip("/"),
        contact=Contact(**{"name": "", "phone": "", "email": "", **fleet["contact"]}),
        waters=MappingProxyType(waters),
        service=Service(
            yard=service["yard"],
            also=service.get("also", ()),  # "" for a faulty one
        ),
        crew=tuple(member for member in crew if member),
        lifts=tuple(lift for lift in lifts if lift),
        places_ashore=values.get("ashore", {}).get("places"),
        travel=_read_travel(values.get("travel", {})),
        parts=MappingProxyType({part.id: part for part in parts}),
    )


def is_usable(fleet: Fleet) -> bool:
    """Tell whether a fleet can be named and called, so that its vessels can be shown."""
    return bool(fleet.id and fleet.name and fleet.contact.name)


def written_waters(data: Mapping[str, Any]) -> frozenset[str] | None:
    """Give the id of every water written, usable or not; None when that cannot be told."""
    waters = data.get("water")
    if not isinstance(waters, dict) or is_misspelt("water", data, FLEET_DOCUMENT):
        return None
    return frozenset(waters) or None


def written_parts(data: Mapping[str, Any]) -> frozenset[str] | None:
    """Give the id of every part written, usable or not; None when that cannot be told."""
    rows = data.get("part", [])
    if not isinstance(rows, list) or is_misspelt("part", data, FLEET_DOCUMENT):
        return None
    ids = [row.get("id") if isinstance(row, dict) else None for row in rows]
    named = frozenset(name for name in ids if isinstance(name, str))
    return named if all(isinstance(name, str) for name in ids) else None


def read_periods(
    rows: Iterable[Mapping[str, Any]], path: KeyPath, faults: list[Fault]
) -> tuple[Period, ...]:
    """Turn from/to rows into periods; one that ends before it begins is a fault."""
    periods = []
    for index, row in enumerate(rows):
        period = read_period(row, (*path, index), faults)
        if period:
            periods.append(period)
    return tuple(periods)


def read_period(row: Mapping[str, Any], path: KeyPath, faults: list[Fault]) -> Period | None:
    """Turn one from/to row into a period."""
    first, end = row.get("from"), row.get("to")
    if first is None:
        return None
    if end is not None and end <= first:
        fix = f"write the day after the last one, later than {first}"
        faults.append(Fault((*path, "to"), f"to is {end}, not after from", fix))
        return None
    return Period(first=first, end=end)


def check_unique(values: Mapping[str, Any], section: str, key: str, faults: list[Fault]) -> None:
    """Report each row whose key was used before."""
    seen = set()
    for index, row in _rows(values, section):
        name = row.get(key)
        if name is not None and name in seen:
            fault = Fault((section, index, key), f"{key} {name} is used twice", "choose another")
            faults.append(fault)
        seen.add(name)


def _rows(values: Mapping[str, Any], section: str) -> list[tuple[int, Any]]:
    return list(enumerate(values.get(section, ())))


def _read_waters(data: Any, faults: list[Fault]) -> dict[str, Water]:
    if data is None:  # its table reports that
        return {}
    if not isinstance(data, dict) or not data:
        faults.append(Fault(("water",), "there is no water", "write [water.id]"))
        return {}
    waters = {}
    for name, row in data.items():
        before, path = len(faults), ("water", name)
        if not is_id(name):
            fix = "name it in lower-case letters, digits and hyphens"
            faults.append(Fault(path, f"water {show(name)} is no id", fix))
        values = read_table(row, WATER_TABLE, path, faults)
        if len(faults) == before:
            waters[name] = Water(
                id=name,
                name=values["name"],
                moving=values["class"],
                salinity=values["salinity"],
                monthly_c=values["monthly_c"],
                monthly_air_c=values.get("monthly_air_c"),
                jurisdiction=values.get("jurisdiction", ""),
            )
    return waters


def _read_crew(row: Mapping[str, Any], path: KeyPath, faults: list[Fault]) -> CrewMember | None:
    away = read_periods(row.get("away", ()), (*path, "away"), faults)
    if not {"id", "name", "skills", "hours"} <= row.keys():
        return None
    licences = [Licence(**item) for item in row.get("licences", ()) if len(item) == 3]
    return CrewMember(
        id=row["id"],
        name=row["name"],
        skills=row["skills"],
        licences=tuple(licences),
        hours=MappingProxyType(row["hours"]),
        away=away,
    )


def _read_lift(row: Mapping[str, Any], path: KeyPath, faults: list[Fault]) -> Lift | None:
    closed = read_periods(row.get("closed", ()), (*path, "closed"), faults)
    if not {"water", "weekdays", "per_day"} <= row.keys():
        return None
    return Lift(
        water=row["water"],
        weekdays=row["weekdays"],
        per_day=row["per_day"],
        max_t=row.get("max_t"),
        max_length_m=row.get("max_length_m"),
        closed=closed,
    )


def _read_travel(data: Mapping[str, Any]) -> Travel:
    between = {
        (row["from"], row["to"]): row["minutes"]
        for row in data.get("between", ())
        if {"from", "to", "minutes"} <= row.keys()
    }
    return Travel(between=MappingProxyType(between), set_up_minutes=data.get("set_up_minutes", 0.0))


def _check_references(
    values: Mapping[str, Any], waters: frozenset[str] | None, faults: list[Fault]
) -> None:
    check_unique(values, "crew", "id", faults)
    check_unique(values, "part", "id", faults)
    for index, row in _rows(values, "lift"):
        check_water(row.get("water", ""), waters, ("lift", index, "water"), faults)
    for index, row in _rows(values.get("travel", {}), "between"):
        for key in ("from", "to"):
            check_water(row.get(key, ""), waters, ("travel", "between", index, key), faults)


def check_water(
    name: str, waters: frozenset[str] | None, path: KeyPath, faults: list[Fault]
) -> None:
    """Report a water that fleet.toml does not name. waters: as from written_waters."""
    if name and waters is not None and name not in waters:
        fix = suggest(name, sorted(waters), f"add [water.{name}] to fleet.toml")
        faults.append(Fault(path, f"water {name} is not known", fix))
