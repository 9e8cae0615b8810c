"""Says in words what differs between two calendars, as a person comparing them would."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from icalendar.parser import unescape_backslash

from upkeep.dates import say_day
from upkeep.errors import UpkeepError
from upkeep.feed.describe import BOOK, DONE, NOT_DONE
from upkeep.feed.state import parse_calendar
from upkeep.feed.words import clean_line
from upkeep.feed.write import MARK

_TURNS = {
    ("forecast", "standing"): "no longer a forecast, it stands now",
    ("standing", "forecast"): "a forecast again",
    ("standing", "done"): "done",
    ("done", "standing"): "not done after all, it stands again",
    ("done", "forecast"): "not done after all, a forecast again",
    ("forecast", "done"): "done",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class _Seen:
    """What a reader sees of one event; repeats is its rhythm as written, empty for none."""

    uid: str
    name: str
    day: date
    kind: str
    status: str
    text: str
    rings: bool
    link: str
    area: str
    repeats: str


def compare_calendars(old: bytes, new: bytes) -> list[str]:
    """List what changed from one calendar to another, by day and name; empty if nothing did.

    What no reader sees (sequence numbers, stamps, order) is not compared. Raises UpkeepError
    when either is not a whole calendar.
    """
    old_name, before = _read(old, "old")
    new_name, after = _read(new, "new")
    lines = [
        line
        for uid in sorted(before.keys() | after.keys(), key=lambda uid: _place(uid, before, after))
        for line in _compare_one(before.get(uid), after.get(uid))
    ]
    renamed = f"The calendar is now called {new_name} (was {old_name})."
    return [renamed, *lines] if new_name != old_name else lines


def _read(content: bytes, which: str) -> tuple[str, dict[str, _Seen]]:
    try:
        calendar = parse_calendar(content)
        seen = [_look_at(part) for part in calendar.events]
    except UpkeepError as error:
        raise UpkeepError(f"the {which} calendar {error}; give a whole .ics file") from error
    except (KeyError, AttributeError) as error:
        fault = f"has an event without one {error}"
        raise UpkeepError(f"the {which} calendar {fault}; give a whole .ics file") from error
    # The library hands this property over as it is written, escapes and all.
    name = unescape_backslash(str(calendar.get("X-WR-CALNAME", "")))
    return clean_line(name), {item.uid: item for item in seen}


def _look_at(part: Any) -> _Seen:
    day = part["DTSTART"].dt
    rule = part.get("RRULE")
    areas = part["CATEGORIES"].cats if "CATEGORIES" in part else ()
    return _Seen(
        uid=str(part["UID"]),
        name=clean_line(str(part.get("SUMMARY", "an event without a name"))),
        day=day.date() if isinstance(day, datetime) else day,
        kind=str(part.get(f"{MARK}KIND", "")),
        status=str(part.get("STATUS", "")),
        text=str(part.get("DESCRIPTION", "")),
        rings=bool(part.subcomponents),
        link=str(part.get("URL", "")),
        area=", ".join(sorted(map(str, areas))),
        repeats=rule.to_ical().decode() if rule else "",
    )


def _place(uid: str, before: dict[str, _Seen], after: dict[str, _Seen]) -> tuple[date, str, str]:
    seen = after.get(uid) or before[uid]
    return (seen.day, seen.name, uid)


def _compare_one(old: _Seen | None, new: _Seen | None) -> list[str]:
    if new is None:
        return [f"{old.name}: gone (was on {say_day(old.day)})"] if old else []
    if old is None:
        forecast = " as a forecast" if new.kind == "forecast" else ""
        return [f"{new.name}: new{forecast}, on {say_day(new.day)}"]
    changes = [change for change in _list_changes(old, new) if change]
    return [f"{_bare(new.name)}: {'; '.join(changes)}"] if changes else []


def _list_changes(old: _Seen, new: _Seen) -> list[str]:
    turned = _TURNS.get((old.kind, new.kind), "")
    if turned == "done" and new.name.startswith(NOT_DONE):
        turned = "not done, its season is over"
    named = "" if _bare(old.name) == _bare(new.name) else f"was called {_bare(old.name)}"
    status = f"{new.status.lower()} (was {old.status.lower()})" if not turned else ""
    return [
        turned,
        _say_move(old, new),
        named,
        status if old.status != new.status else "",
        "repeats differently" if old.repeats != new.repeats else "",
        _say_ring(old, new) if not turned else "",
        "its text changed" if old.text != new.text and not turned else "",
        "its link changed" if old.link != new.link else "",
        f"now under {new.area or 'no area'}" if old.area != new.area else "",
    ]


def _say_move(old: _Seen, new: _Seen) -> str:
    days = (new.day - old.day).days
    if not days:
        return ""
    count = "1 day" if abs(days) == 1 else f"{abs(days)} days"
    way = "later" if days > 0 else "earlier"
    return f"moved from {say_day(old.day)} to {say_day(new.day)} ({count} {way})"


def _say_ring(old: _Seen, new: _Seen) -> str:
    if old.rings == new.rings:
        return ""
    return "rings the day before" if new.rings else "no longer rings"


def _bare(name: str) -> str:
    return name.removeprefix(NOT_DONE).removeprefix(DONE).removeprefix(BOOK)
