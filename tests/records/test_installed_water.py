"""As-installed warnings on raw water and anodes: each planted, and none on a sound boat.

Alloys by water: two chandlers' anode guides (physics.md 6).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import FLEET

from .sound import line_of, look, new_remarks, sound_boat

Folder = Callable[..., Path]
ASK = "; have it checked by a competent person"


def test_loop_that_begins_without_a_seacock(fleet_folder: Folder) -> None:
    boat = sound_boat(but={"strainer": ("sea-strainer", "")})
    found = [w for w in look(fleet_folder, boat) if w.check != "stays-live"]
    assert [(w.check, w.message, w.line) for w in found] == [
        (
            "no-seacock",
            "no seacock is recorded before strainer and what it feeds: sea-pump, bleed, unit and "
            f"outlet{ASK}",
            line_of(boat, 'id = "strainer"') - 1,
        )
    ]


def test_one_of_two_inlets_without_a_seacock(fleet_folder: Folder) -> None:
    but = {
        "sea-pump": ("raw-water-pump", "water_from = ['strainer', 'other']"),
        "other": ("sea-strainer", ""),
    }
    assert [check for check, _ in new_remarks(fleet_folder, sound_boat(but=but))] == ["no-seacock"]


@pytest.mark.parametrize("cooling", ["sea-water", "heat-exchanger"])
def test_engine_without_water_from_is_a_gap(fleet_folder: Folder, cooling: str) -> None:
    boat = sound_boat(but={"engine": ("diesel-engine", f"cooling = '{cooling}'")})
    found = [w for w in look(fleet_folder, boat) if w.check != "stays-live"]
    assert [(w.check, w.message, w.line) for w in found] == [
        (
            "water-unknown",
            "not checked, where the sea water of engine comes from: record water_from",
            line_of(boat, 'id = "engine"') - 1,
        )
    ]


def test_loop_nobody_joined_up_is_one_gap(fleet_folder: Folder) -> None:
    but = {"strainer": ("sea-strainer", ""), "sea-pump": ("raw-water-pump", ""),
           "bleed": ("air-bleed", ""), "unit": ("climate-unit", "")}  # fmt: skip
    assert new_remarks(fleet_folder, sound_boat(but=but, without=("outlet",))) == [
        (
            "water-unknown",
            "not checked, where the sea water of strainer, sea-pump and unit comes from: record "
            "water_from",
        )
    ]


def test_engine_cooled_by_the_hull_needs_no_seacock(fleet_folder: Folder) -> None:
    boat = sound_boat(but={"engine": ("diesel-engine", "cooling = 'keel'")})
    assert new_remarks(fleet_folder, boat) == []


def test_strainer_after_its_pump(fleet_folder: Folder) -> None:
    but = {
        "sea-pump": ("raw-water-pump", "water_from = ['seacock']"),
        "strainer": ("sea-strainer", "water_from = ['sea-pump']"),
        "bleed": ("air-bleed", "water_from = ['strainer']"),
    }
    boat = sound_boat(but=but)
    found = [w for w in look(fleet_folder, boat) if w.check != "stays-live"]
    assert [(w.check, w.message, w.line) for w in found] == [
        (
            "strainer-after-pump",
            "strainer: stands after sea-pump, which it should keep clean" + ASK,
            line_of(boat, "water_from = ['sea-pump']"),
        )
    ]


def test_climate_loop_without_a_bleed(fleet_folder: Folder) -> None:
    but = {"unit": ("climate-unit", "water_from = ['sea-pump']")}
    assert new_remarks(fleet_folder, sound_boat(but=but, without=("bleed",))) == [
        (
            "no-air-bleed",
            "unit: no air bleed is recorded in its water; air in it stops the flow" + ASK,
        )
    ]
    # A bleed that branches off counts; one in the engine's loop, past the shared seacock, not.
    assert new_remarks(fleet_folder, sound_boat(but=but)) == []
    but["bleed"] = ("air-bleed", "water_from = ['engine-strainer']")
    assert [check for check, _ in new_remarks(fleet_folder, sound_boat(but=but))] == [
        "no-air-bleed"
    ]


@pytest.mark.parametrize(
    ("salinity", "alloy", "said"),
    [
        ("sea", "magnesium", "magnesium does not work in sea water" + ASK),
        ("brackish", "zinc", "zinc works poorly in brackish water" + ASK),
        ("fresh", "zinc", "zinc does not work in fresh water" + ASK),
        ("fresh", "aluminium", "aluminium works poorly in fresh water" + ASK),
        ("sea", "aluminium", ""),
        ("brackish", "aluminium", ""),
        ("fresh", "magnesium", ""),
    ],
)
def test_alloy_is_held_against_the_water(
    fleet_folder: Folder, salinity: str, alloy: str, said: str
) -> None:
    boat = sound_boat(but={"hull-zinc": ("hull-anode", f"alloy = '{alloy}'")},
                      without=("shaft-zinc",))  # fmt: skip
    fleet = FLEET.replace('salinity = "sea"', f'salinity = "{salinity}"')
    found = [w for w in look(fleet_folder, boat, fleet=fleet) if w.check != "stays-live"]
    assert [w.message for w in found] == ([f"hull-zinc: {said}"] if said else [])
    assert {w.check for w in found} <= {"anode-alloy"}


def test_alloys_are_not_mixed(fleet_folder: Folder) -> None:
    boat = sound_boat(but={"hull-zinc": ("hull-anode", "alloy = 'aluminium'")})
    found = [w for w in look(fleet_folder, boat) if w.check != "stays-live"]
    assert [(w.check, w.message, w.line) for w in found] == [
        (
            "anode-mixed",
            "anodes of several metals: hull-zinc aluminium and shaft-zinc zinc; on one bonded "
            "system use one" + ASK,
            line_of(boat, "alloy = 'zinc'"),
        )
    ]


def test_anode_of_unknown_alloy_is_not_mixed(fleet_folder: Folder) -> None:
    assert new_remarks(fleet_folder, sound_boat(but={"hull-zinc": ("hull-anode", "")})) == []
