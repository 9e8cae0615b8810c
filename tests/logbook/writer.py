"""Writes into a logbook as a process of its own: python -m tests.logbook.writer TASK PLACE …."""

from __future__ import annotations

import json
import resource
import signal
import sys
from pathlib import Path

from tests.logbook.books import draft
from upkeep.errors import UpkeepError
from upkeep.logbook import Logbook, open_logbook


def _open(place: str) -> Logbook:
    is_url = place.startswith("postgresql")
    return open_logbook(None if is_url else Path(place), place if is_url else None, write=True)


def write_on(place: str, vessel: str, count: str, common: str) -> None:
    """Record so many entries, some of them what the other process records too; tell each."""
    with _open(place) as logbook:
        for number in range(int(count)):
            draft_ = draft(number, "both" if number < int(common) else vessel)
            entry, is_new = logbook.record_all([draft_])[0]
            print(json.dumps([entry.id, is_new]), flush=True)


def hold(place: str, count: str) -> None:
    """Write so many entries in one step and end in the middle of it."""
    with _open(place) as logbook, logbook.writing() as pen:
        for number in range(int(count)):
            pen.record(draft(number))
        print("held", flush=True)
        signal.pause()


def fill(place: str, filler: str) -> None:
    """Record until the disk refuses; make room; record that one again."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    made, error = [], ""
    with _open(place) as logbook:
        if not filler:
            resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, resource.RLIM_INFINITY))
        try:
            for number in range(10_000):
                made.append(logbook.record_all([draft(number)])[0][0].id)
        except UpkeepError as refused:
            error = str(refused)
    if filler:
        Path(filler).unlink()
    else:
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY,) * 2)
    with _open(place) as logbook:
        broken = logbook.verify()
        there = [entry.id for entry in logbook.entries()]
        again = [is_new for _, is_new in logbook.record_all([draft(0), draft(len(made))])]
        whole = logbook.verify() is None
    print(json.dumps([made, error, broken is None, there, again, whole]))


if __name__ == "__main__":
    {"write": write_on, "hold": hold, "fill": fill}[sys.argv[1]](*sys.argv[2:])
