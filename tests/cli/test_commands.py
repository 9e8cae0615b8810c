"""The commands as a person types them: output, exit codes, what each writes."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from upkeep.cli import COMMANDS

ROOT = Path(__file__).parents[2]
BOAT = """
[vessel]
id = "tern"
name = "Tern"
type = "launch"
length_m = 8.2
water = "bay"
flag = "gb"
use = "private"
handed_over = 2026-05-01

[season]
launch = "04-01"
lay_up = "10-15"

[[component]]
id = "strainer"
kind = "sea-strainer"
name = "=HYPERLINK(1)"
location = "galley"
installed = 2026-05-01

[[component]]
id = "engine"
kind = "diesel-engine"
location = "aft"
installed = 2026-05-01

[[last_done]]
task = "strainer/clean-basket"
on = 2026-06-01
wear = 0.5
"""


def run(*arguments: str, cwd: Path = ROOT, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "upkeep", *arguments],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
    )


@pytest.fixture
def fleet(fleet_folder: Callable[..., Path]) -> Path:
    return fleet_folder(vessels__tern=BOAT)


def test_help_lists_every_command_and_imports_no_heavy_library() -> None:
    code = (
        "import sys, upkeep.cli;"
        "print(*sorted({'icalendar','jinja2','markdown','typst','dateutil'} & set(sys.modules)))"
    )
    loaded = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert loaded.stdout.strip() == ""
    shown = run("--help")
    assert shown.returncode == 0
    assert all(f"\n  {name}" in shown.stdout for name in COMMANDS)


def test_unknown_command_names_the_nearest_and_exits_2() -> None:
    wrong = run("hanbook")
    assert wrong.returncode == 2
    assert "Did you mean handbook?" in wrong.stderr


def test_due_json_has_the_promised_shape(fleet: Path) -> None:
    result = run("due", str(fleet), "--today", "2026-07-01", "--format", "json")
    assert result.returncode == 0
    assert result.stderr == ""
    data = json.loads(result.stdout)
    assert list(data) == ["today", "tasks", "problems"]
    assert list(data["tasks"][0]) == [
        "task", "vessel", "component", "rule", "title", "purpose", "due", "opens", "shown_on",
        "standing", "binding", "hand", "minutes", "out_of_water", "reasons", "moved", "sources",
        "then",
    ]  # fmt: skip
    assert list(data["tasks"][0]["reasons"][0]) == [
        "clock", "limit", "unit", "anchor", "allows", "text",
    ]  # fmt: skip
    days = [task["due"] or "9999" for task in data["tasks"]]
    assert days == sorted(days)
    unknown = [t for t in data["tasks"] if t["task"] == "tern/engine/change-oil"]
    assert [(t["standing"], t["due"]) for t in unknown] == [("unknown", None)]


def test_due_within_drops_what_is_later_and_what_has_no_date(fleet: Path) -> None:
    arguments = ("due", str(fleet), "--today", "2026-07-01", "--format", "json", "--within", "30")
    tasks = json.loads(run(*arguments).stdout)["tasks"]
    assert tasks
    assert all(task["due"] is not None and task["due"] <= "2026-07-31" for task in tasks)


def test_due_csv_cell_never_starts_a_formula(fleet: Path) -> None:
    result = run("kinds", "--format", "csv")
    for row in csv.reader(io.StringIO(result.stdout)):
        assert not any(cell.startswith(("=", "+", "-", "@")) for cell in row)
    text = BOAT.replace('name = "Tern"', 'name = "@SUM(A1)"')
    (fleet / "vessels" / "tern.toml").write_text(text)
    check = run("check", str(fleet), "--format", "csv")
    for row in csv.reader(io.StringIO(check.stdout)):
        assert not any(cell.startswith(("=", "+", "-", "@")) for cell in row)


def test_due_text_fits_eighty_columns(fleet: Path) -> None:
    lines = run("due", str(fleet), "--today", "2026-07-01").stdout.splitlines()
    assert max(map(len, lines)) <= 80
    assert "\x1b" not in "".join(lines)


@pytest.mark.parametrize("form", ["text", "json"])
def test_why_explains_a_task(fleet: Path, form: str) -> None:
    arguments = ("why", "tern/strainer/clean-basket", "--fleet", str(fleet))
    result = run(*arguments, "--today", "2026-07-01", "--format", form)
    assert result.returncode == 0, result.stderr
    if form == "json":
        data = json.loads(result.stdout)
        assert data["history"] == [
            {
                "on": "2026-06-01",
                "wear": 0.5,
                "counted": True,
                "text": "Done, found 50 % of the way to its limit "
                "(about: a quarter of the mesh covered)",
            }
        ]
        assert data["inputs"]["water"] == "the bay"
    else:
        assert "1 June 2026: done, found 50 % of the way to its limit" in result.stdout
        assert "this sets the date" in result.stdout


def test_why_of_an_unknown_task_names_the_nearest(fleet: Path) -> None:
    result = run("why", "tern/strainer/clean-baskets", "--fleet", str(fleet))
    assert result.returncode == 1
    assert "did you mean tern/strainer/clean-basket?" in result.stderr


def test_kinds_json_has_the_promised_shape() -> None:
    data = json.loads(run("kinds", "sea-strainer", "--format", "json").stdout)
    assert list(data) == ["kinds", "sources"]
    kind = data["kinds"][0]
    assert list(kind) == ["kind", "title", "fields", "readings", "rules"]
    assert list(kind["rules"][0]) == [
        "rule", "title", "purpose", "limits", "when", "without_season", "evidence", "window_days",
        "least_days", "isolates", "place", "binding", "scopes", "hand", "skills", "licence",
        "minutes", "out_of_water", "sources", "on_request",
    ]  # fmt: skip
    named = {name for rule in kind["rules"] for name in rule["sources"]}
    assert {source["id"] for source in data["sources"]} == named


def test_new_refuses_a_folder_that_holds_something(fleet: Path) -> None:
    before = sorted(fleet.rglob("*"))
    result = run("new", str(fleet))
    assert result.returncode == 1
    assert "is not empty" in result.stderr
    assert sorted(fleet.rglob("*")) == before


def test_new_then_check_has_no_problem(tmp_path: Path) -> None:
    assert run("new", "boats", cwd=tmp_path).returncode == 0
    result = run("check", "boats", "--format", "json", cwd=tmp_path)
    assert result.returncode == 0
    assert json.loads(result.stdout)["problems"] == []
    first = (tmp_path / "boats" / "vessels" / "first-boat.toml").read_text()
    assert run("new", "others", cwd=tmp_path).returncode == 0
    second = (tmp_path / "others" / "vessels" / "first-boat.toml").read_text()
    assert first != second, "each boat has a key of her own"


def test_folder_without_fleet_is_told_what_to_do(tmp_path: Path) -> None:
    result = run("due", str(tmp_path))
    assert result.returncode == 1
    assert "walkround new FOLDER makes a fleet" in result.stderr


def test_impossible_today_is_a_usage_error(fleet: Path) -> None:
    result = run("due", str(fleet), "--today", "2026-02-30")
    assert result.returncode == 2
    assert "write YYYY-MM-DD" in result.stderr


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_day_no_boat_will_see_is_a_usage_error(fleet: Path, day: str) -> None:
    result = run("due", str(fleet), "--today", day)
    assert result.returncode == 2
    assert "is not from 1900-01-01 to 2200-12-31" in result.stderr


def test_console_without_degrees_and_arrows_still_prints(fleet: Path) -> None:
    arguments = ("why", "tern/strainer/clean-basket", "--fleet", str(fleet))
    assert run(*arguments, PYTHONIOENCODING="ascii").returncode == 0
    result = run("due", str(fleet), "--format", "json", PYTHONIOENCODING="ascii")
    texts = [r["text"] for t in json.loads(result.stdout)["tasks"] for r in t["reasons"]]
    assert any("°C" in text for text in texts), "JSON loses nothing"


def test_why_explains_a_task_that_has_an_occasion_and_no_date(fleet: Path) -> None:
    result = run("why", "tern/engine/check-before-start", "--fleet", str(fleet))
    assert result.returncode == 0, result.stderr
    assert "It has no date: it is done each time before you start up." in result.stdout


def test_fixed_calendar_is_never_written_over_a_living_one(fleet: Path, tmp_path: Path) -> None:
    arguments = ("feed", str(fleet), "--to", str(tmp_path / "out"))
    assert run(*arguments).returncode == 0
    living = (tmp_path / "out" / "feeds" / "tern.ics").read_bytes()
    refused = run(*arguments, "--static")
    assert refused.returncode == 1
    assert "write the fixed one to another folder" in refused.stderr
    assert (tmp_path / "out" / "feeds" / "tern.ics").read_bytes() == living


def test_publish_of_one_vessel_leaves_the_others_on_the_index(fleet: Path, tmp_path: Path) -> None:
    (fleet / "vessels" / "knot.toml").write_text(
        BOAT.replace('id = "tern"', 'id = "knot"').replace('"Tern"', '"Knot"')
    )
    arguments = ("publish", str(fleet), "--to", str(tmp_path / "out"), "--no-pdf")
    assert run(*arguments).returncode == 0
    assert run(*arguments, "--vessel", "tern").returncode == 0
    assert "Knot" in (tmp_path / "out" / "index.html").read_text()


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_every_command_takes_the_common_options(command: str) -> None:
    text = run(command, "--help").stdout
    for option in ("--today", "--format", "--vessel"):
        assert option in text, (command, option)
    assert "[text|json|csv" in text


def test_what_was_written_is_told_in_every_form(fleet: Path, tmp_path: Path) -> None:
    day, to = ("--today", "2026-07-01"), tmp_path / "out"
    made = run("feed", str(fleet), "--to", str(to), *day, "--format", "json")
    assert json.loads(made.stdout) == {"written": ["feeds/tern.ics"], "vessels": 1, "stopped": []}
    again = run("feed", str(fleet), "--to", str(to), *day, "--format", "csv")
    assert again.stdout == "what,name\n"
    one, other = str(to / "feeds/tern.ics"), tmp_path / "later"
    run("feed", str(fleet), "--to", str(other), "--today", "2026-07-09")
    arguments = ("feed", "--compare", one, str(other / "feeds/tern.ics"))
    changes = json.loads(run(*arguments, "--format", "json").stdout)["changes"]
    assert changes == run(*arguments).stdout.splitlines()


def test_new_names_the_vessels_asked_for(tmp_path: Path) -> None:
    made = run("new", str(tmp_path / "x"), "--vessel", "little-tern", "--vessel", "knot",
               "--format", "json")  # fmt: skip
    assert json.loads(made.stdout)["written"] == [
        "fleet.toml", "vessels/little-tern.toml", "vessels/knot.toml",
    ]  # fmt: skip
    checked = run("check", str(tmp_path / "x"), "--format", "json")
    assert json.loads(checked.stdout)["problems"] == []
    assert run("new", str(tmp_path / "y"), "--vessel", "No Id").returncode == 1
    assert not (tmp_path / "y").exists()


def test_kinds_of_one_vessel_and_why_of_hers(fleet: Path) -> None:
    aboard = run("kinds", "--fleet", str(fleet), "--vessel", "tern", "--format", "json").stdout
    assert [row["kind"] for row in json.loads(aboard)["kinds"]] == ["diesel-engine", "sea-strainer"]
    task = ("--fleet", str(fleet), "--today", "2026-07-01", "--format", "csv")
    whole = run("why", "tern/strainer/clean-basket", *task)
    assert whole.stdout.startswith("clock,limit,unit,anchor,allows,text\n")
    assert run("why", "strainer/clean-basket", "--vessel", "tern", *task).stdout == whole.stdout
    assert run("why", "tern/strainer/clean-basket", "--vessel", "x", *task).returncode == 1


def test_check_says_on_what_a_remark_rests(fleet: Path) -> None:
    path = fleet / "vessels/tern.toml"
    path.write_text(path.read_text() + (
        '\n[[component]]\nid = "anode"\nkind = "hull-anode"\nalloy = "magnesium"\n'
        'location = "keel"\ninstalled = 2026-05-01\n'
    ))  # fmt: skip
    said = run("check", str(fleet)).stderr
    assert "anode: magnesium does not work in sea water; have it checked" in said
    assert "\nWhat these rest on:\n  anode-alloy: Commonly advised" in said
    found = json.loads(run("check", str(fleet), "--format", "json").stdout)["warnings"]
    assert all(row["sources"] for row in found if row["check"] == "anode-alloy")
