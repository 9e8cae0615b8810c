"""From tasks to the events of one vessel's calendar, keeping what subscribers already have.

A standing event lies on the day its task falls due and keeps its identifier until work done
later than the day it counts from is recorded, or its season passes; then the forecast after it
takes over and it stays 90 days as done, or as not done. Sequence numbers: RFC 5546, 2.1.4.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

from upkeep.dates import say_day
from upkeep.due import Lapse, find_lapses
from upkeep.feed.alarms import allot_alarms, make_claim
from upkeep.feed.cycles import Cycle, find_cycle, find_end, list_done_days
from upkeep.feed.describe import (
    BOOK,
    DONE,
    FORECAST,
    NOT_DONE,
    describe_waiting,
    find_twins,
    link_handbook,
    link_task,
    say_summary,
)
from upkeep.feed.events import (
    CONFIRMED,
    TENTATIVE,
    WAITING,
    Entry,
    Event,
    EventKind,
    FeedState,
    make_uid,
    name_cycle,
    sort_entries,
)
from upkeep.feed.words import clean_line, shorten
from upkeep.model import Fleet, Task, Vessel

DONE_DAYS = 90  # a done event stays so long (practice, no source)
OFTEN_DAYS = 31  # what returns within a month shows one forecast (practice, no source)
MOST_FORECASTS = 3
SATURDAY = 5


@dataclass(frozen=True, kw_only=True, slots=True)
class Setting:
    """What holds for every event of one run; describe gives a text to each task's local id."""

    fleet: Fleet
    vessel: Vessel
    today: date
    describe: Mapping[str, str]
    twins: frozenset[str]
    lapses: Mapping[str, tuple[Lapse, ...]]

    def make_event(self, task: Task, *, kind: EventKind, cycle: int, day: date) -> Event:
        """Make one occurrence of a task, as yet without alarm and without start."""
        standing = kind == "standing"
        return Event(
            uid=make_uid(self.vessel.key, name_cycle(task.local_id, cycle)),
            task=task.id,
            cycle=cycle,
            since=None,
            day=day,
            summary=say_summary(task, self.twins),
            description=self.describe[task.local_id] if standing else FORECAST,
            status=CONFIRMED if standing else TENTATIVE,
            categories=(task.component.kind.area,),
            alarm=False,
            url=link_task(self.fleet, self.vessel, task),
            kind=kind,
        )


def plan_feed(
    *,
    fleet: Fleet,
    vessel: Vessel,
    tasks: Sequence[Task],
    today: date,
    state: FeedState,
    describe: Mapping[str, str],
) -> tuple[Entry, ...]:
    """Plan a vessel's calendar, ready to be written.

    tasks: the vessel's own, any order; those without shown_on give no event of their own.
    state: what was published last. describe: the text of each dated task, by local id.
    SEQUENCE rises by one when day, status or part in the story (standing, forecast, done)
    changes, and DTSTAMP moves to today; a change of text alone leaves both.
    """
    setting = Setting(
        fleet=fleet, vessel=vessel, today=today, describe=describe, twins=find_twins(vessel),
        lapses=find_lapses(vessel, fleet, tasks, today),
    )  # fmt: skip
    ordered = sorted(tasks, key=lambda task: task.id)
    kept = [item.event for item in state.entries if item.event.kind in ("standing", "done")]
    events = [event for task in ordered for event in _plan_task(setting, task, kept)]
    events += _carry_history(kept, {task.local_id for task in ordered}, today)
    events += plan_waiting(fleet=fleet, vessel=vessel, tasks=ordered, today=today)
    return _stamp(_set_alarms(events, ordered, today), state, today)


def plan_waiting(
    *, fleet: Fleet, vessel: Vessel, tasks: Iterable[Task], today: date
) -> list[Event]:
    """Make the one event that stands for all that is late and can be done where she is.

    It lies on the coming Saturday, today if it is one; none when nothing waits. The late
    events themselves stay where they are.
    """
    late, twins = list_late(tasks), find_twins(vessel)
    if not late:
        return []
    lines = [(say_summary(task, twins), task.due or today) for task in late]
    things = "1 thing" if len(late) == 1 else f"{len(late)} things"
    return [
        Event(
            uid=make_uid(vessel.key, WAITING),
            task="",
            cycle=0,
            since=None,
            day=today + timedelta(days=(SATURDAY - today.weekday()) % 7),
            summary=f"Still waiting on {shorten(clean_line(vessel.name), 100)}: {things}",
            description=describe_waiting(vessel, lines),
            status=CONFIRMED,
            categories=(),
            alarm=False,
            url=link_handbook(fleet, vessel),
            kind=WAITING,
        )
    ]


def list_late(tasks: Iterable[Task]) -> list[Task]:
    """List what is late and can be done where she is, the longest late first."""
    late = (task for task in tasks if task.standing == "late" and task.can_be_done_now)
    return sorted(late, key=lambda task: (task.due or date.max, task.id))


def list_forecasts(task: Task) -> tuple[date, ...]:
    """List the days shown as forecasts: three, or one if they return within 31 days.

    The gap before the first counts too, except on a late task, whose own day is past.
    """
    start = (task.due,) if task.due and task.standing != "late" else ()
    gaps = [(after - before).days for before, after in pairwise((*start, *task.then))]
    often = bool(gaps) and min(gaps) <= OFTEN_DAYS
    return task.then[: 1 if often else MOST_FORECASTS]


def _plan_task(setting: Setting, task: Task, kept: Sequence[Event]) -> list[Event]:
    own = [event for event in kept if event.local_id == task.local_id]
    days = list_done_days(setting.vessel, task, setting.today)
    lapsed = {lapse.on for lapse in setting.lapses.get(task.local_id, ())}
    ends = sorted(lapsed.union(days))
    cycle = find_cycle(ends=ends, kept=own, anchor=task.anchor, today=setting.today)
    past = [event for event in own if event.cycle < cycle.number]
    events = [_make_done(event, ends, lapsed.difference(days), setting.today) for event in past]
    events = [event for event in events if event.until and setting.today <= event.until]
    return [*events, *_plan_ahead(setting, task, cycle)]


def _plan_ahead(setting: Setting, task: Task, cycle: Cycle) -> list[Event]:
    """Make the standing event and its forecasts; none for a task without a date."""
    if task.shown_on is None:
        return []
    make = setting.make_event
    first = make(task, kind="standing", cycle=cycle.number, day=task.shown_on)
    later = [
        make(task, kind="forecast", cycle=cycle.number + number, day=day)
        for number, day in enumerate(list_forecasts(task), start=1)
    ]
    return [replace(first, since=cycle.since), *later]


def _make_done(event: Event, ends: Sequence[date], lapsed: Collection[date], today: date) -> Event:
    """Turn a published event into a done one; one that is done already keeps its last day."""
    end = find_end(event.since, ends) if event.since else None
    bare = event.summary.removeprefix(NOT_DONE).removeprefix(DONE).removeprefix(BOOK)
    summary, description = f"{DONE}{bare}", event.description
    if end in lapsed:
        summary, description = f"{NOT_DONE}{bare}", "Its season is over. The next one is planned."
    elif end:
        description = f"Done on {say_day(end)}."
    return replace(
        event,
        kind="done",
        summary=summary,
        description=description,
        alarm=False,
        until=event.until or today + timedelta(days=DONE_DAYS),
    )


def _carry_history(kept: Sequence[Event], known: set[str], today: date) -> list[Event]:
    """Keep the done events of tasks the record no longer has."""
    return [
        event
        for event in kept
        if event.kind == "done" and event.local_id not in known
        if event.until and today <= event.until
    ]


def _set_alarms(events: Sequence[Event], tasks: Sequence[Task], today: date) -> list[Event]:
    """Let events ring the day before, as the week allows.

    Days gone by still take their share of their week, so that an alarm that has rung does
    not make room for a fourth; the event itself drops it.
    """
    known = {task.id: task for task in tasks}
    standing = [event for event in events if event.kind == "standing"]
    ringing = allot_alarms(make_claim(e.uid, known[e.task], (e.day,)) for e in standing)
    return [replace(e, alarm=e.uid in ringing and e.day > today) for e in events]


def _stamp(events: Sequence[Event], state: FeedState, today: date) -> tuple[Entry, ...]:
    before = {entry.event.uid: entry for entry in state.entries}
    return sort_entries([_stamp_one(event, before.get(event.uid), today) for event in events])


def _stamp_one(event: Event, before: Entry | None, today: date) -> Entry:
    if before is None:
        return Entry(event=event, sequence=0, stamped_on=today)
    old = before.event
    if event == old:
        return before
    moved = (event.day, event.status, event.kind) != (old.day, old.status, old.kind)
    return Entry(
        event=event,
        sequence=before.sequence + moved,
        stamped_on=max(today, before.stamped_on) if moved else before.stamped_on,
    )
