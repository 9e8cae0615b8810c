"""Independent parsers read what we mean: the same events, identifiers, days and titles."""

from __future__ import annotations

from datetime import date

import ics
import pytest
import recurring_ical_events
import vobject

from upkeep.feed import build_static_feed

from .builder import (
    CAUTIONS,
    TODAY,
    build,
    list_events,
    make_fleet,
    make_task,
    make_vessel,
    read,
)

Row = tuple[str, date, str]
# One of the parsers reads an escaped backslash before n as a new line; test_format covers it.
TITLES = (
    "Clean, rinse; dry",
    r"Look in C:\stores\tins",
    "חלון השירות \u200fשלום",
    "\N{SAILBOAT}\ufe0f check \N{WOMAN}\u200d\N{ROCKET}",
    "<script>alert(1)</script>",
    "long " * 30,
)


def make_content() -> bytes:
    tasks = [
        make_task(f"part-{n}/look", due=date(2027, 5, 20 + n), rule={"title": title})
        for n, title in enumerate(TITLES)
    ]
    content = build(tasks, vessel=make_vessel(name="Skua, the; old one"))
    assert content is not None
    return content


def expected_rows() -> list[Row]:
    """Say what the file must hold, from what was put in, without reading it."""
    names = [f"{' '.join(title.split())} – galley strainer" for title in TITLES]
    rows = [(name, date(2027, 5, 20 + n)) for n, name in enumerate(names)]
    then = make_task().then
    rows += [(name, day) for name in names for day in then]
    rows.append(("Still waiting on Skua, the; old one: 6 things", date(2027, 6, 5)))
    return sorted((name, day, "") for name, day in rows)


def without_uids(rows: list[Row]) -> list[Row]:
    assert len({uid for _, _, uid in rows}) == len(rows)
    return sorted((name, day, "") for name, day, _ in rows)


def read_icalendar(content: bytes) -> list[Row]:
    return [(str(e["SUMMARY"]), e["DTSTART"].dt, str(e["UID"])) for e in list_events(content)]


def read_recurring(content: bytes) -> list[Row]:
    found = recurring_ical_events.of(read(content)).between(date(2027, 1, 1), date(2030, 1, 1))
    return [(str(e["SUMMARY"]), e["DTSTART"].dt, str(e["UID"])) for e in found]


def read_vobject(content: bytes) -> list[Row]:
    calendar = vobject.readOne(content.decode())
    return [(e.summary.value, e.dtstart.value, e.uid.value) for e in calendar.vevent_list]


def read_ics(content: bytes) -> list[Row]:
    events = ics.Calendar(content.decode()).events
    assert all(event.all_day for event in events)
    return [(event.name, event.begin.date(), event.uid) for event in events]


READERS = [read_icalendar, read_recurring, read_vobject, read_ics]


@pytest.mark.parametrize("reader", READERS)
def test_parsers_read_what_was_put_in(reader: object) -> None:
    assert callable(reader)
    assert without_uids(reader(make_content())) == expected_rows()


def test_parsers_agree_on_identifiers() -> None:
    content = make_content()
    assert len({frozenset(reader(content)) for reader in READERS}) == 1


def test_vobject_finds_no_fault_against_its_own_rules() -> None:
    assert vobject.readOne(make_content().decode()).validate(raiseException=True)


def test_repeating_event_falls_on_the_days_of_the_task() -> None:
    """Month's ends as a calendar prints them: 31 July, 30 September, 30 November, 31 January."""
    days = [date(2027, 7, 31), date(2027, 9, 30), date(2027, 11, 30), date(2028, 1, 31)]
    content = build_static_feed(
        fleet=make_fleet(),
        vessel=make_vessel(),
        tasks=[make_task(due=days[0], then=days[1:], clock="months", limit=2)],
        today=TODAY,
        cautions=CAUTIONS,
    )
    assert content is not None
    assert len(list_events(content)) == 1
    assert sorted(day for _, day, _ in read_recurring(content)) == days
    (event,) = vobject.readOne(content.decode()).vevent_list
    assert [moment.date() for moment in event.getrruleset(addRDate=True)] == days
