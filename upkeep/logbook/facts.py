"""What the facts of each kind of entry may say, as rows that check them and print the page."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from upkeep.dates import Stamp
from upkeep.errors import Fault
from upkeep.logbook.entries import ID_DIGITS, Facts, freeze_facts
from upkeep.model import Field
from upkeep.naming import name_value
from upkeep.schema import compile_table, read_table

MOST_WEAR = 5.0  # as in a vessel's [[last_done]]
_ID = re.compile(rf"[0-9a-f]{{{ID_DIGITS}}}")

DONE = (
    Field(key="task", type="task", required=True, text="component/rule"),
    Field(key="on", type="day", required=True, text="the day of it"),
    Field(
        key="wear",
        type="number",
        low=0,
        high=MOST_WEAR,
        text="wear as found, 0 as new, 1 at the limit",
    ),
    Field(key="finding", type="text", text="what was found, in the words of the rule's scale"),
    Field(
        key="left",
        type="number",
        unit="0-1",
        low=0,
        high=1,
        text="wear left behind when not all was cleaned",
    ),
    Field(key="stamp", type="stamp", text="date printed on the new part"),
    Field(key="by", type="text", text="who did it"),
    Field(key="licence", type="text", text="number of the licence, where the rule asks for one"),
    Field(key="minutes", type="whole", unit="min", low=0, high=10_000, text="time it took"),
    Field(key="note", type="note", text="anything else"),
    Field(key="photo", type="photo", text="file in photos/"),
)
READ = (
    Field(key="component", type="id", required=True, text="where"),
    Field(key="name", type="text", required=True, text="which reading"),
    Field(key="on", type="day", required=True, text="the day of it"),
    Field(key="value", type="number", required=True, text="the value"),
    Field(key="commissioning", type="yes-no", default=False, text="read at hand-over"),
)
TABLES = {"done": compile_table("done", DONE), "read": compile_table("read", READ)}


@dataclass(frozen=True, kw_only=True, slots=True)
class Work:
    """Work done, as an entry says it.

    wear is what was found, 0 as new, 1 at the limit; between instead, when it is only known to
    lie there, the end None where no end is known. left is the wear that stayed, 0 when all was
    cleaned. None and "" where nobody said.
    """

    component: str
    rule: str
    on: date
    wear: float | None
    between: tuple[float, float | None] | None
    finding: str
    left: float
    stamp: str
    by: str
    licence: str
    minutes: int | None
    note: str
    photo: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Measurement:
    """A value read, as an entry says it, in the unit of its reading."""

    component: str
    name: str
    on: date
    value: float
    commissioning: bool


def read_work(said: Facts) -> Work:
    """Read the facts of a done entry. Raises ValueError or KeyError on any other."""
    facts: Mapping[str, Any] = said
    component, rule = facts["task"].split("/")
    return Work(
        component=component,
        rule=rule,
        on=date.fromisoformat(facts["on"]),
        wear=facts.get("wear"),
        between=facts.get("between"),
        left=facts.get("left", 0.0),
        minutes=facts.get("minutes"),
        **{key: facts.get(key, "") for key in ("finding", "stamp", "by", "licence")},
        **{key: facts.get(key, "") for key in ("note", "photo")},
    )


def read_measurement(said: Facts) -> Measurement:
    """Read the facts of a read entry. Raises ValueError or KeyError on any other."""
    facts: Mapping[str, Any] = said
    return Measurement(
        component=facts["component"],
        name=facts["name"],
        on=date.fromisoformat(facts["on"]),
        value=facts["value"],
        commissioning=facts.get("commissioning", False),
    )


def check_said(kind: str, said: Mapping[str, Any], faults: list[Fault]) -> dict[str, Any]:
    """Check the form of what is said of a done or read; give it converted, faulty keys left out.

    Days are dates. What must fit the fleet is for checks.
    """
    rest = {key: value for key, value in said.items() if key != "between"}
    values = read_table(rest, TABLES[kind], (), faults)
    if kind == "done":
        _check_wear(said, values, faults)
    return values


def _check_wear(said: Mapping[str, Any], values: dict[str, Any], faults: list[Fault]) -> None:
    if "between" in said:
        between = said["between"]
        if _is_span(between):
            values["between"] = (float(between[0]), _as_float(between[1]))
        else:
            fix = f"write [low, high] from 0 to {MOST_WEAR:g}, the high null where none is known"
            faults.append(Fault(("between",), f"between is {name_value(between)}", fix))
        if "wear" in said:
            fix = "keep wear, or the two it lies between"
            faults.append(Fault(("between",), "wear and between are both given", fix))
    wear, left = values.get("wear"), values.get("left")
    if left == 1:
        fix = "write less than 1; what was not cleaned at all was not done"
        faults.append(Fault(("left",), "left is 1", fix))
    elif wear is not None and left is not None and left > wear:
        fix = "what was left cannot be more than what was found"
        faults.append(Fault(("left",), f"left is {left:g}, wear {wear:g}", fix))


def _is_span(between: object) -> bool:
    if not isinstance(between, list | tuple) or len(between) != 2:
        return False
    low, high = between
    if type(low) not in (int, float) or not 0 <= low <= MOST_WEAR:
        return False
    return high is None or (type(high) in (int, float) and low < high <= MOST_WEAR)


def _as_float(value: float | None) -> float | None:
    return None if value is None else float(value)


def make_facts(values: Mapping[str, Any]) -> Facts:
    """Turn checked values into facts: one way of writing each, so that the same is the same."""
    facts: dict[str, Any] = {}
    for key, value in values.items():
        if isinstance(value, date):
            facts[key] = value.isoformat()
        elif isinstance(value, Stamp):
            facts[key] = value.text
        elif key in ("wear", "left", "value"):
            facts[key] = float(value) + 0.0  # 0 has one sign
        else:
            facts[key] = value
    for key, unsaid in (("left", 0.0), ("commissioning", False)):
        if facts.get(key) == unsaid:
            del facts[key]
    return freeze_facts(facts)


def check_facts(kind: str, facts: Mapping[str, Any]) -> list[Fault]:
    """List what is wrong with facts that come from outside; nothing when they can be kept."""
    faults: list[Fault] = []
    if kind == "undo":
        name = facts.get("entry")
        if set(facts) != {"entry"} or type(name) is not str or not _ID.fullmatch(name):
            fix = 'write {"entry": the id of an earlier one}'
            faults.append(Fault((), "an undo names no entry", fix))
    elif kind in TABLES:
        check_said(kind, {**facts, **read_day(facts, faults)}, faults)
    else:
        faults.append(Fault(("kind",), f"kind is {name_value(kind)}", "write done, read or undo"))
    return faults


def read_day(said: Mapping[str, Any], faults: list[Fault]) -> dict[str, date]:
    """Read the day of facts that write it as text; what is no day is reported, and stood in for."""
    text = said.get("on")
    if text is None:
        return {}
    try:
        if type(text) is not str or len(text) != 10:
            raise ValueError(text)
        return {"on": date.fromisoformat(text)}
    except ValueError:
        fix = "write a day of the calendar, YYYY-MM-DD"
        faults.append(Fault(("on",), f"on is {name_value(text)}", fix))
        return {"on": date(2000, 1, 1)}
