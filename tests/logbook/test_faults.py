"""What must not lose or split a logbook, done to it for real."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import IO, Any

import pytest

from tests.logbook.books import NOON, ROOT, draft
from tests.logbook.conftest import Place
from upkeep.errors import UpkeepError
from upkeep.logbook import FILE, Break, Logbook

WRITER = [sys.executable, "-m", "tests.logbook.writer"]


def _start(*arguments: str) -> subprocess.Popen[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(
        [*WRITER, *arguments], cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True
    )


def _out(process: subprocess.Popen[str]) -> IO[str]:
    assert process.stdout is not None
    return process.stdout


@pytest.mark.slow
@pytest.mark.parametrize("acknowledged", [1, 137, 460])
def test_writer_killed_keeps_every_acknowledged_entry(place: Place, acknowledged: int) -> None:
    with _start("write", place.url or str(place.folder), "skua", "500", "0") as process:
        told = [json.loads(_out(process).readline())[0] for _ in range(acknowledged)]
        process.kill()
        told += [json.loads(line)[0] for line in _out(process) if line.endswith("\n")]
    with place.open() as logbook:
        there = [entry.id for entry in logbook.entries()]
        assert there[: len(told)] == told
        assert len(told) <= len(there) <= len(told) + 1  # one may be written and not yet told
        assert logbook.verify() is None
        entry, is_new = logbook.record_all([draft(9999)])[0]
        assert (entry.seq, is_new) == (len(there) + 1, True)


@pytest.mark.slow
def test_writer_killed_within_a_step_leaves_nothing_of_it(place: Place) -> None:
    with place.open() as logbook:
        logbook.record_all([draft(-1)])
    with _start("hold", place.url or str(place.folder), "300") as process:
        assert _out(process).readline() == "held\n"
        process.kill()
    with place.open() as logbook:
        assert logbook.head().seq == 1
        assert logbook.record_all([draft(1)])[0][1]
        assert logbook.verify() is None


@pytest.mark.slow
def test_two_processes_writing_lose_nothing_and_split_nothing(place: Place) -> None:
    where, count, common = place.url or str(place.folder), 1000, 50
    writers = [_start("write", where, name, str(count), str(common)) for name in ("skua", "tern")]
    told = [
        [json.loads(line) for line in writer.communicate()[0].splitlines()] for writer in writers
    ]
    assert [len(lines) for lines in told] == [count, count]
    new = [name for lines in told for name, is_new in lines if is_new]
    with place.open(write=False) as logbook:
        assert logbook.verify() is None
        there = [entry.id for entry in logbook.entries()]
        assert sorted(there) == sorted(new)
        assert len(there) == 2 * count - common  # what both record is there once
        assert {name for lines in told for name, _ in lines} == set(there)


def _fill(folder: str, filler: str = "", prefix: tuple[str, ...] = ()) -> list[Any]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [*prefix, *WRITER, "fill", folder, filler]
    run = subprocess.run(
        command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr
    found: list[Any] = json.loads(run.stdout)
    return found


def _check_filled(told: list[Any], words: str) -> None:
    made, error, is_whole, there, again, is_whole_again = told
    assert words in error
    assert "record it again" in error
    assert len(made) > 10
    assert there == made
    assert is_whole
    assert again == [False, True]
    assert is_whole_again


@pytest.mark.slow
def test_file_that_may_not_grow_leaves_nothing_half_written(tmp_path: Path) -> None:
    _check_filled(_fill(str(tmp_path)), "refused by the disk")


@pytest.mark.slow
def test_disk_that_is_full_leaves_nothing_half_written(tmp_path: Path) -> None:
    """A disk of 600 kB, where this system lets us mount one; else a limit on the file."""
    disk = tmp_path / "disk"
    disk.mkdir()
    script = (
        f"mount -t tmpfs -o size=600k tmpfs '{disk}' && "
        f"head -c 200000 /dev/zero >'{disk}/filler' && exec \"$@\""
    )
    prefix = ("unshare", "--user", "--map-root-user", "--mount", "sh", "-c", script, "sh")
    probe: Any = None
    with suppress(FileNotFoundError):
        probe = subprocess.run([*prefix, "true"], capture_output=True, check=False)
    if probe is not None and probe.returncode == 0:
        _check_filled(_fill(str(disk), str(disk / "filler"), prefix), "the disk is full")
    else:
        _check_filled(_fill(str(disk)), "refused by the disk")


def _filled(fresh: Callable[[], Place], count: int = 40) -> Place:
    place = fresh()
    with place.open() as logbook:
        logbook.record_all(draft(number, ("skua", "tern")[number % 2]) for number in range(count))
        third = list(logbook.entries())[2]
        logbook.undo(third, recorded_at=NOON)
    return place


@pytest.mark.parametrize("column", ["id", "vessel", "kind", "facts", "recorded_at", "hash"])
def test_byte_flipped_in_an_entry_is_found_and_named(
    fresh: Callable[[], Place], column: str
) -> None:
    place = _filled(fresh)
    assert place.folder is not None
    file = place.folder / FILE
    with place.open(write=False) as logbook:
        entry = list(logbook.entries())[16]
    columns = ("id", "vessel", "kind", "facts", "recorded_at", "previous", "hash")
    cells = place.run(f"SELECT {', '.join(columns)} FROM entry WHERE seq = 17")[0]
    before = "".join(cells[: columns.index(column)]).encode()
    data = bytearray(file.read_bytes())
    start = data.index("".join(cells).encode()) + len(before)
    data[start + len(cells[columns.index(column)]) // 2] ^= 0x01
    file.write_bytes(data)
    with place.open(write=False) as logbook:
        broken = logbook.verify()
    assert broken is not None
    assert broken.seq == 17
    if column != "id":
        assert broken.id == entry.id
    assert str(broken).startswith("entry 17 (")


def test_any_byte_flipped_is_found_or_changes_nothing(fresh: Callable[[], Place]) -> None:
    place = _filled(fresh)
    assert place.folder is not None
    file = place.folder / FILE
    whole = file.read_bytes()
    with place.open(write=False) as logbook:
        entries, standing = list(logbook.entries()), list(logbook.standing())
    random, found = Random(7), 0
    for _ in range(250):
        data = bytearray(whole)
        data[random.randrange(len(data))] ^= 1 << random.randrange(8)
        file.write_bytes(data)
        broken: object
        try:
            with place.open(write=False) as logbook:
                broken = logbook.verify()
                if broken is None:
                    assert list(logbook.entries()) == entries
                    assert list(logbook.standing()) == standing
        except UpkeepError as error:
            broken = error
        found += broken is not None
    assert found > 50  # most of the file is filled


TRIGGERS = ["entry_no_update", "entry_no_delete"]


@pytest.mark.parametrize(
    ("change", "seq", "words"),
    [
        ("UPDATE entry SET facts = replace(facts, '\"minutes\":5', '\"minutes\":6') WHERE seq = 6",
         6, "its hash does not match"),
        ("UPDATE entry SET undoes = NULL WHERE undoes IS NOT NULL", 41, "filed as the undo"),
        ("UPDATE entry SET recorded_at = 'yesterday' WHERE seq = 3", 3, "not what was recorded"),
        ("UPDATE entry SET facts = 'nothing' WHERE seq = 3", 3, "not what was recorded"),
        ("DELETE FROM entry WHERE seq = 7", 7, "entries are missing"),
        ("DELETE FROM entry WHERE seq < 3", 1, "entries are missing"),
    ],
)  # fmt: skip
def test_change_behind_the_triggers_is_found_and_named(
    place: Place, change: str, seq: int, words: str
) -> None:
    with place.open() as logbook:
        logbook.record_all(draft(number) for number in range(40))
        logbook.undo(next(logbook.entries()), recorded_at=NOON)
    for name in TRIGGERS:
        on = " ON entry" if place.url else ""
        if not (place.url and name == "entry_no_delete"):
            place.run(f"DROP TRIGGER {name}{on}")
    place.run(change)
    with place.open(write=False) as logbook:
        broken = logbook.verify()
    assert broken is not None
    assert broken.seq == seq
    assert words in str(broken)


def test_entry_that_cannot_be_read_is_told_where_it_is_needed(fresh: Callable[[], Place]) -> None:
    place = _filled(fresh)
    place.run("DROP TRIGGER entry_no_update")
    place.run("UPDATE entry SET facts = x'ff' WHERE seq = 5")
    with place.open(write=False) as logbook:
        with pytest.raises(UpkeepError, match="entry 5 of the logbook is damaged"):
            list(logbook.entries())
        broken = logbook.verify()
    assert broken is not None
    assert replace(broken, words="") == Break(seq=5, id=broken.id, words="")


def test_logbook_held_by_another_program_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sqlite3

    from upkeep.logbook import database

    place = Place(tmp_path, None)
    monkeypatch.setattr(database, "WAIT_S", 0.05)
    with place.open() as logbook:
        other = sqlite3.connect(tmp_path / FILE, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(UpkeepError, match="held by another program"):
            logbook.record_all([draft(1)])
        assert logbook.head().seq == 0
        other.close()
        assert logbook.record_all([draft(1)])[0][1]


@pytest.mark.slow
def test_server_that_hangs_up_is_told_and_asked_again(in_postgresql: Place) -> None:
    hang_up = (
        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
        "WHERE datname = current_database() AND pid <> pg_backend_pid()"
    )
    with in_postgresql.open() as logbook:
        made = logbook.record_all([draft(1)])[0][0]
        in_postgresql.run(hang_up)
        with pytest.raises(UpkeepError, match="cannot be reached"):
            logbook.record_all([draft(2)])
        assert logbook.record_all([draft(1)])[0] == (made, False)
        assert logbook.record_all([draft(2)])[0][1]
        with pytest.raises(UpkeepError, match="cannot be reached"):
            _record_and(logbook, lambda: in_postgresql.run(hang_up))
        assert logbook.head().seq == 2
        assert logbook.verify() is None


def _record_and(logbook: Logbook, happens: Callable[[], object]) -> None:
    with logbook.writing() as pen:
        pen.record(draft(3))
        happens()


def test_threads_take_turns_at_one_open_logbook(place: Place) -> None:
    from concurrent.futures import ThreadPoolExecutor

    with place.open() as logbook:

        def write(number: int) -> bool:
            list(logbook.entries("skua"))
            return logbook.record_all([draft(number % 40)])[0][1]

        with ThreadPoolExecutor(4) as pool:
            new = list(pool.map(write, range(80)))
        assert sum(new) == 40
        assert [entry.seq for entry in logbook.entries()] == list(range(1, 41))
        assert logbook.verify() is None
