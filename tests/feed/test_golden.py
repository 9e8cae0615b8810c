"""One vessel's calendars as people get them; read the file when it changes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from upkeep.feed import build_static_feed
from upkeep.model import Task

from .builder import CAUTIONS, TODAY, build, make_fleet, make_task, make_vessel

Golden = Callable[[str, bytes], None]
NAME = "strainer/clean-basket"


def make_tasks(*, cleaned: date) -> list[Task]:
    """Make what stands on Skua: rhythm, expiry, licensed work, something late."""
    due = cleaned + timedelta(days=40)
    return [
        make_task(NAME, due=due, then=[due + timedelta(days=30)], anchor=cleaned, done=True),
        make_task(
            "flares/renew",
            due=date(2027, 6, 30),
            then=(),
            clock="expiry",
            binding="required",
            component={"name": "flares", "location": "cockpit locker, port", "marked": ""},
            rule={"title": "Renew the flares", "cautions": (), "steps": "1. Hand in the old."},
        ),
        make_task(
            "unit/service",
            due=date(2027, 9, 1),
            then=[date(2028 + n, 9, 1) for n in range(3)],
            clock="months",
            limit=12,
            component={"name": "cabin unit", "location": "saloon, under the settee"},
            rule={
                "title": "Have the cabin unit serviced",
                "hand": "licensed",
                "cautions": ("stored-charge",),
                "steps": "1. Ask for the certificate.\n2. Show the readings at hand-over.",
            },
        ),
        make_task(
            "anode/look",
            due=date(2027, 5, 20),
            then=[date(2027, 8, 20), date(2027, 11, 20)],
            component={"name": "shaft zinc", "location": "on the shaft", "marked": ""},
            rule={"title": "Look at the anode", "cautions": (), "steps": "1. Look; measure, note."},
        ),
    ]


def test_feed_after_one_cleaning_is_as_reviewed(golden: Golden) -> None:
    first, second = date(2027, 4, 28), date(2027, 6, 1)
    before = build(
        make_tasks(cleaned=first),
        vessel=make_vessel([(NAME, first)]),
        today=TODAY - timedelta(days=7),
    )
    after = build(
        make_tasks(cleaned=second),
        vessel=make_vessel([(NAME, first), (NAME, second)]),
        previous=before,
    )
    assert after is not None
    golden("feed-skua.ics", after)


def test_printed_calendar_is_as_reviewed(golden: Golden) -> None:
    content = build_static_feed(
        fleet=make_fleet(address=""),
        vessel=make_vessel(),
        tasks=make_tasks(cleaned=date(2027, 4, 28)),
        today=TODAY,
        cautions=CAUTIONS,
    )
    assert content is not None
    golden("feed-skua-printed.ics", content)
