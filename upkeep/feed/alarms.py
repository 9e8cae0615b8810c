"""Which events may ring: at most one a day and three a week, the binding ones always.

Limits: common practice, no source; a telephone that rings every morning is soon silenced.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from upkeep.model import BINDINGS, Task

A_DAY, A_WEEK = 1, 3
_LIMITS = {"day": A_DAY, "week of the work": A_WEEK, "week of the ringing": A_WEEK}


@dataclass(frozen=True, kw_only=True, slots=True)
class Claim:
    """One event's wish to ring for its days; always is granted whatever the others do."""

    uid: str
    days: tuple[date, ...]
    always: bool
    rank: tuple[int, date, str]


def make_claim(uid: str, task: Task, days: Sequence[date]) -> Claim:
    """State what a dated task asks for: binding first, then its due day, then its name."""
    rank = (-BINDINGS.index(task.binding), task.due or days[0], task.id)
    always = task.binding == "required" or is_due_by_expiry(task)
    return Claim(uid=uid, days=tuple(days), always=always, rank=rank)


def is_due_by_expiry(task: Task) -> bool:
    """Tell whether a printed date is among the limits that set the day."""
    clocks = [item for item in task.reasons if item.clock != "place" and item.allows is not None]
    first = min((item.allows for item in clocks if item.allows is not None), default=None)
    return any(item.clock == "expiry" and item.allows == first for item in clocks)


def allot_alarms(claims: Iterable[Claim]) -> frozenset[str]:
    """Grant alarms; give the UIDs that ring.

    Weeks run Monday to Sunday and are counted twice, by the day of the work and by the day
    before, on which the telephone rings: neither count passes three.
    """
    used: Counter[tuple[str, date]] = Counter()
    granted = []
    for claim in sorted(claims, key=lambda item: (not item.always, item.rank, item.uid)):
        asked = Counter(slot for day in claim.days for slot in _list_slots(day))
        if claim.always or all(used[slot] + n <= _LIMITS[slot[0]] for slot, n in asked.items()):
            used.update(asked)
            granted.append(claim.uid)
    return frozenset(granted)


def _list_slots(day: date) -> tuple[tuple[str, date], ...]:
    rings_on = day - timedelta(days=1)
    return (
        ("day", day),
        ("week of the work", day - timedelta(days=day.weekday())),
        ("week of the ringing", rings_on - timedelta(days=rings_on.weekday())),
    )
