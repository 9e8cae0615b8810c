"""A walk round her: every part by its place, with the words printed on it and healthy signs."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from upkeep.dates import say_day
from upkeep.handbook.blocks import (
    Block,
    CautionPanel,
    Chapter,
    Facts,
    Heading,
    Paragraph,
    PartCard,
    Photo,
)
from upkeep.handbook.material import Material
from upkeep.handbook.paths import list_direct, list_ways
from upkeep.handbook.wording import (
    make_labelled,
    make_listing,
    make_paragraph,
    name_field,
    open_with_capital,
    say_all,
    say_mark,
    say_value,
)
from upkeep.model import DEVICE_ROLES, Component

_FIRST_SENTENCE = re.compile(r"(?<=[.!?]) ")
NO_PLACE = "No place recorded"
NOTHING = "No part is recorded yet. Walk round her and write down what you find."


def build_walk(material: Material) -> Chapter:
    """Build a card for each component, grouped by place in the order of the record.

    Cautions stand whole before the walk, and in a line at each place that has them: repeated
    whole at every place nobody reads them.
    """
    blocks: list[Block] = [
        make_paragraph("Take this chapter in your hand and find each part once."),
        make_paragraph("Read these cautions first. Each place names the ones that hold there."),
    ]
    groups = group_by_place(material)
    blocks.extend(material.list_panels(_list_cautions(material.vessel.components.values())))
    for index, (place, components) in enumerate(groups.items(), start=1):
        blocks.append(Heading(level=2, text=open_with_capital(place), anchor=f"place-{index}"))
        blocks.extend(remind(material.list_panels(_list_cautions(components))))
        blocks.extend(_build_card(component, material) for component in components)
    if not groups:
        blocks = [make_paragraph(NOTHING)]
    return Chapter(number=2, anchor="walk", title="A walk round her", blocks=tuple(blocks))


def _list_cautions(components: Iterable[Component]) -> list[str]:
    return [name for component in components for name in component.kind.cautions]


def remind(panels: Sequence[CautionPanel]) -> Iterator[Block]:
    """Name the cautions of a place: the signal word and the hazard's first sentence."""
    if panels:
        said = (f"{panel.word}: {_FIRST_SENTENCE.split(panel.hazard)[0]}" for panel in panels)
        yield Paragraph(line=make_labelled("Mind here:", " ".join(said)))


def group_by_place(material: Material) -> dict[str, list[Component]]:
    """Group components by the leading words of their place, the first seen first."""
    names: dict[str, str] = {}
    groups: dict[str, list[Component]] = {}
    for component in material.vessel.components.values():
        place = component.location.partition(",")[0].strip() or NO_PLACE
        name = names.setdefault(place.casefold(), place)
        groups.setdefault(name, []).append(component)
    return groups


def _build_card(component: Component, material: Material) -> PartCard:
    photo = None
    if component.photo:
        alt = f"Photograph: {component.title}, {component.location}".rstrip(", ")
        photo = Photo(file=component.photo, alt=alt)
    return PartCard(
        anchor=f"part-{component.id}",
        title=open_with_capital(component.title),
        location=component.location,
        marked=component.marked,
        photo=photo,
        body=tuple(_build_body(component, material)),
    )


def _build_body(component: Component, material: Material) -> Iterator[Block]:
    kind = component.kind
    if kind.what:
        yield make_paragraph(kind.what)
    if kind.healthy:
        yield Paragraph(line=make_labelled("Healthy:", "this is what right looks like."))
        yield make_listing(kind.healthy)
    facts = tuple(_list_facts(component, material))
    if facts:
        yield Facts(rows=facts)
    if component.notes.strip():
        yield Paragraph(line=make_labelled("Note:", component.notes))


def _list_circuit(component: Component, material: Material) -> Iterator[tuple[str, str | None]]:
    """Say what feeds a part, through which fuses, breakers and switches, and what it feeds."""
    verb = "charged" if component.has_role("bank") else "fed"
    label = f"{verb.capitalize()} by"
    for way in list_ways(material.circuits, component):
        yield label, _say_way(way, component, material)
        label = f"Also {verb} by"
    fed = list_direct(material.circuits).get(component.id, ())
    if fed:
        yield "Feeds", say_all([material.call(item) for item in fed])


def _say_way(way: tuple[Component, ...], component: Component, material: Material) -> str:
    source, *devices = (_say_marked(item, material) for item in way)
    if devices:
        return f"{source}, through {', then '.join(devices)}"
    if any(map(component.has_role, DEVICE_ROLES)):
        return f"{source}, first after it"
    return f"{source}, with no fuse or breaker recorded between"


def _say_marked(component: Component, material: Material) -> str:
    return " ".join(filter(None, (material.call(component), say_mark(component))))


def _list_facts(component: Component, material: Material) -> Iterator[tuple[str, str | None]]:
    if component.name:
        yield "Kind", component.kind.title
    made = [text for text in (component.maker, component.model) if text.strip()]
    if made:
        yield "Make", ", ".join(made)
    if component.serial.strip():
        yield "Serial number", component.serial
    yield "Installed", say_day(component.installed)
    if component.warranty_until is not None:
        yield "Warranty until", say_day(component.warranty_until)
    yield from _list_circuit(component, material)
    for row in component.kind.fields:
        value = component.values.get(row.key)
        if value is not None:
            assumed = row.key in component.assumed
            yield name_field(row), say_value(row, value, material.fleet.units, assumed=assumed)
    if component.kind.spares:
        yield "Worth carrying", say_all(component.kind.spares)
