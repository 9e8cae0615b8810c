"""The calendar a person subscribes to: built, printed, compared. Alone in knowing icalendar.

Importing this costs nothing: the library is loaded by the first call.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from upkeep.errors import UpkeepError
from upkeep.feed.describe import describe_task, head_feed
from upkeep.feed.events import FeedState
from upkeep.feed.plan import plan_feed
from upkeep.feed.static import head_printed, plan_printed
from upkeep.model import Caution, Fleet, Task, Vessel

__all__ = ["build_feed", "build_static_feed", "compare_feeds"]


def build_feed(
    *,
    fleet: Fleet,
    vessel: Vessel,
    tasks: Sequence[Task],
    today: date,
    previous: bytes | None,
    hand: str | None = None,
    cautions: Mapping[str, Caution],
) -> bytes | None:
    """Build one vessel's calendar feed; None when no task of hers has a date.

    tasks: this vessel's, any order. previous: the file published last, None at first.
    hand: only the tasks of this hand (owner, competent, licensed); None takes all. What was
    published of the others stays in the file, unseen, so that they go on where they were; and so
    does what was published of a task that has no date for now.
    The same records, day and previous file give the same bytes.
    Raises UpkeepError when previous is broken, made elsewhere or another vessel's, or holds
    events of other hands while this one has none.
    """
    from upkeep.feed.state import read_state
    from upkeep.feed.write import write_calendar

    state = FeedState() if previous is None else read_state(previous, vessel)
    chosen = _choose(tasks, hand)
    dated = [task for task in chosen if task.shown_on is not None]
    others = {task.local_id for task in tasks} - {task.local_id for task in chosen}
    shown, unseen = state.split(others)
    if not dated and unseen:
        fault = f"{vessel.id} has nothing dated for the hand {hand}"
        raise UpkeepError(f"{fault}; her calendar there is left as it is")
    if not dated:
        return None
    entries = plan_feed(
        fleet=fleet,
        vessel=vessel,
        tasks=chosen,
        today=today,
        state=shown,
        describe={task.local_id: describe_task(fleet, vessel, task, cautions) for task in dated},
    )
    undated = {task.local_id for task in chosen if task.shown_on is None}
    written = {entry.event.uid for entry in entries}
    gone = tuple(
        entry
        for entry in shown.entries
        if entry.event.local_id in undated and entry.event.uid not in written
    )
    return write_calendar(head_feed(fleet, vessel), entries, (*unseen, *gone))


def build_static_feed(
    *,
    fleet: Fleet,
    vessel: Vessel,
    tasks: Sequence[Task],
    today: date,
    hand: str | None = None,
    cautions: Mapping[str, Caution],
) -> bytes | None:
    """Build a calendar for programs that cannot subscribe; None when no task has a date.

    It says when it was printed and how long it is good. Arguments as for build_feed.
    """
    from upkeep.feed.write import write_calendar

    chosen = _choose(tasks, hand)
    entries = plan_printed(fleet=fleet, vessel=vessel, tasks=chosen, today=today, cautions=cautions)
    return write_calendar(head_printed(vessel, chosen, today), entries) if entries else None


def compare_feeds(old: bytes, new: bytes) -> list[str]:
    """List in words what changed from one calendar to another; empty if nothing a person sees.

    Raises UpkeepError when either is not a whole calendar.
    """
    from upkeep.feed.compare import compare_calendars

    return compare_calendars(old, new)


def _choose(tasks: Sequence[Task], hand: str | None) -> list[Task]:
    return [task for task in tasks if hand is None or task.rule.hand == hand]
