from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.logbook.boats import SKUA, SPOILT, TERN
from upkeep.logbook.checks import Checked, check_done, check_read
from upkeep.logbook.facts import read_measurement, read_work
from upkeep.model import Reading
from upkeep.records import LoadedFleet, load_fleet

TODAY = date(2026, 6, 1)
ON = date(2026, 5, 1)
CLEAN = {"task": "strainer/clean-basket", "on": ON}
METER = {"component": "engine", "name": "engine_h", "on": ON, "value": 120}


@pytest.fixture
def loaded(fleet_folder: Callable[..., Path]) -> LoadedFleet:
    folder = fleet_folder(vessels__skua=SKUA, vessels__tern=TERN, vessels__spoilt=SPOILT)
    (folder / "photos").mkdir()
    (folder / "photos" / "basket.jpg").write_bytes(b"picture")
    return load_fleet(folder)


def _said(found: Checked) -> str:
    assert found.facts is None
    return " | ".join(f"{fault.path}: {fault.message}; {fault.fix}" for fault in found.faults)


def test_work_is_kept_with_its_facts_in_one_form(loaded: LoadedFleet) -> None:
    said = {
        **CLEAN,
        "wear": 1,
        "left": 0,
        "by": " Anna ",
        "minutes": 20,
        "note": "weed\nand shells",
        "photo": "basket.jpg",
    }
    found = check_done(loaded, "skua", said, TODAY)
    assert found.faults == ()
    assert found.facts == {
        "task": "strainer/clean-basket",
        "on": "2026-05-01",
        "wear": 1.0,
        "by": "Anna",
        "minutes": 20,
        "note": "weed\nand shells",
        "photo": "basket.jpg",
    }
    assert type(found.facts["wear"]) is float
    work = read_work(found.facts)
    assert (work.component, work.rule, work.on, work.left) == ("strainer", "clean-basket", ON, 0.0)
    assert (work.between, work.stamp, work.minutes) == (None, "", 20)


def test_reading_is_kept_with_its_facts_in_one_form(loaded: LoadedFleet) -> None:
    found = check_read(loaded, "skua", {**METER, "commissioning": False}, TODAY)
    assert found.facts == {**METER, "on": "2026-05-01", "value": 120.0}
    measured = read_measurement(found.facts)
    assert (measured.value, measured.commissioning) == (120.0, False)


@pytest.mark.parametrize(
    ("words", "wear"),
    [
        ("clean mesh", 0.0),
        ("CLEAN  Mesh", 0.0),
        ("cl", 0.0),
        ("a few", 0.25),
        ("a quarter", 0.5),
        ("more than half of the mesh covered", 1.5),
        ("b", 2.0),
    ],
)
def test_finding_in_any_unique_beginning_is_its_wear(
    loaded: LoadedFleet, words: str, wear: float
) -> None:
    found = check_done(loaded, "skua", {**CLEAN, "finding": words}, TODAY)
    assert found.facts is not None
    assert found.facts["wear"] == wear
    whole = str(found.facts["finding"])
    assert whole.casefold().startswith(words.casefold().split()[0])
    again = check_done(loaded, "skua", {**CLEAN, "finding": whole}, TODAY)
    assert again == found


def test_finding_of_several_beginnings_names_them(loaded: LoadedFleet) -> None:
    said = _said(check_done(loaded, "skua", {**CLEAN, "finding": "a"}, TODAY))
    assert 'finding "a" fits several' in said
    assert 'write "a few strands or shells" or "a quarter of the mesh covered"' in said


def test_finding_misspelt_names_the_nearest(loaded: LoadedFleet) -> None:
    said = _said(check_done(loaded, "skua", {**CLEAN, "finding": "clene mesh"}, TODAY))
    assert 'did you mean "clean mesh"?' in said


BAD_WORK: list[tuple[Mapping[str, Any], str, str]] = [
    ({"task": "stainer/clean-basket"}, "skua has no component stainer", "did you mean strainer?"),
    ({"task": "strainer/clean-baskt"}, "has no task clean-baskt", "did you mean clean-basket?"),
    ({"task": "strainer"}, 'task is "strainer"', "component/rule"),
    ({"on": date(2026, 6, 2)}, "2 June 2026 is yet to come", "today is 1 June 2026"),
    ({"on": date(2025, 12, 31)}, "before it was there", "installed on 1 January 2026"),
    ({"wear": 5.01}, "wear is 5.01", "write a number, 0 to 5"),
    ({"wear": -0.1}, "wear is -0.1", "0 to 5"),
    ({"wear": float("nan")}, "wear is nan", "0 to 5"),
    ({"wear": 0.5, "finding": "clean mesh"}, "both given", "keep one"),
    ({"wear": 0.5, "between": [0.2, 0.5]}, "both given", "keep wear"),
    ({"between": [0.5, 0.2]}, "between is", "[low, high]"),
    ({"between": [0.5]}, "between is", "[low, high]"),
    ({"between": [0, 5.5]}, "between is", "from 0 to 5"),
    ({"between": [True, 2]}, "between is", "[low, high]"),
    ({"left": 1}, "left is 1", "less than 1"),
    ({"left": 0.6, "wear": 0.5}, "left is 0.6, wear 0.5", "cannot be more"),
    ({"left": 60}, "left is 60", "write the fraction 0.6"),
    ({"minutes": 2.5}, "minutes is 2.5", "whole number"),
    ({"stamp": "2030-05"}, "sea strainer carries no date", "leave it out"),
    ({"stamp": "next year"}, "stamp is", "YYYY"),
    ({"photo": "none.jpg"}, "there is no photos/none.jpg", "into photos/"),
    ({"photo": "../fleet.toml"}, "photo is", "photos/"),
    ({"by": "Anna\x07"}, "by holds the control character", "remove it"),
    ({"licens": "12"}, "unknown key licens", "did you mean licence?"),
]


@pytest.mark.parametrize(("changed", "message", "fix"), BAD_WORK)
def test_work_that_cannot_be_is_refused_with_the_reason(
    loaded: LoadedFleet, changed: Mapping[str, Any], message: str, fix: str
) -> None:
    found = check_done(loaded, "skua", {**CLEAN, **changed}, TODAY)
    assert len(found.faults) == 1
    assert message in _said(found)
    assert fix in _said(found)


def test_every_fault_of_one_record_is_told_at_once(loaded: LoadedFleet) -> None:
    said = {"task": "strainer/clean-basket", "on": date(2027, 1, 1), "wear": 9, "photo": "a.jpg"}
    found = check_done(loaded, "skua", said, TODAY)
    assert sorted(fault.path for fault in found.faults) == [("on",), ("photo",), ("wear",)]


@pytest.mark.parametrize(
    ("vessel", "words"),
    [
        ("skau", "did you mean skua?"),
        ("", "one of skua, tern"),
        ("spoilt", "spoilt cannot be used; mend vessels/spoilt.toml first"),
    ],
)
def test_vessel_that_is_not_there_is_named(loaded: LoadedFleet, vessel: str, words: str) -> None:
    assert words in _said(check_done(loaded, vessel, CLEAN, TODAY))
    assert words in _said(check_read(loaded, vessel, METER, TODAY))


def test_work_for_licensed_hands_asks_for_the_number(loaded: LoadedFleet) -> None:
    said = {"task": "unit/look-at-refrigerant-side", "on": ON}
    words = _said(check_done(loaded, "skua", said, TODAY))
    assert "is for a licensed person" in words
    assert "number of the refrigerant licence" in words
    found = check_done(loaded, "skua", {**said, "licence": "GB-1142"}, TODAY)
    assert found.facts is not None
    assert found.facts["licence"] == "GB-1142"


def test_renewal_keeps_the_date_printed_on_the_new_part(loaded: LoadedFleet) -> None:
    rule = next(r.id for c in loaded.vessels[0].components.values() if c.id == "flares"
                for r in c.kind.rules if r.purpose == "renew")  # fmt: skip
    said = {"task": f"flares/{rule}", "on": ON, "stamp": "2030-05"}
    found = check_done(loaded, "skua", said, TODAY)
    assert found.facts is not None
    assert found.facts["stamp"] == "2030-05"


def test_past_a_wear_has_no_upper_end(loaded: LoadedFleet) -> None:
    found = check_done(loaded, "skua", {**CLEAN, "between": [1, None]}, TODAY)
    assert found.facts is not None
    assert found.facts["between"] == (1.0, None)
    assert read_work(found.facts).between == (1.0, None)


BAD_READINGS: list[tuple[Mapping[str, Any], str, str]] = [
    ({"component": "engin"}, "skua has no component engin", "did you mean engine?"),
    ({"name": "engin_h"}, "diesel-engine has no reading engin_h", "did you mean engine_h?"),
    ({"component": "bank", "name": "charge", "value": 60}, "charge is 60", "fraction 0.6"),
    ({"component": "bank", "name": "charge", "value": 1.01}, "charge is 1.01", "0.0101"),
    ({"component": "bank", "name": "rest_v", "value": -1}, "rest_v is -1", "0 to 1000 V"),
    ({"value": "many"}, 'value is "many"', "write a number"),
    ({"on": date(2026, 6, 2)}, "yet to come", "today is 1 June 2026"),
    ({"on": date(2025, 6, 2)}, "before it was there", "1 January 2026"),
    ({"value": 99}, "99 h on 1 May 2026 does not fit", "it showed 100 h on 1 February 2026"),
    ({"value": 3000}, "does not fit", "write 100 to 2236"),  # 89 days of 24 h later
    ({"on": date(2026, 1, 31), "value": 101}, "does not fit", "write 76 to 100"),
    ({"on": date(2026, 2, 1)}, "engine_h is recorded on 1 February 2026", "it says 100"),
]


@pytest.mark.parametrize(("changed", "message", "fix"), BAD_READINGS)
def test_reading_that_cannot_be_is_refused_with_the_reason(
    loaded: LoadedFleet, changed: Mapping[str, Any], message: str, fix: str
) -> None:
    found = check_read(loaded, "skua", {**METER, **changed}, TODAY)
    assert len(found.faults) == 1
    assert message in _said(found)
    assert fix in _said(found)


def test_reading_is_held_against_those_of_the_logbook(loaded: LoadedFleet) -> None:
    later = Reading(
        component="engine",
        name="engine_h",
        on=date(2026, 5, 20),
        value=110,
        commissioning=False,
        path=(),
    )
    found = check_read(loaded, "skua", METER, TODAY, beside=[later])
    assert "it showed 110 h on 20 May 2026" in _said(found)
    assert check_read(loaded, "skua", METER, TODAY).faults == ()
    same = check_read(loaded, "skua", {**METER, "on": date(2026, 2, 1), "value": 100}, TODAY)
    assert same.faults == ()
