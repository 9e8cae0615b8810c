"""Who feeds whom: the circuits of a vessel, what a bank supplies, what cuts it off.

Breakers and isolators isolate; a fuse does not. Definition ours, on the record's own words.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
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


def list_isolation(circuits: Circuits, bank: Component) -> tuple[Component, ...]:
    """List every isolating device on a path from a bank, nearest the bank first.

    Nearness counts the isolating devices before it; of equally near ones, that whose load comes
    first in the record. A way to another bank ends there. What list_kept_on gives is not opened.
    """
    ends = [c.component.id for c in find_consumers(circuits, bank.id) if not c.component.stays_live]
    feeding = _find_upstream(circuits, bank.id, ends)
    kept = {device.id for device in list_kept_on(circuits, bank)}
    found: dict[str, int] = {}
    for device, before, end in _walk_isolators(circuits, bank.id):
        if (end.id in feeding or end.has_role("bank")) and device.id not in kept:
            found[device.id] = min(before, found.get(device.id, before))
    return tuple(circuits.components[name] for name in sorted(found, key=found.__getitem__))


def list_kept_on(circuits: Circuits, bank: Component) -> tuple[Component, ...]:
    """List the isolating devices without which something loses its supply that must stay live."""
    live = [
        consumer.component.id
        for consumer in find_consumers(circuits, bank.id)
        if consumer.component.stays_live and consumer.cut
    ]
    needed = _find_upstream(circuits, bank.id, live)
    found = {
        device.id: device
        for device, _, end in _walk_isolators(circuits, bank.id)
        if end.id in needed
    }
    return tuple(found.values())


def _walk_isolators(circuits: Circuits, bank: str) -> Iterator[tuple[Component, int, Component]]:
    """Give each isolating device, how many stand before it, and what its path leads to next."""
    pending = [(bank, 0)]
    seen = {bank}
    while pending:
        name, before = pending.pop(0)
        for component, supply in circuits.fed.get(name, ()):
            devices = [*circuits.isolators(supply)]
            if component.has_role("isolates"):
                devices.append(component)
            for place, device in enumerate(devices, start=before):
                yield device, place, component
            if component.id not in seen and not component.has_role("bank"):
                seen.add(component.id)
                pending.append((component.id, before + len(devices)))


def _find_upstream(circuits: Circuits, bank: str, ends: Sequence[str]) -> set[str]:
    """Find what a bank supplies that is one of these, or feeds one of them."""
    order = [consumer.component.id for consumer in find_consumers(circuits, bank)]
    found = set(ends)
    changed = True
    while changed:
        changed = False
        for name in reversed(order):
            if name not in found and any(c.id in found for c, _ in circuits.fed.get(name, ())):
                found.add(name)
                changed = True
    return found


def _number(component: Component, key: str) -> float:
    value = component.values.get(key, 0.0)
    return float(value) if isinstance(value, int | float) else 0.0
