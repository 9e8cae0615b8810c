"""A fleet as recorded in its files and its logbook together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from upkeep.dates import parse_stamp
from upkeep.logbook.entries import Entry
from upkeep.logbook.facts import Work, read_measurement, read_work
from upkeep.logbook.store import FILE, Logbook, open_logbook
from upkeep.model import Completion, Component, Expiry, Reading, Rule, Vessel
from upkeep.records.load import LoadedFleet, load_fleet


def load_with_logbook(
    folder: Path, only: Iterable[str] = (), *, url: str | None = None
) -> LoadedFleet:
    """Read a fleet folder with what its logbook says; only restricts the vessels read.

    Raises UpkeepError when the folder or the logbook cannot be read.
    """
    loaded = load_fleet(folder, only)
    if not loaded.vessels or (url is None and not (folder / FILE).exists()):
        return loaded
    with open_logbook(folder, url, write=False) as logbook:
        return merge_logbook(loaded, logbook)


def merge_logbook(loaded: LoadedFleet, logbook: Logbook) -> LoadedFleet:
    """Add to each vessel what stands in the logbook; of parts she no longer has, nothing."""
    vessels = tuple(_merge(vessel, logbook.standing(vessel.id)) for vessel in loaded.vessels)
    return replace(loaded, vessels=vessels)


def _merge(vessel: Vessel, entries: Iterable[Entry]) -> Vessel:
    completions, readings = list(vessel.completions), list(vessel.readings)
    stamps: dict[tuple[str, str], tuple[Any, str]] = {}
    known = len(completions) + len(readings)
    for entry in entries:
        path = ("logbook", entry.id)
        if entry.kind == "read":
            said = read_measurement(entry.facts)
            if _measures(vessel, said.component, said.name):
                readings.append(
                    Reading(
                        component=said.component, name=said.name, on=said.on, value=said.value,
                        commissioning=said.commissioning, path=path,
                    )
                )  # fmt: skip
            continue
        work = read_work(entry.facts)
        rule = _find_rule(vessel, work)
        if rule is None:
            continue
        completions.append(_complete(work, path))
        field = _stamped_field(rule)
        if work.stamp and field:
            newest = stamps.get((work.component, field))
            if newest is None or newest[0] <= work.on:
                stamps[work.component, field] = (work.on, work.stamp)
    if len(completions) + len(readings) == known:
        return vessel
    return replace(
        vessel,
        completions=tuple(sorted(completions, key=lambda done: done.on)),
        readings=tuple(sorted(readings, key=lambda row: (row.component, row.name, row.on))),
        components=_stamp(vessel.components, stamps),
    )


def _complete(work: Work, path: tuple[str | int, ...]) -> Completion:
    low, high = work.between or (None, None)
    return Completion(
        component=work.component, rule=work.rule, on=work.on, wear=work.wear, path=path,
        wear_low=low, wear_high=high, left=work.left,
    )  # fmt: skip


def _measures(vessel: Vessel, name: str, reading: str) -> bool:
    component = vessel.components.get(name)
    return component is not None and any(row.name == reading for row in component.kind.readings)


def _find_rule(vessel: Vessel, work: Work) -> Rule | None:
    component = vessel.components.get(work.component)
    rules = component.kind.rules if component else ()
    return next((rule for rule in rules if rule.id == work.rule), None)


def _stamped_field(rule: Rule) -> str:
    """Name the field that holds the date printed on what a rule renews; "" if it has none."""
    limit = rule.limits.get("expiry")
    return limit.field if isinstance(limit, Expiry) else ""


def _stamp(
    components: Mapping[str, Component], stamps: Mapping[tuple[str, str], tuple[Any, str]]
) -> Mapping[str, Component]:
    """Write the newest stamps into the parts they are printed on."""
    if not stamps:
        return components
    changed = dict(components)
    for (name, field), (_, text) in stamps.items():
        part = changed[name]
        values = MappingProxyType({**part.values, field: parse_stamp(text)})
        changed[name] = replace(part, values=values, assumed=part.assumed - {field})
    return MappingProxyType(changed)
