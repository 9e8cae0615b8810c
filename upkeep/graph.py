"""Who feeds whom: the circuits of a vessel, what a bank supplies, what cuts it off.

Breakers and isolators isolate; a fuse does not. Definition ours, on the record's own words.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from upkeep.model import Component, Draw, Supply, Vessel


@dataclass(frozen=True, kw_only=True, slots=True)
class Circuits:
    """A vessel's components and, for each, what it feeds: (component, supply) in record order."""

    components: Mapping[str, Component]
    fed: Mapping[str, tuple[tuple[Component, Supply], ...]]

    def isolators(self, supply: Supply) -> tuple[Component, ...]:
        """List the isolating devices of one path, source first."""
        found = (self.components[name] for name in supply.through if name in self.components)
        return tuple(device for device in found if device.has_role("isolates"))


@dataclass(frozen=True, kw_only=True, slots=True)
class Consumer:
    """Something a bank supplies; cut says every path to it can be isolated."""

    component: Component
    cut: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Parasitic:
    """What a bank loses to its loads while the boat lies [A]: as left, and isolated."""

    as_left_a: float
    isolated_a: float


def build_circuits(vessel: Vessel) -> Circuits:
    """Index a vessel's supplies by where they come from."""
    fed: dict[str, list[tuple[Component, Supply]]] = {}
    for component in vessel.components.values():
        for supply in component.supplies:
            fed.setdefault(supply.source, []).append((component, supply))
    return Circuits(
        components=vessel.components, fed={name: tuple(rows) for name, rows in fed.items()}
    )


def find_consumers(circuits: Circuits, bank: str) -> tuple[Consumer, ...]:
    """List what a bank supplies, directly or behind other gear, up to another bank."""
    reached: set[tuple[str, bool]] = set()
    pending = [(bank, False)]
    order: dict[str, None] = {}
    while pending:
        name, cut = pending.pop(0)
        for component, supply in circuits.fed.get(name, ()):
            if component.has_role("bank"):
                continue
            through = cut or bool(circuits.isolators(supply)) or component.has_role("isolates")
            state = (component.id, through)
            if state not in reached:
                reached.add(state)
                order[component.id] = None
                pending.append(state)
    return tuple(
        Consumer(component=circuits.components[name], cut=(name, False) not in reached)
        for name in order
    )


def sum_parasitic(circuits: Circuits, bank: Component) -> Parasitic:
    """Sum every standby and the bank's own draw, as left and with all isolators open."""
    own = _number(bank, "own_draw_a")
    as_left = isolated = own
    for consumer in find_consumers(circuits, bank.id):
        standby = _number(consumer.component, "standby_a")
        as_left += standby
        if not consumer.cut or consumer.component.stays_live:
            isolated += standby
    return Parasitic(as_left_a=as_left, isolated_a=isolated)


def sum_draw(circuits: Circuits, bank: str) -> Draw:
    """Sum what a bank's consumers draw while running [A], at part load, usual and full."""
    draws = [
        draw
        for consumer in find_consumers(circuits, bank)
        if isinstance(draw := consumer.component.values.get("draw_a"), Draw)
    ]
    return Draw(
        low=sum(draw.low for draw in draws),
        usual=sum(draw.usual for draw in draws),
        full=sum(draw.full for draw in draws),
    )


def list_isolation(circuits: Circuits, banks: Sequence[Component]) -> tuple[Component, ...]:
    """List every isolating device on a path that feeds a standby, nearest the source first.

    A path that feeds only what stays live is not opened.
    """
    found: dict[str, Component] = {}
    for bank in banks:
        feeding = _find_feeding(circuits, bank.id)
        pending, seen = [bank.id], {bank.id}
        while pending:
            name = pending.pop(0)
            for component, supply in circuits.fed.get(name, ()):
                if component.id not in feeding:
                    continue
                for device in circuits.isolators(supply):
                    found.setdefault(device.id, device)
                if component.has_role("isolates"):
                    found.setdefault(component.id, component)
                if component.id not in seen:
                    seen.add(component.id)
                    pending.append(component.id)
    return tuple(found.values())


def _find_feeding(circuits: Circuits, bank: str) -> set[str]:
    """Find what a bank supplies that is a standby to be cut, or feeds one."""
    order = [consumer.component for consumer in find_consumers(circuits, bank)]
    feeding = {c.id for c in order if _number(c, "standby_a") > 0 and not c.stays_live}
    changed = True
    while changed:
        changed = False
        for component in reversed(order):
            if component.id not in feeding and any(
                child.id in feeding for child, _ in circuits.fed.get(component.id, ())
            ):
                feeding.add(component.id)
                changed = True
    return feeding


def _number(component: Component, key: str) -> float:
    value = component.values.get(key, 0.0)
    return float(value) if isinstance(value, int | float) else 0.0
