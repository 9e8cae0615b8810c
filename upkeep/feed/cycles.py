"""Which occurrence of a task stands today: numbers that survive backdating and corrections.

A cycle ends with the first completion later than the day it counts from, or with the season it
belonged to. Work recorded late but done earlier changes the date of an occurrence, never its
number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from upkeep.feed.events import Event
from upkeep.model import Task, Vessel


@dataclass(frozen=True, kw_only=True, slots=True)
class Cycle:
    """The standing occurrence: its number from 0, and the day it counts from."""

    number: int
    since: date


def list_done_days(vessel: Vessel, task: Task, today: date) -> tuple[date, ...]:
    """List the days a task was done, rising, each once; none before fitting or after today."""
    first = task.component.installed
    days = {
        item.on
        for item in vessel.completions
        if item.component == task.component.id
        and item.rule == task.rule.id
        and first <= item.on <= today
    }
    return tuple(sorted(days))


def find_cycle(*, ends: Sequence[date], kept: Sequence[Event], anchor: date, today: date) -> Cycle:
    """Find the standing cycle of one task.

    ends: the days it was done or its season passed undone, rising, each once. kept: its
    standing and done events of the last publication, any order. anchor: the day its first cycle
    counts from when none has ended. The oldest kept cycle that nothing has ended stands, so a
    withdrawn completion goes back to it; if all have ended, the next number takes over. With
    nothing kept, the number is the count of ends.
    """
    for event in sorted(kept, key=lambda item: item.cycle):
        if event.since is not None and find_end(event.since, ends) is None:
            return Cycle(number=event.cycle, since=event.since)
    since = ends[-1] if ends else min(anchor, today)
    last = max((event.cycle for event in kept), default=None)
    return Cycle(number=len(ends) if last is None else last + 1, since=since)


def find_end(since: date, ends: Sequence[date]) -> date | None:
    """Find the day a cycle ended: the first one later than the day it counts from."""
    return next((day for day in ends if day > since), None)
