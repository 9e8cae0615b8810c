"""The printed calendar: repeating where the dates step by months, and honest about its life."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import pytest

from upkeep.feed import build_static_feed
from upkeep.model import Task

from .builder import (
    CAUTIONS,
    TODAY,
    build,
    find_event,
    list_events,
    make_fleet,
    make_task,
    make_vessel,
    read,
    unfold,
)


def build_printed(*tasks: Task, today: date = TODAY) -> bytes:
    content = build_static_feed(
        fleet=make_fleet(), vessel=make_vessel(), tasks=tasks, today=today, cautions=CAUTIONS
    )
    assert content is not None
    return content


def make_monthly(months: int, days: Sequence[date]) -> Task:
    return make_task(due=days[0], then=days[1:], clock="months", limit=months)


@pytest.mark.parametrize(
    ("months", "days", "rule"),
    [
        (
            12,
            [date(2027, 7, 5), date(2028, 7, 5), date(2029, 7, 5), date(2030, 7, 5)],
            "RRULE:FREQ=MONTHLY;COUNT=4;INTERVAL=12",
        ),
        (
            1,
            [date(2027, 7, 28), date(2027, 8, 28)],
            "RRULE:FREQ=MONTHLY;COUNT=2;INTERVAL=1",
        ),
        (
            6,
            [date(2027, 8, 31), date(2028, 2, 29), date(2028, 8, 31)],
            "RRULE:FREQ=MONTHLY;COUNT=3;INTERVAL=6;BYMONTHDAY=-1",
        ),
    ],
    ids=["yearly", "monthly on 28", "last days"],
)
def test_dates_in_whole_months_become_one_repeating_event(
    months: int, days: list[date], rule: str
) -> None:
    lines = unfold(build_printed(make_monthly(months, days)))
    assert lines.count("BEGIN:VEVENT") == 1
    assert rule in lines


@pytest.mark.parametrize(
    "task",
    [
        make_task(),
        make_monthly(1, [date(2027, 7, 30), date(2027, 8, 30)]),
        make_monthly(1, [date(2027, 7, 5), date(2027, 8, 6)]),
        make_monthly(6, [date(2027, 7, 5)]),
        make_task(due=date(2027, 7, 5), then=[date(2027, 8, 5)], clock="fouling_days", limit=1),
    ],
    ids=["days", "the 30th", "moved", "one date", "not months"],
)
def test_other_dates_stand_singly(task: Task) -> None:
    content = build_printed(task)
    assert not any(line.startswith("RRULE") for line in unfold(content))
    assert [e["DTSTART"].dt for e in list_events(content)] == [task.due, *task.then]


def test_printed_calendar_says_when_and_how_long_and_asks_for_no_update() -> None:
    """Good until the first of its tasks runs out of dates: 6 March 2028, not 2030."""
    yearly = [date(2027 + n, 7, 5) for n in range(4)]
    tasks = [make_monthly(12, yearly), make_task("anode/look")]
    content = build_printed(*tasks)
    says = "Printed 2 June 2027, good until 6 March 2028, will not update."
    calendar = read(content)
    assert calendar["DESCRIPTION"] == says
    assert all(str(event["DESCRIPTION"]).endswith(says) for event in list_events(content))
    lines = unfold(content)
    assert r"NAME:Skua upkeep\, printed 2 June 2027" in lines
    assert not [line for line in lines if line.startswith(("REFRESH", "SOURCE", "METHOD"))]


def test_printed_events_have_identifiers_of_their_own() -> None:
    printed = {str(event["UID"]) for event in list_events(build_printed(make_task()))}
    live = {str(event["UID"]) for event in list_events(build([make_task()]))}
    assert len(printed) == 4
    assert not printed & live


def test_printing_again_updates_rather_than_doubles() -> None:
    first = build_printed(make_task())
    again = build_printed(make_task(), today=date(2027, 6, 20))
    assert [e["UID"] for e in list_events(first)] == [e["UID"] for e in list_events(again)]
    assert list_events(again)[0]["DTSTAMP"].dt.date() == date(2027, 6, 20)


def test_each_repeat_counts_in_the_alarm_budget() -> None:
    """The anode's day is one of the strainer's repeats, which is required and rings."""
    days = [date(2027, 7, 5), date(2027, 8, 5), date(2027, 9, 5)]
    monthly = replace(make_monthly(1, days), binding="required")
    content = build_printed(monthly, make_task("anode/look", due=date(2027, 9, 5), then=()))
    rings = {str(e["X-WALKROUND-TASK"]): bool(e.subcomponents) for e in list_events(content)}
    assert rings == {"skua/strainer/clean-basket": True, "skua/anode/look": False}


def test_late_task_waits_on_saturday_in_print_too() -> None:
    content = build_printed(make_task(due=date(2027, 5, 3), then=()))
    assert find_event(content, kind="waiting")["DTSTART"].dt == date(2027, 6, 5)


def test_cautions_stand_in_every_printed_event() -> None:
    for event in list_events(build_printed(make_task())):
        assert "CAUTION: Water runs out of the housing." in event["DESCRIPTION"]


def test_no_dated_task_prints_nothing() -> None:
    assert (
        build_static_feed(
            fleet=make_fleet(),
            vessel=make_vessel(),
            tasks=[make_task(due=None, then=())],
            today=TODAY,
            cautions=CAUTIONS,
        )
        is None
    )
