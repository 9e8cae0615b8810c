"""Anodes: an alloy that suits the water, and one alloy only. Source: upkeep.physics.anodes."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from upkeep.model import Fleet, Vessel
from upkeep.physics.anodes import judge_alloy
from upkeep.records.installed.remarks import Remark, find_water, list_names

IN_THE_SEA = ("hull-anode", "shaft-anode")  # an engine's own anode stands in its own water


def remark_anodes(vessel: Vessel, fleet: Fleet, today: date) -> Iterator[Remark]:
    """Remark on alloys, in the water she lies in today."""
    water = find_water(vessel, fleet, today)
    for component in vessel.components.values():
        alloy = component.values.get("alloy")
        if not isinstance(alloy, str) or component.kind.area != "metal":
            continue
        verdict = judge_alloy(water=water.salinity, alloy=alloy)
        if verdict != "yes":
            word = "does not work" if verdict == "no" else "works poorly"
            message = f"{component.id}: {alloy} {word} in {water.salinity} water"
            yield Remark((*component.path, "alloy"), "anode-alloy", message)
    yield from _remark_mixed(vessel)


def _remark_mixed(vessel: Vessel) -> Iterator[Remark]:
    """Tell of several alloys under water; one wastes for the other where they are bonded."""
    anodes = [
        (component, alloy)
        for component in vessel.components.values()
        if component.kind.id in IN_THE_SEA
        and isinstance(alloy := component.values.get("alloy"), str)
    ]
    if len({alloy for _, alloy in anodes}) > 1:
        said = list_names([f"{component.id} {alloy}" for component, alloy in anodes])
        last = next(component for component, alloy in anodes if alloy != anodes[0][1])
        message = f"anodes of several metals: {said}; on one bonded system use one"
        yield Remark((*last.path, "alloy"), "anode-mixed", message)
