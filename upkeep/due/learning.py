"""What was found on one task so far, in the units of the clock it moves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from operator import attrgetter

from upkeep.due.boat import Boat
from upkeep.due.subjects import Subject, add_calendar, first_anchor
from upkeep.evidence import LARGEST_SPAN, Learned, Look, is_unrecorded_clean, learn
from upkeep.model import CALENDAR_LIMITS, Completion, LimitValue

MOVED_KEYS = (*CALENDAR_LIMITS, "run_hours", "fouling_days", "afloat_days")
_RENEWING = ("restore", "renew")
_day_of = attrgetter("on")


def find_learned(subject: Subject, key: str, value: LimitValue) -> Learned | None:
    """Learn from what was found on a task; None where nothing was, or the key never moves.

    Only the rule's own evidence key moves. A history begins anew where she took a berth.
    """
    rule, boat = subject.rule, subject.boat
    if key != rule.evidence or key not in MOVED_KEYS or not isinstance(value, int | float):
        return None
    name = (subject.component.id, rule.id)
    if name not in boat.found:
        return None
    cache = (*name, key)
    if cache not in boat.learned:
        looks = _with_later_renewal(subject, tuple(_list_looks(subject, key, float(value))))
        firm = subject.terms.binding == "required" or key in subject.terms.overridden
        boat.learned[cache] = learn(rule.purpose, looks, firm=firm) if looks else None
    return boat.learned[cache]


def _list_looks(subject: Subject, key: str, value: float) -> Iterator[Look]:
    boat, rule = subject.boat, subject.rule
    restores = rule.purpose in _RENEWING
    since = max((day for _, day in boat.vessel.berths if day <= boat.today), default=None)
    start: date | None = first_anchor(subject)
    wear = 0.0
    for done in sorted(boat.work[subject.component.id, rule.id], key=_day_of):
        renewed = None if restores else _last_renewal(subject, done.on - timedelta(days=1))
        if renewed is not None and (start is None or renewed >= start):
            start, wear = renewed, 0.0
        look = None
        if start is not None and (since is None or start >= since):
            look = _look(boat, subject, key, value, start, wear, done)
        if look is not None:
            yield look
        start, wear = done.on, _left(done, rule.purpose, wear)
        if wear >= 1 and not restores:
            start = None  # past its limit: only a renewal begins a run


def _with_later_renewal(subject: Subject, looks: tuple[Look, ...]) -> tuple[Look, ...]:
    """Let the last look leave nothing where the part was renewed on its day or after it."""
    done = subject.boat.done[subject.component.id, subject.rule.id]
    renewed = _last_renewal(subject, subject.boat.today)
    if not looks or subject.rule.purpose != "inspect" or renewed is None or renewed < max(done):
        return looks
    return (*looks[:-1], replace(looks[-1], left=0.0))


def _left(done: Completion, purpose: str, wear: float) -> float:
    """Give the wear a run goes on from; what failed a test is mended at once."""
    if purpose in _RENEWING:
        return done.left
    if purpose == "prove":
        return 0.0
    seen = done.wear if done.wear is not None else done.wear_low
    return wear if seen is None else seen


def _look(
    boat: Boat, subject: Subject, key: str, value: float, start: date, wear: float,
    done: Completion,
) -> Look | None:  # fmt: skip
    span = _span(subject, key, value, start, done.on)
    if not 0 < span <= LARGEST_SPAN or wear >= 1:
        return None
    if not done.has_finding:
        return None
    if done.wear is not None and is_unrecorded_clean(wear, done.wear):
        return None  # it was cleaned in between and nobody said so
    return Look(
        span=span, wear_from=wear, wear=done.wear, low=done.wear_low, high=done.wear_high,
        left=_left(done, subject.rule.purpose, wear),
    )  # fmt: skip


def _last_renewal(subject: Subject, day: date) -> date | None:
    """Find the last day by then on which the part was restored or renewed by another task."""
    component, boat = subject.component, subject.boat
    days = [
        on
        for rule in component.kind.rules
        if rule.purpose in _RENEWING and rule.id != subject.rule.id
        for on in boat.done.get((component.id, rule.id), ())
        if on <= day
    ]
    return max(days, default=None)


def _span(subject: Subject, key: str, value: float, start: date, end: date) -> float:
    """Count a run in base limits, on the clock of the key."""
    boat = subject.boat
    if key in CALENDAR_LIMITS:
        whole = add_calendar(start, key, int(value))
        return 0.0 if whole is None else (end - start).days / (whole - start).days
    if key == "run_hours":
        meter = boat.meter(subject.component)
        if meter.rate_h_per_day is None:
            return 0.0
        return (meter.hours_on(end.toordinal()) - meter.hours_on(start.toordinal())) / value
    clock = boat.fouling_clock() if key == "fouling_days" else boat.afloat_clock()
    return clock.count_between(start.toordinal(), end.toordinal()) / value
