"""The last chapters: what the book is not; first readings, warnings, signatures, blank pages."""

from __future__ import annotations

from collections.abc import Iterator

from upkeep.dates import say_day
from upkeep.handbook.blocks import (
    Block,
    Chapter,
    Heading,
    Signatures,
    Table,
    WritingLines,
)
from upkeep.handbook.material import Material
from upkeep.handbook.wording import (
    blank_if_empty,
    make_listing,
    make_paragraph,
    open_with_capital,
)
from upkeep.model import Component, ReadingKind

LINES = 24  # a page to write on
NOT_THIS = "What this book is not"
NO_WARNING = "No warning was open when this book was made."
NO_READING = "No first reading is asked for by what is recorded."


def build_limits_chapter(material: Material) -> Chapter:
    """Build what the book is not, from the catalogue's text."""
    text = material.catalogue.texts.get("not-this")
    return Chapter(
        number=11,
        anchor="not-this",
        title=(text.title if text else "") or NOT_THIS,
        blocks=material.parse(text.body) if text else (),
    )


def build_record(material: Material) -> Chapter:
    """Build first readings, open warnings, serial numbers, signatures and writing lines."""
    blocks: tuple[Block, ...] = (
        Heading(level=2, text="First readings", anchor="first-readings"),
        *_build_readings(material),
        Heading(level=2, text="Open warnings", anchor="open-warnings"),
        *_build_warnings(material),
        Heading(level=2, text="Serial numbers and warranty", anchor="serial-numbers"),
        *_build_serials(material),
        Heading(level=2, text="Signatures", anchor="signatures"),
        *_build_signatures(material),
        Heading(level=2, text="Notes", anchor="notes"),
        WritingLines(count=LINES),
    )
    return Chapter(number=12, anchor="record", title="Record of hand-over", blocks=blocks)


def _build_readings(material: Material) -> Iterator[Block]:
    rows = tuple(
        _say_reading(component, kind, material)
        for component in material.vessel.components.values()
        for kind in component.kind.readings
        if kind.at_commissioning
    )
    if not rows:
        yield make_paragraph(NO_READING)
        return
    yield make_paragraph("Later readings are compared with these. Fill in what is blank.")
    yield Table(
        caption="First readings",
        head=("Part", "Reading", "Unit", "Value", "Date"),
        rows=rows,
        shares=(4, 6, 2, 3, 3),
    )


def _say_reading(
    component: Component, kind: ReadingKind, material: Material
) -> tuple[str | None, ...]:
    what = open_with_capital(kind.text or kind.name.replace("_", " "))
    unit = "0 to 1" if kind.unit == "0-1" else kind.unit
    for reading in material.vessel.readings:
        named = reading.component == component.id and reading.name == kind.name
        if named and reading.commissioning:
            shown = material.show(reading.value, kind.unit)
            value = f"{reading.value:g}" if kind.unit == "0-1" else shown
            return (material.call(component), what, unit, value, say_day(reading.on))
    return (material.call(component), what, unit, None, None)


def _build_warnings(material: Material) -> Iterator[Block]:
    if material.warnings:
        yield make_paragraph("These were open when this book was made. Ask about each one.")
        yield make_listing(material.warnings)
    else:
        yield make_paragraph(NO_WARNING)


def _build_serials(material: Material) -> Iterator[Block]:
    rows = tuple(
        _say_serial(component, material) for component in material.vessel.components.values()
    )
    if not rows:
        yield make_paragraph("No part is recorded.")
        return
    yield Table(
        caption="Serial numbers and warranty",
        head=("Part", "Maker", "Model", "Serial number", "Installed", "Warranty until"),
        rows=rows,
        shares=(5, 4, 4, 4, 3, 3),
    )


def _say_serial(component: Component, material: Material) -> tuple[str | None, ...]:
    until = component.warranty_until
    return (
        material.call(component),
        blank_if_empty(component.maker),
        blank_if_empty(component.model),
        blank_if_empty(component.serial),
        say_day(component.installed),
        say_day(until) if until is not None else None,
    )


def _build_signatures(material: Material) -> Iterator[Block]:
    editions = material.vessel.editions
    yield make_paragraph("We walked round the boat with this book. The owner was shown every part.")
    yield Signatures(
        signers=(
            ("Installer, who hands her over", editions[-1].by if editions else None),
            ("Owner, who takes her over", blank_if_empty(material.vessel.owner.name)),
        )
    )
