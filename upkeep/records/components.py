"""Reads components, a vessel's own and those of fit-outs, into one list with full ids."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any

from upkeep.model import Catalogue, Component, Kind, Supply
from upkeep.records.tables import component_table
from upkeep.schema import Fault, Path, nearest, read_table, show

_COMMON = ("name", "maker", "model", "serial", "location", "marked", "photo", "notes")
_TAKEN = frozenset(
    (*_COMMON, "id", "kind", "installed", "hours_per_year", "warranty_until", "fed_by",
     "water_from", "driven_by", "stays_live", "parts")
)  # fmt: skip
_ANY = {"any bank": "bank", "any charger": "charger", "any protection": "protection"}


@dataclass(frozen=True, kw_only=True, slots=True)
class FitOut:
    """A reusable set of components; parts are (kind, checked values) without prefix."""

    name: str
    title: str
    needs: Mapping[str, str]
    parts: tuple[tuple[Kind, Mapping[str, Any]], ...]
    ids: frozenset[str]  # every id written, usable or not
    whole: bool  # False when its file has problems


def read_rows(
    data: Any, catalogue: Catalogue, faults: list[Fault], *, in_fit_out: bool = False
) -> list[tuple[Kind, dict[str, Any], Path]]:
    """Check the [[component]] rows of a file; give kind, values and path of the usable ones."""
    if not isinstance(data, list):
        faults.append(Fault(("component",), "component is not a list", "write [[component]]"))
        return []
    rows = []
    seen: set[str] = set()
    for index, row in enumerate(data):
        path: Path = ("component", index)
        kind = _find_kind(row, path, catalogue, faults)
        if kind is None:
            continue
        before = len(faults)
        values = read_table(row, component_table(kind, in_fit_out=in_fit_out), path, faults)
        name = values.get("id", "")
        if name and name in seen:
            faults.append(Fault((*path, "id"), f"id {name} is used twice", "choose another"))
        seen.add(name)
        if len(faults) == before:
            rows.append((kind, values, path))
    return rows


def written_ids(data: Any) -> set[str]:
    """Collect every component id written in a file, usable or not."""
    if not isinstance(data, list):
        return set()
    return {str(row["id"]) for row in data if isinstance(row, dict) and "id" in row}


def _find_kind(
    row: Any, path: Path, catalogue: Catalogue, faults: list[Fault]
) -> Kind | None:
    if not isinstance(row, dict):
        faults.append(Fault(path, "component is not a table", "write [[component]]"))
        return None
    name = row.get("kind")
    if not isinstance(name, str):
        fix = "write a kind of the catalogue (walkround kinds lists them)"
        faults.append(Fault(path, "component has no kind", fix))
        return None
    kind = catalogue.kinds.get(name)
    if kind is None:
        near = nearest(name, tuple(catalogue.kinds))
        fix = f"did you mean {near}?" if near else "walkround kinds lists them"
        faults.append(Fault((*path, "kind"), f"kind {show(name)} is not known", fix))
    return kind


def expand_fit_out(
    use: Mapping[str, Any],
    fit_out: FitOut,
    path: Path,
    faults: list[Fault],
) -> list[tuple[Kind, dict[str, Any], Path]]:
    """Write a fit-out's components out for one vessel: prefix, bind and set applied."""
    bind, prefix = use["bind"], use["prefix"]
    _check_bind(bind, fit_out, (*path, "bind"), faults)
    changes = _read_set(use.get("set", {}), fit_out, (*path, "set"), faults)
    rows = []
    for kind, values in fit_out.parts:
        merged = {"installed": use["installed"], **values, **changes.get(values["id"], {})}
        for row in component_table(kind).required:
            if row.key not in merged:
                fix = f"give it under set.{values['id']} ({row.text})"
                faults.append(Fault(path, f"{values['id']} has no {row.key}", fix))
        if all(row.key in merged for row in component_table(kind).required):
            rows.append((kind, _rename(merged, bind, prefix), path))
    return rows


def _check_bind(
    bind: Mapping[str, str], fit_out: FitOut, path: Path, faults: list[Fault]
) -> None:
    for need, wanted in fit_out.needs.items():
        if need not in bind:
            fix = f'write bind = {{ {need} = "the id of {_article(wanted)}" }}'
            faults.append(Fault(path, f"need {need} is not bound", fix))
    for need in bind:
        if need not in fit_out.needs:
            near = nearest(need, tuple(fit_out.needs))
            fix = f"did you mean {near}?" if near else "the fit-out needs no such thing"
            faults.append(Fault((*path, need), f"bind names no need {show(need)}", fix))


def _article(wanted: str) -> str:
    return wanted if wanted.startswith("any ") else f"a {wanted}"


def _read_set(
    data: Any, fit_out: FitOut, path: Path, faults: list[Fault]
) -> dict[str, dict[str, Any]]:
    if not isinstance(data, dict):
        faults.append(Fault(path, "set is not a table", "write { component = { field = … } }"))
        return {}
    kinds = {values["id"]: kind for kind, values in fit_out.parts}
    changes = {}
    for name, row in data.items():
        if name in kinds:
            table = component_table(kinds[name])
            changes[name] = read_table(row, table, (*path, name), faults, partial=True)
        elif name not in fit_out.ids:
            near = nearest(name, tuple(kinds))
            fix = f"did you mean {near}?" if near else f"one of {', '.join(kinds)}"
            faults.append(Fault((*path, name), f"set names no part {show(name)}", fix))
    return changes


def _rename(values: dict[str, Any], bind: Mapping[str, str], prefix: str) -> dict[str, Any]:
    def full(name: str) -> str:
        return bind.get(name[1:], name) if name.startswith("@") else f"{prefix}-{name}"

    renamed = {**values, "id": full(values["id"])}
    if "fed_by" in values:
        renamed["fed_by"] = tuple(
            {**row, "from": full(row["from"]), "through": tuple(map(full, row.get("through", ())))}
            for row in values["fed_by"]
        )
    if "water_from" in values:
        renamed["water_from"] = tuple(map(full, values["water_from"]))
    if "driven_by" in values:
        renamed["driven_by"] = full(values["driven_by"])
    return renamed


def check_binding_kinds(
    use: Mapping[str, Any],
    fit_out: FitOut,
    kinds: Mapping[str, Kind],
    path: Path,
    faults: list[Fault],
) -> None:
    """Report each need bound to a component of another kind."""
    for need, name in use["bind"].items():
        wanted, kind = fit_out.needs.get(need), kinds.get(name)
        if wanted is None or kind is None:
            continue
        role = _ANY.get(wanted)
        if not (role in kind.roles if role else kind.id == wanted):
            message = f"{need} is bound to {name}, a {kind.id}"
            fix = f"bind {_article(wanted)}"
            faults.append(Fault((*path, "bind", need), message, fix))


def build_component(kind: Kind, values: Mapping[str, Any], path: Path) -> Component:
    """Build one component from checked values."""
    text = {key: values.get(key, "") for key in _COMMON}
    supplies = tuple(
        Supply(
            source=row["from"],
            through=row.get("through", ()),
            ampacity_a=row.get("ampacity_a"),
            cable_mm2=row.get("cable_mm2"),
            cable_m=row.get("cable_m"),
        )
        for row in values.get("fed_by", ())
    )
    installed: date = values["installed"]
    return Component(
        id=values["id"],
        kind=kind,
        **text,
        installed=installed,
        hours_per_year=values.get("hours_per_year"),
        warranty_until=values.get("warranty_until"),
        supplies=supplies,
        water_from=values.get("water_from", ()),
        driven_by=values.get("driven_by", ""),
        stays_live=values["stays_live"],
        parts=values.get("parts", {}),
        values=MappingProxyType({k: v for k, v in values.items() if k not in _TAKEN}),
        path=path,
    )
