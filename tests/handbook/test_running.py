"""Checklists along the paths, cautions before their steps, storage by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from upkeep.handbook.blocks import (
    CautionPanel,
    Chapter,
    Checklist,
    EmergencySheet,
    Heading,
    Listing,
    Table,
    TickBox,
    WorkCard,
)
from upkeep.handbook.paths import order_by_path
from upkeep.model import Completion, Component, Draw, Edition, Kind

from .builder import (
    BASIN,
    BREAKER,
    FUSE,
    LEAD,
    SEACOCK,
    STRAINER,
    UNIT,
    build,
    feed_from,
    find_card,
    find_chapter,
    find_part,
    find_rows,
    find_table,
    list_small_boat,
    list_texts,
    make_bank,
    make_component,
    make_fleet,
    make_kind,
    make_reading,
    make_rule,
    make_unit,
    make_vessel,
    read_cell,
    walk_blocks,
)

LOAD = make_kind("load", roles=("consumes",))
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


def test_isolation_list_names_place_print_and_why_beside_a_box_to_tick() -> None:
    chapter = find_chapter(build(make_vessel(list_small_boat())), 3)
    (row,) = find_table(chapter, "Switch off behind service bank").rows
    why = "ends the idle draw of climate unit (0.12 A)"
    box = TickBox(alt="Tick when off: breaker “CLIMATE”")
    assert row == ("1. breaker “CLIMATE”", "hanging locker, up", "CLIMATE", why, box)


def make_switch(component_id: str, **changes: Any) -> Component:
    name = f"{component_id.removesuffix('-switch')} switch"
    return make_component(component_id, BREAKER, name=name, **changes)


def make_load(component_id: str, *through: str, **changes: Any) -> Component:
    supplies = changes.pop("supplies", feed_from("bank", *through))
    return make_component(component_id, LOAD, name=component_id, supplies=supplies, **changes)


def build_storage(*components: Component) -> Chapter:
    return find_chapter(build(make_vessel((make_bank(), *components))), 3)


def list_off(chapter: Chapter) -> list[str]:
    return [
        read_cell(row[0])
        for block in chapter.blocks
        if isinstance(block, Table) and block.caption.startswith("Switch off behind")
        for row in block.rows
    ]


def test_isolation_list_has_every_switch_nearest_the_bank_first() -> None:
    chapter = build_storage(
        make_load("lamp", "main", "cabin"),  # no idle draw, and still to be cut off
        make_load("radio", "main", "panel", "radio-switch"),
        make_load("heater", "heater-switch", values={"standby_a": 0.02}),
        *map(make_switch, ("cabin", "radio-switch", "panel", "main", "heater-switch")),
    )
    order = ["main", "heater", "cabin", "panel", "radio"]
    assert list_off(chapter) == [f"{n}. {name} switch" for n, name in enumerate(order, start=1)]
    rows = find_rows(chapter, "Switch off behind")
    assert rows["1. main switch"][2] == "cuts off lamp and radio"
    assert rows["2. heater switch"][2] == "ends the idle draw of heater (0.02 A)"


def test_isolation_list_goes_through_what_feeds_something_else() -> None:
    chapter = build_storage(
        make_load("inverter", "first"),
        make_load("washer", supplies=feed_from("inverter", "second")),
        *map(make_switch, ("second", "first")),
    )
    assert list_off(chapter) == ["1. first switch", "2. second switch"]


def test_isolation_list_has_the_switch_towards_another_bank() -> None:
    other = make_component("start", LEAD, name="start bank", supplies=feed_from("bank", "link"))
    assert list_off(build_storage(other, make_switch("link"))) == ["1. link switch"]


def test_isolation_list_keeps_on_what_must_stay_live() -> None:
    chapter = build_storage(
        make_load("pump", "main", stays_live=True, values={"standby_a": 0.01}),
        make_load("radio", "main", "radio-switch"),
        *map(make_switch, ("main", "radio-switch")),
    )
    assert list_off(chapter) == ["1. radio switch"]
    why = find_rows(chapter, "What stays live")["Main switch"][-1]
    assert why == "leave it on: it feeds pump, which must stay live"
    assert any("the days below are too long" in text for text in list_texts(chapter.blocks))


def test_isolation_list_may_open_a_switch_past_which_the_live_part_is_fed_too() -> None:
    chapter = build_storage(
        make_load("pump", stays_live=True, supplies=feed_from("bank", "main") + feed_from("bank")),
        make_load("radio", "main"),
        make_switch("main"),
    )
    assert list_off(chapter) == ["1. main switch"]


def test_what_stays_live_says_its_draw_and_why() -> None:
    chapter = build_storage(
        make_load("sensor", "fuse", values={"standby_a": 0.02}),
        make_load("starter", values={"draw_a": Draw(low=90, usual=90, full=90)}),
        make_load("clock", "main", stays_live=True),
        make_load("lamp", "main"),
        make_component("fuse", FUSE),
        make_switch("main"),
    )
    rows = {name: row[1:] for name, row in find_rows(chapter, "What stays live").items()}
    assert rows == {
        "Service bank": ("0.003 A", "its own management draws this; no switch cuts it"),
        "Main switch": ("nothing itself", "leave it on: it feeds clock, which must stay live"),
        "Sensor": ("0.02 A", "no switch is recorded between it and service bank"),
        "Starter": ("only while it runs", "no switch is recorded between it and service bank"),
        "Clock": ("", "recorded as to stay live when all else is off"),
    }


def list_looks(standby_a: float, capacity_ah: float = 460.0) -> dict[str, tuple[str, ...]]:
    bank = make_bank(values={"capacity_ah": capacity_ah})
    breaker = list_small_boat()[6]
    unit = make_unit(values={"standby_a": standby_a}, supplies=feed_from("bank", "breaker"))
    book = build(make_vessel((bank, breaker, unit)), fleet=make_fleet(STEADY))
    return find_rows(find_chapter(book, 3), "Service bank: which day")


def test_storage_days_agree_with_the_worked_examples() -> None:
    # physics facts, section 2: 460 Ah, 60 to 20 %, 20 °C: 72.74 days at 0.10 A, 15.17 at 0.50 A
    assert list_looks(0.097)["It lasts, left on"][0] == "72 days, to 12 January 2027"
    assert list_looks(0.497)["It lasts, left on"][0] == "15 days, to 16 November 2026"


def test_storage_look_comes_at_two_thirds() -> None:
    look = list_looks(0.497)["Someone must look, left on"]
    assert look[0] == "by 11 November 2026, 10 days after you leave her"
    assert look[-1] == "two thirds of the 15 days it lasts"


def test_storage_isolated_is_capped_and_looked_at_by_the_calendar() -> None:
    looks = list_looks(0.097)
    # 3 months from 1 November are 92 days, two thirds of which are 61
    assert looks["It lasts, isolated"][0] == "over six months"
    look = looks["Someone must look, isolated"]
    assert look[0] == "by 1 January 2027, 61 days after you leave her"
    assert look[-1] == "two thirds of the 3 months its task allows"


def test_storage_each_day_says_its_charge_draw_and_rule() -> None:
    looks = list_looks(0.497)
    start = "60 % on 1 November 2026, taken for granted"
    last = "the last day above 20 %, without reserve"
    assert looks["It lasts, isolated"][1:] == (start, "0.003 A: all of the list is off", last)
    assert looks["It lasts, left on"][1:] == (start, "0.5 A: nothing is switched off", last)
    assert looks["First date in her year and on its card"] == (
        "16 November 2026",
        start,
        "0.5 A: no switching off was recorded by 12 June 2026",
        last,
    )
    moving = looks["Your calendar"]
    assert moving[2] == "0.003 A once switching off is recorded, before that 0.5 A"


def test_storage_first_date_says_the_charge_read_and_the_switching_off_recorded() -> None:
    edition = Edition(number=2, on=date(2026, 11, 20), by="Ines")
    done = Completion(component="bank", rule="isolate", on=date(2026, 11, 4), wear=None, path=())
    read = make_reading("bank", "charge", 0.55, on=date(2026, 11, 10), commissioning=False)
    vessel = make_vessel(
        list_small_boat(), editions=(edition,), completions=(done,), readings=(read,)
    )
    book = build(vessel, fleet=make_fleet(STEADY))
    card = find_rows(find_chapter(book, 3), "Service bank: which day")
    row = card["First date in her year and on its card"]
    assert row[1] == "55 % on 10 November 2026, as read"
    assert row[2] == "0.003 A: switching off is recorded"
    granted = dict(find_card(book, "task-bank-look-in-storage").facts)["Taken for granted"]
    assert granted is not None
    assert granted.startswith("Switching off is recorded. Usual temperatures of inner basin.")


def test_storage_says_one_day_where_the_switches_change_nothing() -> None:
    looks = list_looks(0.0)
    assert list(looks)[:2] == ["It lasts", "Someone must look"]
    assert looks["It lasts"][2] == "0.003 A: whether the list is off or not"


def test_storage_says_which_temperatures_it_takes() -> None:
    texts = list_texts(find_chapter(build(make_vessel(list_small_boat())), 3).blocks)
    (said,) = (text for text in texts if text.startswith("All these days"))
    assert "water temperatures of inner basin, month by month: 7 °C to 19 °C" in said


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
    assert [panel.id for panel in sheet.cautions] == ["shock", "flooding"]  # the gravest first
    seacocks, pumps = sheet.lists[:2]
    assert seacocks.rows == (("seacock", "galley, left side", "SEA 1"),)
    assert pumps.rows == (("None recorded: find it and write it here.", None, None),)


def test_walk_groups_by_leading_words_in_the_order_of_the_record() -> None:
    headings = list_headings(2)
    assert headings == ["Galley", "Wheelhouse seat", "Engine", "Hanging locker"]


def test_walk_says_what_feeds_a_part_in_the_order_of_the_path() -> None:
    main = make_switch("main", marked="MAIN")
    parts = (make_bank(), make_component("fuse", FUSE, marked="ANL 60"), main)
    book = build(make_vessel((*parts, make_load("radio", "fuse", "main"), make_load("lamp"))))
    way = "service bank, through fuse “ANL 60”, then main switch “MAIN”"
    assert ("Fed by", way) in find_part(book, "radio")
    assert ("Fed by", "service bank, with no fuse or breaker recorded between") in find_part(
        book, "lamp"
    )
    assert ("Feeds", "radio and lamp") in find_part(book, "bank")


def test_walk_says_what_stands_before_a_device_and_what_it_feeds() -> None:
    parts = (make_bank(), make_component("fuse", FUSE, marked="ANL 60"), make_switch("main"))
    loads = (make_load("radio", "fuse", "main"), make_load("pump", "main"))
    facts = find_part(build(make_vessel((*parts, *loads))), "main")
    assert [row for row in facts if row[0] in ("Fed by", "Also fed by", "Feeds")] == [
        ("Fed by", "service bank, through fuse “ANL 60”"),
        ("Also fed by", "service bank, first after it"),
        ("Feeds", "radio and pump"),
    ]


@pytest.mark.parametrize(
    ("kind", "name", "marked", "title"),
    [
        (BREAKER, "", "BILGE", "breaker “BILGE”"),
        (FUSE, "", "ANL 60", "fuse “ANL 60”"),
        (FUSE, "", "", "fuse"),
        (BREAKER, "pump breaker", "BILGE", "pump breaker"),
        (SEACOCK, "", "SEA 1", "seacock"),
    ],
)
def test_nameless_device_is_called_by_the_words_on_it(
    kind: Kind, name: str, marked: str, title: str
) -> None:
    part = make_component("part", kind, name=name, marked=marked)
    assert part.title == title


def test_words_on_a_device_are_not_said_twice() -> None:
    checked = replace(BREAKER, rules=(make_rule("breaker", "try-it", each=("start",)),))
    book = build(make_vessel((make_component("cb", checked, marked="BILGE", location="bilge"),)))
    assert "Where: Breaker “BILGE”, bilge" in list_texts(find_chapter(book, 3).blocks)
    assert find_card(book, "task-cb-try-it").subtitle == "breaker “BILGE”, bilge"


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
