"""The previous file as state: read back whole, or refused with a sentence."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from upkeep.errors import UpkeepError
from upkeep.feed import build_feed, build_static_feed
from upkeep.feed.events import Entry, Event, FeedState, Heading, make_uid, name_cycle
from upkeep.feed.state import read_state
from upkeep.feed.words import clean_line
from upkeep.feed.write import write_calendar

from .builder import (
    CAUTIONS,
    KEY,
    TODAY,
    build,
    find_event,
    list_events,
    make_fleet,
    make_task,
    make_vessel,
)

GOOD = build([make_task(), make_task("anode/look", due=date(2027, 5, 3))]) or b""


def publish_after(previous: bytes) -> bytes | None:
    return build([make_task()], previous=previous)


def test_good_file_is_read() -> None:
    state = read_state(GOOD, make_vessel())
    assert [item.event.kind for item in state.entries].count("standing") == 2
    assert len(state.entries) == 9


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (b"", "is not a whole calendar file"),
        (b"<html>502 bad gateway</html>", "is not a whole calendar file"),
        (b"\xff\xfe\x00B", "is not a whole calendar file"),
        (GOOD[: len(GOOD) // 2], "is not a whole calendar file"),
        (GOOD + GOOD, "is not a whole calendar file"),
        (GOOD.replace(b"DATE:20270705", b"DATE:20270231"), "is spoilt at DTSTART"),
        (GOOD.replace(b"-//Walkround", b"-//Other"), "was not made by walkround"),
        (GOOD.replace(b"VALUE=DATE:20270705", b"VALUE=DATE-TIME:20270705T000000Z"), "be read"),
        (GOOD.replace(b"SEQUENCE:0\r\n", b"", 1), "be read"),
        (GOOD.replace(b"KIND:waiting", b"KIND:hoping"), "be read"),
        (GOOD.replace(b"CYCLE:0", b"CYCLE:7", 1), "holds events of another vessel"),
        (GOOD.replace(b"X-WALKROUND-SINCE", b"X-OTHER"), "without its beginning"),
    ],
    ids=str,
)
def test_broken_or_foreign_file_is_refused_with_advice(content: bytes, fault: str) -> None:
    assert content != GOOD
    with pytest.raises(UpkeepError) as caught:
        publish_after(content)
    said = str(caught.value)
    assert said.startswith("the calendar last published for skua ")
    assert fault in said
    assert said.endswith("or move it away and events are numbered afresh")


def test_doubled_event_is_refused() -> None:
    start, end = GOOD.index(b"BEGIN:VEVENT"), GOOD.index(b"END:VEVENT") + len(b"END:VEVENT\r\n")
    doubled = GOOD[:end] + GOOD[start:end] + GOOD[end:]
    with pytest.raises(UpkeepError, match="two events of one identifier"):
        publish_after(doubled)


def test_file_of_another_vessel_is_refused() -> None:
    other = build([make_task()], vessel=make_vessel(key=KEY.replace("6f", "70", 1)))
    assert other is not None
    with pytest.raises(UpkeepError, match="holds events of another vessel"):
        publish_after(other)


def test_printed_calendar_is_refused_as_state() -> None:
    printed = build_static_feed(
        fleet=make_fleet(),
        vessel=make_vessel(),
        tasks=[make_task()],
        today=TODAY,
        cautions=CAUTIONS,
    )
    assert printed is not None
    with pytest.raises(UpkeepError, match="is a printed calendar"):
        publish_after(printed)


@settings(max_examples=150, deadline=None)
@given(at=st.integers(0, len(GOOD) - 1), cut=st.integers(0, 40), put=st.binary(max_size=12))
def test_spoilt_file_is_read_or_refused_but_never_crashes(at: int, cut: int, put: bytes) -> None:
    content = GOOD[:at] + put + GOOD[at + cut :]
    try:
        state = read_state(content, make_vessel())
    except UpkeepError:
        return
    assert isinstance(state, FeedState)


LINES = st.text(max_size=90).map(clean_line)
DAYS = st.dates(date(2000, 1, 1), date(2100, 1, 1))


@st.composite
def make_entry(draw: st.DrawFn) -> Entry:
    cycle = draw(st.integers(0, 400))
    event = Event(
        uid=make_uid(KEY, name_cycle("a/b", cycle)),
        task="skua/a/b",
        cycle=cycle,
        since=draw(DAYS),
        day=draw(DAYS),
        summary=draw(LINES),
        description="\n".join(draw(st.lists(LINES, max_size=4))),
        status=draw(st.sampled_from(["CONFIRMED", "TENTATIVE"])),
        categories=(draw(LINES.filter(bool)),),
        alarm=draw(st.booleans()),
        url=draw(st.sampled_from(["", "https://a.example/b.html#task-c"])),
        kind=draw(st.sampled_from(["standing", "done"])),
        until=draw(st.none() | DAYS),
    )
    return Entry(event=event, sequence=draw(st.integers(0, 99)), stamped_on=draw(DAYS))


@settings(max_examples=150, deadline=None)
@given(entry=make_entry())
def test_what_is_written_is_read_back_the_same(entry: Entry) -> None:
    content = write_calendar(Heading(name="x"), [entry])
    assert read_state(content, make_vessel()).entries == (entry,)


def test_calendar_without_an_event_is_never_written() -> None:
    with pytest.raises(ValueError, match="at least one"):
        write_calendar(Heading(name="x"), [])


def test_renamed_vessel_keeps_her_identifiers() -> None:
    task = replace(make_task(), vessel="gull")
    content = build_feed(
        fleet=make_fleet(),
        vessel=make_vessel(id="gull", name="Gull"),
        tasks=[task],
        today=TODAY + timedelta(days=1),
        previous=build([make_task()]),
        cautions=CAUTIONS,
    )
    assert content is not None
    before, after = (
        read_state(build([make_task()]) or b"", make_vessel()),
        read_state(content, make_vessel()),
    )
    assert [x.event.uid for x in before.entries] == [x.event.uid for x in after.entries]
    assert {x.sequence for x in after.entries} == {0}


def test_a_feed_for_one_hand_keeps_what_the_others_had() -> None:
    tasks = [make_task("strainer/a"), make_task("strainer/b", rule={"hand": "competent"})]
    moved = [tasks[0], make_task("strainer/b", rule={"hand": "competent"}, due=date(2027, 7, 9))]
    whole = build(tasks)
    later = build(moved, previous=whole)
    own = build(moved, previous=later, hand="owner")
    assert {event["X-WALKROUND-TASK"] for event in list_events(own)} == {"skua/strainer/a"}
    again = build(moved, previous=build(moved, previous=own, hand="owner"))
    assert again == later
    assert int(find_event(again, kind="standing", task="strainer/b")["SEQUENCE"]) == 1


@pytest.mark.parametrize("text", ["", "!", "QkVHSU46VkVWRU5U", "QkVHSU46VlRPRE8NCkVORDpWVE9ETw0K"])
def test_spoilt_unseen_events_are_refused(text: str) -> None:
    whole = build([make_task()])
    assert whole is not None
    spoilt = whole.replace(
        b"BEGIN:VEVENT", f"X-WALKROUND-UNSEEN:{text}\r\nBEGIN:VEVENT".encode(), 1
    )
    with pytest.raises(UpkeepError, match="skua"):
        build([make_task()], previous=spoilt)


def test_a_hand_without_dates_does_not_wipe_the_calendar_of_others() -> None:
    whole = build([make_task()])
    with pytest.raises(UpkeepError, match="nothing dated for the hand licensed"):
        build([make_task()], previous=whole, hand="licensed")
    assert build([make_task()], hand="licensed") is None


def test_a_task_without_a_day_for_now_keeps_its_number_and_sequence() -> None:
    before = build([make_task(), make_task("anode/look")])
    lost = build([make_task(due=None, then=()), make_task("anode/look")], previous=before)
    assert all(event["X-WALKROUND-TASK"] != "skua/strainer/clean-basket"
               for event in list_events(lost))  # fmt: skip
    again = build([make_task(due=date(2027, 7, 9)), make_task("anode/look")], previous=lost)
    old = find_event(before, kind="standing", task="strainer/clean-basket")
    new = find_event(again, kind="standing", task="strainer/clean-basket")
    assert new["UID"] == old["UID"]
    assert int(new["SEQUENCE"]) == int(old["SEQUENCE"]) + 1
