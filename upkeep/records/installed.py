"""What a record allows but looks wrong as installed, and what would complete the handbook."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from upkeep.dates import say_day
from upkeep.documents import Document
from upkeep.due import find_tasks
from upkeep.errors import QuantityError, Warning
from upkeep.graph import build_circuits, find_consumers
from upkeep.model import Component, Draw, Fleet, Output, Supply, Vessel
from upkeep.physics.anodes import judge_alloy
from upkeep.physics.wiring import estimate_voltage_drop, judge_fuse
from upkeep.records.load import LoadedFleet

STANDARD_FUSES_A = (
    1, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200,
    225, 250, 300, 350, 400, 500,
)  # sizes sold (common practice, no source)  # fmt: skip
MOST_DROP = 0.10  # of the system's volts, for circuits that are not for safety
SOURCES = {
    "protection": ("trade-overcurrent",),
    "voltage-drop": ("trade-wire-tables",),
    "anode-alloy": ("trade-anode-alloys",),
}


@dataclass(frozen=True, slots=True)
class _Remark:
    path: tuple[str | int, ...]
    check: str
    message: str


def find_warnings(loaded: LoadedFleet, today: date) -> tuple[Warning, ...]:
    """List every remark about the vessels that could be read, in the order of their files."""
    found = []
    for vessel in loaded.vessels:
        document = loaded.documents[vessel.file]
        assert loaded.fleet is not None
        for remark in _remark_vessel(vessel, loaded.fleet, today):
            found.append(_place(document, vessel, remark))
    order = sorted(set(found), key=lambda w: (w.file, w.line, w.check, w.message))
    return tuple(order)


def say_warnings(loaded: LoadedFleet, vessel: Vessel, today: date) -> tuple[str, ...]:
    """Say what looks wrong as installed on one vessel, for the last chapter of her book."""
    assert loaded.fleet is not None
    remarks = _remark_installation(vessel, loaded.fleet, today)
    # What came after the edition's day is not in the book.
    return tuple(sorted({remark.message for remark in remarks if remark.check != "future"}))


def _place(document: Document, vessel: Vessel, remark: _Remark) -> Warning:
    return document.warning(
        remark.path,
        vessel=vessel.id,
        check=remark.check,
        message=remark.message,
        sources=SOURCES.get(remark.check, ()),
    )


def _remark_vessel(vessel: Vessel, fleet: Fleet, today: date) -> Iterator[_Remark]:
    yield from _remark_installation(vessel, fleet, today)
    yield from _remark_handbook(vessel, fleet, today)


def _remark_installation(vessel: Vessel, fleet: Fleet, today: date) -> Iterator[_Remark]:
    yield from _remark_cables(vessel)
    yield from _remark_anodes(vessel, fleet, today)
    yield from _remark_history(vessel, today)
    yield from _remark_stays(vessel, today)


def _remark_cables(vessel: Vessel) -> Iterator[_Remark]:
    for component in vessel.components.values():
        for index, supply in enumerate(component.supplies):
            path = (*component.path, "fed_by", index)
            load_a = _carried_a(vessel, component, supply)
            yield from _remark_protection(vessel, component, supply, load_a, path)
            yield from _remark_drop(vessel, component, supply, load_a, path)


def _carried_a(vessel: Vessel, component: Component, supply: Supply) -> float | None:
    """Say what a cable carries at most: the consumer's full draw, or the charger's output."""
    source = vessel.components.get(supply.source)
    if component.has_role("bank") and source is not None:
        output = source.values.get("output_a")
        if isinstance(output, Output):
            return output.cruise
        return float(output) if isinstance(output, int | float) else None
    draw = component.values.get("draw_a")
    return draw.full if isinstance(draw, Draw) else None


def _remark_protection(
    vessel: Vessel, component: Component, supply: Supply, load_a: float | None,
    path: tuple[str | int, ...],
) -> Iterator[_Remark]:  # fmt: skip
    rated = []
    for name in supply.through:
        device = vessel.components.get(name)
        rating = device.values.get("rating_a") if device else None
        if device is not None and device.has_role("protection") and isinstance(rating, int | float):
            rated.append((float(rating), device))
    if not rated or supply.ampacity_a is None:
        return
    rating, device = min(rated, key=lambda item: item[0])
    try:
        verdict = judge_fuse(
            load_a=load_a or min(rating, supply.ampacity_a),
            ampacity_a=supply.ampacity_a,
            fuse_a=rating,
            standard_sizes_a=STANDARD_FUSES_A,
        )
    except QuantityError:
        return
    if verdict in ("ok", "next size up"):
        return
    figures = f"{device.id} {rating:g} A, cable {supply.ampacity_a:g} A"
    if load_a:
        figures += f", load {load_a:g} A"
    yield _Remark(path, "protection", f"{component.id}: {verdict} ({figures})")


def _remark_drop(
    vessel: Vessel, component: Component, supply: Supply, load_a: float | None,
    path: tuple[str | int, ...],
) -> Iterator[_Remark]:  # fmt: skip
    volts = _volts(vessel, supply.source)
    if not load_a or supply.cable_m is None or supply.cable_mm2 is None or volts is None:
        return
    drop_v = estimate_voltage_drop(
        current_a=load_a, round_trip_m=2 * supply.cable_m, area_mm2=supply.cable_mm2
    )
    if drop_v > MOST_DROP * volts:
        share = drop_v / volts * 100
        message = (
            f"{component.id}: {drop_v:.2g} V lost in the cable at {load_a:g} A, "
            f"{share:.0f} % of {volts:g} V; 10 % is the usual most"
        )
        yield _Remark(path, "voltage-drop", message)


def _volts(vessel: Vessel, source: str) -> float | None:
    component = vessel.components.get(source)
    volts = component.values.get("volts") if component else None
    return float(volts) if isinstance(volts, int | float) else None


def _remark_anodes(vessel: Vessel, fleet: Fleet, today: date) -> Iterator[_Remark]:
    water = fleet.waters[vessel.water]
    for name, first in vessel.berths:
        if first <= today:
            water = fleet.waters[name]
    for component in vessel.components.values():
        alloy = component.values.get("alloy")
        if not isinstance(alloy, str) or component.kind.area != "metal":
            continue
        verdict = judge_alloy(water=water.salinity, alloy=alloy)
        if verdict != "yes":
            word = "does not work" if verdict == "no" else "works poorly"
            message = f"{component.id}: {alloy} {word} in {water.salinity} water"
            yield _Remark((*component.path, "alloy"), "anode-alloy", message)


def _remark_history(vessel: Vessel, today: date) -> Iterator[_Remark]:
    for done in vessel.completions:
        installed = vessel.components[done.component].installed
        if done.on > today:
            message = f"{done.component}/{done.rule} is done on {done.on}, after today: not counted"
            yield _Remark((*done.path, "on"), "future", message)
        elif done.on < installed:
            message = f"{done.component}/{done.rule} was done before it was installed: not counted"
            yield _Remark((*done.path, "on"), "history", message)
    for reading in vessel.readings:
        if reading.on > today:
            message = f"{reading.component} {reading.name} is read after today: not counted"
            yield _Remark((*reading.path, "on"), "future", message)


def _remark_stays(vessel: Vessel, today: date) -> Iterator[_Remark]:
    for index, period in enumerate(vessel.ashore):
        if period.end is None:
            message = (
                f"ashore since {say_day(period.first)} with no day of launching: nothing that "
                "depends on it has a date until `to` is written"
            )
            yield _Remark(("ashore", index), "open-spell", message)
    for index, left in enumerate(vessel.left):
        if left.period.end is None and left.period.first <= today:
            message = "left unused with no day of return: write `to` when somebody is back"
            yield _Remark(("left", index), "open-spell", message)


def _remark_handbook(vessel: Vessel, fleet: Fleet, today: date) -> Iterator[_Remark]:
    boat: tuple[str | int, ...] = ("vessel",)
    for value, words in (
        (vessel.handed_over, "the day of hand-over (handed_over)"),
        (vessel.berth, "her berth (berth)"),
        (vessel.owner.name, "her owner ([owner] name)"),
    ):
        if not value:
            yield _Remark(boat, "handbook", f"{vessel.id}: write {words}")
    circuits = build_circuits(vessel)
    for component in vessel.components.values():
        if component.has_role("protection") and not component.marked:
            message = f"{component.id}: write the words printed on it (marked)"
            yield _Remark(component.path, "handbook", message)
        if component.has_role("bank") and not find_consumers(circuits, component.id):
            message = f"{component.id}: nothing is recorded as fed by it (fed_by)"
            yield _Remark(component.path, "handbook", message)
        for reading in component.kind.readings:
            if reading.at_commissioning and not any(
                r.component == component.id and r.name == reading.name for r in vessel.readings
            ):
                message = f"{component.id}: no {reading.name} from commissioning ({reading.text})"
                yield _Remark(component.path, "handbook", message)
    for task in find_tasks(vessel, fleet, today):
        if task.standing == "unknown":
            message = (
                f"{task.local_id}: no limit is known; copy it from the maker's book to [[limit]]"
            )
            yield _Remark(task.component.path, "handbook", message)
