"""Reads one vessel's file into the model, every fault of it at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from upkeep.catalogue.rules import read_limits
from upkeep.model import (
    Catalogue,
    Completion,
    Component,
    Edition,
    Fleet,
    Kind,
    Left,
    Override,
    Owner,
    Period,
    Reading,
    Season,
    Vessel,
)
from upkeep.records.components import (
    FitOut,
    build_component,
    check_binding_kinds,
    expand_fit_out,
    read_rows,
    written_ids,
)
from upkeep.records.fleets import read_period, read_periods
from upkeep.records.references import KnownIds, check_references
from upkeep.records.tables import VESSEL_DOCUMENT
from upkeep.schema import Fault, Path, nearest, read_table, show
from upkeep.terms import is_longer, settle_terms, standing_of

_TEXTS = ("berth", "access", "keys")
_NUMBERS = ("beam_m", "draught_m", "displacement_t", "built", "persons", "handed_over")
_FIT_OUT_KEYS = frozenset({"name", "prefix", "installed", "bind"})


@dataclass(frozen=True, kw_only=True, slots=True)
class Surroundings:
    """What a vessel's file may refer to. known_waters also holds those with faults."""

    fleet: Fleet
    catalogue: Catalogue
    fit_outs: Mapping[str, FitOut]
    known_waters: frozenset[str]


def read_vessel(
    data: Mapping[str, Any], *, file: str, name: str, around: Surroundings, faults: list[Fault]
) -> Vessel | None:
    """Read one vessel; None when anything in her file is at fault.

    name is the file's name, which her id must be.
    """
    before = len(faults)
    values = read_table(data, VESSEL_DOCUMENT, (), faults)
    own = read_rows(data.get("component", []), around.catalogue, faults)
    rows = [*own, *_expand(values, around, faults)]
    kinds = {row["id"]: kind for kind, row, _ in rows}
    _check_twice(rows, len(own), faults)
    known = _known_ids(values, data, around, kinds)
    _check_bindings(values, around, kinds, faults)
    check_references(rows, known, around.fleet.parts, faults)
    periods = _read_periods(values, faults)
    completions = _read_completions(values, known, faults)
    overrides = _read_overrides(values, data, known, faults)
    readings = _read_readings(values, known, faults)
    editions = _read_editions(values, faults)
    _check_boat(values, name, around, faults)
    if len(faults) > before:
        return None
    components = {row["id"]: build_component(kind, row, path) for kind, row, path in rows}
    vessel = _build(
        values, file=file, around=around, components=components, completions=completions,
        overrides=overrides, readings=readings, editions=editions, periods=periods,
    )  # fmt: skip
    _check_overrides(vessel, around.fleet, faults)
    return vessel if len(faults) == before else None


def _expand(
    values: Mapping[str, Any], around: Surroundings, faults: list[Fault]
) -> list[tuple[Kind, dict[str, Any], Path]]:
    rows: list[tuple[Kind, dict[str, Any], Path]] = []
    prefixes: set[str] = set()
    for index, use in enumerate(values.get("fit_out", ())):
        path: Path = ("fit_out", index)
        if not use.keys() >= _FIT_OUT_KEYS:
            continue
        if use["prefix"] in prefixes:
            fix = "give each fit-out its own"
            faults.append(Fault((*path, "prefix"), f"prefix {use['prefix']} is used twice", fix))
        prefixes.add(use["prefix"])
        fit_out = around.fit_outs.get(use["name"])
        if fit_out is None:
            near = nearest(use["name"], tuple(around.fit_outs))
            fix = f"did you mean {near}?" if near else f"add fit-outs/{use['name']}.toml"
            faults.append(Fault((*path, "name"), f"fit-out {use['name']} is not known", fix))
        else:
            rows += expand_fit_out(use, fit_out, path, faults)
    return rows


def _check_twice(
    rows: list[tuple[Kind, dict[str, Any], Path]], own: int, faults: list[Fault]
) -> None:
    seen = {row["id"] for _, row, _ in rows[:own]}
    for _, row, path in rows[own:]:
        if row["id"] in seen:
            fix = "choose another prefix"
            faults.append(Fault(path, f"id {row['id']} is used twice", fix))
        seen.add(row["id"])


def _known_ids(
    values: Mapping[str, Any], data: Mapping[str, Any], around: Surroundings,
    kinds: Mapping[str, Kind],
) -> KnownIds:  # fmt: skip
    ids = written_ids(data.get("component", []))
    open_prefixes = []
    for use in values.get("fit_out", ()):
        fit_out = around.fit_outs.get(use.get("name", ""))
        prefix = use.get("prefix", "")
        if fit_out is None:
            open_prefixes.append(f"{prefix}-")  # her fit-out is at fault already
        else:
            ids |= {f"{prefix}-{name}" for name in fit_out.ids}
    return KnownIds(kinds=kinds, ids=frozenset(ids), open_prefixes=tuple(open_prefixes))


def _check_bindings(
    values: Mapping[str, Any], around: Surroundings, kinds: Mapping[str, Kind],
    faults: list[Fault],
) -> None:  # fmt: skip
    for index, use in enumerate(values.get("fit_out", ())):
        fit_out = around.fit_outs.get(use.get("name", ""))
        if fit_out is not None and "bind" in use:
            check_binding_kinds(use, fit_out, kinds, ("fit_out", index), faults)


def _read_periods(values: Mapping[str, Any], faults: list[Fault]) -> dict[str, Any]:
    found: dict[str, Any] = {
        key: read_periods(values.get(key, ()), (key,), faults) for key in ("ashore", "afloat")
    }
    left = []
    for index, row in enumerate(values.get("left", ())):
        period = read_period(row, ("left", index), faults)
        if period:
            left.append(Left(period=period, isolated=row["isolated"]))
    found["left"] = tuple(left)
    for key in ("ashore", "afloat"):
        for index, period in enumerate(found[key]):
            others = [*found[key][:index]]
            if key == "afloat":
                others += found["ashore"]
            if any(_overlap(period, other) for other in others):
                fix = "let each day stand in one of them"
                faults.append(Fault((key, index), f"{key} overlaps another spell", fix))
    return found


def _overlap(first: Period, second: Period) -> bool:
    return (second.end is None or first.first < second.end) and (
        first.end is None or second.first < first.end
    )


def _split_task(
    row: Mapping[str, Any], path: Path, known: KnownIds, faults: list[Fault]
) -> tuple[str, str] | None:
    if "task" not in row:
        return None
    component, rule = row["task"].split("/")
    kind = known.kinds.get(component)
    if kind is None:
        known.check(component, (*path, "task"), faults)
        return None
    rules = [item.id for item in kind.rules]
    if rule not in rules:
        near = nearest(rule, rules)
        fix = f"did you mean {component}/{near}?" if near else f"one of {', '.join(rules)}"
        faults.append(Fault((*path, "task"), f"{kind.id} has no task {show(rule)}", fix))
        return None
    return component, rule


def _read_completions(
    values: Mapping[str, Any], known: KnownIds, faults: list[Fault]
) -> tuple[Completion, ...]:
    found = []
    for index, row in enumerate(values.get("last_done", ())):
        path: Path = ("last_done", index)
        task = _split_task(row, path, known, faults)
        if task and "on" in row:
            found.append(
                Completion(
                    component=task[0], rule=task[1], on=row["on"], wear=row.get("wear"), path=path
                )
            )
    return tuple(found)


def _read_overrides(
    values: Mapping[str, Any], data: Mapping[str, Any], known: KnownIds, faults: list[Fault]
) -> dict[tuple[str, str], Override]:
    found: dict[tuple[str, str], Override] = {}
    for index, row in enumerate(values.get("limit", ())):
        path: Path = ("limit", index)
        task = _split_task(row, path, known, faults)
        if task is None:
            continue
        if task in found:
            fix = "write one [[limit]] for each task"
            faults.append(Fault((*path, "task"), f"limits of {row['task']} stand twice", fix))
            continue
        fields = {item.key: item for item in known.kinds[task[0]].fields}
        clean = {k: v for k, v in row.items() if k not in ("task", "source", "drop")}
        raw = {k: v for k, v in data["limit"][index].items() if k in clean}
        limits, _ = read_limits(raw, path, faults, fields=fields)
        if not limits and not row["drop"]:
            fix = "write a limit such as months = 12, or drop = true"
            faults.append(Fault(path, f"limit of {row['task']} sets nothing", fix))
        found[task] = Override(
            component=task[0], rule=task[1], limits=limits, source=row.get("source", ""),
            dropped=row["drop"], path=path,
        )  # fmt: skip
    return found


def _read_readings(
    values: Mapping[str, Any], known: KnownIds, faults: list[Fault]
) -> tuple[Reading, ...]:
    found: list[Reading] = []
    for index, row in enumerate(values.get("reading", ())):
        path: Path = ("reading", index)
        kind = known.kinds.get(row.get("component", ""))
        if kind is None:
            if "component" in row:
                known.check(row["component"], (*path, "component"), faults)
            continue
        kinds = {item.name: item for item in kind.readings}
        reading = kinds.get(row.get("name", ""))
        if reading is None:
            if "name" in row:
                near = nearest(row["name"], tuple(kinds))
                fix = f"did you mean {near}?" if near else f"one of {', '.join(kinds) or 'none'}"
                message = f"{kind.id} has no reading {show(row['name'])}"
                faults.append(Fault((*path, "name"), message, fix))
            continue
        if not row.keys() >= {"on", "value"}:
            continue
        if not reading.low <= row["value"] <= reading.high:
            value = row["value"]
            fix = f"write {reading.low:g} to {reading.high:g} {reading.unit}".rstrip()
            if reading.unit == "0-1" and 1 < value <= 100:
                fix = f"write the fraction {value / 100:g}, not a percentage"
            faults.append(Fault((*path, "value"), f"{row['name']} is {value:g}", fix))
            continue
        found.append(
            Reading(
                component=row["component"], name=row["name"], on=row["on"], value=row["value"],
                commissioning=row["commissioning"], path=path,
            )
        )  # fmt: skip
    _check_meters(found, known, faults)
    return tuple(sorted(found, key=lambda item: (item.component, item.name, item.on)))


def _check_meters(found: list[Reading], known: KnownIds, faults: list[Fault]) -> None:
    """Report two readings of one day, and steps that no hour meter can make."""
    last: dict[tuple[str, str], Reading] = {}
    for reading in sorted(found, key=lambda item: item.on):
        before = last.get((reading.component, reading.name))
        last[reading.component, reading.name] = reading
        if before is None:
            continue
        days = (reading.on - before.on).days
        if days == 0:
            fix = "keep the right one"
            message = f"{reading.name} is recorded twice on {reading.on}"
            faults.append(Fault(reading.path, message, fix))
            continue
        kind = known.kinds[reading.component]
        hours = any(r.name == reading.name and r.counts_for == "run_hours" for r in kind.readings)
        if hours and not before.value <= reading.value <= before.value + 24 * days:
            message = f"{reading.value:g} h cannot follow {before.value:g} h of {before.on}"
            fix = f"write {before.value:g} to {before.value + 24 * days:g}"
            faults.append(Fault((*reading.path, "value"), message, fix))


def _read_editions(values: Mapping[str, Any], faults: list[Fault]) -> tuple[Edition, ...]:
    found = [
        (index, Edition(**row))
        for index, row in enumerate(values.get("edition", ()))
        if row.keys() >= {"number", "on", "by"}
    ]
    numbers: set[int] = set()
    for index, edition in found:
        if edition.number in numbers:
            path = ("edition", index, "number")
            faults.append(Fault(path, f"edition {edition.number} stands twice", "count on"))
        numbers.add(edition.number)
    return tuple(sorted((edition for _, edition in found), key=lambda item: item.number))


def _check_boat(
    values: Mapping[str, Any], name: str, around: Surroundings, faults: list[Fault]
) -> None:
    boat = values.get("vessel", {})
    if boat.get("id", name) != name:
        fix = f'write id = "{name}", or rename the file'
        faults.append(Fault(("vessel", "id"), f"id is {boat['id']} in {name}.toml", fix))
    named: list[tuple[Path, str]] = [(("vessel", "water"), boat.get("water", ""))]
    for index, row in enumerate(values.get("berth", ())):
        named.append((("berth", index, "water"), row.get("water", "")))
    for path, water in named:
        if water and water not in around.known_waters:
            near = nearest(water, tuple(around.known_waters))
            fix = f"did you mean {near}?" if near else f"add [water.{water}] to fleet.toml"
            faults.append(Fault(path, f"water {water} is not known", fix))
    season = values.get("season", {})
    if season.get("launch") is not None and season.get("launch") == season.get("lay_up"):
        fix = "leave [season] out for a boat afloat all year"
        faults.append(Fault(("season", "lay_up"), "launch and lay_up are the same day", fix))


def _build(
    values: Mapping[str, Any], *, file: str, around: Surroundings,
    components: Mapping[str, Component], completions: tuple[Completion, ...],
    overrides: Mapping[tuple[str, str], Override], readings: tuple[Reading, ...],
    editions: tuple[Edition, ...], periods: Mapping[str, Any],
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
        completions=tuple(sorted(completions, key=lambda item: item.on)),
        overrides=MappingProxyType(dict(overrides)),
        readings=readings,
        editions=editions,
        file=file,
        **periods,
    )


def _check_overrides(vessel: Vessel, fleet: Fleet, faults: list[Fault]) -> None:
    """Report a [[limit]] that lengthens or drops what a law or scheme requires."""
    water = fleet.waters.get(vessel.water)
    standing = standing_of(vessel, water.jurisdiction if water else "")
    for (name, rule_id), override in vessel.overrides.items():
        rule = next(r for r in vessel.components[name].kind.rules if r.id == rule_id)
        terms = settle_terms(rule, standing)
        if terms.binding != "required":
            continue
        fix = "what is required may only be shortened"
        if override.dropped:
            faults.append(Fault((*override.path, "drop"), f"{rule_id} is required", fix))
        for key, value in override.limits.items():
            if key in terms.limits and is_longer(key, value, terms.limits[key]):
                message = f"{key} of {rule_id} is longer than required"
                faults.append(Fault((*override.path, key), message, fix))
