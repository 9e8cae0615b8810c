"""Cables: whether a fuse or breaker guards each one, suits it, and what the cable loses.

Overcurrent and voltage drop: upkeep.physics.wiring. A check, never a design. What a cable may
carry is what the record says (ampacity_a); it is not guessed from its cross-section.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from upkeep.errors import KeyPath, QuantityError
from upkeep.model import Component, Draw, Output, Supply, Vessel
from upkeep.physics.wiring import OTHER_DROP, SAFETY_DROP, estimate_voltage_drop, judge_fuse
from upkeep.records.installed.remarks import ASK, Remark, list_names
from upkeep.records.installed.upstream import (
    find_guard,
    find_origins,
    find_rating,
    is_protection,
    list_devices,
)

STANDARD_FUSES_A = (
    1, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200,
    225, 250, 300, 350, 400, 500,
)  # sizes sold (common practice, no source)  # fmt: skip
# Of the kinds known, those that safety hangs on (common practice, no source). Navigation lights
# and radios are recorded as loads, so nothing tells them from others.
SAFETY_KINDS = ("bilge-pump", "bilge-alarm", "gas-alarm", "smoke-alarm")
OWN_LEADS = {"climate-panel": "climate-unit"}  # supplied with it, lead and all


@dataclass(frozen=True, slots=True)
class _Cable:
    component: Component
    supply: Supply
    path: KeyPath
    load_a: float | None  # the most it carries


def remark_cables(vessel: Vessel) -> Iterator[Remark]:
    """Remark on the cable of every supply, the one from the last part to the component."""
    cables = tuple(_list_cables(vessel))
    yield from _remark_bare(vessel, cables)
    yield from _remark_unknown(vessel, cables)
    for cable in cables:
        yield from _remark_protection(vessel, cable)
        yield from _remark_drop(vessel, cable)


def _list_cables(vessel: Vessel) -> Iterator[_Cable]:
    for component in vessel.components.values():
        if component.kind.id == "shore-inlet":
            continue  # what feeds it is the dock's
        for index, supply in enumerate(component.supplies):
            source = vessel.components.get(supply.source)
            if source is not None and OWN_LEADS.get(component.kind.id) == source.kind.id:
                continue
            path = (*component.path, "fed_by", index)
            yield _Cable(component, supply, path, _find_load(component, source))


def _find_load(component: Component, source: Component | None) -> float | None:
    """Say what a cable carries at most: the consumer's full draw, or the charger's output."""
    if component.has_role("bank") and source is not None:
        return find_output(source)
    draw = component.values.get("draw_a")
    return draw.full if isinstance(draw, Draw) else None


def find_output(charger: Component) -> float | None:
    """Give the most a charger gives [A]; None where nobody recorded it."""
    output = charger.values.get("output_a")
    if isinstance(output, Output):
        return output.cruise
    return float(output) if isinstance(output, int | float) else None


def _remark_bare(vessel: Vessel, cables: tuple[_Cable, ...]) -> Iterator[Remark]:
    """Name, for each origin, what it reaches with neither fuse nor breaker on the way."""
    bare: dict[str, list[_Cable]] = {}
    for cable in cables:
        if cable.component.values.get("starts_engine") is not True:
            for origin in _find_bare(vessel, cable):
                bare.setdefault(origin.id, []).append(cable)
    for name, found in bare.items():
        names = list_names(list(dict.fromkeys(cable.component.id for cable in found)))
        message = f"no fuse or breaker is recorded between {name} and {names}"
        if vessel.components[name].has_role("bank") and any(map(_may_start_engine, found)):
            message += " (of a starter motor, write starts_engine = true)"
        yield Remark(found[0].path, "no-protection", message + ASK)


def _find_bare(vessel: Vessel, cable: _Cable) -> tuple[Component, ...]:
    return find_origins(vessel.components, cable.component, cable.supply, is_protection)


def _may_start_engine(cable: _Cable) -> bool:
    known = any(row.key == "starts_engine" for row in cable.component.kind.fields)
    return known and cable.load_a is None


def _remark_unknown(vessel: Vessel, cables: tuple[_Cable, ...]) -> Iterator[Remark]:
    """Name, in one line each, what keeps fuses and cables from being compared."""
    unrated: dict[str, Component] = {}
    unsized: dict[str, _Cable] = {}
    for cable in cables:
        devices = _list_protection(vessel, cable)
        unrated.update({item.id: item for item in devices if find_rating(item) is None})
        if devices and cable.supply.ampacity_a is None:
            unsized.setdefault(cable.component.id, cable)
    if unsized:
        message = (
            "not checked, whether fuse or breaker suits the cable: record ampacity_a of the cables "
            f"to {list_names(list(unsized))}; a cross-section alone does not tell it"
        )
        yield Remark(next(iter(unsized.values())).path, "protection-unknown", message)
    if unrated:
        message = f"not checked, what they protect: record rating_a of {list_names(list(unrated))}"
        yield Remark(next(iter(unrated.values())).path, "protection-unknown", message)


def _list_protection(vessel: Vessel, cable: _Cable) -> list[Component]:
    devices = list_devices(vessel.components, cable.component, cable.supply)
    return [device for device in devices if is_protection(device)]


def _remark_protection(vessel: Vessel, cable: _Cable) -> Iterator[Remark]:
    """Judge one cable by the devices on its way; one without a rating leaves it unjudged."""
    ampacity_a = cable.supply.ampacity_a
    unrated = [item for item in _list_protection(vessel, cable) if find_rating(item) is None]
    if ampacity_a is None or unrated:
        return
    guard = find_guard(vessel.components, cable.component, cable.supply)
    rating = guard[0] if guard else ampacity_a
    try:
        verdict = judge_fuse(
            load_a=cable.load_a or min(rating, ampacity_a),
            ampacity_a=ampacity_a,
            fuse_a=rating,
            standard_sizes_a=STANDARD_FUSES_A,
        )
    except QuantityError:
        return
    if verdict not in ("ok", "next size up"):
        figures = [f"{guard[1].id} {rating:g} A"] if guard else []
        figures.append(f"cable {ampacity_a:g} A")
        figures += [f"load {cable.load_a:g} A"] if cable.load_a else []
        said = verdict.replace("fuse", guard[1].kind.title) if guard else verdict
        message = f"{cable.component.id}: {said} ({', '.join(figures)}){ASK}"
        yield Remark(cable.path, "protection", message)


def _remark_drop(vessel: Vessel, cable: _Cable) -> Iterator[Remark]:
    """Judge what the one cable loses, from the last part to the component."""
    supply, load_a, volts = cable.supply, cable.load_a, _find_volts(vessel, cable)
    if not load_a or supply.cable_m is None or supply.cable_mm2 is None or volts is None:
        return
    drop_v = estimate_voltage_drop(
        current_a=load_a, round_trip_m=2 * supply.cable_m, area_mm2=supply.cable_mm2
    )
    safety = cable.component.kind.id in SAFETY_KINDS
    most = SAFETY_DROP if safety else OTHER_DROP
    if drop_v > most * volts:
        message = (
            f"{cable.component.id}: {drop_v:.2g} V lost in the cable at {load_a:g} A, "
            f"{drop_v / volts * 100:.1f} % of {volts:g} V; {most * 100:g} % is the usual most"
        )
        message += f" where safety hangs on it{ASK}" if safety else ""
        yield Remark(cable.path, "voltage-drop", message)


def _find_volts(vessel: Vessel, cable: _Cable) -> float | None:
    """Give the volts of the bank at either end; None for mains, whose volts nobody records."""
    origins = find_origins(vessel.components, cable.component, cable.supply)
    banks = [cable.component] if cable.component.has_role("bank") else list(origins)
    volts = {item.values.get("volts") if item.has_role("bank") else None for item in banks}
    found = volts.pop() if len(volts) == 1 else None
    return float(found) if isinstance(found, int | float) else None
