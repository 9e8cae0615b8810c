"""What to switch off before she lies unused, in order, and what stays live and why.

Definition ours, on the record's own words; the order is that of the paths (upkeep.graph).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from upkeep.graph import Consumer, find_consumers, list_isolation, list_kept_on
from upkeep.handbook.blocks import Block, Cell, Table, TickBox
from upkeep.handbook.material import Material
from upkeep.handbook.paths import list_behind
from upkeep.handbook.wording import (
    blank_if_empty,
    make_paragraph,
    open_with_capital,
    say_all,
    say_count,
)
from upkeep.model import Component, Draw

MOST_NAMED = 4  # parts a cell names besides those with an idle draw; ours, no source
NOTHING = "No switch is recorded on the way from a bank to what it feeds. There is nothing to open."
ORDER = (
    "Switch these off in this order, and tick each one. For each bank, what is nearest to it "
    "comes first. Switch off the later ones too: they keep their parts off when you turn the "
    "first one on for a look."
)


def build_isolation(material: Material) -> Iterator[Block]:
    """Build the cautions, a list to tick for each bank, and what stays live."""
    lists = {bank.id: list_isolation(material.circuits, bank) for bank in material.banks}
    devices = [device for found in lists.values() for device in found]
    if devices:
        yield from material.list_panels(_collect_cautions(devices, material))
        yield make_paragraph(ORDER)
        yield from _build_lists(lists, material)
    else:
        yield make_paragraph(NOTHING)
    yield from _build_live(material)


def _collect_cautions(devices: Iterable[Component], material: Material) -> list[str]:
    names = [name for device in devices for name in device.kind.cautions]
    for component in material.vessel.components.values():
        for rule in component.kind.rules:
            if rule.isolates:
                names += rule.cautions
    return names


def _build_lists(lists: dict[str, tuple[Component, ...]], material: Material) -> Iterator[Block]:
    """Build one table for each bank; the numbers run on, and no device stands twice."""
    listed: set[str] = set()
    for bank in material.banks:
        rows = []
        for device in lists[bank.id]:
            if device.id not in listed:
                listed.add(device.id)
                rows.append(_say_row(len(listed), device, material))
        if rows:
            yield Table(
                caption=f"Switch off behind {material.call(bank)}",
                head=("What", "Where", "Marked", "Why", "Off"),
                rows=tuple(rows),
                shares=(5, 6, 4, 8, 2),
            )


def _say_row(number: int, device: Component, material: Material) -> tuple[Cell, ...]:
    return (
        f"{number}. {device.title}",
        blank_if_empty(device.location),
        blank_if_empty(device.marked),
        say_why(device, material),
        TickBox(alt=f"Tick when off: {material.call(device)}"),
    )


def say_why(device: Component, material: Material) -> str:
    """Say which idle draws a device ends, and what else it cuts off."""
    draws, others = [], []
    for item in list_behind(material.circuits, device):
        if item.stays_live:
            continue
        standby = find_standby(item)
        if standby > 0:
            draws.append(f"{material.call(item)} ({material.show(standby, 'A')})")
        else:
            others.append(material.call(item))
    if len(others) > MOST_NAMED:
        others = [say_count(len(others), "more parts" if draws else "parts")]
    ends = [f"ends the idle draw of {say_all(draws)}"] if draws else []
    cuts = [f"cuts off {say_all(others)}"] if others else []
    return "; ".join((*ends, *cuts))


def find_standby(component: Component) -> float:
    """Give the idle draw of a part [A]; 0 where none is recorded."""
    value = component.values.get("standby_a")
    return float(value) if isinstance(value, int | float) else 0.0


def _build_live(material: Material) -> Iterator[Block]:
    rows: dict[str, tuple[Cell, ...]] = {}
    for bank in material.banks:
        own = bank.values.get("own_draw_a")
        if isinstance(own, int | float) and own > 0:
            why = "its own management draws this; no switch cuts it"
            rows[bank.id] = _say_live(bank, material.show(own, "A"), why, material)
        for device in list_kept_on(material.circuits, bank):
            why = f"leave it on: it feeds {_say_kept(device, material)}, which must stay live"
            rows[device.id] = _say_live(device, "nothing itself", why, material)
        for consumer in find_consumers(material.circuits, bank.id):
            if consumer.component.stays_live or not consumer.cut:
                draw = _say_draw(consumer.component, material)
                why = _say_why_live(consumer, bank, material)
                rows[consumer.component.id] = _say_live(consumer.component, draw, why, material)
    if not rows:
        yield make_paragraph("Nothing that is recorded stays live besides the banks themselves.")
        return
    yield make_paragraph("These stay live when all of the list is off. Do not disconnect them.")
    yield Table(
        caption="What stays live, and why",
        head=("What", "Where", "Draws", "Why"),
        rows=tuple(rows.values()),
        shares=(5, 6, 3, 8),
    )
    yield from _warn_of_kept(material)


def _say_live(
    component: Component, draw: str | None, why: str, material: Material
) -> tuple[Cell, ...]:
    return (open_with_capital(component.title), blank_if_empty(component.location), draw, why)


def _say_draw(component: Component, material: Material) -> str | None:
    standby = find_standby(component)
    if standby > 0:
        return material.show(standby, "A")
    draw = component.values.get("draw_a")
    return "only while it runs" if isinstance(draw, Draw) and draw.full > 0 else None


def _say_why_live(consumer: Consumer, bank: Component, material: Material) -> str:
    if consumer.component.stays_live:
        return "recorded as to stay live when all else is off"
    return f"no switch is recorded between it and {material.call(bank)}"


def _say_kept(device: Component, material: Material) -> str:
    live = [c for c in list_behind(material.circuits, device) if c.stays_live]
    return say_all([material.call(item) for item in live])


def _warn_of_kept(material: Material) -> Iterator[Block]:
    """Warn where the figures take a switch as off that has to stay on."""
    kept = {d.id: d for bank in material.banks for d in list_kept_on(material.circuits, bank)}
    if kept:
        names = say_all([material.call(device) for device in kept.values()])
        yield make_paragraph(
            f"While {names} must stay on, the days below are too long: they count all that can "
            "be cut as off. Ask an electrician to feed what stays live another way."
        )
