"""Reads fleet.toml: who runs the fleet, its waters, crew, lifts and shelf."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any

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
from upkeep.records.tables import FLEET_DOCUMENT, WATER_TABLE
from upkeep.schema import Fault, Path, read_table

_SERVICE = {"yard": ("competent", "licensed")}


def read_fleet(data: Mapping[str, Any], faults: list[Fault]) -> Fleet | None:
    """Read the fleet; None when it cannot even be named. Every fault is reported."""
    values = read_table(data, FLEET_DOCUMENT, (), faults)
    waters = _read_waters(values.get("water", {}), faults)
    fleet = values.get("fleet", {})
    crew = tuple(_read_crew(row, ("crew", i), faults) for i, row in _rows(values, "crew"))
    lifts = tuple(_read_lift(row, ("lift", i), faults) for i, row in _rows(values, "lift"))
    parts = [Part(**row) for _, row in _rows(values, "part") if "id" in row]
    travel = _read_travel(values.get("travel", {}), faults)
    _check_references(values, data.get("water", {}), faults)
    service = {**_SERVICE, **values.get("service", {})}
    if "id" not in fleet or "name" not in fleet or "name" not in fleet.get("contact", {}):
        return None
    contact = {"phone": "", "email": "", **fleet["contact"]}
    return Fleet(
        id=fleet["id"],
        name=fleet["name"],
        units=fleet.get("units", "metric"),
        language=fleet.get("language", "en"),
        address=fleet.get("address", "").rstrip("/"),
        contact=Contact(**contact),
        waters=MappingProxyType(waters),
        service=Service(yard=service["yard"], also=service.get("also", ())),
        crew=tuple(member for member in crew if member),
        lifts=tuple(lift for lift in lifts if lift),
        places_ashore=values.get("ashore", {}).get("places"),
        travel=travel,
        parts=MappingProxyType({part.id: part for part in parts}),
    )


def read_periods(
    rows: Iterable[Mapping[str, Any]], path: Path, faults: list[Fault]
) -> tuple[Period, ...]:
    """Turn from/to rows into periods; one that ends before it begins is a fault."""
    periods = []
    for index, row in enumerate(rows):
        period = read_period(row, (*path, index), faults)
        if period:
            periods.append(period)
    return tuple(periods)


def read_period(row: Mapping[str, Any], path: Path, faults: list[Fault]) -> Period | None:
    """Turn one from/to row into a period."""
    first, end = row.get("from"), row.get("to")
    if first is None:
        return None
    if end is not None and end <= first:
        fix = f"write the day after the last one, later than {first}"
        faults.append(Fault((*path, "to"), f"to is {end}, not after from", fix))
        return None
    return Period(first=first, end=end)


def check_unique(
    values: Mapping[str, Any], section: str, key: str, faults: list[Fault]
) -> None:
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
    if not isinstance(data, dict) or not data:
        faults.append(Fault(("water",), "there is no water", "write [water.id]"))
        return {}
    waters = {}
    for name, row in data.items():
        before = len(faults)
        values = read_table(row, WATER_TABLE, ("water", name), faults)
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


def _read_crew(row: Mapping[str, Any], path: Path, faults: list[Fault]) -> CrewMember | None:
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


def _read_lift(row: Mapping[str, Any], path: Path, faults: list[Fault]) -> Lift | None:
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


def _read_travel(data: Mapping[str, Any], faults: list[Fault]) -> Travel:
    between = {
        (row["from"], row["to"]): row["minutes"]
        for row in data.get("between", ())
        if {"from", "to", "minutes"} <= row.keys()
    }
    return Travel(
        between=MappingProxyType(between), set_up_minutes=data.get("set_up_minutes", 0.0)
    )


def _check_references(values: Mapping[str, Any], waters: Any, faults: list[Fault]) -> None:
    check_unique(values, "crew", "id", faults)
    check_unique(values, "part", "id", faults)
    named: list[tuple[Path, str]] = [
        (("lift", i, "water"), row["water"]) for i, row in _rows(values, "lift") if "water" in row
    ]
    for index, row in _rows(values.get("travel", {}), "between"):
        named += [
            (("travel", "between", index, key), row[key]) for key in ("from", "to") if key in row
        ]
    known = waters if isinstance(waters, dict) else {}
    for path, name in named:
        if name not in known:
            fix = f"one of {', '.join(known) or 'none: write [water.id]'}"
            faults.append(Fault(path, f"water {name} is not known", fix))
