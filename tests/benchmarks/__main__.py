"""Prints each promised ratio with the floor measured in the same run; exits 1 on one that fails.

Every figure is the best of several runs of process time; the floor and our own work are
measured alternately, so that a busy machine weighs on both. A commit is measured by the clock.
"""

from __future__ import annotations

import gc
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from time import perf_counter, process_time
from typing import Any

from tests.benchmarks.fleets import write_fleet, written_out
from upkeep.due import find_tasks
from upkeep.publish import Order, publish_fleet, read_book
from upkeep.records import load_fleet

TODAY = date(2026, 11, 25)
ROUNDS = 3


@dataclass(frozen=True, kw_only=True)
class Ratio:
    """One promise: ours against the floor [s], and the most their quotient may be."""

    name: str
    ours_s: float
    floor_s: float
    most: float

    @property
    def value(self) -> float:
        return self.ours_s / self.floor_s

    def __str__(self) -> str:
        verdict = "" if self.value <= self.most else "  PAST ITS LIMIT"
        return (
            f"{self.name:<44} {self.floor_s * 1e3:9.1f} ms {self.ours_s * 1e3:9.1f} ms "
            f"{self.value:6.2f} of {self.most:g}{verdict}"
        )


def race(
    ours: Callable[[], object],
    floor: Callable[[], object],
    between: Callable[[], object] = gc.collect,
) -> tuple[float, float]:
    """Time both alternately; give the best of each. between empties what a run left behind."""
    best = [float("inf"), float("inf")]
    for _ in range(ROUNDS):
        for place, work in enumerate((ours, floor)):
            between()
            start = process_time()
            work()
            best[place] = min(best[place], process_time() - start)
    return best[0], best[1]


def measure_due(count: int, *, large: bool) -> Ratio:
    """Compare `due` with parsing the same files, fit-outs written out."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "fleet"
        write_fleet(folder, count, large=large)
        texts = list(written_out(count, large=large).values())

        def run() -> int:
            loaded = load_fleet(folder)
            assert loaded.fleet is not None
            assert not loaded.problems
            return sum(len(find_tasks(v, loaded.fleet, TODAY)) for v in loaded.vessels)

        def parse() -> None:
            for text in texts:
                tomllib.loads(text)

        tasks = run() / count
        ours, floor = race(run, parse)
    size = sum(map(len, texts)) / count
    return Ratio(
        name=f"due, {count} vessels, {tasks:.0f} tasks, {size / 1000:.1f} kB each",
        ours_s=ours,
        floor_s=floor,
        most=6 if large else 3,
    )


def rebuild(component: Any) -> Any:
    """Build a component again from its values with the library alone, as any writer must."""
    made = type(component)()
    for name, value in component.property_items(recursive=False):
        if name not in ("BEGIN", "END"):
            made.add(name, value)
    for part in component.subcomponents:
        made.add_component(rebuild(part))
    return made


def measure_publish(count: int) -> Ratio:
    """Compare `publish` without PDF with its libraries alone making the same output."""
    import icalendar

    from upkeep.render.html import render_handbook

    with tempfile.TemporaryDirectory() as scratch:
        base = Path(scratch)
        write_fleet(base / "fleet", count, large=True)
        texts = list(written_out(count, large=True).values())
        loaded = load_fleet(base / "fleet")
        runs = iter(range(1000))

        def run() -> None:
            fresh = load_fleet(base / "fleet")
            to = base / f"out-{next(runs)}"
            reports = publish_fleet(fresh, Order(to=to, today=TODAY, pdf=False))
            assert not any(report.failed for report in reports)

        run()
        feeds = sorted((base / "out-0" / "feeds").iterdir())
        calendars = [icalendar.Calendar.from_ical(path.read_bytes()) for path in feeds]
        books = [read_book(loaded, vessel).book for vessel in loaded.vessels]

        def bare() -> None:
            to = base / f"bare-{next(runs)}"
            to.mkdir()
            for text in texts:
                tomllib.loads(text)
            for number, calendar in enumerate(calendars):
                (to / f"{number}.ics").write_bytes(rebuild(calendar).to_ical())
            for number, book in enumerate(books):
                (to / f"{number}.html").write_bytes(render_handbook(book, photos={}))

        ours, floor = race(run, bare)
    return Ratio(name=f"publish without PDF, {count} vessels", ours_s=ours, floor_s=floor, most=2)


def measure_pdf() -> Ratio:
    """Compare a handbook's PDF, proof of its cautions included, with bare typesetting."""
    from upkeep.render import pdf
    from upkeep.render.prove import missing_cautions_pdf

    with tempfile.TemporaryDirectory() as scratch:
        write_fleet(Path(scratch) / "fleet", 1, large=True)
        loaded = load_fleet(Path(scratch) / "fleet")
        book = read_book(loaded, loaded.vessels[0]).book
        ready: list[Any] = []
        typeset = pdf._compile

        def record(sources: Any, root: Path, **options: Any) -> bytes:
            ready.append((sources, options))
            return typeset(sources, root, **options)

        pdf._compile = record
        pdf.render_pdf(book, photos={}, paper="a4", created=TODAY)
        pdf._compile = typeset
        sources, options = ready[-1]

        def run() -> None:
            made = pdf.render_pdf(book, photos={}, paper="a4", created=TODAY)
            assert missing_cautions_pdf(made, book) == []

        def bare() -> None:
            typeset(sources, Path(scratch), **options)

        ours, floor = race(run, bare, between=pdf._forget)
    return Ratio(name="handbook as PDF, proved", ours_s=ours, floor_s=floor, most=1.3)


def measure_record(count: int) -> Ratio:
    """Compare one entry recorded with a bare commit of the same bytes, by the clock.

    Most of a commit is waiting for the disk, which processor time does not see.
    """
    from upkeep.logbook import Draft, open_logbook
    from upkeep.logbook.exchange import write_line

    numbers = iter(range(10**9))
    facts = {"task": "strainer/clean-basket", "on": "2026-11-25", "wear": 0.5, "by": "Anna"}
    at = datetime(2026, 11, 25, tzinfo=UTC)

    def draft() -> Draft:
        said = {**facts, "note": f"weed and a few shells, bag {next(numbers)}"}
        return Draft(vessel="skua", kind="done", facts=said, recorded_at=at)

    best = [float("inf"), float("inf")]
    scratch = tempfile.TemporaryDirectory()
    with scratch as folder, open_logbook(Path(folder), None, write=True) as logbook:
        made, _ = logbook.record_all([draft()])[0]
        commit = bare_commit(Path(folder) / "bare.sqlite", write_line(made))
        for _ in range(3 * ROUNDS):
            for place, work in enumerate((lambda: logbook.record_all([draft()]), commit)):
                start = perf_counter()
                for _ in range(count):
                    work()
                best[place] = min(best[place], (perf_counter() - start) / count)
    return Ratio(name="one entry recorded", ours_s=best[0], floor_s=best[1], most=3)


def bare_commit(path: Path, line: str) -> Callable[[], object]:
    """Give a commit of one text with the library alone, as safe as ours."""
    import sqlite3

    bare = sqlite3.connect(path, isolation_level=None)
    bare.execute("PRAGMA journal_mode = WAL")
    bare.execute("PRAGMA synchronous = FULL")
    bare.execute("CREATE TABLE entry (seq INTEGER PRIMARY KEY, line TEXT)")

    def commit() -> None:
        bare.execute("BEGIN IMMEDIATE")
        bare.execute("INSERT INTO entry (line) VALUES (?)", (line,))
        bare.execute("COMMIT")

    return commit


def measure_help() -> Ratio:
    """Measure the processor time of --help against 0.15 s."""
    import resource

    best = float("inf")
    for _ in range(ROUNDS):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, "-m", "upkeep", "--help"], check=True, capture_output=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        best = min(best, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return Ratio(name="--help, against 0.15 s of processor time", ours_s=best, floor_s=0.15, most=1)


def main() -> None:
    """Measure and print every ratio."""
    ratios = [
        measure_due(1000, large=False),
        measure_due(1000, large=True),
        measure_publish(20),
        measure_pdf(),
        measure_record(100),
        measure_help(),
    ]
    print(f"{'':<44} {'floor':>12} {'ours':>12}  ratio")
    for ratio in ratios:
        print(ratio)
    sys.exit(any(ratio.value > ratio.most for ratio in ratios))


if __name__ == "__main__":
    main()
