"""Writes what a fleet shows its people: feeds, handbooks, an index; only what changed.

Each vessel is independent of the others; one that fails stops only herself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from upkeep.due import find_tasks
from upkeep.errors import UpkeepError
from upkeep.feed import build_feed
from upkeep.logbook.merge import load_with_logbook
from upkeep.model import Task, Vessel
from upkeep.publish.books import hash_common, read_book, write_handbook
from upkeep.publish.files import (
    NOTHING,
    Made,
    Order,
    read_manifest,
    write_changed,
    write_manifest,
)
from upkeep.publish.index import index_row, make_index
from upkeep.records import LoadedFleet

__all__ = [
    "Order", "VesselReport", "hash_common", "publish_fleet", "read_book", "write_feed",
    "write_handbook",
]  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class VesselReport:
    """What became of one vessel: files written, notes to tell, and her lines of the index.

    failed: why something of hers was not written. problem: what went wrong although it was.
    """

    vessel: str
    written: tuple[str, ...]
    notes: tuple[str, ...]
    failed: str
    problem: str
    row: Mapping[str, Any]
    made: Made


def publish_fleet(loaded: LoadedFleet, order: Order, jobs: int = 1) -> tuple[VesselReport, ...]:
    """Write every vessel's feed and handbook, then the index page.

    jobs: processes; each reads its own share of the vessels again. The folder's manifest
    remembers what each handbook was made from, so that an unchanged one is left alone.
    """
    known = read_manifest(order.to)
    reports = _run(loaded, order, known, jobs)
    write_manifest(order.to, {**known, **{report.vessel: report.made for report in reports}})
    if order.whole or not (order.to / "index.html").exists():
        rows = [{**report.row, "note": report.failed or report.problem} for report in reports]
        write_changed(order.to / "index.html", make_index(loaded, order, rows))
    return reports


def _run(
    loaded: LoadedFleet, order: Order, known: Mapping[str, Made], jobs: int
) -> tuple[VesselReport, ...]:
    if jobs <= 1 or len(loaded.vessels) < 2:
        return tuple(_publish_share(loaded, order, known))
    names = [vessel.id for vessel in loaded.vessels]
    shares = [names[start::jobs] for start in range(min(jobs, len(names)))]
    with ProcessPoolExecutor(max_workers=jobs) as pool:
        runs = [pool.submit(_publish_apart, loaded.folder, share, order, known) for share in shares]
        reports = [report for run in runs for report in run.result()]
    return tuple(sorted(reports, key=lambda report: names.index(report.vessel)))


def _publish_apart(
    folder: Path, names: Sequence[str], order: Order, known: Mapping[str, Made]
) -> list[VesselReport]:
    """Publish some vessels in a process of their own."""
    loaded = load_with_logbook(folder, names, url=order.logbook)
    return _publish_share(loaded, order, known)


def _publish_share(
    loaded: LoadedFleet, order: Order, known: Mapping[str, Made]
) -> list[VesselReport]:
    common = hash_common(loaded)
    return [_publish_vessel(loaded, vessel, order, known, common) for vessel in loaded.vessels]


def _publish_vessel(
    loaded: LoadedFleet, vessel: Vessel, order: Order, known: Mapping[str, Made], common: str
) -> VesselReport:
    assert loaded.fleet is not None
    tasks = find_tasks(vessel, loaded.fleet, order.today)
    written: list[str] = []
    failed: list[str] = []
    made, problem = NOTHING, ""
    try:
        written += write_feed(loaded, vessel, tasks, order)
    except UpkeepError as error:
        failed.append(str(error))
    try:
        book = write_handbook(loaded, vessel, order, common, known.get(vessel.id, NOTHING))
        written += book.written
        made, problem = book.made, book.problem
    except UpkeepError as error:
        failed.append(str(error))
    return VesselReport(
        vessel=vessel.id,
        written=tuple(written),
        notes=made.notes,
        failed="; ".join(failed),
        problem=problem,
        row=index_row(loaded.fleet, vessel, tasks, order),
        made=made,
    )


def write_feed(
    loaded: LoadedFleet,
    vessel: Vessel,
    tasks: Sequence[Task],
    order: Order,
    hand: str | None = None,
) -> list[str]:
    """Write a vessel's calendar; the file that stands there is its memory."""
    assert loaded.fleet is not None
    name = f"feeds/{vessel.id}.ics"
    path = order.to / name
    try:
        previous = path.read_bytes() if path.exists() else None
    except OSError as error:
        raise UpkeepError(f"cannot read {path}: {error.strerror}") from error
    data = build_feed(
        fleet=loaded.fleet, vessel=vessel, tasks=tasks, today=order.today, previous=previous,
        hand=hand, cautions=loaded.catalogue.cautions,
    )  # fmt: skip
    if data is None:
        path.unlink(missing_ok=True)
        return []
    return [name] if write_changed(path, data) else []
