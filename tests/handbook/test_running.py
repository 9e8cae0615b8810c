"""Checklists along the paths, cautions before their steps, storage by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from upkeep.handbook.blocks import (
    CautionPanel,
    Checklist,
    EmergencySheet,
    Heading,
    Listing,
    WorkCard,
)
from upkeep.handbook.paths import order_by_path
from upkeep.model import Component

from .builder import (
    BASIN,
    BILGE_PUMP,
    SEACOCK,
    STRAINER,
    UNIT,
    build,
    feed_from,
    find_chapter,
    find_facts,
    find_table,
    list_small_boat,
    list_texts,
    make_bank,
    make_component,
    make_fleet,
    make_rule,
    make_unit,
    make_vessel,
    walk_blocks,
)

STEADY = replace(BASIN, monthly_c=(20,) * 12)  # the worked examples are at 20 °C


def list_headings(number: int, **changes: Any) -> list[str]:
    book = build(make_vessel(list_small_boat(), **changes))
    chapter = find_chapter(book, number)
    return [block.text for block in chapter.blocks if isinstance(block, Heading)]


def test_starting_goes_from_source_to_end_and_leaving_back() -> None:
    headings = list_headings(3)
    assert headings[:6] == [
        "Starting up", "Open it", "Switch on", "Leaving her", "Switch off", "Shut it",
    ]  # fmt: skip


def test_path_order_does_not_follow_the_record() -> None:
    boat = tuple(reversed(list_small_boat()))
    order = [part.id for part in order_by_path({part.id: part for part in boat})]
    assert order.index("seacock") < order.index("strainer") < order.index("unit")
    assert order.index("charger") < order.index("bank") < order.index("unit")
    assert order.index("breaker") < order.index("unit")


def test_path_order_of_a_loop_keeps_every_part() -> None:
    first = make_component("first", UNIT, water_from=("second",))
    second = make_component("second", UNIT, water_from=("first",))
    order = order_by_path({"first": first, "second": second})
    assert [part.id for part in order] == ["first", "second"]


def test_same_checklist_of_two_parts_names_both_places_once() -> None:
    parts = [make_component(f"sea-{n}", SEACOCK, location=f"place {n}") for n in (1, 2)]
    chapter = find_chapter(build(make_vessel(parts)), 3)
    headings = [block.text for block in chapter.blocks if isinstance(block, Heading)]
    assert headings.count("Open it") == 1
    tables = [row for row in chapter.blocks if getattr(row, "caption", "").startswith("Do it")]
    assert [row[1] for row in tables[0].rows] == ["place 1", "place 2"]  # type: ignore[union-attr]


def test_checklists_have_their_cautions_between_heading_and_steps() -> None:
    blocks = find_chapter(build(make_vessel(list_small_boat())), 3).blocks
    seen: list[str] = []
    found = {}
    for block in blocks:
        if isinstance(block, Heading):
            seen, title = [], block.text
        elif isinstance(block, CautionPanel):
            seen.append(block.id)
        elif isinstance(block, Checklist):
            found[title] = tuple(seen)
    assert found == {
        "Open it": ("flooding",),
        "Switch on": ("shock",),
        "Switch off": (),
        "Shut it": ("flooding",),
    }


def test_isolation_list_follows_the_cautions_of_isolating() -> None:
    blocks = find_chapter(build(make_vessel(list_small_boat())), 3).blocks
    start = next(i for i, b in enumerate(blocks) if getattr(b, "anchor", "") == "storage")
    kinds = [type(block).__name__ for block in blocks[start:]]
    assert kinds.index("CautionPanel") < kinds.index("Table")


def test_isolation_list_names_place_print_and_why() -> None:
    chapter = find_chapter(build(make_vessel(list_small_boat())), 3)
    (row,) = find_table(chapter, "Switch off, nearest").rows
    why = "ends the idle draw of climate unit (0.12 A)"
    assert row == ("breaker", "hanging locker, up", "CLIMATE", why, None)


def test_what_no_breaker_cuts_stays_live() -> None:
    pump = make_component(
        "bilge", BILGE_PUMP, location="bilge", supplies=feed_from("bank"),
        values={"standby_a": 0.02},
    )  # fmt: skip
    texts = list_texts(find_chapter(build(make_vessel((*list_small_boat(), pump))), 3).blocks)
    assert "bilge pump, bilge, 0.02 A" in texts


def list_lasting(standby_a: float, capacity_ah: float = 460.0) -> dict[str, str | None]:
    bank = make_bank(values={"capacity_ah": capacity_ah})
    breaker = list_small_boat()[6]
    unit = make_unit(values={"standby_a": standby_a}, supplies=feed_from("bank", "breaker"))
    book = build(make_vessel((bank, breaker, unit)), fleet=make_fleet(STEADY))
    return find_facts(find_chapter(book, 3))


def test_storage_days_agree_with_the_worked_examples() -> None:
    # physics facts, section 2: 460 Ah, 60 to 20 %, 20 °C: 72.74 days at 0.10 A, 15.17 at 0.50 A
    assert list_lasting(0.097)["Lasts left on"] == "72 days, to 12 January 2027"
    assert list_lasting(0.497)["Lasts left on"] == "15 days, to 16 November 2026"


def test_storage_look_comes_at_two_thirds() -> None:
    facts = list_lasting(0.497)
    assert facts["Someone must look, left on"] == "by 11 November 2026, 10 days after you leave her"


def test_storage_isolated_is_capped_and_looked_at_by_the_calendar() -> None:
    facts = list_lasting(0.097)
    # 3 months from 1 November are 92 days, two thirds of which are 61
    assert facts["Draws when isolated"] == "0.003 A"
    assert facts["Draws when left on"] == "0.1 A"
    assert facts["Lasts isolated"] == "over six months"
    assert facts["Someone must look, isolated"] == "by 1 January 2027, 61 days after you leave her"


def test_storage_table_ends_at_launch_and_marks_what_is_too_low() -> None:
    book = build(make_vessel(list_small_boat()), fleet=make_fleet(STEADY))
    rows = find_table(find_chapter(book, 3), "Service bank: charge").rows
    assert rows[0] == ("0", "1 Nov", "60 %", "60 %")
    assert rows[-1][:2] == ("151", "1 Apr")
    # 0.123 A is 2.952 Ah a day: 500 Ah falls from 60 % to below 20 % within 68 days
    marks = {row[0]: row[3] for row in rows}
    assert marks["90"] is not None
    assert marks["90"].endswith("too low")
    assert marks["60"] is not None
    assert not marks["60"].endswith("too low")


def test_storage_without_season_counts_from_the_edition() -> None:
    book = build(make_vessel(list_small_boat(), season=None))
    rows = find_table(find_chapter(book, 3), "Service bank: charge").rows
    assert rows[0][1] == "12 Jun"
    assert rows[-1][0] == "180"


def test_storage_without_bank_says_so() -> None:
    chapter = find_chapter(build(make_vessel(())), 3)
    assert any(text.startswith("No battery bank") for text in list_texts(chapter.blocks))


@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_card_has_the_cautions_of_its_rule_gravest_first(units: str) -> None:
    book = build(make_vessel(list_small_boat()), fleet=make_fleet(units=units))
    cards = {
        block.anchor: [panel.id for panel in block.cautions]
        for block in walk_blocks(find_chapter(book, 9).blocks)
        if isinstance(block, WorkCard)
    }
    assert cards["task-strainer-clean-basket"] == ["shock", "flooding"]
    assert cards["task-seacock-open-it"] == ["flooding"]
    assert cards["task-unit-switch-off"] == []


def test_every_numbered_step_stands_in_a_card_sheet_or_checklist() -> None:
    """A bare numbered list would be a step that no caution protects."""
    book = build(make_vessel(list_small_boat()))
    for chapter in book.chapters:
        bare = [b for b in chapter.blocks if isinstance(b, Listing) and b.ordered]
        assert bare == []


def test_emergency_sheet_lists_shut_offs_and_admits_what_is_missing() -> None:
    (sheet,) = find_chapter(build(make_vessel(list_small_boat())), 0).blocks
    assert isinstance(sheet, EmergencySheet)
    seacocks, pumps = sheet.lists[:2]
    assert seacocks.rows == (("seacock", "galley, left side", "SEA 1"),)
    assert pumps.rows == (("None recorded: find it and write it here.", None, None),)


def test_walk_groups_by_leading_words_in_the_order_of_the_record() -> None:
    headings = list_headings(2)
    assert headings == ["Galley", "Wheelhouse seat", "Engine", "Hanging locker"]


def test_dropped_occasion_is_not_in_the_book() -> None:
    from upkeep.model import Override

    drop = Override(
        component="unit", rule="switch-on", limits={}, source="her owner", dropped=True, path=()
    )
    assert "Switch on" not in list_headings(3, overrides={("unit", "switch-on"): drop})


def test_season_chapter_orders_lay_up_from_end_to_source() -> None:
    drain = make_rule("climate-unit", "drain-it", limits={"after_lay_up_days": 7})
    late = replace(UNIT, rules=(drain,))
    parts: tuple[Component, ...] = (
        make_component("seacock", SEACOCK),
        make_component("strainer", STRAINER, water_from=("seacock",)),
        make_component("unit", late, water_from=("strainer",)),
    )
    texts = list_texts(find_chapter(build(make_vessel(parts)), 10).blocks)
    order = [text.split(":")[0] for text in texts]
    assert order.index("Drain it") < order.index("Empty for winter")
