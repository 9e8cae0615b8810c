"""The logbook through the commands: recorded in a line, seen in the dates, taken back whole."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from .test_commands import BOAT, run

DAY = ("--today", "2026-07-01")
TASK = "tern/strainer/clean-basket"


@pytest.fixture
def fleet(fleet_folder: Callable[..., Path]) -> Path:
    flares = (
        '\n[[component]]\nid = "flares"\nkind = "flares"\nexpires = "2026-03"\n'
        'location = "locker"\ninstalled = 2026-05-01\n'
    )
    return fleet_folder(vessels__tern=BOAT + flares)


def due_of(fleet: Path, task: str) -> str | None:
    rows = json.loads(run("due", str(fleet), *DAY, "--format", "json").stdout)["tasks"]
    found: str | None = next(row["due"] for row in rows if row["task"] == task)
    return found


def record(fleet: Path, *arguments: str) -> dict[str, object]:
    made = run(*arguments, "--fleet", str(fleet), *DAY, "--format", "json")
    assert made.returncode == 0, made.stderr
    answer: dict[str, object] = json.loads(made.stdout)
    assert list(answer) == ["entry", "new"]
    return answer


def test_work_moves_the_date_once_and_undo_brings_every_byte_back(
    fleet: Path, tmp_path: Path
) -> None:
    def outputs(name: str) -> dict[str, bytes]:
        to = tmp_path / name
        assert run("publish", str(fleet), "--to", str(to), "--no-pdf", *DAY).returncode == 0
        shown = {p.name: p.read_bytes() for p in to.rglob("*") if p.is_file()}
        return {**shown, "due": run("due", str(fleet), *DAY).stdout.encode()}

    before, base = outputs("one"), due_of(fleet, TASK)
    said = ("done", TASK, "--on", "2026-06-29", "--finding", "a few strands or shells")
    first = record(fleet, *said)
    assert first["new"] is True
    moved = due_of(fleet, TASK)
    assert moved is not None
    assert base is not None
    assert moved > base
    assert record(fleet, *said) == {"entry": first["entry"], "new": False}
    assert outputs("two") != before
    record(fleet, "done", "--undo", str(first["entry"])[:6])
    assert outputs("three") == before
    rows = json.loads(run("log", str(fleet), "--format", "json").stdout)["rows"]
    assert [(row["kind"], row["stands"]) for row in rows] == [("done", False), ("undo", True)]


def test_reading_and_stamp_reach_the_dates(fleet: Path) -> None:
    record(fleet, "read", "tern/engine", "engine_h", "412.5", "--on", "2026-06-20")
    assert due_of(fleet, "tern/flares/renew") == "2026-03-31"
    record(fleet, "done", "tern/flares/renew", "--on", "2026-06-25", "--stamp", "2030-08")
    assert due_of(fleet, "tern/flares/renew") == "2030-08-31"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("done", "tern/strainer/clean-baskt", "--on", "2026-06-29"), "clean-basket"),
        (("done", TASK, "--on", "2026-07-02"), "2026"),
        (("done", TASK, "--on", "2026-04-30"), "install"),
        (("done", TASK, "--on", "2026-06-29", "--wear", "7"), "--wear"),
        (("done", TASK, "--on", "2026-06-29", "--finding", "green"), "--finding"),
        (("read", "tern/engine", "engine_hours", "5", "--on", "2026-06-29"), "engine_h"),
        (("read", "tern/engine", "engine_h", "-5", "--on", "2026-06-29"), "--value"),
        (("done", "--undo", "abc"), "abc"),
    ],
)
def test_what_does_not_fit_is_refused_and_nothing_written(
    fleet: Path, arguments: tuple[str, ...], said: str
) -> None:
    made = run(*arguments, "--fleet", str(fleet), *DAY)
    assert made.returncode in (1, 2)
    assert said in made.stderr
    assert run("log", str(fleet)).stdout.startswith("Nothing is recorded yet")


def test_export_and_import_make_the_same_log(
    fleet: Path, fleet_folder: Callable[..., Path], tmp_path: Path
) -> None:
    record(fleet, "done", TASK, "--on", "2026-06-29", "--wear", "0.3", "--note", "weed")
    record(fleet, "read", "tern/engine", "engine_h", "412.5", "--on", "2026-06-20")
    out = tmp_path / "all.jsonl"
    assert run("export", str(fleet), "--to", str(out)).returncode == 0
    log = run("log", str(fleet), "--format", "json").stdout
    (fleet / "logbook.sqlite").unlink()
    dry = run("import", str(out), "--fleet", str(fleet), "--dry-run", "--format", "json")
    assert json.loads(dry.stdout)["new"] == 2
    assert not (fleet / "logbook.sqlite").exists()
    assert run("import", str(out), "--fleet", str(fleet)).returncode == 0
    assert run("log", str(fleet), "--format", "json").stdout == log


def test_a_table_of_old_records_names_every_bad_row(fleet: Path, tmp_path: Path) -> None:
    table = tmp_path / "old.csv"
    table.write_text(
        "what,vessel,task,on,wear\n"
        "done,tern,strainer/clean-basket,2026-06-10,0.4\n"
        "done,tern,strainer/clean-baskt,2026-06-11,0.4\n"
        "done,tern,strainer/clean-basket,2026-06-12,9\n"
    )
    bad = run("import", str(table), "--fleet", str(fleet), *DAY)
    assert bad.returncode == 1
    assert [line.split(":")[1] for line in bad.stderr.splitlines()] == ["3", "4"]
    assert run("log", str(fleet)).stdout.startswith("Nothing")


def test_check_names_an_entry_that_was_changed(fleet: Path) -> None:
    record(fleet, "done", TASK, "--on", "2026-06-29", "--note", "weed in it")
    assert run("check", str(fleet), *DAY).returncode == 0
    path = fleet / "logbook.sqlite"
    whole = path.read_bytes()
    assert whole.count(b"weed in it") >= 1
    path.write_bytes(whole.replace(b"weed in it", b"Weed in it"))
    said = run("check", str(fleet), *DAY)
    assert said.returncode == 1
    assert "logbook.sqlite:1: entry 1" in said.stdout
