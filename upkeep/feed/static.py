"""The calendar for programs that cannot subscribe: printed once, it will not update.

Dates that step by whole months become one repeating event (RFC 5545, 3.3.10); all others
stand singly.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from upkeep.dates import add_months, say_day
from upkeep.feed.alarms import Claim, allot_alarms, make_claim
from upkeep.feed.cycles import list_done_days
from upkeep.feed.describe import (
    FORECAST,
    describe_task,
    find_twins,
    link_task,
    name_calendar,
    say_summary,
)
from upkeep.feed.events import (
    CONFIRMED,
    TENTATIVE,
    WAITING,
    Entry,
    Event,
    Heading,
    Repeat,
    make_uid,
    sort_entries,
)
from upkeep.feed.plan import plan_waiting
from upkeep.model import Caution, Fleet, Task, Vessel

COMMON_LAST = 28  # the last day that every month has


@dataclass(frozen=True, kw_only=True, slots=True)
class Print:
    """What holds for every event of one printed calendar; validity is its closing line."""

    fleet: Fleet
    vessel: Vessel
    today: date
    cautions: Mapping[str, Caution]
    twins: frozenset[str]
    validity: str


def plan_printed(
    *,
    fleet: Fleet,
    vessel: Vessel,
    tasks: Sequence[Task],
    today: date,
    cautions: Mapping[str, Caution],
) -> tuple[Entry, ...]:
    """Plan a printed calendar of a vessel's dated tasks, under identifiers of its own."""
    dated = sorted((task for task in tasks if task.shown_on), key=lambda task: task.id)
    if not dated:
        return ()
    frame = Print(
        fleet=fleet,
        vessel=vessel,
        today=today,
        cautions=cautions,
        twins=find_twins(vessel),
        validity=say_validity(dated, today),
    )
    pairs = [(event, task) for task in dated for event in _plan_task(frame, task)]
    ringing = allot_alarms(_claim(event, task) for event, task in pairs)
    events = [
        replace(event, alarm=event.uid in ringing and event.day > today) for event, _ in pairs
    ]
    waiting = plan_waiting(fleet=fleet, vessel=vessel, tasks=dated, today=today)
    uid = make_uid(vessel.key, f"printed/{WAITING}")
    events += [replace(event, uid=uid) for event in waiting]
    return sort_entries([Entry(event=event, sequence=0, stamped_on=today) for event in events])


def say_validity(tasks: Sequence[Task], today: date) -> str:
    """Say how long a printed calendar holds: until the first task runs out of known dates."""
    returning = [task.then[-1] for task in tasks if task.then]
    single = [task.shown_on for task in tasks if task.shown_on]
    last = max(today, min(returning) if returning else max(single))
    return f"Printed {say_day(today)}, good until {say_day(last)}, will not update."


def head_printed(vessel: Vessel, tasks: Sequence[Task], today: date) -> Heading:
    """Name a printed calendar by its day, and say how long it holds."""
    name = f"{name_calendar(vessel)}, printed {say_day(today)}"
    return Heading(name=name, description=say_validity(tasks, today), printed=True)


def find_repeat(task: Task) -> Repeat | None:
    """Find the rhythm of a task whose dates step by its own limit in months, if they do."""
    days = _list_days(task)
    months = _find_months(task)
    if months is None or len(days) < 2:
        return None
    fixed = days[0].day <= COMMON_LAST
    steps = [add_months(days[0].replace(day=1), months * number) for number in range(len(days))]
    if fixed and list(days) == [step.replace(day=days[0].day) for step in steps]:
        return Repeat(months=months, count=len(days), on_last_day=False)
    if list(days) == [add_months(step, 1) - timedelta(days=1) for step in steps]:
        return Repeat(months=months, count=len(days), on_last_day=True)
    return None


def _find_months(task: Task) -> int | None:
    """Find the limit in months if it is what sets the date."""
    setting = next((item for item in task.reasons if item.clock != "place"), None)
    if setting is None or setting.clock != "months" or not isinstance(setting.limit, int | float):
        return None
    return int(setting.limit) if setting.limit == int(setting.limit) > 0 else None


def _list_days(task: Task) -> tuple[date, ...]:
    return (*([task.shown_on] if task.shown_on else []), *task.then)


def _plan_task(frame: Print, task: Task) -> list[Event]:
    repeat = find_repeat(task)
    days = _list_days(task)
    if repeat is None:
        return [_make_event(frame, task, number, day) for number, day in enumerate(days)]
    every = "Every month" if repeat.months == 1 else f"Every {repeat.months} months"
    why = f"{every} from {say_day(days[0])}."
    return [replace(_make_event(frame, task, 0, days[0], why=why), repeat=repeat)]


def _make_event(frame: Print, task: Task, number: int, day: date, *, why: str = "") -> Event:
    cycle = len(list_done_days(frame.vessel, task, frame.today)) + number
    text = describe_task(
        frame.fleet,
        frame.vessel,
        task,
        frame.cautions,
        why=why or (FORECAST if number else ""),
        closing=frame.validity,
    )
    return Event(
        uid=make_uid(frame.vessel.key, f"printed/{task.local_id}/{cycle}"),
        task=task.id,
        cycle=cycle,
        since=None,
        day=day,
        summary=say_summary(task, frame.twins),
        description=text,
        status=TENTATIVE if number else CONFIRMED,
        categories=(task.component.kind.area,),
        alarm=False,
        url=link_task(frame.fleet, frame.vessel, task),
        kind="forecast" if number else "standing",
    )


def _claim(event: Event, task: Task) -> Claim:
    days = (event.day,) if event.repeat is None else _list_days(task)
    return make_claim(event.uid, task, days)
