"""The first chapters: what to do in the first minutes; this boat and whom to call.

One page each, every shut-off with its own place. Order: ISO 10240 (publisher's overview).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from upkeep.dates import MONTH_NAMES
from upkeep.handbook.blocks import (
    Block,
    Cell,
    Chapter,
    EmergencySheet,
    Facts,
    Heading,
    Listing,
    Paragraph,
    Table,
)
from upkeep.handbook.material import Material
from upkeep.handbook.wording import blank_if_empty, make_paragraph
from upkeep.model import Component, EmergencyPage, PartList, Vessel

NONE_RECORDED = "None recorded: find it and write it here."
FROM_PLATE = "copy it from the builder's plate"
HELP = ("Coastguard or rescue", "Fire service", "Ambulance", "Harbour or marina office")


def build_first_minutes(material: Material) -> Chapter:
    """Build one sheet for each emergency page of the catalogue."""
    sheets = tuple(_build_sheet(page, material) for page in material.catalogue.pages)
    return Chapter(number=0, anchor="first-minutes", title="The first minutes", blocks=sheets)


def _build_sheet(page: EmergencyPage, material: Material) -> EmergencySheet:
    lists = [_list_parts(row, material.vessel.components.values()) for row in page.lists]
    return EmergencySheet(
        anchor=f"page-{page.id}",
        title=page.title,
        cautions=material.list_panels(page.cautions),
        steps=material.parse(page.steps),
        lists=(*lists, _list_help(material)),
    )


def _list_parts(part_list: PartList, components: Iterable[Component]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (component.title, blank_if_empty(component.location), blank_if_empty(component.marked))
        for component in components
        if component.kind.id in part_list.kinds or any(map(component.has_role, part_list.roles))
    ]
    return Table(
        caption=part_list.title,
        head=("What", "Where", "Marked"),
        rows=tuple(rows) or ((NONE_RECORDED, None, None),),
        shares=(4, 5, 3),
    )


def _list_help(material: Material) -> Table:
    contact = material.fleet.contact
    return Table(
        caption="Call for help",
        head=("Who", "Number"),
        rows=(
            ("Emergency number and radio channel here", None),
            (contact.name, blank_if_empty(contact.phone)),
        ),
        shares=(5, 6),
    )


def build_this_boat(material: Material) -> Chapter:
    """Build principal data, owner, contacts, signal words and how to use the book."""
    blocks: tuple[Block, ...] = (
        *_build_text("first-words", "How to use this book", material),
        Heading(level=2, text="What the signal words mean", anchor="signal-words"),
        *_build_signals(material),
        Heading(level=2, text="The boat", anchor="the-boat"),
        _list_data(material),
        make_paragraph(
            "Only the builder's plate may say how many people and how much load she carries."
        ),
        Heading(level=2, text="Her owner", anchor="owner"),
        _list_owner(material.vessel),
        *_build_contacts(material),
    )
    return Chapter(number=1, anchor="this-boat", title="This boat and whom to call", blocks=blocks)


def _build_text(name: str, title: str, material: Material) -> tuple[Block, ...]:
    text = material.catalogue.texts.get(name)
    if text is None:
        return (Heading(level=2, text=title, anchor=name),)
    return (
        Heading(level=2, text=text.title or title, anchor=name),
        *material.parse(text.body),
    )


def _build_signals(material: Material) -> tuple[Paragraph, Table]:
    rows = tuple((word, meaning) for word, (meaning, _) in material.catalogue.signals.items())
    opening = make_paragraph("A caution stands before the step it protects. Read it first.")
    return opening, Table(
        caption="Signal words", head=("Word", "What it means"), rows=rows, shares=(1, 4)
    )


def _list_data(material: Material) -> Facts:
    vessel = material.vessel
    return Facts(
        rows=(
            ("Name", vessel.name),
            ("Type", blank_if_empty(vessel.type)),
            ("Builder", None),
            ("Hull identification number", None),
            ("Built", str(vessel.built) if vessel.built else None),
            ("Length", material.show(vessel.length_m, "m")),
            ("Beam", _show(vessel.beam_m, "m", material)),
            ("Draught", _show(vessel.draught_m, "m", material)),
            ("Displacement", _show(vessel.displacement_t, "t", material)),
            *_list_limits(vessel),
            ("Flag", vessel.flag.upper()),
            ("Use", vessel.use),
            ("Water", material.water.name),
            ("Berth", blank_if_empty(vessel.berth)),
            ("Season", _say_season(vessel)),
        )
    )


def _list_limits(vessel: Vessel) -> tuple[tuple[str, str | None], ...]:
    load = (f"Load: {FROM_PLATE}", None)
    if vessel.persons is None:
        return ((f"Persons: {FROM_PLATE}", None), load)
    return (("Persons, as recorded", str(vessel.persons)), load)


def _say_season(vessel: Vessel) -> str:
    if vessel.season is None:
        return "afloat all year"
    launch, lay_up = vessel.season.launch, vessel.season.lay_up
    return f"launch about {_say(launch.month, launch.day)}, lay-up about " + _say(
        lay_up.month, lay_up.day
    )


def _say(month: int, day: int) -> str:
    return f"{day} {MONTH_NAMES[month - 1]}"


def _show(value: float | None, unit: str, material: Material) -> str | None:
    return None if value is None else material.show(value, unit)


def _list_owner(vessel: Vessel) -> Facts:
    owner = vessel.owner
    return Facts(
        rows=(
            ("Name", blank_if_empty(owner.name)),
            ("Phone", blank_if_empty(owner.phone)),
            ("Email", blank_if_empty(owner.email)),
        )
    )


def _build_contacts(material: Material) -> Iterator[Block]:
    """Build the yard's address, and a blank for each number the catalogue's text lists."""
    blanks: list[tuple[str, str | None]] = []
    for block in _build_text("who-to-call", "Whom to call", material):
        if isinstance(block, Listing):
            texts = ["".join(span.text for span in line) for line in block.items]
            blanks += [(text.partition(":")[0].strip(), None) for text in texts]
        else:
            yield block
    contact = material.fleet.contact
    yield Facts(
        rows=(
            ("The yard", contact.name),
            ("Phone", blank_if_empty(contact.phone)),
            ("Email", blank_if_empty(contact.email)),
            *(blanks or ((label, None) for label in HELP)),
            ("Someone near the boat", None),
        )
    )
