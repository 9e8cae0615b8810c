"""As-installed warnings on alarms and days: each planted, and none on a sound boat."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from upkeep.cli.check import check
from upkeep.records import load_fleet
from upkeep.records.installed import say_warnings

from .sound import PARTS, TODAY, line_of, look, new_remarks, sound_boat, write_kinds

Folder = Callable[..., Path]
ASK = "; have it checked by a competent person"
STOVE = {"stove": ("spirit-stove", "")}
BOTTLE = {"bottle": ("gas-bottle", "")}


def test_burning_aboard_without_an_alarm_for_carbon_monoxide(fleet_folder: Folder) -> None:
    boat = sound_boat(but=STOVE, without=("carbon",))
    (found,) = (w for w in look(fleet_folder, boat) if w.check != "stays-live")
    assert found.check == "no-carbon-monoxide-alarm"
    assert found.message == (
        "stove: carbon monoxide can gather in her, and no gas-alarm that detects "
        f"carbon-monoxide is recorded{ASK}"
    )
    assert found.line == line_of(boat, 'id = "stove"') - 1
    assert found.sources == ("scheme-carbon-monoxide-alarm", "practice-alarms-fitted")


@pytest.mark.parametrize(
    ("detects", "said"),
    [
        ("carbon-monoxide", []),
        ("several", []),
        ("lpg", ["no-carbon-monoxide-alarm"]),
        ("petrol", ["no-carbon-monoxide-alarm"]),
    ],
)
def test_alarm_for_another_gas_does_not_count(
    fleet_folder: Folder, detects: str, said: list[str]
) -> None:
    boat = sound_boat(but={**STOVE, "carbon": ("gas-alarm", f"detects = '{detects}'")})
    assert [name for name, _ in new_remarks(fleet_folder, boat)] == said


def test_whatever_burns_fuel_asks_for_an_alarm_sleeping_or_not(fleet_folder: Folder) -> None:
    boat = sound_boat(but=STOVE, without=("carbon",)).replace("sleeping = true\n", "")
    assert [name for name, _ in new_remarks(fleet_folder, boat)] == ["no-carbon-monoxide-alarm"]


def test_bottled_gas_without_an_alarm_that_detects_it(fleet_folder: Folder) -> None:
    assert new_remarks(fleet_folder, sound_boat(but=BOTTLE)) == [
        (
            "no-gas-alarm",
            "bottle: gas can collect low in her, and no gas-alarm that detects lpg is recorded"
            f"{ASK}",
        )
    ]
    for gas in ("lpg", "several"):
        boat = sound_boat(but={**BOTTLE, "sniffer": ("gas-alarm", f"detects = '{gas}'")})
        assert new_remarks(fleet_folder, boat) == []


def test_alarm_of_which_nobody_wrote_the_gas_is_a_gap(fleet_folder: Folder) -> None:
    boat = sound_boat(but={**STOVE, **BOTTLE, "carbon": ("gas-alarm", "")})
    assert new_remarks(fleet_folder, boat) == [
        ("alarm-unknown", "not checked, which gases she is watched for: record detects of carbon")
    ]


def test_sleeping_aboard_without_a_smoke_alarm(fleet_folder: Folder) -> None:
    boat = sound_boat(without=("smoke",))
    (found,) = (w for w in look(fleet_folder, boat) if w.check != "stays-live")
    assert found.check == "no-smoke-alarm"
    assert found.message == f"tern: people sleep aboard, and no smoke alarm is recorded{ASK}"
    assert found.line == line_of(boat, "sleeping = true")
    awake = boat.replace("sleeping = true\n", "")
    assert new_remarks(fleet_folder, awake) == []


def test_extinguisher_without_its_agent(fleet_folder: Folder) -> None:
    but = {"extinguisher": ("fire-extinguisher", "made = '2025'")}
    assert new_remarks(fleet_folder, sound_boat(but=but)) == [
        (
            "extinguisher-agent",
            "what is inside extinguisher is not recorded: read the label and write agent",
        )
    ]


@pytest.mark.parametrize(
    ("name", "kind", "fields", "said"),
    [
        # The last valid day of a month's stamp is the month's last (physics.md 9, EXP).
        ("flares", "flares", "expires = '2026-06'", "expires 2026-06, ran out on 30 June 2026"),
        ("flares", "flares", "expires = '2026-07'", ""),
        ("flares", "flares", "expires = 2026-07-01", ""),
        ("flares", "flares", "", ""),
        # Disposable extinguishers: 12 years; smoke alarms: 10 (the rules' own sources).
        ("extinguisher", "fire-extinguisher", "agent = 'foam'\nmade = '2013'",
         "made 2013, ran out on 31 December 2025"),
        ("extinguisher", "fire-extinguisher", "agent = 'foam'\nmade = '2014'", ""),
        ("extinguisher", "fire-extinguisher", "agent = 'foam'\nmade = '2013'\nrechargeable = true",
         ""),
        ("smoke", "smoke-alarm", "made = '2016-05'", "made 2016-05, ran out on 31 May 2026"),
    ],
)  # fmt: skip
def test_stamp_that_has_run_out(
    fleet_folder: Folder, name: str, kind: str, fields: str, said: str
) -> None:
    boat = sound_boat(but={name: (kind, fields)})
    found = [w for w in look(fleet_folder, boat) if w.check != "stays-live"]
    key, stamp = said.split(",", maxsplit=1)[0].split(" ") if said else ("", "")
    expected = [f"{name}: {said}: renew, or record {key} anew"] if said else []
    assert [w.message for w in found] == expected
    for warning in found:
        assert warning.check == "expired"
        assert warning.line == line_of(boat, f"{key} = '{stamp}'")
        assert warning.sources


def test_shorter_life_of_the_boats_own_book_counts(fleet_folder: Folder) -> None:
    own = """
[[limit]]
task = "smoke/renew"
expiry = "made"
life_months = 6
source = "the alarm's own book"
"""
    assert new_remarks(fleet_folder, sound_boat(more=own)) == [
        ("expired", "smoke: made 2025-06, ran out on 31 December 2025: renew, or record made anew")
    ]


def test_stamp_of_a_rule_the_boat_drops_is_not_looked_at(fleet_folder: Folder) -> None:
    drop = """
[[limit]]
task = "smoke/renew"
drop = true
source = "wired to the shore alarm"
"""
    boat = sound_boat(but={"smoke": ("smoke-alarm", "made = '2010'")}, more=drop)
    assert new_remarks(fleet_folder, boat) == []


def test_days_that_have_not_come(fleet_folder: Folder) -> None:
    boat = sound_boat().replace("handed_over = 2026-01-02", "handed_over = 2026-07-02")
    late = 'marked = "FLARES"\ninstalled = 2026-'
    boat = boat.replace(late + "01-01", late + "07-02")
    found = [w for w in look(fleet_folder, boat) if w.check != "stays-live"]
    assert [(w.check, w.message, w.line) for w in found] == [
        ("future", "tern is handed over on 2 July 2026, after today",
         line_of(boat, "handed_over")),
        ("future", "installed on 2 July 2026, after today: flares",
         line_of(boat, "installed = 2026-07-02")),
    ]  # fmt: skip
    assert new_remarks(fleet_folder, boat, today=date(2026, 7, 2)) == []


def test_parts_to_be_installed_on_one_day_are_one_line(fleet_folder: Folder) -> None:
    boat = sound_boat().replace("installed = 2026-01-01", "installed = 2026-07-02")
    ((check_id, message),) = new_remarks(fleet_folder, boat)
    assert check_id == "future"
    assert message.startswith("installed on 2 July 2026, after today: bank, bank-fuse, ")
    assert message.endswith(" more")


def test_work_outside_its_days_and_stays_without_end(fleet_folder: Folder) -> None:
    more = """
[[last_done]]
task = "strainer/clean-basket"
on = 2026-07-02

[[last_done]]
task = "strainer/clean-basket"
on = 2025-12-31

[[reading]]
component = "engine"
name = "engine_h"
on = 2026-07-02
value = 1

[[ashore]]
from = 2026-06-01

[[left]]
from = 2026-06-01
"""
    said = new_remarks(fleet_folder, sound_boat(more=more))
    assert sorted(said) == [
        ("future", "engine engine_h is read after today: not counted"),
        ("future", "strainer/clean-basket is done on 2026-07-02, after today: not counted"),
        ("history", "strainer/clean-basket was done before it was installed: not counted"),
        (
            "open-spell",
            "ashore since 1 June 2026 with no day of launching: nothing that depends on it has a "
            "date until `to` is written",
        ),
        (
            "open-spell",
            "left unused with no day of return: write `to` when somebody is back",
        ),
    ]


def test_book_has_the_warnings_but_neither_what_stays_live_nor_what_comes_later(
    fleet_folder: Folder,
) -> None:
    boat = sound_boat(but={"flares": ("flares", "expires = '2026-06'")})
    boat = boat.replace("handed_over = 2026-01-02", "handed_over = 2026-07-02")
    loaded = load_fleet(fleet_folder(vessels__tern=boat, catalogue__own=write_kinds()))
    (vessel,) = loaded.vessels
    assert say_warnings(loaded, vessel, TODAY) == (
        "distress flares: expires 2026-06, ran out on 30 June 2026: renew, or record expires anew",
    )


def test_check_lists_gaps_apart(fleet_folder: Folder) -> None:
    kind, fields = PARTS["lights"]
    but = {
        "lights": (kind, fields.replace("ampacity_a = 21, ", "")),
        "flares": ("flares", "expires = '2026-06'"),
    }
    folder = fleet_folder(vessels__tern=sound_boat(but=but), catalogue__own=write_kinds())
    result = CliRunner().invoke(check, [str(folder), "--today", "2026-07-01"])
    assert result.exit_code == 0
    titles = [line for line in result.output.splitlines() if line.endswith(":")]
    assert titles[:3] == ["Look at:", "Not recorded, so not checked:", "To complete the handbook:"]
    gaps = result.output.split(titles[1])[1].split(titles[2])[0]
    assert "[protection-unknown]" in gaps
    assert "[expired]" not in gaps
