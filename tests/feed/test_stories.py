"""What subscribers see as work is done, moved, taken back, recorded late."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import icalendar
import pytest

from upkeep.model import Task

from .builder import (
    TODAY,
    build,
    find_event,
    list_events,
    make_component,
    make_task,
    make_vessel,
)

NAME = "strainer/clean-basket"
DUE = date(2027, 7, 5)
NEXT = date(2027, 9, 13)
FIRST_DONE = date(2027, 4, 26)


def publish(
    tasks: Sequence[Task],
    *,
    previous: bytes | None = None,
    done: Sequence[date] = (FIRST_DONE,),
    today: date = TODAY,
    **changes: Any,
) -> bytes:
    """Publish Skua's calendar with the strainer cleaned on some days."""
    vessel = make_vessel([(NAME, day) for day in done])
    content = build(tasks, previous=previous, vessel=vessel, today=today, **changes)
    assert content is not None
    return content


def task_after(done: date, **changes: Any) -> Task:
    """Make the strainer's task as counted from a completion, 70 days at a time."""
    due = done + timedelta(days=70)
    then = [due + timedelta(days=70 * n) for n in (1, 2, 3)]
    return make_task(NAME, due=due, then=then, anchor=done, done=True, **changes)


def by_uid(content: bytes) -> dict[str, icalendar.Event]:
    return {str(event["UID"]): event for event in list_events(content)}


def stamp(event: icalendar.Event) -> tuple[int, date]:
    return int(event["SEQUENCE"]), event["DTSTAMP"].dt.date()


def test_nothing_changed_gives_the_same_bytes_a_day_later() -> None:
    first = publish([task_after(FIRST_DONE)])
    again = publish([task_after(FIRST_DONE)], previous=first, today=TODAY + timedelta(days=1))
    assert again == first


def test_moved_date_raises_sequence_and_stamp_of_that_event_alone() -> None:
    other = make_task("anode/look", due=date(2027, 8, 20), then=())
    first = publish([task_after(FIRST_DONE), other])
    moved = replace(task_after(FIRST_DONE), due=DUE, shown_on=DUE - timedelta(days=4))
    today = TODAY + timedelta(days=3)
    second = by_uid(publish([moved, other], previous=first, today=today))
    changed = {uid for uid, event in by_uid(first).items() if event != second[uid]}
    assert changed == {str(find_event(first, kind="standing", task=NAME)["UID"])}
    assert stamp(second[changed.pop()]) == (1, today)


def test_changed_text_alone_keeps_stamp_and_sequence() -> None:
    first = publish([task_after(FIRST_DONE)])
    today = TODAY + timedelta(days=1)
    retold = task_after(FIRST_DONE, rule={"record": "Write down how much weed was in it."})
    second = publish([retold], previous=first, today=today)
    event = find_event(second, kind="standing")
    assert stamp(event) == (0, TODAY)
    assert "how much weed" in str(event["DESCRIPTION"])
    forecasts = [e for e in list_events(second) if e["X-WALKROUND-KIND"] == "forecast"]
    assert [stamp(event) for event in forecasts] == [(0, TODAY)] * 3


def test_first_number_is_the_count_of_completions_that_count() -> None:
    """Of five records three count: one lies before fitting, one after today."""
    done = (date(2026, 5, 30), date(2026, 6, 1), date(2026, 9, 1), FIRST_DONE, date(2027, 6, 3))
    event = find_event(publish([task_after(FIRST_DONE)], done=done), kind="standing")
    assert event["X-WALKROUND-CYCLE"] == "3"
    assert event["X-WALKROUND-SINCE"] == "2027-04-26"


def test_done_lets_the_forecast_take_over_and_stays_on_its_day() -> None:
    first = publish([task_after(FIRST_DONE)])
    forecast = next(e for e in list_events(first) if e["X-WALKROUND-KIND"] == "forecast")
    done_on = date(2027, 6, 20)
    second = publish(
        [task_after(done_on)], previous=first, done=(FIRST_DONE, done_on), today=done_on
    )
    standing, done = find_event(second, kind="standing"), find_event(second, kind="done")
    assert standing["UID"] == forecast["UID"]
    assert standing["STATUS"] == "CONFIRMED"
    assert stamp(standing) == (1, done_on)
    assert standing["DTSTART"].dt == date(2027, 8, 29)
    assert done["UID"] == find_event(first, kind="standing")["UID"]
    assert done["DTSTART"].dt == DUE
    assert done["SUMMARY"] == "Done: Clean the strainer basket – galley strainer"
    assert done["DESCRIPTION"] == "Done on 20 June 2027."
    assert done["STATUS"] == "CONFIRMED"
    assert stamp(done) == (1, done_on)
    assert not done.subcomponents


def test_done_event_stays_ninety_days_and_no_longer() -> None:
    first = publish([task_after(FIRST_DONE)])
    days = (FIRST_DONE, TODAY)
    second = publish([task_after(TODAY)], previous=first, done=days)
    on_last = TODAY + timedelta(days=90)
    third = publish([task_after(TODAY)], previous=second, done=days, today=on_last)
    assert find_event(third, kind="done")["X-WALKROUND-UNTIL"] == "2027-08-31"
    after = on_last + timedelta(days=1)
    fourth = publish([task_after(TODAY)], previous=third, done=days, today=after)
    kinds = {str(event["X-WALKROUND-KIND"]) for event in list_events(fourth)}
    assert "done" not in kinds
    assert find_event(fourth, kind="standing")["X-WALKROUND-CYCLE"] == "2"


def test_withdrawn_completion_goes_back_with_a_higher_sequence() -> None:
    first = publish([task_after(FIRST_DONE)])
    second = publish([task_after(TODAY)], previous=first, done=(FIRST_DONE, TODAY))
    today = TODAY + timedelta(days=2)
    third = publish([task_after(FIRST_DONE)], previous=second, today=today)
    standing = find_event(third, kind="standing")
    assert standing["UID"] == find_event(first, kind="standing")["UID"]
    assert standing["DTSTART"].dt == DUE
    assert stamp(standing) == (2, today)
    assert by_uid(third).keys() == by_uid(first).keys()
    taken_over = str(find_event(second, kind="standing")["UID"])
    assert by_uid(third)[taken_over]["STATUS"] == "TENTATIVE"
    assert stamp(by_uid(third)[taken_over]) == (2, today)


def test_completion_put_right_to_an_earlier_day_stays_done() -> None:
    first = publish([task_after(FIRST_DONE)])
    second = publish([task_after(TODAY)], previous=first, done=(FIRST_DONE, TODAY))
    really = TODAY - timedelta(days=3)
    third = publish([task_after(really)], previous=second, done=(FIRST_DONE, really))
    assert find_event(third, kind="done")["DESCRIPTION"] == "Done on 30 May 2027."
    assert find_event(third, kind="standing")["X-WALKROUND-CYCLE"] == "2"


@pytest.mark.parametrize("earlier", [date(2026, 7, 1), date(2027, 4, 25), FIRST_DONE])
def test_backdated_completion_never_renumbers(earlier: date) -> None:
    first = publish([task_after(FIRST_DONE)])
    second = publish([task_after(FIRST_DONE)], previous=first, done=(FIRST_DONE, earlier))
    assert second == first


def test_history_imported_before_hand_over_never_renumbers() -> None:
    """Nothing was recorded at first; the cycle counts from hand-over, 26 April."""
    unrecorded = make_task(NAME, anchor=FIRST_DONE)
    first = publish([unrecorded], done=())
    imported = [date(2026, 7, 1), date(2026, 12, 1)]
    second = publish([task_after(imported[-1])], previous=first, done=imported)
    standing = find_event(second, kind="standing")
    assert standing["UID"] == find_event(first, kind="standing")["UID"]
    assert standing["X-WALKROUND-CYCLE"] == "0"
    assert int(standing["SEQUENCE"]) == 1


def test_two_completions_at_once_move_on_by_one() -> None:
    first = publish([task_after(FIRST_DONE)])
    done = (FIRST_DONE, date(2027, 5, 20), TODAY)
    second = publish([task_after(TODAY)], previous=first, done=done)
    assert find_event(second, kind="standing")["X-WALKROUND-CYCLE"] == "2"
    assert find_event(second, kind="done")["DESCRIPTION"] == "Done on 20 May 2027."


def test_emptied_folder_gives_the_same_identifiers_again() -> None:
    first = publish([task_after(FIRST_DONE)])
    again = publish([task_after(FIRST_DONE)], previous=None, today=TODAY + timedelta(days=9))
    assert by_uid(again).keys() == by_uid(first).keys()


def test_late_event_keeps_day_uid_and_stamp() -> None:
    first = publish([task_after(FIRST_DONE)])
    late = replace(task_after(FIRST_DONE), standing="late")
    second = publish([late], previous=first, today=date(2027, 7, 20))
    before, after = find_event(first, kind="standing"), find_event(second, kind="standing")
    assert (after["UID"], after["DTSTART"].dt, after["SEQUENCE"]) == (before["UID"], DUE, 0)
    third = publish([late], previous=second, today=date(2027, 8, 20))
    assert find_event(third, kind="standing") == after


def test_done_event_of_a_removed_component_stays_its_time() -> None:
    other = make_task("anode/look", due=date(2027, 8, 20), then=())
    first = publish([task_after(FIRST_DONE), other])
    second = publish([task_after(TODAY), other], previous=first, done=(FIRST_DONE, TODAY))
    third = publish([other], previous=second, done=())
    kinds = [str(event["X-WALKROUND-KIND"]) for event in list_events(third)]
    assert sorted(kinds) == ["done", "standing"]


def test_task_without_further_date_is_done_and_resumes_its_numbers() -> None:
    other = make_task("anode/look", due=date(2027, 8, 20), then=())
    first = publish([task_after(FIRST_DONE), other])
    undated = make_task(NAME, due=None, then=(), anchor=TODAY)
    done = (FIRST_DONE, TODAY)
    second = publish([undated, other], previous=first, done=done)
    assert find_event(second, kind="done")["X-WALKROUND-CYCLE"] == "1"
    third = publish([task_after(TODAY), other], previous=second, done=done)
    assert find_event(third, kind="standing", task=NAME)["X-WALKROUND-CYCLE"] == "2"


@pytest.mark.parametrize(
    ("gap", "shown"), [(7, 1), (31, 1), (32, 3)], ids=["weekly", "31 days", "32 days"]
)
def test_forecasts_are_three_or_one_within_a_month(gap: int, shown: int) -> None:
    then = [DUE + timedelta(days=gap * n) for n in (1, 2, 3)]
    content = build([make_task(due=DUE, then=then)])
    forecasts = [e for e in list_events(content) if e["X-WALKROUND-KIND"] == "forecast"]
    assert [event["DTSTART"].dt for event in forecasts] == then[:shown]
    standing = find_event(content, kind="standing")
    for event in forecasts:
        assert event["STATUS"] == "TENTATIVE"
        assert event["SUMMARY"] == standing["SUMMARY"]
        assert not event.subcomponents


@pytest.mark.parametrize(
    ("today", "saturday"),
    [
        (date(2027, 6, 4), date(2027, 6, 5)),
        (date(2027, 6, 5), date(2027, 6, 5)),
        (date(2027, 6, 6), date(2027, 6, 12)),
    ],
    ids=["Friday", "Saturday", "Sunday"],
)
def test_waiting_event_lies_on_the_coming_saturday(today: date, saturday: date) -> None:
    late = make_task("anode/look", due=date(2027, 5, 3), then=())
    content = build([make_task(), late], today=today)
    event = find_event(content, kind="waiting")
    assert event["DTSTART"].dt == saturday
    assert event["SUMMARY"] == "Still waiting on Skua: 1 thing"
    assert "X-WALKROUND-TASK" not in event


def test_waiting_event_lists_what_can_be_done_where_she_is_longest_late_first() -> None:
    late = [
        make_task("a/look", due=date(2027, 5, 20), then=(), rule={"title": "Look at A"}),
        make_task("b/look", due=date(2027, 5, 3), then=(), rule={"title": "Look at B"}),
        make_task("c/look", due=date(2027, 5, 1), then=(), can_be_done_now=False),
    ]
    event = find_event(build(late), kind="waiting")
    assert event["SUMMARY"] == "Still waiting on Skua: 2 things"
    lines = str(event["DESCRIPTION"]).splitlines()
    assert [line[:11] for line in lines[1:]] == ["- Look at B", "- Look at A"]
    assert lines[1].endswith("(due 3 May 2027)")


def test_waiting_event_keeps_its_uid_and_leaves_when_all_is_done() -> None:
    late = make_task("anode/look", due=date(2027, 5, 3), then=())
    first = publish([late])
    second = publish([late], previous=first, today=TODAY + timedelta(days=7))
    old, new = find_event(first, kind="waiting"), find_event(second, kind="waiting")
    assert (old["UID"], 1) == (new["UID"], new["SEQUENCE"])
    stuck = replace(late, can_be_done_now=False)
    kinds = [str(e["X-WALKROUND-KIND"]) for e in list_events(publish([stuck], previous=second))]
    assert kinds == ["standing"]


def test_long_list_of_waiting_tasks_stays_under_two_thousand_characters() -> None:
    late = [make_task(f"part-{n}/look", due=date(2027, 5, 3), then=()) for n in range(60)]
    text = find_event(build(late), kind="waiting")["DESCRIPTION"]
    assert len(text) < 2000
    shown = text.count("\n- ")
    assert text.endswith(f"and {60 - shown} more")


def test_twins_are_told_apart_by_their_place() -> None:
    alarms = [
        make_component(f"alarm-{n}", name="smoke alarm", location=place)
        for n, place in enumerate(("saloon, deckhead", "aft cabin"))
    ]
    tasks = [
        replace(make_task("x/test", rule={"title": "Test the smoke alarm"}), component=alarm)
        for alarm in alarms
    ]
    content = build(tasks, vessel=make_vessel(components=alarms))
    assert {str(event["SUMMARY"]) for event in list_events(content)} == {
        "Test the smoke alarm – saloon, deckhead",
        "Test the smoke alarm – aft cabin",
    }


def test_done_event_of_another_hand_leaves_a_feed_made_for_one() -> None:
    licensed = {"hand": "licensed"}
    other = make_task("anode/look", due=date(2027, 8, 20), then=())
    first = publish([task_after(FIRST_DONE, rule=licensed), other])
    tasks, done = [task_after(TODAY, rule=licensed), other], (FIRST_DONE, TODAY)
    second = publish(tasks, previous=first, done=done)
    assert find_event(second, kind="done")["X-WALKROUND-CYCLE"] == "1"
    third = publish(tasks, previous=second, done=done, hand="owner")
    assert [str(e["X-WALKROUND-TASK"]) for e in list_events(third)] == ["skua/anode/look"]
