"""Levels without a gap and names without a double: WCAG G141, HTML 3.2.6 (unique id)."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from upkeep.handbook.blocks import Chapter, Heading, Paragraph, PartCard, to_data
from upkeep.render.outline import list_photos, outline

from .sample import make_data


def part(title: str) -> PartCard:
    return PartCard(
        anchor="same", title=title, location="aft", marked="", photo=None,
        body=(Heading(level=3, text="Inside", anchor=""),),
    )  # fmt: skip


def lay_out(*blocks: Heading | PartCard | Paragraph) -> list[dict[str, Any]]:
    chapter = Chapter(number=1, anchor="one", title="One", blocks=blocks)
    made: list[dict[str, Any]] = outline({"chapters": [to_data(chapter)]})["chapters"][0]["blocks"]
    return made


def test_outline_card_under_a_heading_stands_one_level_below_it() -> None:
    blocks = lay_out(part("A"), Heading(level=2, text="Aft", anchor="aft"), part("B"))
    assert [block["level"] for block in blocks] == [2, 2, 3]


def test_outline_heading_inside_a_card_stands_below_the_card() -> None:
    (card,) = lay_out(part("A"))
    assert card["body"][0]["level"] == 3


@given(st.lists(st.one_of(st.integers(2, 3), st.none()), max_size=12))
def test_outline_never_leaves_a_level_out(wanted: list[int | None]) -> None:
    blocks = [Heading(level=w, text="x", anchor="") if w else part("P") for w in wanted]
    levels = [1]
    for block in lay_out(*blocks):
        levels.append(block["level"])
        if block["is"] == "PartCard":
            levels += [inner["level"] for inner in block["body"]]
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_outline_gives_each_place_a_name_of_its_own_and_keeps_the_first() -> None:
    blocks = lay_out(part("A"), part("B"), Heading(level=2, text="x", anchor="two words"))
    assert [block["anchor"] for block in blocks] == ["same", "same-2", "two-words"]


def test_outline_lists_headings_and_cards_as_entries() -> None:
    entries = outline(make_data())["chapters"][2]["entries"]
    assert [(entry["level"], entry["title"]) for entry in entries] == [
        (2, "Galley"),
        (3, "Sea strainer"),
        (3, "Forward seacock"),
    ]


def test_list_photos_finds_those_inside_cards() -> None:
    assert list_photos(make_data()) == ["missing.png", "strainer.png"]
