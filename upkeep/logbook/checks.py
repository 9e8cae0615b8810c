"""Holds what is to be recorded against the fleet: its names, scales, licences and days."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from upkeep.dates import say_day
from upkeep.documents import is_inside
from upkeep.errors import Fault
from upkeep.logbook.entries import Facts
from upkeep.logbook.facts import check_said, make_facts
from upkeep.model import Component, Finding, Reading, ReadingKind, Rule, Vessel
from upkeep.naming import nearest, say_choices, show, suggest
from upkeep.records.load import LoadedFleet


@dataclass(frozen=True, kw_only=True, slots=True)
class Checked:
    """Facts ready to be recorded, or what is wrong; the path of a fault is the key it stands at.

    facts is None when there are faults.
    """

    facts: Facts | None
    faults: tuple[Fault, ...]


def check_done(loaded: LoadedFleet, vessel: str, said: Mapping[str, Any], today: date) -> Checked:
    """Check work done before it is recorded, every fault at once.

    said: the keys of facts.DONE, on as a date, finding any unique beginning of the rule's words;
    between [low, high or None] instead of wear. today: what is later is refused.
    """
    faults: list[Fault] = []
    values = check_said("done", said, faults)
    boat = find_vessel(loaded, vessel, faults)
    if boat is not None and "task" in values:
        found = _find_rule(boat, values["task"], faults)
        if found:
            component, rule = found
            _check_day(component, values, today, faults)
            _check_finding(rule, values, faults)
            _check_licence(rule, values, faults)
            _check_stamp(component, values, faults)
    _check_photo(loaded, values, faults)
    return _settle(values, faults)


def check_read(
    loaded: LoadedFleet,
    vessel: str,
    said: Mapping[str, Any],
    today: date,
    *,
    beside: Sequence[Reading] = (),
) -> Checked:
    """Check a reading before it is recorded, every fault at once.

    said: the keys of facts.READ, on as a date. It is held against the readings in the vessel's
    file and those beside them, of the logbook.
    """
    faults: list[Fault] = []
    values = check_said("read", said, faults)
    boat = find_vessel(loaded, vessel, faults)
    if boat is not None and "component" in values:
        component = _find_component(boat, values["component"], ("component",), faults)
        if component is not None:
            _check_day(component, values, today, faults)
            known = (*boat.readings, *beside)
            _check_value(known, component, values, faults)
    return _settle(values, faults)


def _settle(values: Mapping[str, Any], faults: Sequence[Fault]) -> Checked:
    return Checked(facts=None if faults else make_facts(values), faults=tuple(faults))


def find_vessel(loaded: LoadedFleet, name: str, faults: list[Fault]) -> Vessel | None:
    """Find a vessel by her id, or report what would be right."""
    vessels = {vessel.id: vessel for vessel in loaded.vessels}
    if name in loaded.stopped:
        fix = f"mend {loaded.stopped[name]} first"
        faults.append(Fault(("vessel",), f"{name} cannot be used", fix))
    elif name not in vessels:
        fix = suggest(name, sorted(vessels), f"one of {', '.join(sorted(vessels)) or 'none'}")
        faults.append(Fault(("vessel",), f"there is no vessel {show(name)}", fix))
    return vessels.get(name)


def _find_component(
    vessel: Vessel, name: str, path: tuple[str, ...], faults: list[Fault]
) -> Component | None:
    found = vessel.components.get(name)
    if found is None:
        fix = suggest(name, sorted(vessel.components), f"see {vessel.file}")
        faults.append(Fault(path, f"{vessel.id} has no component {show(name)}", fix))
    return found


def _find_rule(vessel: Vessel, task: str, faults: list[Fault]) -> tuple[Component, Rule] | None:
    name, wanted = task.split("/")
    component = _find_component(vessel, name, ("task",), faults)
    if component is None:
        return None
    rules = {rule.id: rule for rule in component.kind.rules}
    if wanted not in rules:
        fix = suggest(wanted, tuple(rules), f"one of {', '.join(rules) or 'none'}")
        faults.append(Fault(("task",), f"{component.kind.id} has no task {show(wanted)}", fix))
        return None
    return component, rules[wanted]


def _check_day(
    component: Component, values: dict[str, Any], today: date, faults: list[Fault]
) -> None:
    """Report a day that cannot be, and leave it out of what else is checked."""
    on = values.get("on")
    if on is None or component.installed <= on <= today:
        return
    said = say_day(values.pop("on"))
    if on > today:
        fix = f"today is {say_day(today)}: record it once it is so"
        faults.append(Fault(("on",), f"{said} is yet to come", fix))
    else:
        fix = f"{component.id} was installed on {say_day(component.installed)}"
        faults.append(Fault(("on",), f"{said} is before it was there", fix))


def _check_finding(rule: Rule, values: dict[str, Any], faults: list[Fault]) -> None:
    """Put the whole words and their wear in the place of what was said."""
    if "finding" not in values:
        return
    if "wear" in values or "between" in values:
        faults.append(Fault(("finding",), "finding and wear are both given", "keep one of them"))
        return
    fitting = _match_finding(rule, values["finding"])
    if len(fitting) == 1:
        values["finding"], values["wear"] = fitting[0].words, float(fitting[0].wear)
        return
    words = [finding.words for finding in fitting or rule.findings]
    near = "" if fitting else nearest(values["finding"], words)
    fix = f'did you mean "{near}"?' if near else f"write {say_choices(words)}"
    if not words:
        fix = "write wear, 0 as new, 1 at the limit"
    said = "fits several" if fitting else "is none of this task's"
    faults.append(Fault(("finding",), f'finding "{show(values["finding"])}" {said}', fix))


def _match_finding(rule: Rule, said: str) -> list[Finding]:
    """Find the findings of these words, or of words that begin so."""
    wanted = _fold(said)
    whole = [finding for finding in rule.findings if _fold(finding.words) == wanted]
    return whole or [one for one in rule.findings if _fold(one.words).startswith(wanted)]


def _fold(text: str) -> str:
    return " ".join(text.casefold().split())


def _check_licence(rule: Rule, values: Mapping[str, Any], faults: list[Fault]) -> None:
    if rule.licence and "licence" not in values:
        fix = f"write the number of the {rule.licence} licence it was done under"
        faults.append(Fault(("licence",), f"{rule.id} is for a licensed person", fix))


def _check_stamp(component: Component, values: Mapping[str, Any], faults: list[Fault]) -> None:
    stamps = [field.key for field in component.kind.fields if field.type == "stamp"]
    if "stamp" in values and not stamps:
        fix = "leave it out, or write it in the note"
        faults.append(Fault(("stamp",), f"{component.kind.title} carries no date", fix))


def _check_photo(loaded: LoadedFleet, values: Mapping[str, Any], faults: list[Fault]) -> None:
    photo = values.get("photo")
    if photo is None:
        return
    file = loaded.folder / "photos" / photo
    if not is_inside(loaded.folder, file) or not file.is_file():
        fix = "put the picture itself into photos/"
        faults.append(Fault(("photo",), f"there is no photos/{photo}", fix))


def _check_value(
    known: Sequence[Reading],
    component: Component,
    values: Mapping[str, Any],
    faults: list[Fault],
) -> None:
    name = values.get("name")
    kinds = {item.name: item for item in component.kind.readings}
    if name is None:
        return
    if name not in kinds:
        fix = suggest(name, tuple(kinds), f"one of {', '.join(kinds) or 'none'}")
        faults.append(Fault(("name",), f"{component.kind.id} has no reading {show(name)}", fix))
    elif "value" in values:
        fault = _find_range_fault(kinds[name], values["value"])
        if fault is None and "on" in values:
            fault = _find_step_fault(known, kinds[name], values)
        if fault is not None:
            faults.append(fault)


def _find_range_fault(kind: ReadingKind, value: float) -> Fault | None:
    if kind.low <= value <= kind.high:
        return None
    fix = f"write {kind.low:g} to {kind.high:g} {kind.unit}".rstrip()
    if kind.unit == "0-1":
        fix = fix.removesuffix(" 0-1")
        if 1 < value <= 100:
            fix = f"write the fraction {value / 100:g}, not a percentage"
    return Fault(("value",), f"{kind.name} is {value:g}", fix)


def _find_step_fault(
    known: Sequence[Reading], kind: ReadingKind, values: Mapping[str, Any]
) -> Fault | None:
    """Find a reading of the same day, or an hour meter's step that no meter can make."""
    mine = [
        one for one in known if (one.component, one.name) == (values["component"], values["name"])
    ]
    on, value = values["on"], values["value"]
    for other in mine:
        if other.on == on and other.value != value:
            fix = f"keep it, or take it back first: it says {other.value:g}"
            return Fault(("value",), f"{kind.name} is recorded on {say_day(on)}", fix)
    if kind.counts_for != "run_hours":
        return None
    before = max((one for one in mine if one.on < on), key=lambda one: one.on, default=None)
    after = min((one for one in mine if one.on > on), key=lambda one: one.on, default=None)
    for other in filter(None, (before, after)):
        low, high = _span(other, on)
        if not low <= value <= high:
            fix = f"write {low:g} to {high:g}: it showed {other.value:g} h on {say_day(other.on)}"
            return Fault(("value",), f"{value:g} h on {say_day(on)} does not fit", fix)
    return None


def _span(other: Reading, on: date) -> tuple[float, float]:
    """Give what an hour meter may show on a day when it showed something on another [h]."""
    hours = 24.0 * (on - other.on).days
    then = max(0.0, other.value + hours)
    return min(other.value, then), max(other.value, then)
