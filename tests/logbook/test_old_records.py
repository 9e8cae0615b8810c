from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.logbook.boats import SKUA, SPOILT, TERN
from tests.logbook.books import NOON, ROOT
from upkeep.errors import UpkeepError
from upkeep.logbook import FILE, Logbook, open_logbook
from upkeep.logbook.exchange import Report
from upkeep.logbook.old_records import COLUMNS, import_table, print_columns
from upkeep.records import LoadedFleet, load_fleet

TODAY = date(2026, 6, 1)
HEAD = "what,vessel,task,component,name,on,wear,value,by,minutes,note\n"
GOOD = (
    HEAD
    + 'done,skua,strainer/clean-basket,,,2026-03-14,0.6,,Anna,25,"weed, a few\nshells"\n'
    + "\n,,,,,,,,,,\n"
    + "read,tern,,engine,engine_h,2026-03-14,,112.5,,,\n"
    + "read,tern,,engine,engine_h,2026-04-14,,130,,,\n"
)
Take = Callable[..., Report]


@pytest.fixture
def loaded(fleet_folder: Callable[..., Path]) -> LoadedFleet:
    folder = fleet_folder(vessels__skua=SKUA, vessels__tern=TERN, vessels__spoilt=SPOILT)
    return load_fleet(folder)


@pytest.fixture
def take(loaded: LoadedFleet, tmp_path: Path) -> Take:
    """Write a table and take it in."""

    def run(logbook: Logbook, text: str | bytes, *, dry_run: bool = False) -> Report:
        path = tmp_path / "old.csv"
        path.write_bytes(text.encode() if isinstance(text, str) else text)
        return import_table(
            logbook, path, loaded=loaded, today=TODAY, recorded_at=NOON, dry_run=dry_run
        )

    return run


def _open(loaded: LoadedFleet, *, write: bool = True) -> Logbook:
    return open_logbook(loaded.folder, None, write=write)


def test_old_records_are_in_the_logbook_in_their_order(loaded: LoadedFleet, take: Take) -> None:
    with _open(loaded) as logbook:
        report = take(logbook, GOOD)
        assert (report.rows, report.new, report.known, report.problems) == (3, 3, 0, [])
        said = [(entry.vessel, entry.kind, dict(entry.facts)) for entry in logbook.entries()]
    meter = {"component": "engine", "name": "engine_h"}
    assert said == [
        ("skua", "done", {"task": "strainer/clean-basket", "on": "2026-03-14", "wear": 0.6,
                          "by": "Anna", "minutes": 25, "note": "weed, a few\nshells"}),
        ("tern", "read", {**meter, "on": "2026-03-14", "value": 112.5}),
        ("tern", "read", {**meter, "on": "2026-04-14", "value": 130.0}),
    ]  # fmt: skip


def test_table_taken_in_again_adds_only_what_is_new(loaded: LoadedFleet, take: Take) -> None:
    with _open(loaded) as logbook:
        take(logbook, GOOD)
        logbook.undo(next(logbook.entries()), recorded_at=NOON)
        more = GOOD + "done,skua,strainer/clean-basket,,,2026-05-02,,,,,\n"
        foreseen = take(logbook, more, dry_run=True)
        report = take(logbook, more)
        assert (report.new, report.known) == (foreseen.new, foreseen.known) == (1, 3)
        days = [entry.facts["on"] for entry in logbook.standing("skua")]
        assert days == ["2026-05-02"]  # what was taken back stays so


def test_dry_run_makes_no_logbook(loaded: LoadedFleet, take: Take) -> None:
    with _open(loaded, write=False) as logbook:
        report = take(logbook, GOOD + GOOD.removeprefix(HEAD), dry_run=True)
    assert (report.rows, report.new, report.known) == (6, 3, 3)
    assert not (loaded.folder / FILE).exists()


def test_other_programs_ways_of_saving_are_read(loaded: LoadedFleet, take: Take) -> None:
    text = "\ufeffWhat ;Vessel;Task;On;Finding;Commissioning\r\n" + (
        "Done;skua;strainer/clean-basket;2026-03-14;clean mesh;\r\n"
    )
    with _open(loaded) as logbook:
        assert take(logbook, text).problems == []
        assert next(logbook.entries()).facts["wear"] == 0.0


BAD_ROWS = [
    ("dun,skua,strainer/clean-basket,,,2026-03-14,,,,,", 'what is "dun"', '"done" or "read"'),
    (",skua,strainer/clean-basket,,,2026-03-14,,,,,", "what is empty", '"done" or "read"'),
    ("done,skau,strainer/clean-basket,,,2026-03-14,,,,,", "no vessel skau", "mean skua?"),
    ("done,,strainer/clean-basket,,,2026-03-14,,,,,", "there is no vessel", "skua, tern"),
    ("done,spoilt,strainer/clean-basket,,,2026-03-14,,,,,", "cannot be used", "mend vessels/"),
    ("done,skua,,,,2026-03-14,,,,,", "done has no task", "component/rule"),
    (
        "done,skua,strainer/clean-baskt,,,2026-03-14,,,,,",
        "no task clean-baskt",
        "mean clean-basket?",
    ),
    ("done,skua,strainer/clean-basket,,,14.03.2026,,,,,", 'on is "14.03.2026"', "YYYY-MM-DD"),
    ("done,skua,strainer/clean-basket,,,2026-02-30,,,,,", 'on is "2026-02-30"', "calendar"),
    ("done,skua,strainer/clean-basket,,,,,,,,", "done has no on", "YYYY-MM-DD"),
    ("done,skua,strainer/clean-basket,,,2026-07-01,,,,,", "yet to come", "1 June 2026"),
    ('done,skua,strainer/clean-basket,,,2026-03-14,"0,6",,,,', 'wear is "0,6"', "0 to 5"),
    ("done,skua,strainer/clean-basket,,,2026-03-14,nan,,,,", 'wear is "nan"', "0 to 5"),
    ("done,skua,strainer/clean-basket,,,2026-03-14,,,,1.5,", "minutes is 1.5", "whole"),
    ("done,skua,strainer/clean-basket,engine,,2026-03-14,,,,,", "component is nothing", "empty"),
    ("done,skua,unit/look-at-refrigerant-side,,,2026-03-14,,,,,", "licensed", "licence"),
    ("read,skua,,engine,engine_h,2026-03-14,,,,,", "read has no value", "write a number"),
    ("read,skua,,engine,engine_h,2026-03-14,0.5,120,,,", "wear is nothing to say", "empty"),
    ("read,skua,,engine,engine_h,2026-03-14,,99,,,", "does not fit", "100 h"),
    ("done,skua,strainer/clean-basket,,,2026-03-14,,,A,1,weed, shells", "12 cells", "quotes"),
    ('done,skua,"strainer"/clean-basket,,,2026-03-14,,,,,', "cannot be read", "CSV again"),
]


@pytest.mark.parametrize(("row", "message", "fix"), BAD_ROWS)
def test_bad_row_is_told_with_its_line_and_nothing_is_written(
    loaded: LoadedFleet, take: Take, row: str, message: str, fix: str
) -> None:
    with _open(loaded) as logbook:
        for dry_run in (True, False):
            report = take(logbook, GOOD + row + "\n", dry_run=dry_run)
            assert len(report.problems) == 1
            problem = report.problems[0]
            assert (problem.file, problem.line) == ("old.csv", 8)  # one note takes two lines
            assert message in problem.message
            assert fix in problem.fix
            assert str(problem).startswith("old.csv:8: ")
        assert logbook.head().seq == 0


def test_every_bad_row_is_told_in_one_run(loaded: LoadedFleet, take: Take) -> None:
    rows = [row for row, _, _ in BAD_ROWS[:-1]]
    with _open(loaded) as logbook:
        report = take(logbook, HEAD + "\n".join(rows), dry_run=True)
    assert [problem.line for problem in report.problems] == list(range(2, 2 + len(rows)))


def test_meter_that_falls_within_the_table_is_told(loaded: LoadedFleet, take: Take) -> None:
    row = "read,tern,,engine,engine_h,2026-04-01,,135,,,\n"
    with _open(loaded) as logbook:
        report = take(logbook, GOOD + row)
        assert [problem.line for problem in report.problems] == [8]
        assert "it showed 130 h on 14 April 2026" in report.problems[0].fix
        take(logbook, GOOD)
        report = take(logbook, HEAD + row)  # now it is the logbook that says so
        assert "it showed 130 h on 14 April 2026" in report.problems[0].fix


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        ("", 1, "the table is empty"),
        ("what,vessel,onn\n", 1, 'there is no column "onn"'),
        ("what,vessel,on,on\n", 1, "column on stands twice"),
        ("what,vessel\n", 1, "column on is missing"),
        (HEAD.encode() + b"done,sk\xfca\n", 2, "is not UTF-8 text"),
        ("PK\x03\x04\x00", 1, "there is no column"),
        (HEAD + 'done,skua,"strainer', 2, "cannot be read"),
    ],
)
def test_table_that_is_none_is_told(
    loaded: LoadedFleet, take: Take, text: Any, line: int, message: str
) -> None:
    with _open(loaded) as logbook:
        problems = take(logbook, text).problems
        assert (problems[0].line, message in problems[0].message) == (line, True)
        assert logbook.head().seq == 0


def test_table_that_cannot_be_opened_is_told(loaded: LoadedFleet, tmp_path: Path) -> None:
    with _open(loaded) as logbook, pytest.raises(UpkeepError, match="cannot read"):
        import_table(logbook, tmp_path, loaded=loaded, today=TODAY, recorded_at=NOON, dry_run=True)


def test_page_about_the_logbook_holds_the_columns_as_they_are() -> None:
    page = (ROOT / "docs" / "logbook.md").read_text("utf-8")
    assert print_columns() in page, "write print_columns() into docs/logbook.md"
    example = page.rsplit("```", 2)[1].strip().splitlines()
    assert set(example[0].split(",")) <= COLUMNS.keys()
