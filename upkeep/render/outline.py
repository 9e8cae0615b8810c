"""The outline of a book: heading levels without a gap, and one name for each place.

Both renderers lay out what stands here. Levels without a gap: WCAG 2.2, technique G141;
PDF/UA-1 (ISO 14289-1), 7.4.2.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

CARDS = ("WorkCard", "PartCard", "EmergencySheet")
CHAPTER_LEVEL = 1
_NESTED = ("steps", "after", "body")  # the fields of a card that hold blocks

_TAKEN = ("contents", "main", "alert")  # names that the page itself uses

Data = Mapping[str, Any]


def outline(book: Data) -> dict[str, Any]:
    """Give the book again with "level", "anchor" and the "entries" of each chapter filled in.

    Levels: chapter 1, headings and cards 2 to 4. Anchors differ from each other. Entries are
    what a list of contents shows below a chapter. Raises KeyError on data of another form.
    """
    names = dict.fromkeys(_TAKEN, 1)
    chapters = [_outline_chapter(chapter, names) for chapter in book["chapters"]]
    return {**book, "chapters": chapters}


def list_photos(book: Data) -> list[str]:
    """List the files of the photographs a book shows, each once, sorted."""
    found: set[str] = set()
    waiting = [block for chapter in book["chapters"] for block in chapter["blocks"]]
    while waiting:
        block = waiting.pop()
        if block["is"] == "Photo":
            found.add(block["file"])
        for key in _NESTED:
            waiting += block.get(key, ())
        if block.get("photo"):
            waiting.append(block["photo"])
    return sorted(found)


def _outline_chapter(chapter: Data, names: dict[str, int]) -> dict[str, Any]:
    anchor = _name(chapter["anchor"] or f"chapter-{chapter['number']}", names)
    blocks = _outline_blocks(chapter["blocks"], CHAPTER_LEVEL, names)
    entries = [
        {"anchor": block["anchor"], "title": block.get("title") or block["text"], "level": level}
        for block in blocks
        if (level := block.get("level", CHAPTER_LEVEL)) > CHAPTER_LEVEL and block["anchor"]
    ]
    return {**chapter, "anchor": anchor, "blocks": blocks, "entries": entries}


def _outline_blocks(blocks: Sequence[Data], above: int, names: dict[str, int]) -> list[Data]:
    """Set levels: a heading is at most one below the one before it, a card below a heading."""
    made: list[Data] = []
    section, last = above, above
    for block in blocks:
        if block["is"] == "Heading":
            last = section = max(above + 1, min(block["level"], last + 1))
            anchor = _name(block["anchor"], names) if block["anchor"] else ""
            made.append({**block, "level": last, "anchor": anchor})
        elif block["is"] in CARDS:
            last = min(section, above + 1) + 1
            made.append(_outline_card(block, last, names))
        else:
            made.append(block)
    return made


def _outline_card(card: Data, level: int, names: dict[str, int]) -> dict[str, Any]:
    anchor = _name(card["anchor"] or card["title"], names)
    nested = {key: _outline_blocks(card[key], level, names) for key in _NESTED if key in card}
    also = [_name(other, names) for other in card.get("also", ())]
    return {**card, **nested, "level": level, "anchor": anchor, "also": also}


def _name(wanted: str, names: dict[str, int]) -> str:
    """Make a name without blanks that no other place has; the first keeps the one it wants."""
    name = "-".join(wanted.split()) or "place"
    while name in names:
        names[name] += 1
        name = f"{name}-{names[name]}"
    names[name] = 1
    return name
