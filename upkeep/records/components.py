"""Reads components, a vessel's own and those of fit-outs, into one list with full ids."""

from __future__ import annotations

import re
from datetime import date
from types import MappingProxyType
from typing import Any

from upkeep.catalogue.load import LoadedCatalogue
from upkeep.catalogue.tables import COMPONENT_KEYS
from upkeep.errors import Fault, KeyPath
from upkeep.model import Component, Kind, Supply
from upkeep.naming import name_value, nearest, show, suggest
from upkeep.records.references import Row
from upkeep.records.tables import component_table
from upkeep.schema import read_table

_COMMON = ("name", "maker", "model", "serial", "location", "marked", "photo", "notes")
_NOT_ITS_OWN = COMPONENT_KEYS | {"assumed"}
_NO_ID = re.compile(r"[^a-z0-9]+")


def read_rows(
    data: Any, catalogue: LoadedCatalogue, faults: list[Fault], *, in_fit_out: bool = False
) -> list[Row]:
    """Check the [[component]] rows of a file; give those whose kind is known."""
    if not isinstance(data, list):
        faults.append(Fault(("component",), "component is not a list", "write [[component]]"))
        return []
    rows = []
    seen: set[str] = set()
    for index, row in enumerate(data):
        path: KeyPath = ("component", index)
        before = len(faults)
        _check_id(row, path, seen, faults)
        kind = _find_kind(row, path, catalogue, faults)
        if kind is None:
            continue
        table = component_table(kind, in_fit_out=in_fit_out)
        values = read_table(row, table, path, faults)
        values["assumed"] = table.defaults.keys() - row.keys()
        rows.append(Row(kind, values, path, len(faults) == before))
    return rows


def _check_id(row: Any, path: KeyPath, seen: set[str], faults: list[Fault]) -> None:
    name = row.get("id") if isinstance(row, dict) else None
    if not isinstance(name, str):
        return
    if name in seen:
        faults.append(Fault((*path, "id"), f"id {show(name)} is used twice", "choose another"))
    seen.add(name)


def written_ids(data: Any) -> set[str]:
    """Collect every component id written in a file, usable or not, and what a bad one may mean."""
    if not isinstance(data, list):
        return set()
    names = {row["id"] for row in data if isinstance(row, dict) and type(row.get("id")) is str}
    return names | {_NO_ID.sub("-", name.lower()).strip("-") for name in names}


def has_nameless(data: Any) -> bool:
    """Tell whether a file writes components that no id can be read of."""
    if not isinstance(data, list):
        return False
    return any(not isinstance(row, dict) or type(row.get("id")) is not str for row in data)


def find_spoilt(data: Any, catalogue: LoadedCatalogue) -> str:
    """Name the catalogue file to mend before a file's components can be read; "" if none."""
    rows = data if isinstance(data, list) else []
    kinds = [row.get("kind") for row in rows if isinstance(row, dict)]
    unknown = [k for k in kinds if isinstance(k, str) and k not in catalogue.catalogue.kinds]
    return next(filter(None, map(catalogue.file_to_mend, unknown)), "")


def _find_kind(
    row: Any, path: KeyPath, catalogue: LoadedCatalogue, faults: list[Fault]
) -> Kind | None:
    if not isinstance(row, dict):
        faults.append(Fault(path, "component is not a table", "write [[component]]"))
        return None
    if "kind" not in row:
        near = nearest("kind", [key for key in row if key not in COMPONENT_KEYS])
        message = f"unknown key {show(near)}" if near else "component has no kind"
        fix = "did you mean kind?" if near else "write a kind; walkround kinds lists them"
        faults.append(Fault((*path, near) if near else path, message, fix))
        return None
    name = row["kind"]
    if not isinstance(name, str):
        fix = "write a kind; walkround kinds lists them"
        faults.append(Fault((*path, "kind"), f"kind is {name_value(name)}", fix))
        return None
    kinds = catalogue.catalogue.kinds
    if name not in kinds and not catalogue.file_to_mend(name):
        fix = suggest(name, tuple(kinds), "walkround kinds lists them")
        faults.append(Fault((*path, "kind"), f"kind {show(name)} is not known", fix))
    return kinds.get(name)


def build_component(row: Row) -> Component:
    """Build one component from checked values."""
    values = row.values
    text = {key: values.get(key, "") for key in _COMMON}
    supplies = tuple(
        Supply(
            source=supply["from"],
            through=supply.get("through", ()),
            ampacity_a=supply.get("ampacity_a"),
            cable_mm2=supply.get("cable_mm2"),
            cable_m=supply.get("cable_m"),
        )
        for supply in values.get("fed_by", ())
    )
    installed: date = values["installed"]
    return Component(
        id=values["id"],
        kind=row.kind,
        **text,
        installed=installed,
        hours_per_year=values.get("hours_per_year"),
        warranty_until=values.get("warranty_until"),
        supplies=supplies,
        water_from=values.get("water_from", ()),
        driven_by=values.get("driven_by", ""),
        stays_live=values["stays_live"],
        parts=values.get("parts", {}),
        values=MappingProxyType({k: v for k, v in values.items() if k not in _NOT_ITS_OWN}),
        assumed=frozenset(values["assumed"]),
        path=row.path,
    )
