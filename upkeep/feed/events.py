"""What a calendar shows, as plain values: one event, one event as published, all of them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import Literal
from uuid import UUID, uuid5

EventKind = Literal["standing", "forecast", "done", "waiting"]
KINDS: tuple[EventKind, ...] = ("standing", "forecast", "done", "waiting")
CONFIRMED, TENTATIVE = "CONFIRMED", "TENTATIVE"
WAITING: Literal["waiting"] = "waiting"


@dataclass(frozen=True, kw_only=True, slots=True)
class Repeat:
    """A fixed rhythm: every so many months, so many times; on_last_day is a month's last day."""

    months: int
    count: int
    on_last_day: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Event:
    """One all-day entry of a vessel's calendar.

    task is vessel/component/rule, empty for the one waiting event. since is the day of the
    completion its cycle counts from (None on forecasts and the waiting event); until the last
    day a done event is shown (None on all others). url is empty without a public address.
    """

    uid: str
    task: str
    cycle: int
    since: date | None
    day: date
    summary: str
    description: str
    status: str
    categories: tuple[str, ...]
    alarm: bool
    url: str
    kind: EventKind
    until: date | None = None
    repeat: Repeat | None = None

    @property
    def local_id(self) -> str:
        """Name the task inside its vessel: component/rule; empty for the waiting event."""
        return self.task.partition("/")[2]

    @property
    def name(self) -> str:
        """Give what its UID is made from, the vessel's key apart."""
        return WAITING if self.kind == WAITING else name_cycle(self.local_id, self.cycle)


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """An event as published: how often it was moved, and the day of its last change."""

    event: Event
    sequence: int
    stamped_on: date


@dataclass(frozen=True, kw_only=True, slots=True)
class FeedState:
    """What subscribers were last given; empty at the first publication."""

    entries: tuple[Entry, ...] = ()

    def split(self, local_ids: Collection[str]) -> tuple[FeedState, tuple[Entry, ...]]:
        """Part the events of some tasks, named component/rule, from all others."""
        apart = tuple(item for item in self.entries if item.event.local_id in local_ids)
        kept = tuple(item for item in self.entries if item.event.local_id not in local_ids)
        return FeedState(entries=kept), apart


@dataclass(frozen=True, kw_only=True, slots=True)
class Heading:
    """What a calendar says of itself; empty texts are left out.

    source is the address it can be fetched from again. printed tells a calendar that will not
    be updated from a feed, which asks readers to look again twice a day.
    """

    name: str
    source: str = ""
    description: str = ""
    printed: bool = False


def make_uid(vessel_key: str, name: str) -> str:
    """Make the lasting identifier of one event of a vessel: letters, digits, hyphens.

    Source: RFC 7986, 5.3 (no personal data in a UID); RFC 9562, 5.5 (name-based UUID).
    """
    return str(uuid5(UUID(vessel_key), name))


def name_cycle(local_id: str, cycle: int) -> str:
    """Name one occurrence of a task: component/rule/number."""
    return f"{local_id}/{cycle}"


def sort_entries(entries: list[Entry]) -> tuple[Entry, ...]:
    """Order entries for writing: by day, task, cycle."""
    return tuple(sorted(entries, key=lambda item: _place(item.event)))


def _place(event: Event) -> tuple[date, str, int, str]:
    return (event.day, event.task, event.cycle, event.uid)
