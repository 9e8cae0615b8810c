"""Dates moved by findings: factors as the wear model's own table gives them, days by hand.

One finding at the base interval: 0.25 ×1.335, at the limit ×0.754, 1.5 ×0.571; the table stands
beside the cited vectors of the model, which run in tests/physics.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from upkeep.due import suppose_found
from upkeep.evidence import Look, learn
from upkeep.model import Task
from upkeep.records import load_fleet

Story = Callable[..., Mapping[str, Task]]

VALVE = """
[[component]]
id = "valve"
kind = "valve"
location = "aft"
installed = 2026-05-01
"""
FITTED = date(2026, 5, 1)


def found(rule: str, *rows: tuple[int, float]) -> str:
    """Record findings of the valve: days after fitting, and wear."""
    return "".join(
        f'[[last_done]]\ntask = "valve/{rule}"\non = {FITTED + timedelta(days=days)}\n'
        f"wear = {wear}\n"
        for days, wear in rows
    )


def days_to_next(task: Task) -> int:
    assert task.due is not None
    return (task.due - task.anchor).days


@pytest.mark.parametrize(("wear", "days"), [(0.25, 133), (1.0, 75), (1.5, 57)])
def test_one_finding_moves_a_restoration(story: Story, wear: float, days: int) -> None:
    task = story(VALVE + found("clean", (100, wear)), date(2026, 8, 20))["valve/clean"]
    assert days_to_next(task) == days
    assert task.moved is not None
    assert (task.moved.clock, task.moved.base, task.moved.count) == ("days", 100, 1)
    assert int(task.moved.now) == days
    reason = next(row for row in task.reasons if row.clock == "days")
    assert reason.limit == 100
    assert "by what was found once it is now" in reason.text
    assert (task.then[0] - task.due).days == days if task.due else False


def test_findings_as_new_reach_twice_the_base_and_say_that_they_are_held(story: Story) -> None:
    record = VALVE + found("clean", *((100 * n, 0.0) for n in range(1, 7)))
    task = story(record, FITTED + timedelta(days=610))["valve/clean"]
    assert days_to_next(task) == 200
    assert task.moved is not None
    assert task.moved.bound == "high"
    assert task.moved.evidence > 200
    assert "held there, whatever is found" in task.reasons[0].text


def test_findings_far_past_the_limit_hold_at_half_and_ask_for_a_new_base(story: Story) -> None:
    record = VALVE + found("clean", *((100 * n, 4.0) for n in range(1, 5)))
    task = story(record, FITTED + timedelta(days=401))["valve/clean"]
    assert days_to_next(task) == 50
    assert task.moved is not None
    assert (task.moved.bound, task.moved.evidence < 50) == ("low", True)
    assert "its usual limit is too long" in task.reasons[0].text


def test_a_look_is_never_lengthened_and_waits_less_the_more_it_saw(story: Story) -> None:
    gaps = []
    for wear in (0.0, 0.3, 0.6, 0.9, 1.2):
        task = story(VALVE + found("look", (100, wear)), date(2026, 8, 20))["valve/look"]
        gaps.append(days_to_next(task))
    assert gaps[0] == 100
    assert gaps == sorted(gaps, reverse=True)
    assert gaps[-1] == 10  # past its limit: a tenth, until it is put right


def test_a_test_passed_lengthens_little_and_a_failed_one_halves(story: Story) -> None:
    # (1 + 0.04 x 1) / (1 + failures): 104 and 52 days
    for wear, days in ((0.0, 104), (0.5, 104), (1.0, 52)):
        task = story(VALVE + found("try", (100, wear)), date(2026, 8, 20))["valve/try"]
        assert days_to_next(task) == days
    # Ten passes: 1 + 0.04 x 10; then one failure: (1 + 0.04 x 11) / 2
    ten = [(100 * n, 0.0) for n in range(1, 11)]
    task = story(VALVE + found("try", *ten), FITTED + timedelta(days=1001))["valve/try"]
    assert days_to_next(task) == 140
    task = story(VALVE + found("try", *ten, (1100, 1.0)), FITTED + timedelta(days=1101))
    assert days_to_next(task["valve/try"]) == 72


def test_a_renewal_is_only_ever_shortened(story: Story) -> None:
    fresh = story(VALVE + found("swap", (100, 0.0)), date(2026, 8, 20))["valve/swap"]
    assert days_to_next(fresh) == 100
    assert fresh.moved is not None
    assert fresh.moved.bound == "hard"
    worn = story(VALVE + found("swap", (100, 1.5)), date(2026, 8, 20))["valve/swap"]
    assert days_to_next(worn) == 57


def test_her_own_books_limit_is_never_lengthened(story: Story) -> None:
    own = '[[limit]]\ntask = "valve/clean"\ndays = 100\nsource = "its maker"\n'
    task = story(VALVE + own + found("clean", (100, 0.25)), date(2026, 8, 20))["valve/clean"]
    assert days_to_next(task) == 100
    task = story(VALVE + own + found("clean", (100, 1.5)), date(2026, 8, 20))["valve/clean"]
    assert days_to_next(task) == 57


def test_a_look_after_a_clean_starts_from_nothing(story: Story) -> None:
    looks = found("look", (50, 0.6), (150, 0.1))
    unsaid = story(VALVE + looks, FITTED + timedelta(days=151))["valve/look"]
    assert unsaid.moved is not None
    assert unsaid.moved.count == 1  # 0.6 to 0.1 without a clean says nothing
    cleaned = story(VALVE + looks + found("clean", (60, 0.6)), FITTED + timedelta(days=151))
    moved = cleaned["valve/look"].moved
    assert moved is not None
    assert moved.count == 2


@pytest.mark.parametrize("day", [100, 105])
def test_a_part_renewed_at_or_after_the_look_is_looked_at_as_new(story: Story, day: int) -> None:
    record = VALVE + found("look", (100, 1.2))
    worn = story(record, FITTED + timedelta(days=110))["valve/look"]
    assert days_to_next(worn) == 10
    assert "until it is put right" in worn.reasons[0].text
    renewed = story(record + found("swap", (day, 1.2)), FITTED + timedelta(days=110))
    task = renewed["valve/look"]
    assert 60 < days_to_next(task) < 75  # one finding of 1.2: between those at 1.0 and 1.5


def test_a_history_begins_anew_in_another_berth(story: Story) -> None:
    record = VALVE + found("clean", (100, 1.5))
    task = story(record + '[[berth]]\nwater = "lagoon"\nfrom = 2026-08-10\n', date(2026, 8, 20))
    assert task["valve/clean"].moved is None
    assert days_to_next(task["valve/clean"]) == 100


def test_the_first_run_counts_from_hand_over_as_the_date_does(story: Story) -> None:
    old = VALVE.replace("2026-05-01", "2025-01-01")
    moved = story(old + found("clean", (100, 0.25)), date(2026, 8, 20))["valve/clean"].moved
    assert moved is not None
    assert (moved.count, int(moved.now)) == (1, 133)
    early = old + '[[last_done]]\ntask = "valve/clean"\non = 2026-04-01\nwear = 1.5\n'
    assert story(early, date(2026, 8, 20))["valve/clean"].moved is None
    later = story(early + found("clean", (100, 0.25)), date(2026, 8, 20))["valve/clean"].moved
    assert later is not None
    assert later.count == 1  # from April on; what was found in April says nothing


spans, wears = st.floats(0.2, 3), st.floats(0, 2)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.tuples(spans, wears), min_size=1, max_size=5),
    st.integers(0, 4),
    st.floats(0.05, 1),
    st.sampled_from(["restore", "inspect", "prove", "renew"]),
)
def test_a_worse_finding_never_lengthens(
    rows: list[tuple[float, float]], place: int, more: float, purpose: str
) -> None:
    def moved(history: list[tuple[float, float]]) -> float:
        looks = tuple(Look(span=span, wear_from=0, wear=wear) for span, wear in history)
        return learn(purpose, looks, firm=False).now

    at = place % len(rows)
    worse = [
        (span, wear + more if index == at else wear) for index, (span, wear) in enumerate(rows)
    ]
    assert moved(worse) <= moved(rows) + 1e-9


def test_one_more_finding_is_supposed_without_being_recorded(story: Story, tmp_path: Path) -> None:
    today = FITTED + timedelta(days=100)
    tasks = story(VALVE, today)
    loaded = load_fleet(tmp_path)
    (vessel,), fleet = loaded.vessels, loaded.fleet
    assert fleet is not None
    supposed = dict(suppose_found(vessel, fleet, tasks["valve/clean"], today))
    assert supposed == {
        0.25: today + timedelta(days=133),
        1.0: today + timedelta(days=75),
    }
    assert vessel.completions == ()
