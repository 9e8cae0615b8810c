"""What would complete a vessel's handbook."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from upkeep.due import find_tasks
from upkeep.graph import build_circuits, find_consumers
from upkeep.model import Component, Fleet, Vessel
from upkeep.records.installed.remarks import VESSEL, Remark


def remark_handbook(vessel: Vessel, fleet: Fleet, today: date) -> Iterator[Remark]:
    """Name what the book has a place for and the record does not say."""
    for value, words in (
        (vessel.handed_over, "the day of hand-over (handed_over)"),
        (vessel.berth, "her berth (berth)"),
        (vessel.owner.name, "her owner ([owner] name)"),
    ):
        if not value:
            yield Remark(VESSEL, "handbook", f"{vessel.id}: write {words}")
    circuits = build_circuits(vessel)
    for component in vessel.components.values():
        if component.has_role("protection") and not component.marked:
            message = f"{component.id}: write the words printed on it (marked)"
            yield Remark(component.path, "handbook", message)
        if component.has_role("bank") and not find_consumers(circuits, component.id):
            message = f"{component.id}: nothing is recorded as fed by it (fed_by)"
            yield Remark(component.path, "handbook", message)
        yield from _remark_readings(vessel, component)
    for task in find_tasks(vessel, fleet, today):
        if task.standing == "unknown":
            message = (
                f"{task.local_id}: no limit is known; copy it from the maker's book to [[limit]]"
            )
            yield Remark(task.component.path, "handbook", message)


def _remark_readings(vessel: Vessel, component: Component) -> Iterator[Remark]:
    for reading in component.kind.readings:
        if reading.at_commissioning and not any(
            r.component == component.id and r.name == reading.name for r in vessel.readings
        ):
            message = f"{component.id}: no {reading.name} from commissioning ({reading.text})"
            yield Remark(component.path, "handbook", message)
