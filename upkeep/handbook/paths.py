"""Where water and current go: the order to walk their paths, what charges, what runs on.

Definitions ours, on the record's own words.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from heapq import heappop, heappush

from upkeep.graph import Circuits, find_consumers
from upkeep.model import Component, Output, Vessel

ENGINE_CHARGERS = ("alternator", "dc-dc-charger")


def order_by_path(components: Mapping[str, Component]) -> tuple[Component, ...]:
    """Order components along water, current and drive: each after what comes before it.

    What is not bound keeps the order of the record; a loop is entered at its first part.
    """
    rank = {name: index for index, name in enumerate(components)}
    before = {name: _list_upstream(item, rank) for name, item in components.items()}
    after: dict[str, list[str]] = {name: [] for name in components}
    for name, upstream in before.items():
        for source in upstream:
            after[source].append(name)
    ready = [rank[name] for name, upstream in before.items() if not upstream]
    left = dict.fromkeys(components)
    names = list(components)
    order: list[Component] = []
    while left:
        name = names[heappop(ready)] if ready else next(iter(left))
        if name not in left:
            continue
        del left[name]
        order.append(components[name])
        for following in after[name]:
            before[following].discard(name)
            if not before[following] and following in left:
                heappush(ready, rank[following])
    return tuple(order)


def _list_upstream(component: Component, known: Mapping[str, int]) -> set[str]:
    names = {*component.water_from, component.driven_by}
    for supply in component.supplies:
        names.update((supply.source, *supply.through))
    return {name for name in names if name in known and name != component.id}


def find_chargers(circuits: Circuits, bank: Component) -> tuple[Component, ...]:
    """List what charges a bank, directly or behind other gear, up to another bank."""
    found: dict[str, Component] = {}
    for component in _walk_sources(circuits.components, bank):
        if component.has_role("charger"):
            found.setdefault(component.id, component)
    return tuple(found.values())


def _walk_sources(components: Mapping[str, Component], start: Component) -> Iterator[Component]:
    seen = {start.id}
    pending = [start]
    while pending:
        for supply in pending.pop().supplies:
            source = components.get(supply.source)
            if source is None or source.id in seen:
                continue
            seen.add(source.id)
            yield source
            if not (source.has_role("bank") or source.has_role("charger")):
                pending.append(source)


def find_supply_bank(components: Mapping[str, Component], component: Component) -> Component | None:
    """Find the bank a component runs from; None when there is none on its path."""
    for source in _walk_sources(components, component):
        if source.has_role("bank"):
            return source
    return None


def is_engine_charger(charger: Component) -> bool:
    """Tell whether a charger gives current only while an engine runs."""
    output = charger.values.get("output_a")
    varies = isinstance(output, Output) and output.idle != output.cruise
    return charger.kind.id in ENGINE_CHARGERS or bool(charger.driven_by) or varies


def find_downstream_water(vessel: Vessel, component: Component) -> tuple[Component, ...]:
    """List a component and what takes its water, nearest first."""
    found = {component.id: component}
    pending = [component.id]
    while pending:
        name = pending.pop(0)
        for item in vessel.components.values():
            if name in item.water_from and item.id not in found:
                found[item.id] = item
                pending.append(item.id)
    return tuple(found.values())


def list_behind(circuits: Circuits, device: Component) -> tuple[Component, ...]:
    """List what loses its supply through a device: fed through it, and what that feeds on."""
    found: dict[str, Component] = {}
    for rows in circuits.fed.values():
        for component, supply in rows:
            if device.id in supply.through or supply.source == device.id:
                found.setdefault(component.id, component)
                if component.has_role("bank"):
                    continue
                for consumer in find_consumers(circuits, component.id):
                    found.setdefault(consumer.component.id, consumer.component)
    return tuple(found.values())


def list_ways(circuits: Circuits, component: Component) -> tuple[tuple[Component, ...], ...]:
    """List the ways current comes to a part: the source, then each device passed, in order.

    A device that stands in the ways of others has the part of theirs that lies before it.
    """
    own = [(supply.source, *supply.through) for supply in component.supplies]
    for rows in circuits.fed.values():
        for _, supply in rows:
            if component.id in supply.through:
                place = supply.through.index(component.id)
                own.append((supply.source, *supply.through[:place]))
    known = circuits.components
    ways = dict.fromkeys(tuple(name for name in way if name in known) for way in own)
    return tuple(tuple(known[name] for name in way) for way in ways if way)


def list_direct(circuits: Circuits) -> Mapping[str, tuple[Component, ...]]:
    """List, for each device or source, what it feeds itself, in record order."""
    direct: dict[str, dict[str, Component]] = {}
    for source, rows in circuits.fed.items():
        for component, supply in rows:
            for name in (source, *supply.through):
                direct.setdefault(name, {})[component.id] = component
    return {name: tuple(found.values()) for name, found in direct.items()}
