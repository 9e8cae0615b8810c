"""Random boats: the product's dates against those of a second, slow reader of the contract.

WALKROUND_BOATS=3000 looks at as many boats as that; the default run at a few.
"""

from __future__ import annotations

import os
from dataclasses import replace

import pytest

from upkeep.due import find_tasks
from upkeep.model import Task

from .boats import make_boat
from .oracle import Expected, Oracle

BOATS = int(os.environ.get("WALKROUND_BOATS", "160"))
BATCH = 40


def as_expected(task: Task) -> Expected:
    return Expected(
        id=task.id,
        binding=task.binding,
        anchor=task.anchor,
        done=task.done,
        allows={row.clock: row.allows for row in task.reasons if row.clock != "place"},
        due=task.due,
        opens=task.opens,
        standing=task.standing,
        then=task.then,
    )


@pytest.mark.parametrize("first", range(0, BOATS, BATCH))
def test_find_tasks_of_random_boats_agrees_with_a_day_by_day_reading(first: int) -> None:
    for seed in range(first, min(first + BATCH, BOATS)):
        vessel, fleet, today = make_boat(seed)
        found = {task.id: as_expected(task) for task in find_tasks(vessel, fleet, today)}
        assert found == Oracle(vessel, fleet, today).find_tasks(), f"boat {seed}"


@pytest.mark.parametrize("seed", range(20))
def test_find_tasks_twice_gives_equal_results(seed: int) -> None:
    vessel, fleet, today = make_boat(seed)
    assert find_tasks(vessel, fleet, today) == find_tasks(vessel, fleet, today)


@pytest.mark.parametrize("seed", range(20))
def test_find_tasks_of_a_record_written_in_another_order_is_the_same(seed: int) -> None:
    vessel, fleet, today = make_boat(seed)
    turned = replace(
        vessel,
        ashore=vessel.ashore[::-1],
        afloat=vessel.afloat[::-1],
        left=vessel.left[::-1],
        completions=vessel.completions[::-1],
        components=dict(reversed(vessel.components.items())),
    )
    assert find_tasks(turned, fleet, today) == find_tasks(vessel, fleet, today)


@pytest.mark.parametrize("seed", range(40))
def test_find_tasks_keeps_its_own_order_and_windows(seed: int) -> None:
    vessel, fleet, today = make_boat(seed)
    tasks = find_tasks(vessel, fleet, today)
    dated = [(task.due, task.id) for task in tasks if task.due is not None]
    assert [(task.due, task.id) for task in tasks][: len(dated)] == sorted(dated)
    for task in tasks:
        allowed = [row.allows for row in task.reasons if row.allows is not None]
        assert allowed == sorted(allowed)
        if task.due is not None and task.opens is not None and task.shown_on is not None:
            assert max(task.opens, task.shown_on) <= task.due
