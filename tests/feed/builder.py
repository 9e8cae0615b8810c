"""Hand-made fleet, vessel and tasks for calendar tests; every figure is invented."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from datetime import date
from typing import Any, TypeVar, cast

import icalendar

from upkeep.feed import build_feed
from upkeep.model import (
    Caution,
    Completion,
    Component,
    Contact,
    Fleet,
    Kind,
    Reason,
    Rule,
    Task,
    Vessel,
)

Value = TypeVar("Value")
TODAY = date(2027, 6, 2)  # a Wednesday
KEY = "6f0b7c1e-4b1d-4a53-9a3e-2f4d7a9c1b20"
ADDRESS = "https://boats.example"
CAUTIONS: Mapping[str, Caution] = {
    "stored-charge": Caution(
        id="stored-charge",
        word="WARNING",
        hazard="A bank can drive a large current through a tool",
        consequence="It can burn you",
        avoid=("Open the isolator", "Take off rings and watches."),
        injury=True,
        sources=("s",),
    ),
    "wet-floor": Caution(
        id="wet-floor",
        word="CAUTION",
        hazard="Water runs out of the housing",
        consequence="The floor gets slippery",
        avoid=("Close the seacock first",),
        injury=True,
        sources=("s",),
    ),
}


def fill(kind: type[Value], /, **given: Any) -> Value:
    """Make a value of the model, every part that is not given empty by its type."""
    blanks = {item.name: _blank(str(item.type)) for item in fields(cast("Any", kind))}
    return kind(**{**blanks, **given})


def make_fleet(**changes: Any) -> Fleet:
    """Make a fleet with a public address and a workshop to write to."""
    contact = Contact(name="Quay workshop", phone="+00 000", email="workshop@quay.example")
    base = fill(Fleet, id="quay", name="Quay", address=ADDRESS, contact=contact)
    return replace(base, **changes)


def make_vessel(
    completions: Sequence[tuple[str, date]] = (),
    components: Sequence[Component] = (),
    **changes: Any,
) -> Vessel:
    """Make the vessel Skua; completions are pairs of component/rule and day."""
    base = fill(
        Vessel,
        id="skua",
        key=KEY,
        name="Skua",
        components={item.id: item for item in components},
        completions=tuple(make_completion(name, on) for name, on in completions),
    )
    return replace(base, **changes)


def make_completion(name: str, on: date) -> Completion:
    """Record work on a day; name is component/rule."""
    component, rule = name.split("/")
    return fill(Completion, component=component, rule=rule, on=on)


def make_component(component_id: str = "strainer", /, **changes: Any) -> Component:
    """Make a strainer in the galley, of an area with a space in its name."""
    kind = fill(
        Kind,
        id="sea-strainer",
        title="sea strainer",
        area="raw water",
        healthy=("The glass is clear and no bubble passes",),
    )
    base = fill(
        Component,
        id=component_id,
        kind=kind,
        name="galley strainer",
        location="galley, under the sink, left side",
        marked="SEA 1",
        installed=date(2026, 6, 1),
    )
    return replace(base, **changes)


def make_rule(rule_id: str = "clean-basket", /, **changes: Any) -> Rule:
    """Make an owner's rule of three steps and one caution."""
    base = fill(
        Rule,
        id=rule_id,
        kind="sea-strainer",
        title="Clean the strainer basket",
        purpose="restore",
        binding="advised",
        place="any",
        minutes=15,
        hand="owner",
        cautions=("wet-floor",),
        steps="1. Close the seacock.\n2. Lift out the *basket*.\n3. Rinse it.\n",
        record="Write down how full the basket was.",
        sources=("s",),
    )
    return replace(base, **changes)


def make_task(
    name: str = "strainer/clean-basket",
    *,
    due: date | None = date(2027, 7, 5),
    then: Sequence[date] = (date(2027, 9, 13), date(2027, 12, 6), date(2028, 3, 6)),
    clock: str = "days",
    limit: float = 70,
    anchor: date = date(2027, 4, 26),
    component: Mapping[str, Any] | None = None,
    rule: Mapping[str, Any] | None = None,
    **changes: Any,
) -> Task:
    """Make a task of Skua due on a day; name is component/rule."""
    component_id, rule_id = name.split("/")
    text = f"{limit:g} {clock} since the last time are over on {due}"
    reason = Reason(clock=clock, limit=limit, unit="", anchor=anchor, allows=due, text=text)
    base = fill(
        Task,
        vessel="skua",
        component=make_component(component_id, **(component or {})),
        rule=make_rule(rule_id, **(rule or {})),
        binding="advised",
        sources=("s",),
        anchor=anchor,
        due=due,
        opens=due,
        shown_on=due,
        standing="unknown" if due is None else "late" if due < TODAY else "ahead",
        reasons=(reason,) if due else (),
        then=tuple(then),
        can_be_done_now=True,
    )
    return replace(base, **changes)


def build(tasks: Sequence[Task], **changes: Any) -> bytes | None:
    """Build a feed of Skua on TODAY with nothing published before, unless said otherwise."""
    asked: dict[str, Any] = {
        "fleet": make_fleet(),
        "vessel": make_vessel(),
        "today": TODAY,
        "previous": None,
        "cautions": CAUTIONS,
    }
    return build_feed(tasks=tasks, **{**asked, **changes})


def read(content: bytes | None) -> icalendar.Calendar:
    """Parse what was built; a test that expects a file fails here without one."""
    assert content is not None
    calendar = icalendar.Calendar.from_ical(content)
    assert isinstance(calendar, icalendar.Calendar)
    return calendar


def list_events(content: bytes | None) -> list[icalendar.Event]:
    """List the events of a file in the order written."""
    return list(read(content).events)


def find_event(content: bytes | None, *, kind: str, task: str = "") -> icalendar.Event:
    """Find the one event of a kind, of one task if named component/rule."""
    found = [
        event
        for event in list_events(content)
        if event["X-WALKROUND-KIND"] == kind
        and (not task or event["X-WALKROUND-TASK"] == f"skua/{task}")
    ]
    assert len(found) == 1, (kind, task, len(found))
    return found[0]


def unfold(content: bytes) -> list[str]:
    """Split a file into its content lines, unfolded by hand (RFC 5545, 3.1)."""
    return content.decode().replace("\r\n ", "").split("\r\n")


def _blank(annotation: str) -> Any:
    """Give the empty value of a type as the model writes it."""
    if "None" in annotation:
        return None
    words = {"tuple": (), "Mapping": {}, "Limits": {}, "str": "", "bool": False, "int": 0}
    return next((value for word, value in words.items() if annotation.startswith(word)), None)
