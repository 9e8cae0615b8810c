"""A small boat in invented waters, and her tasks on any day: what the histories are told of."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

import pytest

from upkeep.due import find_tasks
from upkeep.model import Task
from upkeep.records import load_fleet

Story = Callable[..., Mapping[str, Task]]

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
jurisdiction = "bay-law"

[water.lagoon]
name = "the lagoon"
class = "rich"
salinity = "sea"
monthly_c = [30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30]

[water.lake]
name = "the lake"
class = "rich"
salinity = "fresh"
monthly_c = [20, 20, 20, 20, 20, 20, 20, 20, 20, 20, 20, 20]
"""
BOAT = """
[vessel]
id = "skua"
name = "Skua"
type = "launch"
length_m = 9
water = "{water}"
flag = "{flag}"
use = "private"
handed_over = 2026-05-01
"""
SEASON = """
[season]
launch = "{}"
lay_up = "{}"
"""
RULES = """
[source.harbour-act]
title = "An act invented for this test"
authority = "LAW"
mark = "SEEN"

[source.habit]
title = "A habit"
authority = "NONE"
mark = "PRACTICE"

[kind.horn]
title = "horn"

[kind.horn.rule.sound]
title = "Sound the horn"
purpose = "prove"
limits = { months = 9 }
place = "afloat"
minutes = 5
hand = "owner"
steps = "Sound it."
sources = ["habit"]

[[kind.horn.rule.sound.scope]]
waters = ["bay-law"]
binding = "required"
sources = ["harbour-act"]

[[kind.horn.rule.sound.scope]]
uses = ["charter"]
binding = "practice"
limits = { months = 2 }
sources = ["habit"]

[kind.horn.rule.grease]
title = "Grease the horn"
purpose = "restore"
limits = { before_lay_up_days = 14, months = 18 }
without_season = { months = 8 }
minutes = 5
hand = "owner"
steps = "Grease it."
sources = ["habit"]

[kind.horn.rule.scrape]
title = "Scrape the horn"
purpose = "restore"
limits = { months = 12 }
place = "ashore"
minutes = 5
hand = "owner"
steps = "Scrape it."
sources = ["habit"]

[kind.horn.rule.polish]
title = "Polish the horn"
purpose = "restore"
limits = { months = 3 }
on_request = true
minutes = 5
hand = "owner"
steps = "Polish it."
sources = ["habit"]

[[kind.horn.rule.polish.scope]]
flags = ["us"]
binding = "practice"
sources = ["habit"]

[kind.valve]
title = "valve"

[kind.valve.rule.clean]
title = "Clean the valve"
purpose = "restore"
limits = { days = 100, months = 60 }
evidence = "days"
minutes = 5
hand = "owner"
steps = "Clean it."
sources = ["habit"]

[kind.valve.rule.look]
title = "Look at the valve"
purpose = "inspect"
limits = { days = 100 }
evidence = "days"
minutes = 5
hand = "owner"
steps = "Look at it."
sources = ["habit"]

[kind.valve.rule.try]
title = "Try the valve"
purpose = "prove"
limits = { days = 100 }
evidence = "days"
minutes = 5
hand = "owner"
steps = "Try it."
sources = ["habit"]

[kind.valve.rule.swap]
title = "Swap the valve"
purpose = "renew"
limits = { days = 100 }
evidence = "days"
minutes = 5
hand = "owner"
steps = "Swap it."
sources = ["habit"]

[kind.plug]
title = "plug"
fields = [{ key = "made", type = "stamp", text = "date stamped on it" }]

[kind.plug.rule.renew]
title = "Renew the plug"
purpose = "renew"
limits = { expiry = "made", life_months = 6 }
place = "ashore"
minutes = 5
hand = "owner"
steps = "Renew it."
sources = ["habit"]
"""


@pytest.fixture
def story(tmp_path: Path) -> Story:
    """Write a boat's record and look at her tasks, by component/rule, on a day."""

    def look(
        record: str,
        today: date,
        *,
        season: tuple[str, str] | None = ("04-01", "11-01"),
        water: str = "bay",
        flag: str = "gb",
    ) -> Mapping[str, Task]:
        boat = BOAT.format(water=water, flag=flag) + (SEASON.format(*season) if season else "")
        files = {"fleet.toml": FLEET, "vessels/skua.toml": boat + record}
        files["catalogue/horn.toml"] = RULES
        for name, text in files.items():
            path = tmp_path / name
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
        loaded = load_fleet(tmp_path)
        assert loaded.problems == ()
        assert loaded.fleet is not None
        tasks = find_tasks(loaded.vessels[0], loaded.fleet, today)
        return {task.local_id: task for task in tasks}

    return look
