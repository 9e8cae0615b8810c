"""If it stops: what each part shows when it fails, and what to check, safest and easiest first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from upkeep.handbook.blocks import Block, Chapter, Heading, Listing, Paragraph
from upkeep.handbook.material import Material
from upkeep.handbook.walk import remind
from upkeep.handbook.wording import (
    make_labelled,
    make_line,
    make_paragraph,
    open_with_capital,
    say_place,
)
from upkeep.model import Component

FIRST = "Read the cautions before the walk round her first. Each part here names those that hold."
THEN = (
    "Go down a list until it helps. If you smell gas or see smoke or water, leave it and go to the "
    "first minutes. If no line helps, call the people named at the front."
)
NOTHING = "No list is known for the parts recorded. If something stops, call the yard."


def build_faults(material: Material) -> Chapter:
    """List the checks of every kind aboard that has some, once, with the place of each part."""
    groups: dict[str, list[Component]] = {}
    for component in material.path:
        if component.kind.symptoms:
            groups.setdefault(component.kind.id, []).append(component)
    blocks: list[Block] = [make_paragraph(NOTHING)]
    if groups:
        blocks = [make_paragraph(FIRST), make_paragraph(THEN)]
        for parts in groups.values():
            blocks.extend(_build_kind(parts, material))
    return Chapter(number=5, anchor="if-it-stops", title="If it stops", blocks=tuple(blocks))


def _build_kind(parts: Sequence[Component], material: Material) -> Iterator[Block]:
    kind = parts[0].kind
    yield Heading(level=2, text=open_with_capital(kind.title), anchor=f"stops-{kind.id}")
    for part in parts:
        yield Paragraph(line=make_labelled(f"{open_with_capital(part.title)}:", say_place(part)))
    yield from remind(material.list_panels(kind.cautions))
    for symptom in kind.symptoms:
        yield Heading(level=3, text=symptom.sees)
        yield Listing(ordered=True, items=tuple(map(make_line, symptom.checks)))
