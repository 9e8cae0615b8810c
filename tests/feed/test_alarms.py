"""The alarm budget: one a day, three a week, the binding ones always."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from .builder import TODAY, build, find_event, list_events, make_task

MONDAY = date(2027, 6, 14)


def ringing(content: bytes | None) -> list[str]:
    """List the tasks whose standing event rings, sorted."""
    return sorted(
        str(event["X-WALKROUND-TASK"]).removeprefix("skua/").removesuffix("/look")
        for event in list_events(content)
        if event.subcomponents
    )


def make_week(*days: int, **changes: Any) -> list[Any]:
    """Make one task due on each of some weekdays, Monday 0, named by its place in the list."""
    return [
        make_task(f"part-{n}/look", due=MONDAY + timedelta(days=day), then=(), **changes)
        for n, day in enumerate(days)
    ]


def test_one_a_day_goes_to_the_more_binding_then_the_first_by_name() -> None:
    tasks = make_week(1, 1, 1)
    assert ringing(build(tasks)) == ["part-0"]
    tasks = [*make_week(1, binding="practice"), make_task("z/look", due=MONDAY + timedelta(days=1))]
    assert ringing(build(tasks)) == ["z"]


def test_three_a_week_go_to_the_earliest() -> None:
    assert ringing(build(make_week(5, 4, 3, 2, 1))) == ["part-2", "part-3", "part-4"]


def test_monday_counts_in_the_week_it_rings_in_as_well() -> None:
    """The Monday's alarm rings on the Sunday before, the week of the other three."""
    assert ringing(build(make_week(1, 2, 3, 7))) == ["part-0", "part-1", "part-2"]


def test_required_tasks_always_ring_and_the_others_yield() -> None:
    required = make_week(0, 0, 1, 2, binding="required")
    other = make_task("other/look", due=MONDAY + timedelta(days=4), then=())
    assert ringing(build([*required, other])) == ["part-0", "part-1", "part-2", "part-3"]


def test_expiry_always_rings_though_it_is_only_practice() -> None:
    flares = make_task("flares/look", due=MONDAY, then=(), clock="expiry", binding="practice")
    assert ringing(build([*make_week(0), flares])) == ["flares"]


def test_expiry_that_does_not_set_the_date_gives_no_right() -> None:
    task = make_task("part-9/look", due=MONDAY, then=(), binding="practice")
    late_stamp = make_task(clock="expiry", due=MONDAY + timedelta(days=300)).reasons
    both = replace(task, reasons=(*task.reasons, *late_stamp))
    assert ringing(build([*make_week(0), both])) == ["part-0"]


def test_alarm_rings_until_the_day_before_and_not_after() -> None:
    tomorrow, today = TODAY + timedelta(days=1), TODAY
    assert ringing(build([make_task("part-0/look", due=tomorrow)])) == ["part-0"]
    assert ringing(build([make_task("part-0/look", due=today)])) == []


def test_days_gone_by_keep_their_share_of_the_week() -> None:
    tasks = make_week(0, 1, 2, 4)
    assert ringing(build(tasks, today=MONDAY + timedelta(days=2))) == []


def test_alarm_text_is_the_summary() -> None:
    event = find_event(build([make_task()]), kind="standing")
    (alarm,) = event.subcomponents
    assert alarm["DESCRIPTION"] == event["SUMMARY"]
    assert alarm["TRIGGER"].dt == timedelta(hours=-15)


@settings(max_examples=80, deadline=None)
@given(
    rows=st.lists(
        st.tuples(st.integers(-5, 25), st.sampled_from(["practice", "advised", "required"])),
        min_size=1,
        max_size=14,
    )
)
def test_budget_holds_for_any_records(rows: list[tuple[int, str]]) -> None:
    tasks = [
        make_task(f"part-{n}/look", due=TODAY + timedelta(days=day), then=(), binding=binding)
        for n, (day, binding) in enumerate(rows)
    ]
    content = build(tasks)
    assert content is not None
    free: Counter[date] = Counter()
    weeks: Counter[tuple[int, int]] = Counter()
    for event in list_events(content):
        if event["X-WALKROUND-KIND"] != "standing":
            assert not event.subcomponents
            continue
        number = int(str(event["X-WALKROUND-TASK"]).split("/")[1].removeprefix("part-"))
        offset, binding = rows[number]
        if binding == "required":
            assert bool(event.subcomponents) == (offset > 0)
        elif event.subcomponents:
            assert offset > 0
            day = event["DTSTART"].dt
            free[day] += 1
            rings_on = day - timedelta(days=1)
            weeks[rings_on.isocalendar()[:2]] += 1
    assert max(free.values(), default=0) <= 1
    assert max(weeks.values(), default=0) <= 3
