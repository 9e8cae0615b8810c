"""Single values at their edges: what is accepted, what is refused, and in which words."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from upkeep.records import load_fleet

from .boats import BOAT, FIT_OUT, OWN_KIND, boat, component

Write = Callable[..., Path]


def say(folder: Path) -> list[str]:
    return [str(problem) for problem in load_fleet(folder).problems]


ACCEPTED = {
    "markup": '<script>alert("1")</script> & <b>',
    "Typst": '#let x = 1; #import "@preview/y:1"; $ x $ *b* _i_ @ref <label>',
    "calendar": "SUMMARY:x\\nEND:VEVENT;,\\\\",
    "template": "{{ 7 * 7 }} {% raw %} {# c #}",
    "emoji": "🚤👩‍🔧🏴󠁧󠁢󠁳󠁣󠁴󠁿",
    "right-to-left letters": "סירה قارب",
    "right-to-left mark": "a\u200fb",
    "combining": "Z͑ͫ̓a",
    "200 characters": "x" * 200,
    "no-break space": "a\u00a0b",
}


@pytest.mark.parametrize("name", ACCEPTED)
def test_text_is_data(name: str, fleet_folder: Write) -> None:
    text = ACCEPTED[name]
    folder = fleet_folder(vessels__one=boat(more=f"name = '''{text}'''\n"))
    loaded = load_fleet(folder)
    assert not loaded.problems
    assert loaded.vessels[0].components["seacock"].name == text


REFUSED = {
    "\\u202e": "name holds marks that reorder text; remove the invisible direction marks",
    "\\u2067": "name holds marks that reorder text; remove the invisible direction marks",
    "a\\u0000": "name holds the control character U+0000; remove it",
    "\\u001b[31m": "name holds the control character U+001B; remove it",
    "\\u0085": "name holds the control character U+0085; remove it",
    "a\\tb": "name holds the control character U+0009; remove it",
    "a\\nb": "name holds a line break; write it on one line as plain text",
    "a\\u2028b": "name holds a line break; write it on one line as plain text",
    "x" * 201: "name is 201 characters long; write at most 200",
    "": 'name is ""; write text on one line, at most 200 characters',
    "   ": 'name is "   "; write text on one line, at most 200 characters',
}


@pytest.mark.parametrize("text", REFUSED, ids=lambda text: repr(text[:10]))
def test_text_that_could_deceive_is_refused(text: str, fleet_folder: Write) -> None:
    folder = fleet_folder(vessels__one=boat(more=f'name = "{text}"\n'))
    assert say(folder) == [f"vessels/one.toml:16: {REFUSED[text]}"]


def test_notes_may_have_lines_and_no_control_characters(fleet_folder: Write) -> None:
    right = boat(more='notes = """a\nb\tc"""\n')
    assert not say(fleet_folder(vessels__one=right))
    wrong = boat(more=f'notes = """a\n{"x" * 4000}"""\n')
    (said,) = say(fleet_folder(vessels__one=wrong))
    assert said == "vessels/one.toml:16: notes is 4002 characters long; write at most 4000"
    (said,) = say(fleet_folder(vessels__one=boat(more='notes = """a\n\\u202db"""\n')))
    assert "marks that reorder text" in said


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("0x" + "f" * 5000, "a number beyond all bounds"),
        ("1" + "0" * 400, "a number beyond all bounds"),
        ("1e400", "inf"),
        ("-inf", "-inf"),
        ("nan", "nan"),
        ("false", "false"),
        ('"9"', '"9"'),
        ("[9]", "a list"),
        ("{ m = 9 }", "a table"),
        ("2026-01-01", "2026-01-01"),
        ("10:00:00", "10:00:00"),
        ("0.99", "0.99"),
        ("300.1", "300.1"),
    ],
)
def test_number_is_a_number_within_bounds(written: str, shown: str, fleet_folder: Write) -> None:
    text = boat().replace("length_m = 9", f"length_m = {written}")
    said = f"vessels/one.toml:6: length_m is {shown}; write a number of m, 1 to 300"
    assert say(fleet_folder(vessels__one=text)) == [said]


@pytest.mark.parametrize("written", ["1", "300", "9.75", "1e2", "0x10", "+9", "1_0"])
def test_number_may_be_written_as_toml_allows(written: str, fleet_folder: Write) -> None:
    text = boat().replace("length_m = 9", f"length_m = {written}")
    assert not say(fleet_folder(vessels__one=text))


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("2026-01-01T00:00:00", "installed has a time of day; write the day alone"),
        ("2026-01-01 00:00:00Z", "installed has a time of day; write the day alone"),
        ("07:32:00", "installed has a time of day; write the day alone"),
        ('"2026-01-01"', 'installed is "2026-01-01"; write a day without quotes, YYYY-MM-DD'),
        ("2026", "installed is 2026; write a day without quotes, YYYY-MM-DD"),
        ("1899-12-31", "installed is 1899-12-31; write a day from 1900-01-01 to 2200-12-31"),
        ("2201-01-01", "installed is 2201-01-01; write a day from 1900-01-01 to 2200-12-31"),
        ("2026-02-30", "is not valid TOML: there is no such day or time"),
    ],
)
def test_day_is_a_day(written: str, said: str, fleet_folder: Write) -> None:
    text = boat().replace("installed = 2026-01-01", f"installed = {written}")
    (problem,) = say(fleet_folder(vessels__one=text))
    assert problem.startswith(f"vessels/one.toml:15: {said}")


@pytest.mark.parametrize("stamp", ['"2026"', '"2026-06"', '"2026-06-01"', "2026-06-01"])
def test_stamp_is_written_as_printed(stamp: str, fleet_folder: Write) -> None:
    alarm = component("alarm", "smoke-alarm", f"made = {stamp}")
    assert not say(fleet_folder(vessels__one=boat(more=alarm)))


@pytest.mark.parametrize(
    "stamp", ["2026", '"2026-13"', '"06/2026"', '"２０２６"', "2026-06-01T00:00:00"]
)
def test_stamp_that_is_none_is_refused(stamp: str, fleet_folder: Write) -> None:
    alarm = component("alarm", "smoke-alarm", f"made = {stamp}")
    (said,) = say(fleet_folder(vessels__one=boat(more=alarm)))
    assert said.startswith("vessels/one.toml:22: made ")


@pytest.mark.parametrize(
    ("reading", "value", "said"),
    [
        ("charge", "60", "charge is 60; write the fraction 0.6, not a percentage"),
        ("charge", "-0.1", "charge is -0.1; write 0 to 1"),
        ("charge", "101", "charge is 101; write 0 to 1"),
        ("rest_v", "1001", "rest_v is 1001; write 0 to 1000 V"),
    ],
)
def test_reading_is_within_what_can_be_read(
    reading: str, value: str, said: str, fleet_folder: Write
) -> None:
    bank = component("bank", "lithium-bank", "capacity_ah = 100")
    row = f'[[reading]]\ncomponent = "bank"\nname = "{reading}"\non = 2026-05-01\nvalue = {value}\n'
    assert say(fleet_folder(vessels__one=boat(more=bank + row))) == [f"vessels/one.toml:27: {said}"]


def test_two_faults_of_one_component_and_its_dangling_name_are_all_said(
    fleet_folder: Write,
) -> None:
    work = '[[last_done]]\ntask = "seacock/exercize"\non = 2026-05-01\n'
    more = f'foo = 1\nwater_from = ["nowhere"]\n{work}'
    said = say(fleet_folder(vessels__one=boat(more=more)))
    assert [line.split(";")[0] for line in said] == [
        "vessels/one.toml:16: unknown key foo",
        "vessels/one.toml:17: component nowhere is not known",
        "vessels/one.toml:19: seacock has no task exercize",
    ]


def test_faulty_item_of_a_list_does_not_shift_the_lines_of_the_next(fleet_folder: Write) -> None:
    more = 'water_from = [\n  "Bad Id",\n  "nowhere",\n]\n'
    said = say(fleet_folder(vessels__one=boat(more=more)))
    assert said == [
        'vessels/one.toml:17: water_from item 1 is "Bad Id"; write the id of a component',
        "vessels/one.toml:18: component nowhere is not known; name a component of this vessel",
    ]


def test_two_vessels_with_one_key_stop_the_second(fleet_folder: Write) -> None:
    key = 'key = "6f0b7c1e-4b1d-4a53-9a3e-2f4d7a9c1b20"\nname'
    one, two = (boat(name).replace("name", key, 1) for name in ("one", "two"))
    loaded = load_fleet(fleet_folder(vessels__one=one, vessels__two=two.replace("6f0b", "6F0B")))
    assert [str(p) for p in loaded.problems] == [
        "vessels/two.toml:4: key is one's too; each boat has her own key"
    ]
    assert [vessel.id for vessel in loaded.vessels] == ["one"]


def test_berth_in_a_faulty_water_stops_her_until_fleet_toml_is_mended(
    fleet_folder: Write,
) -> None:
    folder = fleet_folder(
        vessels__one=boat(more='[[berth]]\nwater = "dock"\nfrom = 2026-05-01\n'),
        vessels__two=boat("two"),
    )
    with (folder / "fleet.toml").open("a") as file:
        file.write('[water.dock]\nname = "dock"\nclass = "open"\nsalinity = "sea"\n')
    loaded = load_fleet(folder)
    assert [problem.file for problem in loaded.problems] == ["fleet.toml"]
    assert loaded.stopped == {"one": "fleet.toml"}


def test_faulty_source_stops_what_stands_on_it_and_is_said_once(fleet_folder: Write) -> None:
    deck = component("deck", "cork-deck", "laid = 2020-05-01")
    folder = fleet_folder(
        vessels__one=boat(more=deck),
        vessels__two=boat("two"),
        catalogue__own=OWN_KIND.replace('"PRACTICE"', '"PRACTISE"'),
    )
    loaded = load_fleet(folder)
    assert [str(p) for p in loaded.problems] == [
        'catalogue/own.toml:5: mark is "PRACTISE"; did you mean "PRACTICE"?'
    ]
    assert loaded.stopped == {"one": "catalogue/own.toml"}


def test_fit_out_that_nobody_uses_is_checked_too(fleet_folder: Write) -> None:
    spoilt = FIT_OUT.replace('["strainer"]', '["strainner"]')
    folder = fleet_folder(**{"fit-outs__heating": spoilt}, vessels__one=boat())
    loaded = load_fleet(folder)
    assert [str(p) for p in loaded.problems] == [
        "fit-outs/heating.toml:15: component strainner is not known; did you mean strainer?"
    ]
    assert [vessel.id for vessel in loaded.vessels] == ["one"]


def test_capacity_of_a_bank_of_the_fleets_own_kind_keeps_its_bounds(fleet_folder: Write) -> None:
    fields = (
        'roles = ["bank"]\nfields = [\n  { key = "capacity_ah", type = "number", '
        'required = true, text = "capacity" },\n]'
    )
    kind = OWN_KIND.replace(
        'fields = [{ key = "laid", type = "stamp", text = "when it was laid" }]', fields
    )
    bank = component("salt-bank", "cork-deck", "capacity_ah = 0")
    folder = fleet_folder(vessels__one=boat(more=bank), catalogue__own=kind)
    assert say(folder) == ["vessels/one.toml:22: capacity_ah is 0; write a number, 1 to 20000"]


def test_starter_text_has_the_vessel_where_the_tests_count() -> None:
    assert BOAT.split("\n")[5] == "length_m = 9"
