"""As-installed warnings on circuits: each planted, and none on a sound boat.

Figures of cables and fuses: upkeep.physics.wiring (ABYC E-11, as reported).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from .sound import PARTS, line_of, look, new_remarks, sound_boat

Folder = Callable[..., Path]
ASK = "; have it checked by a competent person"


def feed(name: str, old: str, new: str) -> dict[str, tuple[str, str]]:
    """Write one part of the sound boat with a piece of its fields replaced."""
    kind, fields = PARTS[name]
    assert old in fields
    return {name: (kind, fields.replace(old, new))}


def test_sound_boat_has_only_what_stays_live(fleet_folder: Folder) -> None:
    boat = sound_boat()
    (said,) = look(fleet_folder, boat)
    assert said.check == "stays-live"
    assert said.message == "stays live with every breaker and isolator open: pump" + ASK
    assert said.line == line_of(boat, 'id = "pump"') - 1
    assert said.sources == ("practice-stays-live",)


def test_stays_live_lists_what_no_isolator_cuts_whatever_the_record_says(
    fleet_folder: Folder,
) -> None:
    but = feed("lights", "'bank-fuse', 'switch', 'lights-breaker'", "'pump-fuse'")
    (said,) = look(fleet_folder, sound_boat(but=but))
    assert said.message == "stays live with every breaker and isolator open: lights and pump" + ASK


def test_what_is_meant_to_stay_on_stays_live_behind_an_isolator_too(fleet_folder: Folder) -> None:
    kind, fields = PARTS["lights"]
    (said,) = look(fleet_folder, sound_boat(but={"lights": (kind, f"stays_live = true\n{fields}")}))
    assert said.message == "stays live with every breaker and isolator open: lights and pump" + ASK


@pytest.mark.parametrize(
    ("ampacity", "breaker", "draw", "said"),
    [
        # A breaker above the cable: 30 A is 143 % of 21 A, but 25 A is the next size made.
        (21, 30, 5, "breaker too large (lights-breaker 30 A, cable 21 A, load 5 A)"),
        (21, 25, 5, ""),  # the next size made above a cable that is none itself
        (20, 25, 5, "breaker too large (lights-breaker 25 A, cable 20 A, load 5 A)"),
        (21, 21, 5, ""),
        (21, 4, 5, "breaker too small (lights-breaker 4 A, cable 21 A, load 5 A)"),
        (21, 5, 5, ""),
        (21, 10, 22, "wire too small (lights-breaker 10 A, cable 21 A, load 22 A)"),
    ],
)
def test_protection_is_held_against_cable_and_load(
    fleet_folder: Folder, ampacity: float, breaker: float, draw: float, said: str
) -> None:
    kind, fields = PARTS["lights"]
    fields = fields.replace("draw_a = 5", f"draw_a = {draw}")
    fields = fields.replace("ampacity_a = 21", f"ampacity_a = {ampacity}")
    fields = fields.replace("cable_m = 5", "cable_m = 1")
    boat = sound_boat(
        but={"lights": (kind, fields), "lights-breaker": ("breaker", f"rating_a = {breaker}")}
    )
    found = [w for w in look(fleet_folder, boat) if w.check != "stays-live"]
    assert [w.message for w in found] == ([f"lights: {said}{ASK}"] if said else [])
    for warning in found:
        assert (warning.check, warning.sources) == ("protection", ("trade-overcurrent",))
        assert warning.line == line_of(boat, "'lights-breaker'")


def test_charger_output_is_the_load_of_its_cable(fleet_folder: Folder) -> None:
    but = {"charger": ("battery-charger", PARTS["charger"][1].replace("30", "45"))}
    assert new_remarks(fleet_folder, sound_boat(but=but)) == [
        ("protection", f"bank: fuse too small (charger-fuse 40 A, cable 50 A, load 45 A){ASK}")
    ]


BOARD = {"board": ("load", "fed_by = [{ from = 'bank', through = ['bank-fuse'], "
                   "ampacity_a = 120 }]")}  # fmt: skip
BEHIND_BOARD = "\nfed_by = [{ from = 'board', ampacity_a = %d }]"


@pytest.mark.parametrize(
    ("ampacity", "said"),
    [
        (120, []),
        (30, [("protection", f"horn: fuse too large (bank-fuse 100 A, cable 30 A){ASK}")]),
    ],
)
def test_fuse_further_up_guards_only_cables_it_is_rated_for(
    fleet_folder: Folder, ampacity: int, said: list[tuple[str, str]]
) -> None:
    horn = {"horn": ("load", BEHIND_BOARD % ampacity)}
    assert new_remarks(fleet_folder, sound_boat(but={**BOARD, **horn})) == said


def test_of_two_ways_the_one_less_guarded_counts(fleet_folder: Folder) -> None:
    kind, fields = BOARD["board"]
    both = fields.replace("}]", "}, { from = 'bank', through = ['pump-fuse'], ampacity_a = 10 }]")
    but = {"board": (kind, both), "horn": ("load", BEHIND_BOARD % 30)}
    assert new_remarks(fleet_folder, sound_boat(but=but)) == [
        ("protection", f"horn: fuse too large (bank-fuse 100 A, cable 30 A){ASK}")
    ]
    bare = both.replace("through = ['bank-fuse'], ", "")
    boat = sound_boat(but={"board": (kind, bare), "horn": ("load", BEHIND_BOARD % 30)})
    assert [check for check, _ in new_remarks(fleet_folder, boat)] == ["no-protection"]


def test_cable_without_ampacity_is_not_judged_by_its_cross_section(fleet_folder: Folder) -> None:
    but = {**feed("lights", "ampacity_a = 21, ", ""), **feed("pump", "ampacity_a = 21, ", "")}
    boat = sound_boat(but=but)
    found = [w for w in look(fleet_folder, boat) if w.check != "stays-live"]
    assert [(w.check, w.message, w.line) for w in found] == [
        (
            "protection-unknown",
            "not checked, whether fuse or breaker suits the cable: record ampacity_a of the "
            "cables to lights and pump; a cross-section alone does not tell it",
            line_of(boat, "'lights-breaker'"),
        )
    ]


def test_breaker_without_rating_is_named_once(fleet_folder: Folder) -> None:
    but = {"lights-breaker": ("breaker", "")}
    assert new_remarks(fleet_folder, sound_boat(but=but)) == [
        ("protection-unknown", "not checked, what they protect: record rating_a of lights-breaker")
    ]


def test_path_without_fuse_or_breaker_is_told_once_a_source(fleet_folder: Folder) -> None:
    but = {
        **feed("lights", "'bank-fuse', 'switch', 'lights-breaker'", "'switch'"),
        **feed("pump", "'pump-fuse'", ""),
    }
    boat = sound_boat(but=but)
    found = [w for w in look(fleet_folder, boat) if w.check != "stays-live"]
    assert [(w.check, w.message, w.line) for w in found] == [
        (
            "no-protection",
            f"no fuse or breaker is recorded between bank and lights and pump{ASK}",
            line_of(boat, "through = ['switch'], ampacity_a = 21"),
        )
    ]


@pytest.mark.parametrize("written", ["", "starts_engine = false\n"])
def test_starter_motor_may_go_without_a_fuse_once_it_is_known_as_one(
    fleet_folder: Folder, written: str
) -> None:
    kind, fields = PARTS["starter"]
    boat = sound_boat(but={"starter": (kind, fields.replace("starts_engine = true\n", written))})
    assert new_remarks(fleet_folder, boat) == [
        (
            "no-protection",
            "no fuse or breaker is recorded between bank and starter (of a starter motor, write "
            f"starts_engine = true){ASK}",
        )
    ]


def test_fuse_before_an_inverter_does_not_guard_what_it_feeds(fleet_folder: Folder) -> None:
    but = {
        "inverter": ("inverter", "fed_by = [{ from = 'bank', through = ['bank-fuse'], "
                     "ampacity_a = 120 }]"),
        "kettle": ("load", "draw_a = 8\nfed_by = [{ from = 'inverter' }]"),
    }  # fmt: skip
    assert new_remarks(fleet_folder, sound_boat(but=but)) == [
        ("no-protection", f"no fuse or breaker is recorded between inverter and kettle{ASK}")
    ]


def test_breaker_that_is_itself_fed_guards_its_own_cable(fleet_folder: Folder) -> None:
    but = {
        "lights-breaker": ("breaker", "rating_a = 10\nfed_by = [{ from = 'bank' , through = "
                           "['switch'], ampacity_a = 21 }]"),
        "lights": ("load", "draw_a = 5\nfed_by = [{ from = 'lights-breaker', ampacity_a = 21 }]"),
    }  # fmt: skip
    assert new_remarks(fleet_folder, sound_boat(but=but)) == []


def test_breaker_that_nobody_feeds_guards_what_is_behind_it(fleet_folder: Folder) -> None:
    lights = "draw_a = 5\nfed_by = [{ from = 'lights-breaker', ampacity_a = 21 }]"
    assert new_remarks(fleet_folder, sound_boat(but={"lights": ("load", lights)})) == []


# 2 x 10 m x I x 0.017871 / 2.5 mm2 (ABYC E-11 in SI): 0.143 V an ampere.
@pytest.mark.parametrize(
    ("name", "draw", "said"),
    [
        ("pump", 2.5, ""),  # 0.357 V, under 3 % of 12 V
        ("pump", 2.6, "0.37 V lost in the cable at 2.6 A, 3.1 % of 12 V; 3 % is the usual most "
         f"where safety hangs on it{ASK}"),
        ("lights", 8.3, ""),  # 1.187 V, under 10 %
        ("lights", 8.5, "1.2 V lost in the cable at 8.5 A, 10.1 % of 12 V; 10 % is the usual "
         f"most{ASK}"),
    ],
)  # fmt: skip
def test_voltage_drop_is_held_to_3_percent_where_safety_hangs_on_it(
    fleet_folder: Folder, name: str, draw: float, said: str
) -> None:
    kind, fields = PARTS[name]
    fields = fields.replace("draw_a = 5", f"draw_a = {draw}").replace("cable_m = 5", "cable_m = 10")
    boat = sound_boat(but={name: (kind, fields), "pump-fuse": ("fuse", "rating_a = 10")})
    expected = [("voltage-drop", f"{name}: {said}")] if said else []
    assert new_remarks(fleet_folder, boat) == expected


def test_voltage_drop_needs_length_and_cross_section(fleet_folder: Folder) -> None:
    kind, fields = PARTS["pump"]
    for missing in ("cable_mm2 = 2.5, ", ", cable_m = 5"):
        boat = sound_boat(but={"pump": (kind, fields.replace(missing, ""))})
        assert new_remarks(fleet_folder, boat) == []


TWO = "draw_a = 4\nfed_by = [{ from = 'shore', through = [%s'main', 'residual'], ampacity_a = 20 }"
OTHER = ", { from = 'inverter', through = [%s'inverter-breaker'], ampacity_a = 20 }]"
INVERTER = {
    "inverter": ("inverter", "fed_by = [{ from = 'bank', through = ['bank-fuse'], "
                 "ampacity_a = 120 }]"),
    "inverter-breaker": ("breaker", "rating_a = 16"),
    "changeover": ("main-breaker", "rating_a = 16\nchangeover = true"),
}  # fmt: skip


def test_two_sources_of_mains_need_a_switch_in_common(fleet_folder: Folder) -> None:
    heater = TWO % "" + OTHER % ""
    assert new_remarks(fleet_folder, sound_boat(but={**INVERTER, "heater": ("load", heater)})) == [
        (
            "two-sources",
            "heater: fed by shore and by inverter, and no changeover is recorded on both "
            f"paths to keep them apart{ASK}",
        )
    ]
    heater = TWO % "'changeover', " + OTHER % "'changeover', "
    boat = sound_boat(but={**INVERTER, "heater": ("load", heater)})
    assert new_remarks(fleet_folder, boat) == []
    plain = {**INVERTER, "changeover": ("main-breaker", "rating_a = 16")}
    boat = sound_boat(but={**plain, "heater": ("load", heater)})
    assert [name for name, _ in new_remarks(fleet_folder, boat)] == ["two-sources"]


def test_what_joins_behind_a_changeover_is_fed_from_one(fleet_folder: Folder) -> None:
    # The changeover takes both rows itself; the socket behind it has one row.
    rows = (TWO % "" + OTHER % "").replace("draw_a = 4\n", "rating_a = 16\nchangeover = true\n")
    socket = "draw_a = 4\nfed_by = [{ from = 'changeover', ampacity_a = 20 }]"
    but = {**INVERTER, "changeover": ("main-breaker", rows), "socket": ("load", socket)}
    assert new_remarks(fleet_folder, sound_boat(but=but)) == []


def test_two_rows_from_one_source_are_no_two_sources(fleet_folder: Folder) -> None:
    rows = TWO % "" + ", { from = 'shore', through = ['changeover', 'residual'], ampacity_a = 20 }]"
    boat = sound_boat(but={**INVERTER, "heater": ("load", rows)})
    assert new_remarks(fleet_folder, boat) == []


def test_consumer_nobody_feeds_is_named(fleet_folder: Folder) -> None:
    but = {"kettle": ("load", "draw_a = 8"), "fan": ("load", "draw_a = 1"), "dial": ("load", "")}
    boat = sound_boat(but=but)
    found = [w for w in look(fleet_folder, boat) if w.check == "unfed"]
    assert [(w.message, w.line) for w in found] == [
        (
            "nothing is recorded that feeds kettle and fan: write fed_by" + ASK,
            line_of(boat, 'id = "kettle"') - 1,
        )
    ]


def test_charger_above_the_banks_own_figure(fleet_folder: Folder) -> None:
    boat = sound_boat(but=feed("bank", "charge_max_a = 100", "charge_max_a = 25"))
    assert new_remarks(fleet_folder, boat) == [
        (
            "charge-current",
            f"bank: charger gives up to 30 A, and it may take 25 A (charge_max_a){ASK}",
        )
    ]
    equal = sound_boat(but=feed("bank", "charge_max_a = 100", "charge_max_a = 30"))
    assert new_remarks(fleet_folder, equal) == []
    unknown = sound_boat(but=feed("bank", "charge_max_a = 100\n", ""))
    assert new_remarks(fleet_folder, unknown) == [], "of lithium nothing is guessed"


# Acceptance from memory (physics.md 3): flooded 0.5 C an hour, absorbed mat 1.0 C.
@pytest.mark.parametrize(
    ("chemistry", "capacity", "said"),
    [("flooded", 60, False), ("flooded", 59, True), ("agm", 30, False), ("agm", 29, True)],
)
def test_charger_above_what_lead_acid_takes(
    fleet_folder: Folder, chemistry: str, capacity: int, said: bool
) -> None:
    fields = PARTS["bank"][1].replace("capacity_ah = 200\ncharge_max_a = 100", "")
    lead = f"capacity_ah = {capacity}\nchemistry = '{chemistry}'{fields}"
    found = new_remarks(fleet_folder, sound_boat(but={"bank": ("lead-acid-bank", lead)}))
    assert [check for check, _ in found] == (["charge-acceptance"] if said else [])
    if said and chemistry == "agm":
        assert found[0][1] == (
            "bank: charger gives up to 30 A, and a bank of its sort and size takes about 29 A "
            f"when empty (from memory: record the maker's figure, charge_max_a){ASK}"
        )


def test_alternator_is_left_to_its_regulator(fleet_folder: Folder) -> None:
    fields = PARTS["bank"][1].replace("capacity_ah = 200\ncharge_max_a = 100", "")
    lead = f"capacity_ah = 20\nchemistry = 'flooded'{fields}".replace("charger'", "alternator'", 1)
    but = {"bank": ("lead-acid-bank", lead), "alternator": ("alternator", "output_a = 35")}
    assert new_remarks(fleet_folder, sound_boat(but=but)) == []


def test_bilge_pump_behind_a_battery_isolator(fleet_folder: Folder) -> None:
    but = feed("pump", "['pump-fuse']", "['switch', 'pump-fuse']")
    assert new_remarks(fleet_folder, sound_boat(but=but)) == [
        ("bilge-isolator", f"pump: switch cuts it off, and then nothing pumps{ASK}")
    ]
    kind, fields = but["pump"]
    second = ", { from = 'bank', through = ['pump-fuse'], ampacity_a = 21 }]"
    both = {"pump": (kind, fields.replace(" }]", " }" + second))}
    assert new_remarks(fleet_folder, sound_boat(but=both)) == []


def test_bilge_pump_behind_its_own_breaker_is_not_cut_by_the_isolator(
    fleet_folder: Folder,
) -> None:
    but = feed("pump", "'pump-fuse'", "'lights-breaker'")
    assert new_remarks(fleet_folder, sound_boat(but=but)) == []


def test_shore_power_without_a_residual_current_device(fleet_folder: Folder) -> None:
    boat = sound_boat(but=feed("charger", "'main', 'residual'", "'main'"))
    found = [w for w in look(fleet_folder, boat) if w.check != "stays-live"]
    assert [(w.check, w.message, w.line) for w in found] == [
        (
            "no-residual-current-device",
            f"no residual current device is recorded between shore and charger{ASK}",
            line_of(boat, 'id = "shore"') - 1,
        )
    ]


def test_end_of_a_circuit_counts_though_its_kind_draws_nothing(fleet_folder: Folder) -> None:
    socket = "fed_by = [{ from = 'shore', through = ['main'], ampacity_a = 20 }]"
    assert new_remarks(fleet_folder, sound_boat(but={"socket": ("galley-socket", socket)})) == [
        (
            "no-residual-current-device",
            f"no residual current device is recorded between shore and socket{ASK}",
        )
    ]


def test_residual_current_device_may_feed_the_rest_itself(fleet_folder: Folder) -> None:
    but = {
        "residual": ("residual-current-device", "trip_ma = 30\nfed_by = [{ from = 'shore', "
                     "through = ['main'], ampacity_a = 20 }]"),
        **feed("charger", "from = 'shore', through = ['main', 'residual']", "from = 'residual'"),
    }  # fmt: skip
    assert new_remarks(fleet_folder, sound_boat(but=but)) == []


def test_inlet_that_feeds_nothing_is_not_judged(fleet_folder: Folder) -> None:
    boat = sound_boat(but={"second": ("shore-inlet", "rating_a = 16")})
    assert new_remarks(fleet_folder, boat) == [
        ("mains-unknown", "second: not checked, nothing is recorded as fed by it (fed_by)")
    ]


def test_many_names_are_cut_short(fleet_folder: Folder) -> None:
    fans = {f"fan-{n}": ("load", "draw_a = 1") for n in range(1, 13)}
    ((_, message),) = new_remarks(fleet_folder, sound_boat(but=fans))
    assert message == (
        "nothing is recorded that feeds fan-1, fan-2, fan-3, fan-4, fan-5, fan-6, fan-7, fan-8 "
        "and 4 more: write fed_by" + ASK
    )
