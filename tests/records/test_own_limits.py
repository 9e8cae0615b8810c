"""A fleet's own rules and a boat's own limits: laid over key by key, no traceback."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from upkeep.model import Expiry
from upkeep.records import load_fleet

BOAT = """
[vessel]
id = "tern"
name = "Tern"
type = "launch"
length_m = 8.2
water = "bay"
flag = "us"
use = "private"

[[component]]
id = "bottle"
kind = "fire-extinguisher"
location = "aft"
installed = 2026-05-01
made = "2026-02"
agent = "powder"
rechargeable = false

[[limit]]
task = "bottle/renew-by-age"
source = "its label"
{}
"""
RULE = """
[source.habit]
title = "A habit"
authority = "NONE"
mark = "PRACTICE"

[kind.horn]
title = "horn"

[kind.horn.rule.sound]
title = "Sound the horn"
purpose = "prove"
limits = {{ before_lay_up_days = 3 }}
without_season = {}
minutes = 5
hand = "owner"
steps = "Sound it."
sources = ["habit"]
"""


@pytest.mark.parametrize("written", ["5", "true", "2026-05-01", "[{ months = 3 }]", '"months"'])
def test_limits_that_are_no_table_are_a_problem(
    fleet_folder: Callable[..., Path], written: str
) -> None:
    boat = BOAT.format("months = 60")
    loaded = load_fleet(fleet_folder(vessels__tern=boat, catalogue__own=RULE.format(written)))
    (problem,) = loaded.problems
    assert problem.file == "catalogue/own.toml"
    assert "without_season" in problem.message or "limits" in problem.message


def test_a_life_alone_keeps_the_field_of_the_rule(fleet_folder: Callable[..., Path]) -> None:
    loaded = load_fleet(fleet_folder(vessels__tern=BOAT.format("life_months = 120")))
    assert loaded.problems == ()
    own = loaded.vessels[0].overrides["bottle", "renew-by-age"]
    assert own.limits["expiry"] == Expiry(field="made", life_months=120, life_field="")
