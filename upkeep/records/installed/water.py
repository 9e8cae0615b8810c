"""Raw water: a seacock first, the strainer before the pump, a bleed where air collects.

Common practice on sea water systems; sources stand with each check.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from upkeep.model import Component, Vessel
from upkeep.records.installed.remarks import ASK, Remark, list_names

PUMPS = ("raw-water-pump", "impeller-pump")
STRAINER = "sea-strainer"
TAKES_WATER = (*PUMPS, STRAINER, "climate-unit", "heat-exchanger")  # nothing without sea water
PASSES_WATER = ("air-bleed", "sea-water-hose")
COOLED_BY_SEA = ("sea-water", "heat-exchanger")  # an engine's field cooling
Components = Mapping[str, Component]


def remark_water(vessel: Vessel) -> Iterator[Remark]:
    """Remark on every loop of sea water, from its seacock on."""
    components = vessel.components
    sources = {name for component in components.values() for name in component.water_from}
    loose = [
        component
        for component in components.values()
        if _takes_sea_water(component) and not component.water_from
    ]
    for head in (item for item in loose if item.id in sources):
        yield from _remark_head(components, head)
    alone = [item for item in loose if item.id not in sources and item.kind.id != "air-bleed"]
    if alone:
        names = list_names([component.id for component in alone])
        message = f"not checked, where the sea water of {names} comes from: record water_from"
        yield Remark(alone[0].path, "water-unknown", message)
    for component in components.values():
        yield from _remark_strainer(components, component)
        yield from _remark_bleed(components, component)


def _takes_sea_water(component: Component) -> bool:
    if component.values.get("cooling") in COOLED_BY_SEA:
        return True
    return component.kind.id in TAKES_WATER or component.kind.id in PASSES_WATER


def _remark_head(components: Components, head: Component) -> Iterator[Remark]:
    """Tell that a loop begins with something else than a seacock."""
    after = [name for name in _follow_down(components, head) if name != head.id]
    message = f"no seacock is recorded before {head.id} and what it feeds: {list_names(after)}"
    yield Remark(head.path, "no-seacock", message + ASK)


def _remark_strainer(components: Components, strainer: Component) -> Iterator[Remark]:
    if strainer.kind.id != STRAINER:
        return
    pumps = [c.id for c in _follow_up(components, strainer).values() if c.kind.id in PUMPS]
    if pumps:
        message = f"{strainer.id}: stands after {list_names(pumps)}, which it should keep clean"
        yield Remark((*strainer.path, "water_from"), "strainer-after-pump", message)


def _remark_bleed(components: Components, unit: Component) -> Iterator[Remark]:
    """Look for a bleed on the way from the seacock, and on whatever branches off it."""
    if unit.kind.id != "climate-unit" or not unit.water_from:
        return
    loop: dict[str, Component] = {}
    for component in (unit, *_follow_up(components, unit).values()):
        if component.kind.id != "seacock":
            loop.update(_follow_down(components, component))
    if not any(component.kind.id == "air-bleed" for component in loop.values()):
        message = f"{unit.id}: no air bleed is recorded in its water; air in it stops the flow"
        yield Remark(unit.path, "no-air-bleed", message)


def _follow_up(components: Components, start: Component) -> dict[str, Component]:
    found: dict[str, Component] = {}
    pending = list(start.water_from)
    while pending:
        name = pending.pop(0)
        if name in components and name not in found:
            found[name] = components[name]
            pending.extend(components[name].water_from)
    return found


def _follow_down(components: Components, start: Component) -> dict[str, Component]:
    found = {start.id: start}
    pending = [start.id]
    while pending:
        name = pending.pop(0)
        for component in components.values():
            if name in component.water_from and component.id not in found:
                found[component.id] = component
                pending.append(component.id)
    return found
