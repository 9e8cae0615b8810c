"""Writes a calendar file as RFC 5545 asks, with what RFC 7986 adds for feeds.

Lines: RFC 5545, 3.1 (75 octets, CRLF). Calendar properties: RFC 7986, 5.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from icalendar import Alarm, Calendar, vText
from icalendar import Event as CalendarEvent

from upkeep.feed.events import Entry, Event, Heading, Repeat

FEED_MAKER = "-//Walkround//Upkeep feed//EN"
PRINTED_MAKER = "-//Walkround//Printed calendar//EN"
MARK = "X-WALKROUND-"
ASK_AGAIN = timedelta(hours=12)  # dates move by days (practice, no source)
RING = timedelta(hours=-15)  # from midnight: nine in the morning of the day before


class Text(vText):
    r"""A text value in which a backslash before N stays one; the library makes a new line."""

    __slots__ = ()

    def to_ical(self) -> bytes:
        """Escape it as RFC 5545, 3.3.11 asks."""
        return rb"\\N".join(vText(part).to_ical() for part in self.split(r"\N"))


def write_calendar(
    heading: Heading, entries: Sequence[Entry], unseen: Sequence[Entry] = ()
) -> bytes:
    """Write a whole calendar. unseen: events kept for a later run that no reader shows.

    Raises ValueError without entries: RFC 5545, 3.6 wants one.
    """
    if not entries:
        raise ValueError("a calendar holds at least one event")
    calendar = _start_calendar(heading)
    for entry in unseen:
        calendar.add(f"{MARK}UNSEEN", b64encode(_make_component(entry).to_ical()).decode())
    for entry in entries:
        calendar.add_component(_make_component(entry))
    written: bytes = calendar.to_ical()
    return written


def _start_calendar(heading: Heading) -> Calendar:
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", PRINTED_MAKER if heading.printed else FEED_MAKER)
    for name in ("name", "x-wr-calname"):
        calendar.add(name, Text(heading.name))
    if heading.description:
        calendar.add("description", Text(heading.description))
    if not heading.printed:
        calendar.add("refresh-interval", ASK_AGAIN, parameters={"VALUE": "DURATION"})
    if heading.source:
        calendar.add("source", heading.source, parameters={"VALUE": "URI"})
    return calendar


def _make_component(entry: Entry) -> CalendarEvent:
    event = entry.event
    made = CalendarEvent()
    made.add("uid", event.uid)
    made.add("dtstamp", datetime.combine(entry.stamped_on, datetime.min.time(), UTC))
    made.add("dtstart", event.day)
    made.add("dtend", event.day + timedelta(days=1))
    made.add("sequence", entry.sequence)
    made.add("summary", Text(event.summary))
    made.add("description", Text(event.description))
    made.add("status", event.status)
    made.add("transp", "TRANSPARENT")
    _add_where_given(made, event)
    if event.alarm:
        made.add_component(_make_alarm(event))
    return made


def _add_where_given(made: CalendarEvent, event: Event) -> None:
    if event.categories:
        made.add("categories", sorted(event.categories))
    if event.url:
        made.add("url", event.url)
    if event.repeat:
        made.add("rrule", _make_rule(event.repeat))
    own = {"KIND": event.kind, "TASK": event.task}
    if event.task:
        own["CYCLE"] = str(event.cycle)
    for key, day in (("SINCE", event.since), ("UNTIL", event.until)):
        own[key] = day.isoformat() if day else ""
    for key, value in own.items():
        if value:
            made.add(MARK + key, Text(value))


def _make_rule(repeat: Repeat) -> dict[str, Any]:
    rule = {"freq": "monthly", "interval": repeat.months, "count": repeat.count}
    return {**rule, "bymonthday": -1} if repeat.on_last_day else rule


def _make_alarm(event: Event) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", Text(event.summary))
    alarm.add("trigger", RING)
    return alarm
