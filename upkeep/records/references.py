"""Checks that every name leads somewhere and that no circuit or water loop bites its tail."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from upkeep.errors import Fault, KeyPath
from upkeep.model import Kind
from upkeep.naming import nearest, show, suggest

_SURELY = 0.8  # so alike that a name is a slip for a known one (chosen, no source)


class Row(NamedTuple):
    """A component as written: its kind, what of its values is right, where it stands.

    whole: nothing in it is at fault; else values lacks the faulty keys, the id perhaps.
    """

    kind: Kind
    values: dict[str, Any]
    path: KeyPath
    whole: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class KnownIds:
    """The ids of a vessel or a fit-out.

    kinds: of the usable components, and of a fit-out's needs as "@name" (None: any of several).
    ids: every one written, also of components with faults of their own.
    open_prefixes: names that begin so belong to what could not be read.
    nameless: components without an id; a name like no other may be meant for one of them.
    place: where the names should be, for messages.
    """

    kinds: Mapping[str, Kind | None]
    ids: frozenset[str]
    open_prefixes: tuple[str, ...] = ()
    nameless: bool = False
    place: str = "this vessel"

    @property
    def whole(self) -> bool:
        """Tell whether every name is known."""
        return not self.nameless and not self.open_prefixes

    def check(self, name: str, path: KeyPath, faults: list[Fault]) -> None:
        """Report a name that no component has; "" stands for one reported before."""
        if not name or name in self.kinds or name in self.ids:
            return
        if name.startswith(self.open_prefixes):
            return
        known = sorted({*self.kinds, *self.ids})
        if self.nameless and not nearest(name, known, _SURELY):
            return
        if name.startswith("@") and self.place == "this vessel":
            fix = "only a fit-out's file may say @; write the component's id"
            faults.append(Fault(path, f"{name} is not bound", fix))
            return
        what = "need" if name.startswith("@") else "component"
        fix = suggest(name, known, f"name a component of {self.place}")
        faults.append(Fault(path, f"{what} {show(name)} is not known", fix))


def check_references(
    rows: Iterable[Row], known: KnownIds, parts: Collection[str] | None, faults: list[Fault]
) -> None:
    """Report dangling names of rows, an engine that is none, a part the fleet does not know.

    parts: the fleet's part ids; None when they could not be read.
    """
    for row in rows:
        check_names(row.values, row.path, known, parts, faults)


def check_names(
    values: Mapping[str, Any],
    path: KeyPath,
    known: KnownIds,
    parts: Collection[str] | None,
    faults: list[Fault],
) -> None:
    """Report the dangling names of one component's checked values."""
    for name, at in _names(values, path):
        known.check(name, at, faults)
    _check_engine(values.get("driven_by", ""), (*path, "driven_by"), known, faults)
    for generic, part in values.get("parts", {}).items():
        if part and parts is not None and part not in parts:
            fix = suggest(part, tuple(parts), "add a [[part]] to fleet.toml")
            faults.append(Fault((*path, "parts", generic), f"part {part} is not known", fix))


def _check_engine(name: str, path: KeyPath, known: KnownIds, faults: list[Fault]) -> None:
    if not name or name not in known.kinds:
        return
    kind = known.kinds[name]
    if kind is None or "engine" not in kind.roles:
        what = f", a {kind.id}" if kind else ""
        faults.append(Fault(path, f"driven_by names {name}{what}", "name an engine"))


def _names(values: Mapping[str, Any], path: KeyPath) -> Iterable[tuple[str, KeyPath]]:
    for index, row in enumerate(values.get("fed_by", ())):
        at = (*path, "fed_by", index)
        yield row.get("from", ""), (*at, "from")
        for place, name in enumerate(row.get("through", ())):
            yield name, (*at, "through", place)
    for index, name in enumerate(values.get("water_from", ())):
        yield name, (*path, "water_from", index)
    yield values.get("driven_by", ""), (*path, "driven_by")


def check_loops(rows: Iterable[Row], faults: list[Fault]) -> None:
    """Report each loop of supplies or of water, at the row of its first component.

    A loop inside one fit-out is reported in that fit-out's own file.
    """
    found = {row.values["id"]: row for row in rows if "id" in row.values}
    feeds = {
        name: tuple(supply.get("from", "") for supply in row.values.get("fed_by", ()))
        for name, row in found.items()
    }
    water = {name: row.values.get("water_from", ()) for name, row in found.items()}
    for graph, key in ((feeds, "fed_by"), (water, "water_from")):
        for loop in find_loops(graph):
            path = found[loop[0]].path
            if path[0] == "fit_out" and all(found[name].path == path for name in loop):
                continue
            message = f"{key} runs in a loop: {' → '.join([*loop, loop[0]])}"
            faults.append(Fault((*path, key), message, "let it begin somewhere"))


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
