"""The logbook out to JSON Lines and back: one entry a line, whole and checked by its own hash."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO
from uuid import uuid4

from upkeep.errors import Fault, Problem, UpkeepError
from upkeep.logbook.entries import (
    ID_DIGITS,
    Entry,
    Head,
    draft_of,
    find_own_break,
    freeze_facts,
    read_time,
    write_facts,
    write_json,
    write_time,
)
from upkeep.logbook.facts import check_facts
from upkeep.logbook.store import Logbook
from upkeep.naming import is_id, show, show_line

LONGEST_LINE = 100_000  # bytes; a note of 4000 characters and all else fit in 20,000
KEYS = ("seq", "id", "vessel", "kind", "facts", "recorded_at", "previous", "hash")
_FROM_US = "export it again; a line is never written by hand"


@dataclass(kw_only=True)
class Report:
    """What an import did, or would do: rows read, new and known ones, and what is wrong.

    Nothing is written when there are problems.
    """

    rows: int = 0
    new: int = 0
    known: int = 0
    problems: list[Problem] = field(default_factory=list)

    def count(self, *, is_new: bool) -> None:
        """Count one entry that could be used."""
        self.new += is_new
        self.known += not is_new


def write_line(entry: Entry) -> str:
    """Write an entry as one line of JSON, its keys in the order of KEYS."""
    rows = {
        "seq": str(entry.seq),
        "id": write_json(entry.id),
        "vessel": write_json(entry.vessel),
        "kind": write_json(entry.kind),
        "facts": write_facts(entry.facts),
        "recorded_at": write_json(write_time(entry.recorded_at)),
        "previous": write_json(entry.previous),
        "hash": write_json(entry.hash),
    }
    return "{" + ",".join(f'"{key}":{value}' for key, value in rows.items()) + "}\n"


def export(logbook: Logbook, path: Path, vessel: str | None = None) -> int:
    """Write all entries, or one vessel's, to a file in one step; give their number.

    Raises UpkeepError when the disk or the folder refuses; the old file stays then.
    """
    new = path.with_name(f".{path.name}.{uuid4().hex}")
    count = 0
    try:
        with new.open("wb") as file:
            for entry in logbook.entries(vessel):
                file.write(write_line(entry).encode())
                count += 1
            file.flush()
            os.fsync(file.fileno())
        new.replace(path)
    except OSError as error:
        raise UpkeepError(f"cannot write {path}: {error.strerror}") from error
    finally:
        with suppress(OSError):  # in its place by now, or never made
            new.unlink()
    return count


def import_export(logbook: Logbook, path: Path, *, dry_run: bool) -> Report:
    """Take in entries that another logbook exported; those that are here already are known.

    A whole export makes the same chain in an empty logbook. In any other its entries come after
    those that are there, each under its own id. Raises UpkeepError when the file cannot be read.
    """
    report = Report()
    try:
        with path.open("rb") as file:
            for _ in _read_lines(file, path.name, logbook, report):
                report.rows += 1
            if report.problems or dry_run:
                _count_known(file, path.name, logbook, report)
                return report
            file.seek(0)
            with logbook.writing() as pen:
                for entry in _read_lines(file, path.name, logbook, report):
                    _, is_new = pen.record_as(draft_of(entry), entry.id)
                    report.count(is_new=is_new)
                if report.problems:
                    raise UpkeepError(f"{path} changed while it was read; import it again")
    except OSError as error:
        raise UpkeepError(f"cannot read {path}: {error.strerror}") from error
    return report


def _count_known(file: BinaryIO, name: str, logbook: Logbook, report: Report) -> None:
    """Count what a dry run would add, of the lines that are right."""
    file.seek(0)
    for entry in _read_lines(file, name, logbook, Report()):
        report.count(is_new=logbook.find_named(entry.id) is None)


def _read_lines(file: BinaryIO, name: str, logbook: Logbook, report: Report) -> Iterator[Entry]:
    """Give the entries of the lines that are right, and report the others."""
    last = Head()
    owners: dict[str, str] = {}  # the vessel of each entry so far, for undos; 200 bytes each
    line = 0
    while text := file.readline(LONGEST_LINE + 1):
        line += 1
        if not text.strip():
            continue
        entry, fault = _read_line(text, last)
        if entry is not None:
            last = Head(seq=entry.seq, hash=entry.hash)
            fault = fault or _find_target_fault(entry, owners, logbook)
            owners[entry.id] = entry.vessel
        if fault is not None:
            report.problems.append(_place(name, line, fault))
        elif entry is not None:
            yield entry
        if len(text) > LONGEST_LINE:
            return


def _place(name: str, line: int, fault: Fault) -> Problem:
    return Problem(file=show_line(name), line=line, message=fault.message, fix=fault.fix)


def _read_line(text: bytes, last: Head) -> tuple[Entry | None, Fault | None]:
    """Read one line; an entry whose hash is right comes with a fault where it may not follow."""
    if len(text) > LONGEST_LINE:
        return None, Fault((), "the line is too long", _FROM_US)
    try:
        entry = _make_entry(json.loads(text.decode()))
        words = find_own_break(entry)
    except (ValueError, RecursionError, TypeError, KeyError) as error:
        return None, Fault((), f"this is no entry ({show_line(str(error))})", _FROM_US)
    if words:
        return None, Fault((), f"entry {entry.seq} {words}", _FROM_US)
    if not is_id(entry.vessel):
        return entry, Fault((), f"{show(entry.vessel)} is no vessel's id", _FROM_US)
    faults = check_facts(entry.kind, entry.facts)
    if faults:
        return entry, faults[0]
    return entry, _find_order_fault(entry, last)


def _make_entry(data: Any) -> Entry:
    if not isinstance(data, dict) or sorted(data) != sorted(KEYS):
        raise ValueError("its keys are not those of an entry")
    texts = {key: data[key] for key in KEYS if key not in ("seq", "facts", "recorded_at")}
    if type(data["seq"]) is not int or data["seq"] < 1:
        raise ValueError("seq is no number from 1")
    if not all(type(text) is str for text in texts.values()) or len(texts["id"]) != ID_DIGITS:
        raise ValueError("a text is missing")
    return Entry(
        seq=data["seq"],
        facts=freeze_facts(data["facts"]),
        recorded_at=read_time(data["recorded_at"]),
        **texts,
    )


def _find_order_fault(entry: Entry, last: Head) -> Fault | None:
    """Find a line out of its order; lines may be missing where one vessel was exported."""
    if entry.seq <= last.seq:
        return Fault((), f"entry {entry.seq} stands after entry {last.seq}", _FROM_US)
    if entry.seq == last.seq + 1 and entry.previous != last.hash:
        return Fault((), f"entry {entry.seq} does not follow the one before it", _FROM_US)
    return None


def _find_target_fault(entry: Entry, owners: Mapping[str, str], logbook: Logbook) -> Fault | None:
    if entry.kind != "undo":
        return None
    target = str(entry.facts["entry"])
    there = None if target in owners else logbook.find_named(target)
    owner = there.vessel if there else owners.get(target)
    if owner is None:
        fix = "export that entry too"
        return Fault((), f"it undoes {target}, which is neither here nor in the logbook", fix)
    if owner != entry.vessel:
        return Fault((), f"it undoes {target}, which is {owner}'s", _FROM_US)
    return None
