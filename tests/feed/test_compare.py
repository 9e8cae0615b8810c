"""Differences between two calendars in a person's words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from upkeep.errors import UpkeepError
from upkeep.feed import compare_feeds
from upkeep.model import Task

from .builder import TODAY, build, make_task, make_vessel

NAME = "Clean the strainer basket – galley strainer"


def publish(*tasks: Task, **changes: Any) -> bytes:
    content = build(tasks, **changes)
    assert content is not None
    return content


OLD = publish(make_task(then=()))


@pytest.mark.parametrize(
    ("task", "lines"),
    [
        (
            make_task(due=date(2027, 7, 9), then=()),
            [f"{NAME}: moved from 5 July 2027 to 9 July 2027 (4 days later); its text changed"],
        ),
        (
            replace(make_task(then=()), shown_on=date(2027, 7, 4)),
            [f"{NAME}: moved from 5 July 2027 to 4 July 2027 (1 day earlier)"],
        ),
        (
            make_task(then=(), rule={"record": "Write down its weight."}),
            [f"{NAME}: its text changed"],
        ),
        (
            make_task(then=(), component={"name": "bow strainer"}),
            [f"Clean the strainer basket – bow strainer: was called {NAME}"],
        ),
        (
            make_task(then=[date(2027, 9, 13)]),
            [f"{NAME}: new as a forecast, on 13 September 2027"],
        ),
    ],
    ids=["later", "earlier", "text", "name", "forecast"],
)
def test_one_change_is_one_line(task: Task, lines: list[str]) -> None:
    assert compare_feeds(OLD, publish(task)) == lines


def test_same_calendar_has_no_differences_whatever_its_stamps() -> None:
    later = publish(make_task(then=()), today=TODAY + timedelta(days=1))
    assert later != OLD
    assert compare_feeds(OLD, later) == []


def test_alarm_and_removal_are_said() -> None:
    rival = make_task("a/look", binding="required", then=(), rule={"title": "Look at A"})
    both = publish(make_task(then=()), rival)
    assert compare_feeds(OLD, both) == [
        f"{NAME}: no longer rings",
        "Look at A – galley strainer: new, on 5 July 2027",
    ]
    assert compare_feeds(both, OLD) == [
        f"{NAME}: rings the day before",
        "Look at A – galley strainer: gone (was on 5 July 2027)",
    ]


def test_done_and_taken_back_are_said() -> None:
    before = publish(make_task(then=[date(2027, 9, 13)]))
    done = make_vessel([("strainer/clean-basket", TODAY)])
    after = publish(
        make_task(due=date(2027, 8, 11), then=[date(2027, 10, 20)]), previous=before, vessel=done
    )
    moved = "moved from 13 September 2027 to 11 August 2027 (33 days earlier)"
    assert compare_feeds(before, after) == [
        f"{NAME}: done",
        f"{NAME}: no longer a forecast, it stands now; {moved}",
        f"{NAME}: new as a forecast, on 20 October 2027",
    ]
    assert f"{NAME}: not done after all, it stands again" in compare_feeds(after, before)


def test_new_name_of_the_vessel_is_said_first() -> None:
    renamed = publish(make_task(then=()), vessel=make_vessel(name="Gull, the"))
    assert compare_feeds(OLD, renamed)[0] == (
        "The calendar is now called Gull, the upkeep (was Skua upkeep)."
    )


@pytest.mark.parametrize("bad", [b"", b"nothing", OLD[:300]])
def test_broken_calendar_is_named(bad: bytes) -> None:
    with pytest.raises(UpkeepError, match=r"^the old calendar is not a whole calendar file"):
        compare_feeds(bad, OLD)
    with pytest.raises(UpkeepError, match=r"^the new calendar is not a whole calendar file"):
        compare_feeds(OLD, bad)


def test_calendar_of_another_maker_is_compared_too() -> None:
    foreign = OLD.replace(b"-//Walkround", b"-//Other").replace(b"X-WALKROUND", b"X-OTHER")
    assert compare_feeds(foreign, foreign) == []
    no_uid = b"\r\n".join(line for line in OLD.split(b"\r\n") if not line.startswith(b"UID"))
    with pytest.raises(UpkeepError, match="event without one 'UID'"):
        compare_feeds(OLD, no_uid)
