"""Old records in from a spreadsheet: every row checked against the fleet, all written or none."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from math import isfinite
from pathlib import Path
from typing import Any

from upkeep.errors import Fault, Problem, UpkeepError
from upkeep.logbook.checks import Checked, check_done, check_read
from upkeep.logbook.entries import Draft, Facts, make_id
from upkeep.logbook.exchange import Report
from upkeep.logbook.facts import DONE, READ, Measurement, read_day, read_measurement
from upkeep.logbook.store import Logbook
from upkeep.model import Field, Reading
from upkeep.naming import describe, name_value, say_choices, show, show_line, suggest
from upkeep.records.load import LoadedFleet

WHAT = Field(
    key="what", type="choice", choices=("done", "read"), required=True, text="what the row says"
)
VESSEL = Field(key="vessel", type="id", required=True, text="the vessel's id")
_OF = {"done": {row.key: row for row in DONE}, "read": {row.key: row for row in READ}}
COLUMNS = {"what": WHAT, "vessel": VESSEL, **_OF["done"], **_OF["read"]}
LARGEST_BYTES = 50_000_000  # half a million rows
_YES = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}


def import_table(
    logbook: Logbook,
    path: Path,
    *,
    loaded: LoadedFleet,
    today: date,
    recorded_at: datetime,
    dry_run: bool,
) -> Report:
    """Take in a table of old records; what is here already, or was taken back here, is known.

    The first row names the columns, see docs/logbook.md. Cells are parted by commas, or by
    semicolons. Raises UpkeepError when the file cannot be read.
    """
    report = Report()
    desk = _Desk(loaded, today, recorded_at, logbook)
    for line, row in _read_rows(path, report):
        report.rows += 1
        report.problems += [_place(path, line, fault) for fault in desk.take(row)]
    if report.problems or dry_run:
        seen = {make_id(draft) for draft in desk.drafts}
        report.new = sum(logbook.find_named(name) is None for name in seen)
        report.known = len(desk.drafts) - report.new
        return report
    with logbook.writing() as pen:
        for draft in desk.drafts:
            _, is_new = pen.record_as(draft, make_id(draft))
            report.count(is_new=is_new)
    return report


class _Desk:
    """Where rows are checked one by one, each reading beside those before it."""

    def __init__(
        self, loaded: LoadedFleet, today: date, recorded_at: datetime, logbook: Logbook
    ) -> None:
        self._loaded, self._today, self._recorded_at = loaded, today, recorded_at
        self._readings: dict[tuple[str, str, str], list[Reading]] = {}
        for entry in logbook.standing():
            if entry.kind == "read":
                self._lay_out(entry.vessel, read_measurement(entry.facts))
        self.drafts: list[Draft] = []

    def _lay_out(self, vessel: str, one: Measurement) -> None:
        place = self._readings.setdefault((vessel, one.component, one.name), [])
        place.append(
            Reading(
                component=one.component,
                name=one.name,
                on=one.on,
                value=one.value,
                commissioning=one.commissioning,
                path=(),
            )
        )

    def take(self, row: Mapping[str, str]) -> list[Fault]:
        """Check one row; keep what it says, or give its faults."""
        kind = row.get("what", "").casefold()
        if kind not in _OF:
            found = f"what is {name_value(row['what'])}" if "what" in row else "what is empty"
            return [Fault((), found, f"write {say_choices(WHAT.choices)}")]
        faults = _find_misplaced(kind, row)
        said = {k: _convert(cell, _OF[kind][k]) for k, cell in row.items() if k in _OF[kind]}
        said |= read_day(said, faults)
        unread = {fault.path for fault in faults}
        vessel = row.get("vessel", "")
        checked = self._check(kind, vessel, said)
        faults += [fault for fault in checked.faults if fault.path not in unread]
        if checked.facts is not None and not faults:
            self._keep(vessel, kind, checked.facts)
        return faults

    def _check(self, kind: str, vessel: str, said: Mapping[str, Any]) -> Checked:
        if kind == "done":
            return check_done(self._loaded, vessel, said, self._today)
        place = (vessel, said.get("component", ""), said.get("name", ""))
        beside = self._readings.get(place, ())
        return check_read(self._loaded, vessel, said, self._today, beside=beside)

    def _keep(self, vessel: str, kind: str, facts: Facts) -> None:
        draft = Draft(vessel=vessel, kind=kind, facts=facts, recorded_at=self._recorded_at)
        self.drafts.append(draft)
        if kind == "read":
            self._lay_out(vessel, read_measurement(facts))


def _find_misplaced(kind: str, row: Mapping[str, str]) -> list[Fault]:
    others = row.keys() - _OF[kind].keys() - {"what", "vessel"}
    return [
        Fault((key,), f"{key} is nothing to say of {kind}", "leave the cell empty")
        for key in sorted(others)
    ]


def _place(path: Path, line: int, fault: Fault) -> Problem:
    file = show_line(path.name)
    return Problem(file=file, line=line, message=fault.message, fix=fault.fix)


def _read_rows(path: Path, report: Report) -> Iterator[tuple[int, dict[str, str]]]:
    """Give each row that holds anything, empty cells left out, and the line it begins on."""
    lines = _read_text(path, report).splitlines(keepends=True)
    parted = ";" if lines and lines[0].count(";") > lines[0].count(",") else ","
    reader = csv.reader(lines, delimiter=parted, strict=True)
    begins = 1
    try:
        head = [cell.strip().casefold() for cell in next(reader, [])]
        faults = list(_check_head(head))
        report.problems += [_place(path, begins, fault) for fault in faults]
        if faults:
            return
        begins = reader.line_num + 1
        for cells in reader:
            filled = [cell.strip() for cell in cells]
            fault = _find_spill(filled, head)
            if fault is not None:
                report.problems.append(_place(path, begins, fault))
            elif any(filled):
                row = zip(head, filled, strict=False)
                yield begins, {key: cell for key, cell in row if cell}
            begins = reader.line_num + 1
    except csv.Error as error:
        fault = Fault((), f"the row cannot be read ({error})", "save the table as CSV again")
        report.problems.append(_place(path, begins, fault))


def _read_text(path: Path, report: Report) -> str:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            most = LARGEST_BYTES // 1_000_000
            raise UpkeepError(f"{path} is larger than {most} MB; import it in parts")
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise UpkeepError(f"cannot read {path}: {error.strerror}") from error
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        fault = Fault((), "is not UTF-8 text", 'save the table as "CSV UTF-8"')
        report.problems.append(_place(path, line, fault))
        return ""


def _check_head(head: Sequence[str]) -> Iterator[Fault]:
    if not head:
        yield Fault((), "the table is empty", f"name the columns: {', '.join(COLUMNS)}")
        return
    for place, name in enumerate(head):
        if name not in COLUMNS:
            fix = suggest(name, tuple(COLUMNS), f"columns are {', '.join(COLUMNS)}")
            yield Fault((), f'there is no column "{show(name)}"', fix)
        elif name in head[:place]:
            yield Fault((), f"column {name} stands twice", "keep one of the two")
    for name in ("what", "vessel", "on"):
        if name not in head:
            yield Fault((), f"column {name} is missing", f"add it: {COLUMNS[name].text}")


def _find_spill(cells: Sequence[str], head: Sequence[str]) -> Fault | None:
    """Find cells beyond the last column, as a comma in a note without quotes makes them."""
    if any(cells[len(head) :]):
        fix = 'put a text that holds a comma in quotes, "…"'
        return Fault((), f"the row has {len(cells)} cells, the table {len(head)} columns", fix)
    return None


def _convert(cell: str, row: Field) -> Any:
    """Turn a cell into what its column holds; a cell that cannot be is left for the check."""
    if row.type == "yes-no":
        return _YES.get(cell.casefold(), cell)
    if row.type not in ("number", "whole"):
        return cell
    try:
        number = float(cell)
    except ValueError:
        return cell
    if not isfinite(number):
        return cell
    return int(number) if row.type == "whole" and number.is_integer() else number


def print_columns() -> str:
    """Write the table of columns as Markdown, for the page about the logbook."""
    lines = ["| column | for | what | write |", "|---|---|---|---|"]
    for key, row in COLUMNS.items():
        kinds = [kind for kind in _OF if key in _OF[kind]] or list(_OF)
        need = "" if row.required else " May be empty."
        said = describe(row).removeprefix("write ").replace(" without quotes", "")
        lines.append(f"| `{key}` | {', '.join(kinds)} | {row.text} | {said}.{need} |")
    return "\n".join(lines) + "\n"
