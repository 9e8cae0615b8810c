"""Reads what happened to a vessel: spells, work done, limits of her own, readings, editions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from upkeep.catalogue.limits import Measures, check_calendar, settle_limits
from upkeep.errors import Fault, KeyPath
from upkeep.model import (
    Completion,
    Edition,
    Kind,
    Left,
    Limits,
    Override,
    Period,
    Reading,
    ReadingKind,
    Rule,
)
from upkeep.naming import show, suggest
from upkeep.records.fleets import check_unique, read_period
from upkeep.records.references import KnownIds
from upkeep.terms import Standing, lengthens, settle_terms

_NO_LIMITS = frozenset({"task", "source", "drop"})


def read_periods(values: Mapping[str, Any], faults: list[Fault]) -> dict[str, Any]:
    """Read the spells ashore, afloat and left unused; a day both ashore and afloat is a fault."""
    spells: dict[str, list[Period]] = {"ashore": [], "afloat": []}
    for key, found in spells.items():
        for index, row in enumerate(values.get(key, ())):
            period = read_period(row, (key, index), faults)
            if period is None:
                continue
            others = found if key == "ashore" else [*spells["ashore"], *found]
            if any(_overlap(period, other) for other in others):
                fix = "let each day stand in one of them"
                faults.append(Fault((key, index), f"{key} overlaps another spell", fix))
            found.append(period)
    left = []
    for index, row in enumerate(values.get("left", ())):
        period = read_period(row, ("left", index), faults)
        if period:
            left.append(Left(period=period, isolated=row["isolated"]))
    return {**{key: tuple(found) for key, found in spells.items()}, "left": tuple(left)}


def _overlap(first: Period, second: Period) -> bool:
    return (second.end is None or first.first < second.end) and (
        first.end is None or second.first < first.end
    )


def _find_task(
    row: Mapping[str, Any], path: KeyPath, known: KnownIds, faults: list[Fault]
) -> tuple[str, Kind, Rule] | None:
    if "task" not in row:
        return None
    component, wanted = row["task"].split("/")
    kind = known.kinds.get(component)
    if kind is None:
        known.check(component, (*path, "task"), faults)
        return None
    rules = {rule.id: rule for rule in kind.rules}
    if wanted not in rules:
        fix = suggest(wanted, tuple(rules), f"one of {', '.join(rules) or 'none'}")
        faults.append(Fault((*path, "task"), f"{kind.id} has no task {show(wanted)}", fix))
        return None
    return component, kind, rules[wanted]


def read_completions(
    values: Mapping[str, Any], known: KnownIds, faults: list[Fault]
) -> tuple[Completion, ...]:
    """Read [[last_done]], by day."""
    found = []
    for index, row in enumerate(values.get("last_done", ())):
        path: KeyPath = ("last_done", index)
        task = _find_task(row, path, known, faults)
        if task and "on" in row:
            component, _, rule = task
            found.append(
                Completion(
                    component=component, rule=rule.id, on=row["on"], wear=row.get("wear"),
                    path=path,
                )
            )  # fmt: skip
    return tuple(sorted(found, key=lambda item: item.on))


def read_overrides(
    values: Mapping[str, Any],
    data: Mapping[str, Any],
    known: KnownIds,
    standings: Sequence[Standing],
    faults: list[Fault],
) -> dict[tuple[str, str], Override]:
    """Read [[limit]]. standings decide what is required, in each water; () when not read."""
    found: dict[tuple[str, str], Override] = {}
    for index, row in enumerate(values.get("limit", ())):
        path: KeyPath = ("limit", index)
        task = _find_task(row, path, known, faults)
        if task is None:
            continue
        component, kind, rule = task
        if (component, rule.id) in found:
            fix = "write one [[limit]] for each task"
            faults.append(Fault((*path, "task"), f"limits of {row['task']} stand twice", fix))
            continue
        written = data["limit"][index]
        measures = Measures.of(kind)
        limits = settle_limits(row, written, path, faults, measures, over=rule.limits)
        check_calendar(limits, {*rule.limits, *written}, path, faults)
        asks = rule.on_request and "drop" in written
        if not written.keys() - _NO_LIMITS and not row["drop"] and not asks:
            fix = "write a limit such as months = 12, or drop = true"
            if rule.on_request:
                fix = "write drop = false to ask for it, or a limit such as months = 12"
            faults.append(Fault(path, f"limit of {row['task']} sets nothing", fix))
        required = (s for s in standings if settle_terms(rule, s).binding == "required")
        standing = next(required, None)
        if standing is not None:
            _hold_to_required(
                rule, standing, limits=limits, dropped=row["drop"], path=path, faults=faults
            )
        found[component, rule.id] = Override(
            component=component, rule=rule.id, limits=limits, source=row.get("source", ""),
            dropped=row["drop"], path=path,
        )  # fmt: skip
    return found


def _hold_to_required(
    rule: Rule,
    standing: Standing,
    *,
    limits: Limits,
    dropped: bool,
    path: KeyPath,
    faults: list[Fault],
) -> None:
    """Report a [[limit]] that lengthens or drops what a law or scheme requires."""
    terms = settle_terms(rule, standing)
    fix = "what is required may only be shortened"
    if dropped:
        faults.append(Fault((*path, "drop"), f"{rule.id} is required", fix))
    for key, value in limits.items():
        if lengthens(key, value, terms.limits) or lengthens(key, value, terms.without_season):
            message = f"{key} of {rule.id} is longer than required"
            faults.append(Fault((*path, key), message, fix))


def read_readings(
    values: Mapping[str, Any], known: KnownIds, faults: list[Fault]
) -> tuple[Reading, ...]:
    """Read [[reading]], by component, name and day."""
    found: list[tuple[Reading, ReadingKind]] = []
    for index, row in enumerate(values.get("reading", ())):
        path: KeyPath = ("reading", index)
        measured = _find_reading(row, path, known, faults)
        if measured is None or "value" not in row:
            continue
        if not measured.low <= row["value"] <= measured.high:
            _report_range(row, measured, (*path, "value"), faults)
        elif "on" in row:
            reading = Reading(
                component=row["component"], name=row["name"], on=row["on"], value=row["value"],
                commissioning=row["commissioning"], path=path,
            )  # fmt: skip
            found.append((reading, measured))
    _check_meters(found, faults)
    readings = (reading for reading, _ in found)
    return tuple(sorted(readings, key=lambda item: (item.component, item.name, item.on)))


def _find_reading(
    row: Mapping[str, Any], path: KeyPath, known: KnownIds, faults: list[Fault]
) -> ReadingKind | None:
    component, name = row.get("component", ""), row.get("name", "")
    kind = known.kinds.get(component)
    if kind is None:
        known.check(component, (*path, "component"), faults)
        return None
    kinds = {item.name: item for item in kind.readings}
    if name and name not in kinds:
        fix = suggest(name, tuple(kinds), f"one of {', '.join(kinds) or 'none'}")
        faults.append(Fault((*path, "name"), f"{kind.id} has no reading {show(name)}", fix))
    return kinds.get(name)


def _report_range(
    row: Mapping[str, Any], measured: ReadingKind, path: KeyPath, faults: list[Fault]
) -> None:
    value = row["value"]
    fix = f"write {measured.low:g} to {measured.high:g} {measured.unit}".rstrip()
    if measured.unit == "0-1":
        fix = fix.removesuffix(" 0-1")
        if 1 < value <= 100:
            fix = f"write the fraction {value / 100:g}, not a percentage"
    faults.append(Fault(path, f"{row['name']} is {value:g}", fix))


def _check_meters(found: list[tuple[Reading, ReadingKind]], faults: list[Fault]) -> None:
    """Report two readings of one day, and steps that no hour meter can make.

    A reading found wrong is not what the next is held against.
    """
    last: dict[tuple[str, str], Reading] = {}
    for reading, measured in sorted(found, key=lambda item: item[0].on):
        key = (reading.component, reading.name)
        before = last.get(key)
        days = (reading.on - before.on).days if before else 0
        if before and days == 0:
            message = f"{reading.name} is recorded twice on {reading.on}"
            faults.append(Fault(reading.path, message, "keep the right one"))
        elif (
            before
            and measured.counts_for == "run_hours"
            and not (before.value <= reading.value <= before.value + 24 * days)
        ):
            message = f"{reading.value:g} h cannot follow {before.value:g} h of {before.on}"
            fix = f"write {before.value:g} to {before.value + 24 * days:g}"
            faults.append(Fault((*reading.path, "value"), message, fix))
        else:
            last[key] = reading


def read_editions(values: Mapping[str, Any], faults: list[Fault]) -> tuple[Edition, ...]:
    """Read [[edition]], by number."""
    check_unique(values, "edition", "number", faults)
    rows = (row for row in values.get("edition", ()) if row.keys() >= {"number", "on", "by"})
    return tuple(sorted((Edition(**row) for row in rows), key=lambda item: item.number))
