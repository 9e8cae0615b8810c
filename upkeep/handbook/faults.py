"""If it stops: what each part shows when it fails, and what to check, safest and easiest first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from upkeep.handbook.blocks import Block, Chapter, Heading, Listing, Paragraph
from upkeep.handbook.material import Material
from upkeep.handbook.wording import (
    make_labelled,
    make_line,
    make_paragraph,
    open_with_capital,
    say_place,
)
from upkeep.model import Component

FIRST = (
    "Go down each list until it helps. If you smell gas, see smoke or see water, leave the list."
)
THEN = "If no line of a list helps, call the people on the page of whom to call."
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
        names = [n for parts in groups.values() for n in parts[0].kind.cautions]
        blocks.extend(material.list_panels(names))
        for parts in groups.values():
            blocks.extend(_build_kind(parts))
    return Chapter(number=5, anchor="if-it-stops", title="If it stops", blocks=tuple(blocks))


def _build_kind(parts: Sequence[Component]) -> Iterator[Block]:
    kind = parts[0].kind
    yield Heading(level=2, text=open_with_capital(kind.title), anchor=f"stops-{kind.id}")
    for part in parts:
        yield Paragraph(line=make_labelled(f"{open_with_capital(part.title)}:", say_place(part)))
    for symptom in kind.symptoms:
        yield Heading(level=3, text=symptom.sees)
        yield Listing(ordered=True, items=tuple(map(make_line, symptom.checks)))
