"""The file itself: RFC 5545, 5546, 7986, and the traps of the library that writes it."""

from __future__ import annotations

import re
import subprocess
import sys
from datetime import date, datetime
from typing import Any
from urllib.parse import unquote

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from upkeep.feed import build_feed
from upkeep.model import Contact

from .builder import (
    ADDRESS,
    CAUTIONS,
    KEY,
    TODAY,
    build,
    find_event,
    list_events,
    make_component,
    make_fleet,
    make_task,
    make_vessel,
    read,
    unfold,
)

HOSTILE = (
    "<script>alert(1)</script>",
    "a,b;c\\d:e\nBEGIN:VEVENT\r\nEND:VCALENDAR",
    r"C:\New\nothing\N",
    "bell\x07 null\x00 escape\x1b[31m next\x85line\u2028sep",
    "חלון השירות - \u200fשלום",
    "\N{WOMAN}\u200d\N{ROCKET}\N{WAVING HAND SIGN}\U0001f3fd \N{SAILBOAT}\ufe0f",
    "e\u0301" * 300,
    "x" * 10_000,
    "%0d%0aATTACH:http://x \ud800 lone",
    "",
)


def count_lines(content: bytes, name: str) -> int:
    """Count properties of a name over the whole file, whatever their parameters."""
    return sum(bool(re.match(rf"{name}[;:]", line)) for line in unfold(content))


def build_one(**changes: Any) -> bytes:
    content = build([make_task()], **changes)
    assert content is not None
    return content


def test_calendar_head_has_each_property_once_with_its_value_type() -> None:
    lines = unfold(build_one())
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-2:] == ["END:VCALENDAR", ""]
    head = lines[1 : lines.index("BEGIN:VEVENT")]
    assert sorted(head) == sorted(
        [
            "VERSION:2.0",
            "PRODID:-//Walkround//Upkeep feed//EN",
            "NAME:Skua upkeep",
            "X-WR-CALNAME:Skua upkeep",
            "REFRESH-INTERVAL;VALUE=DURATION:PT12H",
            f"SOURCE;VALUE=URI:{ADDRESS}/feeds/skua.ics",
        ]
    )


def test_fleet_without_address_gives_no_source_and_no_url() -> None:
    content = build_one(fleet=make_fleet(address=""))
    assert count_lines(content, "SOURCE") == count_lines(content, "URL") == 0


def test_standing_event_has_the_properties_asked_for() -> None:
    event = find_event(build_one(), kind="standing")
    lines = unfold(event.to_ical())
    for line in (
        "DTSTART;VALUE=DATE:20270705",
        "DTEND;VALUE=DATE:20270706",
        "DTSTAMP:20270602T000000Z",
        "SEQUENCE:0",
        "STATUS:CONFIRMED",
        "TRANSP:TRANSPARENT",
        "CATEGORIES:raw water",
        "X-WALKROUND-TASK:skua/strainer/clean-basket",
        f"URL:{ADDRESS}/handbooks/skua.html#task-strainer-clean-basket",
        "ACTION:DISPLAY",
        "TRIGGER:-PT15H",
    ):
        assert lines.count(line) == 1, line


def test_each_event_has_every_required_property_exactly_once() -> None:
    tasks = [make_task(), make_task("anode/look", due=date(2027, 5, 3))]
    content = build(tasks)
    assert content is not None
    events = content.split(b"BEGIN:VEVENT")[1:]
    assert len(events) == 9  # two standing, three forecasts each, one that waits
    for event in events:
        main = event.split(b"BEGIN:VALARM")[0]
        for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SEQUENCE", "SUMMARY", "STATUS"):
            assert count_lines(main, name) == 1, name


@pytest.mark.parametrize(
    "name", ["METHOD", "RRULE", "TZID", "VTIMEZONE", "CREATED", "X-WR-CALDESC"]
)
def test_feed_leaves_out_what_it_must_not_have(name: str) -> None:
    assert count_lines(build_one(), name) == 0


def test_uid_is_letters_digits_hyphens_and_unique() -> None:
    uids = [str(event["UID"]) for event in list_events(build_one())]
    assert len(set(uids)) == 4
    assert all(re.fullmatch(r"[A-Za-z0-9-]{36}", uid) for uid in uids)


def test_uid_is_the_name_based_uuid_of_key_task_and_cycle() -> None:
    """Expected value from `sha1sum` over the key's 16 bytes and the name (RFC 9562, 5.5)."""
    event = find_event(build_one(), kind="standing")
    assert event["UID"] == "c1e24fc8-6499-55c7-9c54-e0d9dcc72b70"


def test_vessel_name_with_comma_and_semicolon_is_escaped_in_both_names() -> None:
    lines = unfold(build_one(vessel=make_vessel(name="Skua, the; old\\one")))
    assert r"NAME:Skua\, the\; old\\one upkeep" in lines
    assert r"X-WR-CALNAME:Skua\, the\; old\\one upkeep" in lines


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_stays_data_in_every_place(text: str) -> None:
    task = make_task(
        component={"name": text, "location": text, "marked": text},
        rule={"title": text or "x", "steps": f"1. {text}\n2. go on", "record": text},
    )
    fleet = make_fleet(address="", contact=Contact(name=text, phone=text, email=""))
    content = build([task], vessel=make_vessel(name=text), fleet=fleet)
    assert content is not None
    lines = unfold(content)
    assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT") == 4
    assert lines.count("END:VCALENDAR") == 1
    assert not re.search(rb"[\x00-\x09\x0b\x0c\x0e-\x1f\x7f]", content)
    assert not re.search("[\x80-\x9f\u2028\u2029]", content.decode())
    for event in list_events(content):
        assert len(event["DESCRIPTION"]) < 2000
        assert len(event["SUMMARY"]) <= 200


@pytest.mark.parametrize(
    "title",
    [
        "Clean, rinse; and dry",
        r"Look in C:\New\nothing",
        "חלון השירות \u200fשלום",
        "\N{WOMAN}\u200d\N{ROCKET} check",
        "<script>alert(1)</script>",
    ],
)
def test_title_comes_back_as_written(title: str) -> None:
    content = build([make_task(rule={"title": title}, component={"name": "x"})])
    for event in list_events(content):
        assert event["SUMMARY"] == f"{title} – x"


@settings(max_examples=60, deadline=None)
@given(title=st.text(min_size=1, max_size=120), steps=st.text(max_size=400))
def test_lines_are_folded_on_characters_within_75_octets(title: str, steps: str) -> None:
    task = make_task(rule={"title": title, "steps": f"1. {steps}"})
    content = build([task])
    assert content is not None
    assert content.endswith(b"\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")
    for line in content.split(b"\r\n"):
        assert len(line) <= 75
        line.decode()  # a fold inside a character would fail here


def test_dtstamp_is_midnight_utc_of_today() -> None:
    event = find_event(build_one(), kind="standing")
    stamp = event["DTSTAMP"].dt
    assert stamp == datetime.fromisoformat("2027-06-02T00:00:00+00:00")


def test_vessel_without_dated_task_has_no_file() -> None:
    assert build([]) is None
    assert build([make_task(due=None, then=())]) is None


def test_hand_keeps_only_its_tasks() -> None:
    tasks = [make_task(), make_task("unit/service", rule={"hand": "licensed"})]
    named = {str(event["X-WALKROUND-TASK"]) for event in list_events(build(tasks, hand="owner"))}
    assert named == {"skua/strainer/clean-basket"}
    assert build(tasks[1:], hand="owner") is None


def test_order_of_tasks_does_not_change_the_bytes() -> None:
    tasks = [make_task(f"part-{n}/look", due=date(2027, 6, 5 + n % 4), then=()) for n in range(12)]
    assert build(tasks) == build(tasks[::-1])


def test_hash_seed_and_time_zone_do_not_change_the_bytes() -> None:
    script = (
        f"import sys; from {__package__}.builder import *;"
        "tasks=[make_task('part-%d/look' % n) for n in range(9)];"
        "sys.stdout.buffer.write(build(tasks))"
    )
    outputs = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={"PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": ":".join(sys.path)},
            check=True,
            capture_output=True,
        ).stdout
        for seed, zone in (("1", "UTC"), ("77", "Pacific/Auckland"))
    }
    assert len(outputs) == 1
    assert outputs.pop().startswith(b"BEGIN:VCALENDAR\r\n")


def test_importing_feed_does_not_load_the_library() -> None:
    script = "import sys, upkeep.feed; sys.exit('icalendar' in sys.modules)"
    paths = {"PYTHONPATH": ":".join(sys.path)}
    assert subprocess.run([sys.executable, "-c", script], env=paths, check=False).returncode == 0


def test_unknown_caution_is_our_own_mistake() -> None:
    with pytest.raises(KeyError):
        build([make_task(rule={"cautions": ("nobody-wrote-this",)})])


def test_mailto_names_vessel_task_and_done() -> None:
    text = find_event(build_one(fleet=make_fleet(address="")), kind="standing")["DESCRIPTION"]
    address = re.search(r"mailto:(\S+)$", text)
    assert address is not None
    whom, subject = address[1].split("?subject=")
    assert whom == "workshop@quay.example"
    assert not re.search(r"[^A-Za-z0-9._~%-]", subject)
    assert unquote(subject) == "Skua: Clean the strainer basket, done (skua/strainer/clean-basket)"


def test_key_of_another_vessel_gives_other_uids() -> None:
    other = make_vessel(key=KEY.replace("6f", "70", 1))
    ours = {str(event["UID"]) for event in list_events(build([make_task()]))}
    theirs = {str(event["UID"]) for event in list_events(build([make_task()], vessel=other))}
    assert not ours & theirs


def test_written_calendar_reads_without_a_fault() -> None:
    calendar = read(build([make_task()]))
    assert [part.errors for part in calendar.walk()] == [[]] * 6  # calendar, 4 events, alarm
    assert build_feed(
        fleet=make_fleet(),
        vessel=make_vessel(components=[make_component()]),
        tasks=[make_task()],
        today=TODAY,
        previous=None,
        cautions=CAUTIONS,
    )
