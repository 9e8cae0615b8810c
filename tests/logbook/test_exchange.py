from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.logbook.books import NOON, draft
from tests.logbook.conftest import Place
from upkeep.errors import UpkeepError
from upkeep.logbook import Draft, Entry, Logbook
from upkeep.logbook.exchange import export, import_export


def _read(number: int, vessel: str = "skua") -> Draft:
    facts = {"component": "engine", "name": "engine_h", "on": "2026-05-01", "value": number + 0.5}
    return Draft(vessel=vessel, kind="read", facts=facts, recorded_at=NOON)


def _season(logbook: Logbook) -> list[Entry]:
    """Fill a logbook with work, readings, what was taken back, put back and made again."""
    for number in range(6):
        logbook.record_all([draft(number), _read(number, ("skua", "tern")[number % 2])])
    made = list(logbook.entries())
    undo, _ = logbook.undo(made[0], recorded_at=NOON)
    logbook.undo(made[3], recorded_at=NOON)
    logbook.undo(undo, recorded_at=NOON)
    logbook.undo(made[2], recorded_at=NOON)
    logbook.record_all([draft(1)])
    return list(logbook.entries())


def test_export_into_an_empty_logbook_makes_the_same_chain(place: Place, tmp_path: Path) -> None:
    file = tmp_path / "all.jsonl"
    with place.open() as logbook:
        entries = _season(logbook)
        head = logbook.head()
        assert export(logbook, file) == len(entries) == len(file.read_text("utf-8").splitlines())
    other = Place(tmp_path / "other", None)
    (tmp_path / "other").mkdir()
    with other.open() as logbook:
        report = import_export(logbook, file, dry_run=False)
        assert (report.rows, report.new, report.known) == (len(entries), len(entries), 0)
        assert logbook.head() == head
        assert list(logbook.entries()) == entries
        assert logbook.verify() is None
        again = import_export(logbook, file, dry_run=False)
        assert (again.new, again.known) == (0, len(entries))
        assert logbook.head() == head
        back = tmp_path / "back.jsonl"
        export(logbook, back)
        assert back.read_bytes() == file.read_bytes()


@pytest.mark.slow
def test_export_of_a_file_goes_to_postgresql_and_back(
    fresh: Callable[[], Place], in_postgresql: Place, tmp_path: Path
) -> None:
    with fresh().open() as logbook:
        _season(logbook)
        export(logbook, tmp_path / "one")
    with in_postgresql.open() as logbook:
        import_export(logbook, tmp_path / "one", dry_run=False)
        export(logbook, tmp_path / "two")
    assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes()


def test_line_is_exactly_these_bytes(fresh: Callable[[], Place], tmp_path: Path) -> None:
    with fresh().open() as logbook:
        made = logbook.record_all([draft(3)])[0][0]
        export(logbook, tmp_path / "one")
    facts = '{"minutes":3,"on":"2026-05-01","task":"strainer/clean-basket"}'
    assert (tmp_path / "one").read_text("utf-8") == (
        f'{{"seq":1,"id":"{made.id}","vessel":"skua","kind":"done","facts":{facts},'
        f'"recorded_at":"2026-05-01T12:00:00.000000Z","previous":"{"0" * 64}",'
        f'"hash":"{made.hash}"}}\n'
    )


def test_entries_of_one_vessel_are_taken_into_another_logbook(
    fresh: Callable[[], Place], tmp_path: Path
) -> None:
    with fresh().open() as logbook:
        _season(logbook)
        hers = list(logbook.standing("skua"))
        assert export(logbook, tmp_path / "hers", "skua") == len(list(logbook.entries("skua")))
    with fresh().open() as logbook:
        logbook.record_all([draft(40, "gull"), draft(4)])
        report = import_export(logbook, tmp_path / "hers", dry_run=False)
        assert report.known == 1
        assert report.problems == []
        standing = list(logbook.standing("skua"))
        assert {entry.id for entry in standing} == {entry.id for entry in hers}
        assert logbook.verify() is None


def test_two_logbooks_that_went_apart_come_together_again(
    fresh: Callable[[], Place], tmp_path: Path
) -> None:
    with fresh().open() as office, fresh().open() as yard:
        for logbook in (office, yard):
            logbook.record_all([draft(1), draft(2)])
        office.undo(next(office.entries()), recorded_at=NOON)
        yard.record_all([draft(3)])
        export(office, tmp_path / "office")
        export(yard, tmp_path / "yard")
        import_export(office, tmp_path / "yard", dry_run=False)
        import_export(yard, tmp_path / "office", dry_run=False)
        for logbook in (office, yard):
            assert [entry.facts["minutes"] for entry in logbook.standing()] == [2, 3]
            assert logbook.verify() is None


def test_dry_run_counts_and_writes_nothing(fresh: Callable[[], Place], tmp_path: Path) -> None:
    with fresh().open() as logbook:
        entries = _season(logbook)
        export(logbook, tmp_path / "all")
    with fresh().open() as logbook:
        logbook.record_all([draft(0)])
        report = import_export(logbook, tmp_path / "all", dry_run=True)
        assert (report.rows, report.new, report.known) == (len(entries), len(entries) - 1, 1)
        assert logbook.head().seq == 1


def _change(line: str, **changes: Any) -> str:
    return json.dumps({**json.loads(line), **changes})


BAD = {
    "hash": (lambda line: line.replace("clean-basket", "clean-baskets"), "hash does not match"),
    "no json": (lambda line: line[:-3], "is no entry"),
    "no entry": (lambda line: '{"seq": 1}', "keys are not those of an entry"),
    "a list": (lambda line: "[]", "keys are not those of an entry"),
    "deep": (lambda line: "[" * 50_000, "is no entry"),
    "not text": (lambda line: "\udcff", "is no entry"),
    "seq": (lambda line: _change(line, seq="4"), "seq is no number"),
    "truth": (lambda line: _change(line, seq=True), "seq is no number"),
    "time": (lambda line: _change(line, recorded_at="2026-05-01"), "is not YYYY"),
    "nan": (lambda line: line.replace('"minutes":1', '"minutes":NaN'), "is no entry"),
    "long": (lambda line: "x" * 200_000, "too long"),
    "twice": (lambda line: line + "\n" + line, "stands after"),
}


@pytest.mark.parametrize("kind", BAD)
def test_bad_line_is_told_with_its_number_and_nothing_is_written(
    fresh: Callable[[], Place], tmp_path: Path, kind: str
) -> None:
    spoil, words = BAD[kind]
    file = tmp_path / "all.jsonl"
    with fresh().open() as logbook:
        logbook.record_all(draft(number) for number in range(3))
        export(logbook, file)
    lines = file.read_text("utf-8").splitlines()
    lines[1] = spoil(lines[1])
    file.write_text("\n".join(lines) + "\n", "utf-8", "surrogateescape")
    with fresh().open() as logbook:
        for dry_run in (True, False):
            report = import_export(logbook, file, dry_run=dry_run)
            problem = report.problems[0]
            expected = 3 if kind == "twice" else 2
            assert (problem.file, problem.line) == ("all.jsonl", expected)
            assert words in problem.message
        assert logbook.head().seq == 0


def test_export_without_a_line_of_its_middle_is_still_checked_on_both_sides(
    fresh: Callable[[], Place], tmp_path: Path
) -> None:
    file = tmp_path / "all.jsonl"
    with fresh().open() as logbook:
        _season(logbook)
        export(logbook, file)
    lines = file.read_text("utf-8").splitlines()
    undone = json.loads(lines[12])["facts"]["entry"]
    kept = [line for line in lines if json.loads(line)["id"] != undone]
    assert len(kept) == len(lines) - 1
    file.write_text("\n".join(kept), "utf-8")
    with fresh().open() as logbook:
        report = import_export(logbook, file, dry_run=False)
        assert [problem.line for problem in report.problems] == [12]
        assert f"it undoes {undone}" in report.problems[0].message


@pytest.mark.parametrize(
    ("kind", "facts", "words"),
    [
        ("done", {"task": "strainer/clean-basket"}, "done has no on"),
        ("done", {"task": "strainer", "on": "2026-05-01"}, 'task is "strainer"'),
        ("done", {"task": "a/b", "on": "2026-05-32"}, 'on is "2026-05-32"'),
        ("done", {"task": "a/b", "on": "2026-05-01", "wear": 5.5}, "wear is 5.5"),
        ("done", {"task": "a/b", "on": "2026-05-01", "wear": "0.5"}, 'wear is "0.5"'),
        ("done", {"task": "a/b", "on": "2026-05-01", "colour": "red"}, "unknown key colour"),
        ("done", {"task": "a/b", "on": "2026-05-01", "between": (0.5, 0.5)}, "between is"),
        ("read", {"component": "engine", "name": "h", "on": "2026-05-01"}, "read has no value"),
        ("undo", {}, "names no entry"),
        ("undo", {"entry": "zzzz"}, "names no entry"),
    ],
)
def test_entry_of_another_form_is_told(
    tmp_path: Path, fresh: Callable[[], Place], kind: str, facts: dict[str, Any], words: str
) -> None:
    from upkeep.logbook.entries import Head, chain, make_id
    from upkeep.logbook.exchange import write_line

    said = Draft(vessel="skua", kind=kind, facts=facts, recorded_at=NOON)
    (tmp_path / "one").write_text(write_line(chain(said, Head(), make_id(said))), "utf-8")
    with fresh().open() as logbook:
        report = import_export(logbook, tmp_path / "one", dry_run=False)
        assert words in report.problems[0].message
        assert logbook.head().seq == 0


def test_disk_that_refuses_the_export_leaves_the_old_file(
    fresh: Callable[[], Place], tmp_path: Path
) -> None:
    with fresh().open() as logbook:
        with pytest.raises(UpkeepError, match="cannot write"):
            export(logbook, tmp_path / "none" / "all.jsonl")
        with pytest.raises(UpkeepError, match="cannot read"):
            import_export(logbook, tmp_path / "none", dry_run=False)
        file = tmp_path / "all.jsonl"
        file.mkdir()
        with pytest.raises(UpkeepError, match="cannot write"):
            export(logbook, file)
        assert list(tmp_path.iterdir()) == [file]


steps = st.lists(st.integers(0, 4) | st.just("undo"), max_size=10)


@given(steps, steps)
@settings(max_examples=25)
def test_any_history_goes_out_and_in_and_merges_the_same_twice(
    fresh: Callable[[], Place], first: list[Any], second: list[Any]
) -> None:
    one, other = fresh(), fresh()
    assert one.folder is not None
    file = one.folder / "all.jsonl"
    with one.open() as logbook:
        _act(logbook, first)
        count, head = export(logbook, file), logbook.head()
    with fresh().open() as logbook:
        import_export(logbook, file, dry_run=False)
        assert logbook.head() == head
    with other.open() as logbook:
        _act(logbook, second)
        before = logbook.head().seq
        foreseen = import_export(logbook, file, dry_run=True)
        report = import_export(logbook, file, dry_run=False)
        assert (foreseen.new, foreseen.known) == (report.new, report.known)
        assert report.new + report.known == count
        merged = logbook.head()
        assert merged.seq == before + report.new
        assert import_export(logbook, file, dry_run=False).new == 0
        assert logbook.head() == merged
        assert logbook.verify() is None


def _act(logbook: Logbook, steps: list[Any]) -> None:
    made: list[Entry] = []
    for step in steps:
        if step == "undo" and made:
            made.append(logbook.undo(made[-1], recorded_at=NOON)[0])
        elif step != "undo":
            made.append(logbook.record_all([draft(step)])[0][0])
