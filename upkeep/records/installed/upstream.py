"""Where the current of a supply comes from, and which devices stand on the way.

A circuit begins at a bank, at a charger and at a source of mains: a fuse before one of these
does not guard the cables after it. Definition ours, on the record's own words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from upkeep.model import Component, Supply

MAINS = ("shore-inlet", "inverter", "generator")  # kinds that give mains
Components = Mapping[str, Component]
Blocks = Callable[[Component], bool]


def find_origins(
    components: Components, component: Component, supply: Supply, blocks: Blocks | None = None
) -> tuple[Component, ...]:
    """Find where a supply's current can come from without passing a device that blocks.

    A component that is itself a device, such as a breaker with fed_by, stands on its own way.
    blocks None: nothing does. What nobody feeds is an origin too.
    """
    stops = blocks or _blocks_nothing
    if stops(component):
        return ()
    found: dict[str, Component] = {}
    for _, source in _walk(components, supply, stops):
        if _begins(source) or (not source.supplies and not stops(source)):
            found[source.id] = source
    return tuple(found.values())


def list_devices(
    components: Components, component: Component, supply: Supply
) -> tuple[Component, ...]:
    """List what stands on any way to a component, itself included, nearest first."""
    found = {component.id: component}
    for row, source in _walk(components, supply, _blocks_nothing):
        for name in reversed(row.through):
            if name in components:
                found.setdefault(name, components[name])
        if not _begins(source):
            found.setdefault(source.id, source)
    return tuple(found.values())


def find_guard(
    components: Components, component: Component, supply: Supply
) -> tuple[float, Component] | None:
    """Find the rating that limits a cable's current whichever way it comes, and its device.

    Of devices in a row the smallest counts, of several ways the largest; None without any.
    """
    rated = [
        (rating, device)
        for device in list_devices(components, component, supply)
        if (rating := find_rating(device)) is not None
    ]
    for rating, device in sorted(rated, key=lambda item: item[0]):
        if not find_origins(components, component, supply, _limits_to(rating)):
            return rating, device
    return None


def is_protection(component: Component) -> bool:
    """Tell whether it is a fuse or a breaker."""
    return component.has_role("protection")


def find_rating(component: Component) -> float | None:
    """Give the current at which a fuse or breaker opens [A]; None where nobody recorded it."""
    rating = component.values.get("rating_a")
    if is_protection(component) and isinstance(rating, int | float):
        return float(rating)
    return None


def _limits_to(most_a: float) -> Blocks:
    def limits(device: Component) -> bool:
        rating = find_rating(device)
        return rating is not None and rating <= most_a

    return limits


def _walk(
    components: Components, supply: Supply, blocks: Blocks
) -> Iterator[tuple[Supply, Component]]:
    """Yield each row and its source, towards the origins, each source once."""
    pending, seen = [supply], set[str]()
    while pending:
        row = pending.pop(0)
        source = components.get(row.source)
        devices = (components[name] for name in row.through if name in components)
        if source is None or any(map(blocks, devices)):
            continue
        yield row, source
        if source.id not in seen and not _begins(source) and not blocks(source):
            pending.extend(source.supplies)
        seen.add(source.id)


def _begins(component: Component) -> bool:
    ends = component.has_role("bank") or component.has_role("charger")
    return ends or component.kind.id in MAINS


def _blocks_nothing(component: Component) -> bool:
    return False
