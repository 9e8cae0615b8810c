"""Reads one vessel's file into the model, every fault of it at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from upkeep.catalogue.load import LoadedCatalogue
from upkeep.errors import Fault, KeyPath
from upkeep.model import Component, Fleet, Owner, Season, Vessel
from upkeep.naming import is_id, suggest
from upkeep.records.components import build_component, has_nameless, read_rows, written_ids
from upkeep.records.fit_outs import FitOut, check_bindings, expand_fit_out
from upkeep.records.fleets import check_unique, check_water
from upkeep.records.history import (
    read_completions,
    read_editions,
    read_overrides,
    read_periods,
    read_readings,
)
from upkeep.records.references import KnownIds, Row, check_loops, check_references
from upkeep.records.tables import VESSEL_DOCUMENT
from upkeep.schema import is_misspelt, read_table
from upkeep.terms import Standing

_TEXTS = ("berth", "access", "keys")
_NUMBERS = ("beam_m", "draught_m", "displacement_t", "built", "persons", "handed_over")
_FIT_OUT_KEYS = frozenset({"name", "prefix", "installed", "bind"})


@dataclass(frozen=True, kw_only=True, slots=True)
class Surroundings:
    """What a vessel's file may refer to.

    waters and parts are the ids written in fleet.toml, also those with faults; None when that
    cannot be told.
    """

    fleet: Fleet
    catalogue: LoadedCatalogue
    fit_outs: Mapping[str, FitOut]
    waters: frozenset[str] | None
    parts: frozenset[str] | None


def read_vessel(
    data: Mapping[str, Any], *, file: str, name: str, around: Surroundings, faults: list[Fault]
) -> Vessel | None:
    """Read one vessel; None when anything in her file is at fault.

    name is the file's name, which her id must be.
    """
    before = len(faults)
    values = read_table(data, VESSEL_DOCUMENT, (), faults)
    own = read_rows(data.get("component", []), around.catalogue, faults)
    known = _known_ids(values, data, own, around)
    rows = [*own, *_expand(values, known, own, around, faults)]
    check_references(own, known, around.parts, faults)
    check_loops(rows, faults)
    happened = {
        **read_periods(values, faults),
        "completions": read_completions(values, known, faults),
        "overrides": MappingProxyType(
            read_overrides(values, data, known, _stand_anywhere(values, around.fleet), faults)
        ),
        "readings": read_readings(values, known, faults),
        "editions": read_editions(values, faults),
    }
    _check_boat(values, name, around, faults)
    if len(faults) > before:
        return None
    components = {row.values["id"]: build_component(row) for row in rows}
    return _build(values, file=file, around=around, components=components, happened=happened)


def _known_ids(
    values: Mapping[str, Any], data: Mapping[str, Any], own: list[Row], around: Surroundings
) -> KnownIds:
    written = data.get("component", [])
    kinds = {row.values["id"]: row.kind for row in own if "id" in row.values}
    ids = written_ids(written)
    readable = isinstance(written, list) and ("fit_out" in values or "fit_out" not in data)
    if any(is_misspelt(key, data, VESSEL_DOCUMENT) for key in ("component", "fit_out")):
        readable = False
    open_prefixes = [] if readable else [""]
    for use in values.get("fit_out", ()):
        fit_out, prefix = around.fit_outs.get(use.get("name", "")), use.get("prefix")
        if fit_out is None or fit_out.known is None or prefix is None:
            open_prefixes.append(f"{prefix}-" if prefix else "")  # reported where it stands
            continue
        kinds |= {f"{prefix}-{name}": kind for name, kind in fit_out.kinds.items()}
        ids |= {f"{prefix}-{name}" for name in fit_out.known.ids}
        if not fit_out.known.whole:
            open_prefixes.append(f"{prefix}-")
    return KnownIds(
        kinds=kinds,
        ids=frozenset(ids),
        open_prefixes=tuple(open_prefixes),
        nameless=has_nameless(written),
    )


def _expand(
    values: Mapping[str, Any], known: KnownIds, own: list[Row], around: Surroundings,
    faults: list[Fault],
) -> list[Row]:  # fmt: skip
    rows: list[Row] = []
    taken = {row.values.get("id", "") for row in own}
    check_unique(values, "fit_out", "prefix", faults)
    prefixes: set[str] = set()
    for index, use in enumerate(values.get("fit_out", ())):
        path: KeyPath = ("fit_out", index)
        name, prefix = use.get("name", ""), use.get("prefix", "")
        fit_out = around.fit_outs.get(name)
        if fit_out is None:
            if name:
                fix = suggest(name, tuple(around.fit_outs), f"add fit-outs/{name}.toml")
                faults.append(Fault((*path, "name"), f"fit-out {name} is not known", fix))
            continue
        if "bind" in use:
            check_bindings(use, fit_out, known, path, faults)
        if prefix and prefix not in prefixes:
            ids = [f"{prefix}-{inner}" for inner in fit_out.kinds]
            _check_taken(ids, taken, (*path, "prefix"), faults)
            prefixes.add(prefix)
        if use.keys() >= _FIT_OUT_KEYS:
            rows += expand_fit_out(use, fit_out, around.parts, path, faults)
    return rows


def _check_taken(ids: list[str], taken: set[str], path: KeyPath, faults: list[Fault]) -> None:
    twice = next((name for name in ids if name in taken), "")
    if twice:
        faults.append(Fault(path, f"id {twice} is used twice", "choose another prefix"))
    taken.update(ids)


def _stand_anywhere(values: Mapping[str, Any], fleet: Fleet) -> tuple[Standing, ...]:
    """Gather what scopes ask of her in each water she lies in; () when a fault hides it.

    A faulty water has no rules.
    """
    boat = values.get("vessel", {})
    if not boat.keys() >= {"flag", "use"}:
        return ()
    names = [boat.get("water", ""), *(row.get("water", "") for row in values.get("berth", ()))]
    waters = [fleet.waters.get(name) for name in names]
    return tuple(
        Standing(
            flag=boat["flag"], jurisdiction=jurisdiction, use=boat["use"],
            classes=boat.get("classes", ()), schemes=boat.get("schemes", ()),
        )
        for jurisdiction in dict.fromkeys(water.jurisdiction if water else "" for water in waters)
    )  # fmt: skip


def _check_boat(
    values: Mapping[str, Any], name: str, around: Surroundings, faults: list[Fault]
) -> None:
    boat, season = values.get("vessel", {}), values.get("season", {})
    if boat.get("id", name) != name:
        fix = f"name the file {boat['id']}.toml"
        if is_id(name):
            fix = f'write id = "{name}", or {fix}'
        faults.append(Fault(("vessel", "id"), f"id is {boat['id']} in {name}.toml", fix))
    check_water(boat.get("water", ""), around.waters, ("vessel", "water"), faults)
    check_unique(values, "berth", "from", faults)
    for index, row in enumerate(values.get("berth", ())):
        check_water(row.get("water", ""), around.waters, ("berth", index, "water"), faults)
    if season.get("launch") is not None and season.get("launch") == season.get("lay_up"):
        fix = "leave [season] out for a boat afloat all year"
        faults.append(Fault(("season", "lay_up"), "launch and lay_up are the same day", fix))


def _build(
    values: Mapping[str, Any], *, file: str, around: Surroundings,
    components: Mapping[str, Component], happened: Mapping[str, Any],
) -> Vessel:  # fmt: skip
    boat, season = values["vessel"], values.get("season")
    owner = {"name": "", "phone": "", "email": "", "language": "", **values.get("owner", {})}
    seed = f"walkround:{around.fleet.id}/{boat['id']}"
    berths = sorted(((row["water"], row["from"]) for row in values.get("berth", ())),
                    key=lambda item: item[1])  # fmt: skip
    return Vessel(
        id=boat["id"],
        key=boat.get("key") or str(uuid5(NAMESPACE_URL, seed)),
        **{key: boat[key] for key in ("name", "type", "length_m", "water", "flag", "use")},
        **{key: boat.get(key) for key in _NUMBERS},
        **{key: boat.get(key, "") for key in _TEXTS},
        classes=boat.get("classes", ()),
        schemes=boat.get("schemes", ()),
        sleeping=boat["sleeping"],
        owner=Owner(**owner),
        season=Season(**season) if season else None,
        berths=tuple(berths),
        components=MappingProxyType(dict(components)),
        file=file,
        **happened,
    )
