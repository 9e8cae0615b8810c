"""Winter work that nobody did: what subscribers and `why` see once the boat is launched."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from upkeep.due import find_lapses, find_tasks
from upkeep.feed import build_feed
from upkeep.records import load_fleet

from .builder import find_event, list_events

FLEET = """
[fleet]
id = "test"
name = "Test fleet"
contact = { name = "Yard" }

[water.bay]
name = "the bay"
class = "marina"
salinity = "sea"
monthly_c = [8, 7, 8, 10, 13, 16, 18, 19, 17, 14, 11, 9]
"""
BOAT = """
[vessel]
id = "skua"
name = "Skua"
type = "launch"
length_m = 9
water = "bay"
flag = "gb"
use = "private"
handed_over = 2026-05-01

[season]
launch = "04-01"
lay_up = "11-01"

[[component]]
id = "strainer"
kind = "sea-strainer"
location = "bilge"
installed = 2026-05-01

[[component]]
id = "bank"
kind = "lithium-bank"
capacity_ah = 100
location = "aft"
installed = 2026-05-01
"""
DONE = '[[last_done]]\ntask = "{}"\non = {}\n'
EMPTY = "strainer/empty-for-winter"  # 7 days after lay-up: 8 November
RECHECK = "bank/storage-recheck"

Publish = Callable[..., bytes]


@pytest.fixture
def publish(tmp_path: Path) -> Publish:
    def build(today: date, record: str = "", previous: bytes | None = None) -> bytes:
        (tmp_path / "vessels").mkdir(exist_ok=True)
        (tmp_path / "fleet.toml").write_text(FLEET)
        (tmp_path / "vessels/skua.toml").write_text(BOAT + record)
        loaded = load_fleet(tmp_path)
        assert loaded.problems == ()
        assert loaded.fleet is not None
        content = build_feed(
            fleet=loaded.fleet, vessel=loaded.vessels[0], today=today, previous=previous,
            tasks=find_tasks(loaded.vessels[0], loaded.fleet, today),
            cautions=loaded.catalogue.cautions,
        )  # fmt: skip
        assert content is not None
        return content

    return build


def test_after_launch_the_forecast_takes_over_from_work_not_done(publish: Publish) -> None:
    winter = publish(date(2026, 11, 20))
    late = find_event(winter, kind="standing", task=EMPTY)
    assert late["DTSTART"].dt == date(2026, 11, 8)
    next_uid = next(
        event["UID"]
        for event in list_events(winter)
        if event.get("X-WALKROUND-TASK") == f"skua/{EMPTY}"
        and event["DTSTART"].dt == date(2027, 11, 8)
    )

    spring = publish(date(2027, 4, 1), previous=winter)
    lapsed = find_event(spring, kind="done", task=EMPTY)
    assert lapsed["UID"] == late["UID"]
    assert lapsed["DTSTART"].dt == date(2026, 11, 8)
    assert str(lapsed["SUMMARY"]).startswith("Not done: Empty the strainer")
    standing = find_event(spring, kind="standing", task=EMPTY)
    assert (standing["UID"], standing["DTSTART"].dt) == (next_uid, date(2027, 11, 8))

    afterwards = publish(date(2027, 4, 9), DONE.format(EMPTY, date(2026, 12, 1)), previous=spring)
    done = find_event(afterwards, kind="done", task=EMPTY)
    assert done["UID"] == late["UID"]
    assert str(done["SUMMARY"]).startswith("Done: Empty the strainer")
    assert find_event(afterwards, kind="standing", task=EMPTY)["UID"] == next_uid


def test_an_emptied_folder_numbers_the_lapsed_cycle_too(publish: Publish) -> None:
    kept = publish(date(2027, 4, 1), previous=publish(date(2026, 11, 20)))
    afresh = publish(date(2027, 4, 1))
    uids = [find_event(feed, kind="standing", task=EMPTY)["UID"] for feed in (kept, afresh)]
    assert uids[0] == uids[1]


@pytest.mark.parametrize(
    ("record", "found"),
    [
        ("", {EMPTY: (date(2027, 4, 1), date(2026, 11, 8))}),
        (DONE.format(EMPTY, date(2026, 10, 27)), {}),  # seven days early is in its window
        (DONE.format(EMPTY, date(2026, 10, 20)), {EMPTY: (date(2027, 4, 1), date(2026, 11, 8))}),
        (DONE.format(EMPTY, date(2027, 3, 31)), {}),
    ],
)
def test_only_undone_winter_work_lapses(
    tmp_path: Path, publish: Publish, record: str, found: dict[str, tuple[date, date]]
) -> None:
    publish(date(2026, 6, 1), record)
    loaded = load_fleet(tmp_path)
    assert loaded.fleet is not None
    for today, expected in ((date(2027, 3, 31), {}), (date(2027, 4, 1), found)):
        tasks = find_tasks(loaded.vessels[0], loaded.fleet, today)
        lapses = find_lapses(loaded.vessels[0], loaded.fleet, tasks, today)
        seen = {name: (rows[0].on, rows[0].due) for name, rows in lapses.items() if name == EMPTY}
        assert seen == expected


def test_a_bank_nobody_looked_at_in_store_is_told(tmp_path: Path, publish: Publish) -> None:
    publish(date(2026, 6, 1))
    loaded = load_fleet(tmp_path)
    assert loaded.fleet is not None
    today = date(2027, 4, 1)
    tasks = find_tasks(loaded.vessels[0], loaded.fleet, today)
    bank = [task for task in tasks if "charge_to" in task.rule.limits]
    lapses = find_lapses(loaded.vessels[0], loaded.fleet, bank, today)
    # 100 Ah at 60 %, 3 mA and 3 % a month outlast the winter: the calendar's 3 months decide.
    assert [(lapse.on, lapse.due) for rows in lapses.values() for lapse in rows] == [
        (date(2027, 4, 1), date(2027, 2, 1))
    ]
