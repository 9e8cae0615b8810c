"""The whole book: its edition, blanks, words of authority, and boats of every size."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from upkeep.dates import MonthDay
from upkeep.handbook.authority import say_source
from upkeep.handbook.blocks import Book, Heading, PartCard, Signatures, Table, WorkCard, to_data
from upkeep.handbook.rhythm import find_months_afloat
from upkeep.handbook.wording import say_hours, say_months
from upkeep.model import Completion, Owner, Period, Season

from .builder import (
    EXTINGUISHER,
    KINDS,
    SEACOCK,
    build,
    find_card,
    find_chapter,
    find_facts,
    find_rows,
    find_table,
    list_small_boat,
    list_texts,
    make_component,
    make_fleet,
    make_reading,
    make_rule,
    make_source,
    make_vessel,
    read_cell,
    walk_blocks,
)

NUMBERS = (0, 1, 2, 3, 5, 6, 7, 8, 9, 10, 11, 12)


def test_small_boat_reads_as_reviewed(golden: Callable[[str, str], None]) -> None:
    readings = (make_reading("unit", "overboard_flow_l_per_min", 12.5),)
    vessel = make_vessel(list_small_boat(), readings=readings)
    book = build(vessel, warnings=("The cable of the climate unit is thin.",))
    golden("handbook-skua.json", json.dumps(to_data(book), indent=1, ensure_ascii=False) + "\n")


def test_chapters_keep_the_numbers_of_the_plan() -> None:
    book = build(make_vessel(list_small_boat()))
    assert tuple(chapter.number for chapter in book.chapters) == NUMBERS


def test_edition_names_number_day_and_signer() -> None:
    assert build(make_vessel(())).edition == "Edition 1, 12 June 2026, signed by Ines"


def test_book_without_edition_is_a_draft_as_of_hand_over() -> None:
    vessel = make_vessel(list_small_boat(), editions=(), handed_over=date(2026, 7, 1))
    assert build(vessel).edition == "Draft, not signed, as of 1 July 2026"


def test_book_without_any_day_is_a_draft_without_one() -> None:
    assert build(make_vessel((), editions=(), handed_over=None)).edition == "Draft, not signed"


def test_living_with_the_boat_does_not_change_a_signed_book() -> None:
    vessel = make_vessel(list_small_boat())
    later = date(2026, 9, 2)
    lived = replace(
        vessel,
        completions=(
            Completion(component="strainer", rule="clean-basket", on=later, wear=0.4, path=()),
        ),
        readings=(make_reading("unit", "overboard_flow_l_per_min", 11, on=later),),
        ashore=(Period(first=later, end=date(2026, 10, 20)),),
        berths=(("basin", later),),
    )
    assert build(lived) == build(vessel)


def test_first_dates_stand_as_of_the_edition() -> None:
    # 30 warm days from 12 June at 16, then 18 °C: 18 × 0.758 = 13.64, 18 × 0.871 = 15.67, and
    # one more day of July would pass 30; so 18 July
    card = find_card(build(make_vessel(list_small_boat())), "task-strainer-clean-basket")
    facts = dict(card.facts)
    assert facts["First date"] == "18 July 2026"
    when = facts["When"] or ""
    assert "very 30 warm days, usually April to October" in when
    assert when.endswith("whichever comes first")


def test_card_says_who_tools_parts_and_findings() -> None:
    book = build(make_vessel(list_small_boat()))
    facts = dict(find_card(book, "task-strainer-clean-basket").facts)
    assert facts["Who"] == "You, the owner; 10 minutes"
    assert facts["Tools"] == "bucket"
    assert facts["Parts"] == "gasket (G-40)"
    licensed = dict(find_card(book, "task-unit-see-refrigerant").facts)
    assert licensed["Who"] == (
        "A licensed person (licence: refrigerant); Quay workshop arranges it; 10 minutes"
    )


def test_required_task_names_its_scope_wherever_it_stands() -> None:
    book = build(make_vessel(list_small_boat()))
    card = find_card(book, "task-extinguisher-renew-by-age")
    required = "Required for boats in private use, of flag GB."
    assert dict(card.facts)["Binding"] == required
    assert any("Rules of the canal, section 175, copy of 2026 (read)" in text
               for text in list_texts(card.after))  # fmt: skip
    assert f"Renew by age. {required}" in find_rows(find_chapter(book, 8), "March")


def test_required_task_outside_its_scope_is_not_required() -> None:
    vessel = make_vessel((make_component("extinguisher", EXTINGUISHER),), flag="fr")
    card = find_card(build(vessel), "task-extinguisher-renew-by-age")
    assert dict(card.facts)["Binding"] == "Common practice, change as you wish."
    assert not any("Rules of" in text for text in list_texts(card.after))


def test_law_that_was_only_told_is_advised_for_its_scope() -> None:
    vessel = make_vessel((make_component("extinguisher", EXTINGUISHER),), flag="us")
    card = find_card(build(vessel), "task-extinguisher-renew-by-age")
    said = "Advised; reported as required for boats of flag US. Confirm it."
    assert dict(card.facts)["Binding"] == said
    told = "Reported as required for boats of flag US; confirm it: Rules of the coast"
    assert f"{told} (reported by others)." in list_texts(card.after)


@pytest.mark.parametrize(
    ("authority", "mark", "opening", "ending"),
    [
        ("LAW", "SEEN", "A law, for information; ask whether it binds her", "(read)."),
        ("LAW", "SEEN-2", "Reported as required where it holds", "(reported by others)."),
        ("CODE", "SEEN", "Needed for a certificate on waters that ask for it", "(read)."),
        ("STD", "SEEN", "Recommended in", "(read)."),
        ("GOV", "SEEN", "Recommended by", "(read)."),
        ("MAKER", "SEEN", "One maker's book says so", "(read)."),
        ("TRADE", "SEEN-2", "Commonly advised", "(reported by others)."),
        ("LAW", "MEMORY", "Common practice, change as you wish", "(from memory)."),
        ("NONE", "PRACTICE", "Common practice", "(common practice, no source)."),
    ],
)
def test_source_is_worded_as_its_mark_allows(
    authority: str, mark: str, opening: str, ending: str
) -> None:
    said = say_source(make_source("a-text", authority, mark))
    assert said.startswith(opening)
    assert said.endswith(ending)


def test_trade_source_prints_its_range() -> None:
    said = say_source(make_source("a-text", "TRADE", "SEEN", range="weekly to monthly"))
    assert said == "Commonly advised; weekly to monthly: a text (read)."


def list_references(book: Book, number: int) -> list[str]:
    chapter = find_chapter(book, number)
    lines = [line for block in chapter.blocks for line in getattr(block, "items", ())]
    rows = [row for block in chapter.blocks if isinstance(block, Table) for row in block.rows]
    lines += [cell for row in rows for cell in row if isinstance(cell, tuple)]
    return [span.to for line in lines for span in line if span.to]


@pytest.mark.parametrize("number", [8, 10])
def test_each_task_named_in_the_year_and_at_lay_up_leads_to_its_card(number: int) -> None:
    book = build(make_vessel(list_small_boat()))
    cards = [b for b in find_chapter(book, 9).blocks if isinstance(b, WorkCard)]
    anchors = {anchor for card in cards for anchor in (card.anchor, *card.also)}
    references = list_references(book, number)
    assert references
    assert set(references) <= anchors
    named = sum(
        len(block.rows) if isinstance(block, Table) else len(getattr(block, "items", ()))
        for block in find_chapter(book, number).blocks
    )
    assert len(references) == named


def test_signatures_are_a_column_each_for_installer_and_owner() -> None:
    owner = Owner(name="Ruth", phone="", email="", language="")
    for vessel, names in (
        (make_vessel((), owner=owner), ["Ines", "Ruth"]),
        (make_vessel((), editions=()), [None, None]),
    ):
        blocks = find_chapter(build(vessel), 12).blocks
        (block,) = (block for block in blocks if isinstance(block, Signatures))
        assert [role.split(",")[0] for role, _ in block.signers] == ["Installer", "Owner"]
        assert [name for _, name in block.signers] == names


def test_missing_facts_are_blanks() -> None:
    book = build(make_vessel(list_small_boat()))
    facts = find_facts(find_chapter(book, 1))
    for label in ("Beam", "Builder", "Persons: copy it from the builder's plate", "Coastguard"):
        assert facts[label] is None, label
    serials = {row[0]: row for row in find_table(find_chapter(book, 12), "Serial").rows}
    assert serials["seacock"][1:4] == ("Foundry", None, "77")
    readings = find_table(find_chapter(book, 12), "First readings").rows
    assert [row[3] for row in readings] == [None, None]


def test_reading_taken_later_in_use_is_no_first_reading() -> None:
    reading = make_reading("unit", "overboard_flow_l_per_min", 11, commissioning=False)
    book = build(make_vessel(list_small_boat(), readings=(reading,)))
    rows = find_table(find_chapter(book, 12), "First readings").rows
    assert [row[3] for row in rows] == [None, None]


def test_task_every_two_years_stands_in_one_month_only() -> None:
    # 24 months from 12 June 2026; the refrigerant's next dates lie years apart
    tables = [
        block.caption
        for block in walk_blocks(find_chapter(build(make_vessel(list_small_boat())), 8).blocks)
        if isinstance(block, Table)
        and any(read_cell(row[0]) == "See refrigerant" for row in block.rows)
    ]
    assert tables == ["June"]


def test_task_every_nine_months_stands_in_the_months_of_its_first_year() -> None:
    rule = make_rule("seacock", "work-it", limits={"months": 9})
    part = make_component("seacock", replace(SEACOCK, rules=(rule,)))
    chapter = find_chapter(build(make_vessel((part,))), 8)
    titles = [block.caption for block in walk_blocks(chapter.blocks) if isinstance(block, Table)]
    assert titles == ["March", "December"]  # March and December 2027, not September 2028


def test_recorded_persons_are_printed_and_load_stays_blank() -> None:
    facts = find_facts(find_chapter(build(make_vessel((), persons=6)), 1))
    assert facts["Persons, as recorded"] == "6"
    assert facts["Load: copy it from the builder's plate"] is None


def test_breakers_name_what_they_feed_and_leave_a_spare_blank() -> None:
    rows = find_table(find_chapter(build(make_vessel(list_small_boat())), 7), "Breakers").rows
    fuse, breaker = rows
    assert fuse == ("fuse", "150 A", None, "wheelhouse seat", "service bank and climate unit", None)
    assert breaker[4:] == ("climate unit", "not needed")


def test_text_from_records_passes_unchanged() -> None:
    odd = "<b>*x*</b> & \\ # $ “é”"
    part = make_component(
        "odd", SEACOCK, name=odd, location=odd, marked=odd, notes=odd, maker=odd, serial=odd
    )
    book = build(make_vessel((part,), name=odd, berth=odd), warnings=(odd,))
    (card,) = (b for b in find_chapter(book, 2).blocks if isinstance(b, PartCard))
    assert (card.title, card.location, card.marked) == (odd, odd, odd)
    assert f"Note: {odd}" in list_texts(card.body)
    assert book.title == odd
    assert odd in list_texts(find_chapter(book, 12).blocks)


def list_anchors(book: Book) -> list[str]:
    anchors = [chapter.anchor for chapter in book.chapters]
    for chapter in book.chapters:
        for block in walk_blocks(chapter.blocks):
            anchor = getattr(block, "anchor", "")
            if anchor:
                anchors.append(anchor)
    return anchors


@pytest.mark.parametrize("count", [0, 1, 60])
@pytest.mark.parametrize("season", [True, False])
def test_boats_of_every_size_give_a_whole_book(count: int, season: bool) -> None:
    parts = [
        make_component(f"part-{index}", KINDS[index % len(KINDS)], values=VALUES)
        for index in range(count)
    ]
    vessel = make_vessel(parts) if season else make_vessel(parts, season=None)
    book = build(vessel)
    assert tuple(chapter.number for chapter in book.chapters) == NUMBERS
    assert all(chapter.blocks for chapter in book.chapters)
    anchors = list_anchors(book)
    assert len(set(anchors)) == len(anchors)
    assert {f"part-{part.id}" for part in parts} <= set(anchors)
    json.dumps(to_data(book))


VALUES: dict[str, Any] = {"capacity_ah": 100.0, "usable": 0.5, "volts": 12.0}


def test_each_task_and_occasion_has_one_card() -> None:
    book = build(make_vessel(list_small_boat()))
    cards = sorted(b.anchor for b in find_chapter(book, 9).blocks if isinstance(b, WorkCard))
    assert cards == [
        "task-bank-isolate",
        "task-bank-look-in-storage",
        "task-extinguisher-renew-by-age",
        "task-seacock-look-before-launch",
        "task-seacock-open-it",
        "task-seacock-shut-it",
        "task-strainer-clean-basket",
        "task-strainer-empty-for-winter",
        "task-unit-see-refrigerant",
        "task-unit-switch-off",
        "task-unit-switch-on",
    ]


def test_boat_without_season_has_no_lay_up_list() -> None:
    chapter = find_chapter(build(make_vessel(list_small_boat(), season=None)), 10)
    assert not any(isinstance(block, Heading) for block in chapter.blocks)
    assert "No season is recorded" in list_texts(chapter.blocks)[0]


def test_language_is_the_fleets_without_an_owners_own() -> None:
    book = build(make_vessel(()), fleet=make_fleet(language="de"))
    assert book.language == "de"


def test_sentences_stay_short() -> None:
    """At most 25 words a sentence in running text (ASD-STE100, methods of the project)."""
    book = build(make_vessel(list_small_boat()))
    for chapter in book.chapters:
        for text in list_texts(chapter.blocks):
            if text.startswith("Where the figures come from"):
                continue  # a list of sources, not a sentence
            for sentence in re.split(r"(?<=[.:;!?])\s", text):
                assert len(sentence.split()) <= 25, sentence


@pytest.mark.parametrize(
    ("months", "said"),
    [
        ({5, 6, 7, 8, 9}, "May to September"),
        ({11, 12, 1, 2}, "November to February"),
        ({3}, "March"),
        ({3, 5, 6, 12}, "March, May to June and December"),
        (set(range(1, 13)), "all year"),
        (set(), ""),
    ],
)
def test_months_are_said_as_spans(months: set[int], said: str) -> None:
    assert say_months(months) == said


@pytest.mark.parametrize(
    ("hours", "said"),
    [
        (17, "17.0 h"),
        (9.659, "9.66 h"),
        (0.5, "0.50 h"),
        (100, "4 days"),
        (5000, "over six months"),
    ],
)
def test_hours_are_said_to_three_figures(hours: float, said: str) -> None:
    assert say_hours(hours) == said


def test_months_afloat_cross_the_new_year() -> None:
    season = Season(launch=MonthDay(month=10, day=1), lay_up=MonthDay(month=4, day=20))
    assert find_months_afloat(season) == {10, 11, 12, 1, 2, 3, 4}


def test_year_says_the_day_its_first_dates_are_as_of() -> None:
    chapter = find_chapter(build(make_vessel(list_small_boat())), 8)
    assert list_texts(chapter.blocks)[0].startswith("First dates are as of 12 June 2026.")
