"""Reads back what subscribers were last given, from the calendar file itself.

A file that is broken, made elsewhere or another vessel's is refused whole: guessing would
renumber events on somebody's telephone.
"""

from __future__ import annotations

from base64 import b64decode
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from icalendar import Calendar

from upkeep.errors import UpkeepError
from upkeep.feed.events import KINDS, Entry, Event, FeedState, make_uid, sort_entries
from upkeep.feed.write import FEED_MAKER, MARK, PRINTED_MAKER
from upkeep.model import Vessel

_ADVICE = "bring back a good copy, or move it away and events are numbered afresh"
# What the library raises on bytes that are no calendar; anything else is our own mistake.
_UNREADABLE = (ValueError, KeyError, IndexError, TypeError, AttributeError, AssertionError)


def read_state(previous: bytes, vessel: Vessel) -> FeedState:
    """Read a calendar published earlier for this vessel.

    Raises UpkeepError when it is not a whole calendar, not one of ours, a printed one, or
    holds events of another vessel.
    """
    try:
        calendar = parse_calendar(previous)
    except UpkeepError as error:
        raise _refuse(vessel, str(error)) from error
    maker = str(calendar.get("PRODID", ""))
    if maker == PRINTED_MAKER:
        raise _refuse(vessel, "is a printed calendar, not a feed")
    if maker != FEED_MAKER:
        raise _refuse(vessel, "was not made by walkround")
    entries = [_read_entry(part, vessel) for part in calendar.subcomponents]
    entries += [_read_entry(part, vessel) for part in _unpack(calendar, vessel)]
    _check_owner(entries, vessel)
    return FeedState(entries=sort_entries(entries))


def parse_calendar(content: bytes) -> Calendar:
    """Read bytes as one whole calendar.

    Raises UpkeepError: what it says is the end of a sentence about the file.
    """
    try:
        text = content.decode("utf-8")
        calendar = Calendar.from_ical(text)
    except _UNREADABLE as error:
        raise UpkeepError("is not a whole calendar file") from error
    if not isinstance(calendar, Calendar):
        raise UpkeepError("is not a calendar file")
    for part in (calendar, *calendar.walk()):
        if part.errors:
            name, problem = part.errors[0]
            raise UpkeepError(f"is spoilt at {name} ({problem})")
    return calendar


def _unpack(calendar: Calendar, vessel: Vessel) -> list[Any]:
    """Read the events that the file keeps unseen."""
    found = calendar.get(f"{MARK}UNSEEN", [])
    texts = found if isinstance(found, list) else [found]
    try:
        return [Calendar.from_ical(b64decode(text, validate=True).decode()) for text in texts]
    except _UNREADABLE as error:
        raise _refuse(vessel, f"keeps an event that cannot be read ({error})") from error


def _read_entry(part: Any, vessel: Vessel) -> Entry:
    try:
        return _take_entry(part)
    except _UNREADABLE as error:
        raise _refuse(vessel, f"has an event that cannot be read ({error})") from error


def _take_entry(part: Any) -> Entry:
    if part.name != "VEVENT":
        raise ValueError(part.name)
    day, stamp = part["DTSTART"].dt, part["DTSTAMP"].dt
    if isinstance(day, datetime) or not isinstance(stamp, datetime):
        raise ValueError(f"{day} {stamp}")
    areas = part["CATEGORIES"].cats if "CATEGORIES" in part else ()
    event = Event(
        uid=str(part["UID"]),
        task=_read_mark(part, "TASK"),
        cycle=int(_read_mark(part, "CYCLE") or 0),
        since=_read_day(part, "SINCE"),
        day=day,
        summary=str(part["SUMMARY"]),
        description=str(part["DESCRIPTION"]),
        status=str(part["STATUS"]),
        categories=tuple(map(str, areas)),
        alarm=bool(part.subcomponents),
        url=str(part.get("URL", "")),
        kind=KINDS[KINDS.index(part[f"{MARK}KIND"])],
        until=_read_day(part, "UNTIL"),
    )
    return Entry(event=event, sequence=int(part["SEQUENCE"]), stamped_on=stamp.date())


def _read_mark(part: Any, key: str) -> str:
    return str(part.get(MARK + key, ""))


def _read_day(part: Any, key: str) -> date | None:
    text = _read_mark(part, key)
    return date.fromisoformat(text) if text else None


def _check_owner(entries: Sequence[Entry], vessel: Vessel) -> None:
    """Hold every identifier against the one this vessel's key gives."""
    uids = [entry.event.uid for entry in entries]
    if len(set(uids)) < len(uids):
        raise _refuse(vessel, "has two events of one identifier")
    for entry in entries:
        if entry.event.uid != make_uid(vessel.key, entry.event.name):
            raise _refuse(vessel, "holds events of another vessel")
        if entry.event.kind in ("standing", "done") and entry.event.since is None:
            raise _refuse(vessel, "has an event without its beginning")


def _refuse(vessel: Vessel, fault: str) -> UpkeepError:
    return UpkeepError(f"the calendar last published for {vessel.id} {fault}; {_ADVICE}")
