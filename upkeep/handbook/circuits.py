"""Breakers and fuses: rating, printed words, place, what each one feeds."""

from __future__ import annotations

from collections.abc import Mapping

from upkeep.handbook.blocks import Block, Chapter, Table
from upkeep.handbook.material import Material
from upkeep.handbook.paths import list_direct
from upkeep.handbook.wording import NO_SOURCE, blank_if_empty, make_paragraph, say_all
from upkeep.model import DEVICE_ROLES, Component

RATINGS: Mapping[str, str] = {"rating_a": "A", "trip_ma": "mA"}
NO_SPARE = "not needed"
NOTHING = "No breaker or fuse is recorded. Find them with an electrician and write them here."
ADVICE = (
    "A breaker that trips, or a fuse that blows, has a cause. Set or replace it once only.",
    "Fit a spare fuse of the same rating and style, never a larger one.",
    f"If it happens again, leave it off and call for help ({NO_SOURCE}).",
)


def build_circuits_chapter(material: Material) -> Chapter:
    """Build the table of devices; the spare aboard is a blank for each fuse."""
    devices = find_devices(material)
    blocks: list[Block] = []
    if devices:
        blocks += material.list_panels(n for device in devices for n in device.kind.cautions)
        blocks += [make_paragraph(text) for text in ADVICE]
    else:
        blocks.append(make_paragraph(NOTHING))
    blocks.append(_list_devices(devices, material))
    return Chapter(number=7, anchor="circuits", title="Breakers and fuses", blocks=tuple(blocks))


def find_devices(material: Material) -> tuple[Component, ...]:
    """List what protects or switches, and whatever else stands in a path, in record order."""
    between = {
        name
        for component in material.vessel.components.values()
        for supply in component.supplies
        for name in supply.through
    }
    return tuple(
        component
        for component in material.vessel.components.values()
        if any(map(component.has_role, DEVICE_ROLES)) or component.id in between
    )


def _list_devices(devices: tuple[Component, ...], material: Material) -> Table:
    direct = list_direct(material.circuits)
    rows = tuple(
        (
            device.title,
            _say_rating(device, material),
            blank_if_empty(device.marked),
            blank_if_empty(device.location),
            blank_if_empty(say_all([material.call(item) for item in direct.get(device.id, ())])),
            None if device.kind.id == "fuse" else NO_SPARE,
        )
        for device in devices
    )
    blank: tuple[str | None, ...] = (None,) * 6
    return Table(
        caption="Breakers, fuses and switches",
        head=("What", "Rating", "Marked", "Where", "Feeds or protects", "Spare aboard"),
        rows=rows or (blank,) * 6,
        shares=(3, 2, 3, 4, 4, 2),
    )


def _say_rating(device: Component, material: Material) -> str | None:
    for key, unit in RATINGS.items():
        value = device.values.get(key)
        if isinstance(value, int | float):
            style = device.values.get("style")
            said = material.show(value, unit)
            return f"{said}, {style}" if isinstance(style, str) and style else said
    return None
