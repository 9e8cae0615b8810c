"""Checks that every name leads somewhere and that no circuit or water loop bites its tail."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from upkeep.model import Kind, Part
from upkeep.schema import Fault, Path, nearest, show

Row = tuple[Kind, dict[str, Any], Path]


@dataclass(frozen=True, kw_only=True, slots=True)
class KnownIds:
    """The ids of a vessel. ids also holds those of components with faults of their own;
    a name under an open prefix belongs to a fit-out that could not be read.
    """

    kinds: Mapping[str, Kind]
    ids: frozenset[str]
    open_prefixes: tuple[str, ...]

    def check(self, name: str, path: Path, faults: list[Fault]) -> None:
        """Report a name that no component has."""
        if name in self.kinds or name in self.ids or name.startswith(self.open_prefixes):
            return
        if name.startswith("@"):
            fix = "only a fit-out's file may say @; write the component's id"
            faults.append(Fault(path, f"{name} is not bound", fix))
            return
        near = nearest(name, tuple(self.kinds))
        fix = f"did you mean {near}?" if near else "name a component of this vessel"
        faults.append(Fault(path, f"component {show(name)} is not known", fix))


def check_references(
    rows: Iterable[Row], known: KnownIds, parts: Mapping[str, Part], faults: list[Fault]
) -> None:
    """Report dangling names, loops, and an engine that is none."""
    rows = list(rows)
    for _, values, path in rows:
        for name, at in _names(values, path):
            known.check(name, at, faults)
        engine = known.kinds.get(values.get("driven_by", ""))
        if engine is not None and "engine" not in engine.roles:
            message = f"driven_by names {values['driven_by']}, a {engine.id}"
            faults.append(Fault((*path, "driven_by"), message, "name an engine"))
        for generic, part in values.get("parts", {}).items():
            if part not in parts:
                near = nearest(part, tuple(parts))
                fix = f"did you mean {near}?" if near else "add a [[part]] to fleet.toml"
                faults.append(Fault((*path, "parts", generic), f"part {part} is not known", fix))
    feeds = {v["id"]: tuple(s["from"] for s in v.get("fed_by", ())) for _, v, _ in rows}
    water = {v["id"]: v.get("water_from", ()) for _, v, _ in rows}
    places = {v["id"]: path for _, v, path in rows}
    for graph, key in ((feeds, "fed_by"), (water, "water_from")):
        for loop in find_loops(graph):
            message = f"{key} runs in a loop: {' → '.join([*loop, loop[0]])}"
            fix = "let it begin somewhere"
            faults.append(Fault((*places[loop[0]], key), message, fix))


def _names(values: Mapping[str, Any], path: Path) -> Iterable[tuple[str, Path]]:
    # A fit-out's part has no lines of its own here: the fault stands at the [[fit_out]].
    own = path[0] == "component"
    for index, row in enumerate(values.get("fed_by", ())):
        at = (*path, "fed_by", index) if own else path
        yield row["from"], (*at, "from") if own else path
        for place, name in enumerate(row.get("through", ())):
            yield name, (*at, "through", place) if own else path
    for index, name in enumerate(values.get("water_from", ())):
        yield name, (*path, "water_from", index) if own else path
    if values.get("driven_by"):
        yield values["driven_by"], (*path, "driven_by") if own else path


def find_loops(graph: Mapping[str, tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Find one loop for each group of nodes that leads back to itself, in record order."""
    state: dict[str, int] = {}
    loops: list[tuple[str, ...]] = []
    for start in graph:
        if start in state:
            continue
        trail = [start]
        state[start] = 1
        pending = [iter(graph[start])]
        while trail:
            after = next(pending[-1], None)
            if after is None:
                state[trail.pop()] = 2
                pending.pop()
            elif state.get(after) == 1:
                loops.append(_turn(trail[trail.index(after) :], graph))
            elif after in graph and after not in state:
                state[after] = 1
                trail.append(after)
                pending.append(iter(graph[after]))
    return loops


def _turn(loop: list[str], graph: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    order = {name: index for index, name in enumerate(graph)}
    first = min(range(len(loop)), key=lambda index: order[loop[index]])
    return (*loop[first:], *loop[:first])
