"""What each limit of a rule allows: an anchor and a limit into a day, one function a clock."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from math import floor
from typing import Any

from upkeep.clocks.anodes import AnodeWear, settle_wear
from upkeep.clocks.storage import BankState
from upkeep.dates import Stamp, find_last_valid_day
from upkeep.due.boat import counting_reading
from upkeep.due.learning import find_learned
from upkeep.due.subjects import Subject, add_calendar, first_anchor
from upkeep.evidence import Learned
from upkeep.model import CALENDAR_LIMITS, LAY_UP_LIMITS, LimitValue, ReadingLimit, Rule

SLACK = 1e-9
STALE_DAYS = 60  # a stamp that ends so soon after a renewal is the old part's
BEFORE_WINDOW_DAYS, AFTER_WINDOW_DAYS = 30, 7  # common practice, no source
BEFORE_LIMITS = ("before_lay_up_days", "before_launch_days")

Found = tuple[date | None, date | None, str]  # what a clock allows, its season day, a note


@dataclass(frozen=True, kw_only=True, slots=True)
class Allowance:
    """What one limit allows. season_day is the lay-up or launch it hangs on.

    note says what the reader must know besides: "stale", "missing", "no record", "no rate".
    """

    clock: str
    limit: LimitValue
    anchor: date
    allows: date | None
    season_day: date | None = None
    note: str = ""
    state: BankState | None = None
    learned: Learned | None = None


def allow_limit(
    subject: Subject, key: str, value: LimitValue, anchor: date, last: date | None, today: date
) -> Allowance:
    """Work out what one limit allows from an anchor. last: the completion it is; None if none."""
    learned = find_learned(subject, key, value) if last is not None and subject.boat.found else None
    if learned is not None:
        allows = _allow_moved(subject, key, value, anchor, today, learned.now)
        return Allowance(clock=key, limit=value, anchor=anchor, allows=allows, learned=learned)
    allows, season_day, note = _CLOCKS[key](subject, key, value, anchor, last, today)
    return Allowance(
        clock=key, limit=value, anchor=anchor, allows=allows, season_day=season_day, note=note
    )


def _allow_moved(
    subject: Subject, key: str, value: Any, anchor: date, today: date, factor: float
) -> date | None:
    """Allow a limit moved by findings; a calendar limit keeps whole days of its own length."""
    if key not in CALENDAR_LIMITS:
        limit = value * factor
        return _CLOCKS[key](subject, key, limit, anchor, anchor, today)[0] if limit > 0 else anchor
    base = add_calendar(anchor, key, value)
    if base is None:
        return None
    try:
        return anchor + timedelta(days=floor((base - anchor).days * factor + 1e-9))
    except OverflowError:
        return None


def _allow_calendar(
    subject: Subject, key: str, value: Any, anchor: date, last: date | None, today: date
) -> Found:
    return add_calendar(anchor, key, value), None, ""


def _allow_hours(
    subject: Subject, key: str, value: Any, anchor: date, last: date | None, today: date
) -> Found:
    boat, component = subject.boat, subject.component
    due = boat.count_due(lambda: boat.meter(component), anchor, value)
    note = "no rate" if boat.meter(component).rate_h_per_day is None else ""
    return due, None, note


def _allow_afloat(
    subject: Subject, key: str, value: Any, anchor: date, last: date | None, today: date
) -> Found:
    boat = subject.boat
    return boat.count_due(boat.afloat_clock, anchor, value), None, ""


def _allow_fouling(
    subject: Subject, key: str, value: Any, anchor: date, last: date | None, today: date
) -> Found:
    due = subject.boat.count_due(subject.boat.fouling_clock, anchor, value)
    if due is None:
        return _NOTHING
    return max(due, anchor + timedelta(days=subject.rule.least_days)), None, ""


def _allow_nothing(
    subject: Subject, key: str, value: Any, anchor: date, last: date | None, today: date
) -> Found:
    return _NOTHING


def anode_wear(subject: Subject, anchor: date) -> AnodeWear:
    """Settle how the anode of a task wastes since it was new on the anchor day."""
    boat, anode = subject.boat, subject.component
    done = boat.done.get((anode.id, subject.rule.id), ())
    name = counting_reading(anode, "anode_used")
    return settle_wear(
        anode=anode,
        weighings=boat.readings(anode, name) if name else (),
        lives=sorted({first_anchor(subject), *done, anchor}),
        anchor=anchor,
        afloat=boat.afloat_clock(),
        water=boat.water_on(anchor),
    )


def _allow_anode(
    subject: Subject, key: str, value: Any, anchor: date, last: date | None, today: date
) -> Found:
    wear = anode_wear(subject, anchor)
    left = wear.days_left(value)
    if left is None:
        return None, None, wear.note
    if wear.used > value:
        return wear.known_on, None, "past"
    boat = subject.boat
    return boat.count_due(boat.afloat_clock, wear.known_on, left), None, ""


def list_readings(
    subject: Subject, limit: ReadingLimit, anchor: date, last: date | None
) -> list[tuple[date, float]]:
    """List the readings a limit looks at: since the anchor; after it, where work was done."""
    since = anchor if last is None else anchor + timedelta(days=1)
    return subject.boat.readings(subject.component, limit.name, since=since)


def find_bound(subject: Subject, limit: ReadingLimit) -> float | None:
    """Give the value a reading must not pass; None while the first one is not recorded."""
    bound = limit.above if limit.above is not None else limit.below
    assert bound is not None
    if not limit.of_commissioning:
        return bound
    first = subject.boat.commissioned(subject.component, limit.name)
    return None if first is None else bound * first


def _allow_reading(
    subject: Subject, key: str, value: Any, anchor: date, last: date | None, today: date
) -> Found:
    """Allow until the day from which every reading lay past the bound; else no date."""
    bound = find_bound(subject, value)
    if bound is None:
        return None, None, "no commissioning"
    allows = None
    for on, read in reversed(list_readings(subject, value, anchor, last)):
        slack = SLACK * max(1.0, abs(bound))  # a bound met exactly is not passed
        if not (read > bound + slack if value.above is not None else read < bound - slack):
            break
        allows = on
    return allows, None, "past" if allows else ""


def _allow_expiry(
    subject: Subject, key: str, value: Any, anchor: date, last: date | None, today: date
) -> Found:
    component, limit = subject.component, value
    stamp = component.values.get(limit.field)
    handed_over = subject.boat.vessel.handed_over or component.installed
    fallback = max(component.installed, handed_over, last or component.installed)
    if not isinstance(stamp, Stamp):
        return fallback, None, "missing"
    life = limit.life_months
    if limit.life_field:
        recorded = component.values.get(limit.life_field)
        if not isinstance(recorded, int | float):
            return fallback, None, "missing life"
        life = int(recorded)
    allows = find_last_valid_day(stamp, life)
    renewed = last if subject.rule.purpose == "renew" else None
    if renewed is not None and allows <= renewed + timedelta(days=STALE_DAYS):
        return fallback, None, "stale"
    return allows, None, ""


def _allow_season(
    subject: Subject, key: str, value: Any, anchor: date, last: date | None, today: date
) -> Found:
    span = timedelta(days=-value if key in BEFORE_LIMITS else value)
    opened = None
    if last is not None:
        opened = last + timedelta(days=season_reach(subject.rule, key, value))
    for day, lapse in subject.boat.days.season_days(key in LAY_UP_LIMITS, today):
        if lapse is not None and lapse <= today:
            continue
        if day + span <= anchor if opened is None else day <= opened:
            continue
        return day + span, day, ""
    return _NOTHING


_NOTHING: Found = (None, None, "")
_CLOCKS: Mapping[str, Callable[..., Found]] = {
    "days": _allow_calendar,
    "weeks": _allow_calendar,
    "months": _allow_calendar,
    "run_hours": _allow_hours,
    "afloat_days": _allow_afloat,
    "fouling_days": _allow_fouling,
    "before_lay_up_days": _allow_season,
    "after_lay_up_days": _allow_season,
    "before_launch_days": _allow_season,
    "after_launch_days": _allow_season,
    "charge_to": _allow_nothing,  # runs in storage only, see _storage_cycle
    "anode_used": _allow_anode,
    "reading": _allow_reading,
    "expiry": _allow_expiry,
}


def allowed_day(
    subject: Subject, key: str, value: LimitValue, anchor: date, last: date | None, today: date
) -> date | None:
    """Give the day alone that a limit allows; None when it allows none."""
    learned = find_learned(subject, key, value) if last is not None and subject.boat.found else None
    if learned is not None:
        return _allow_moved(subject, key, value, anchor, today, learned.later)
    allows: date | None = _CLOCKS[key](subject, key, value, anchor, last, today)[0]
    return allows


def season_reach(rule: Rule, key: str, limit: int) -> int:
    """Say how many days before its lay-up or launch a seasonal cycle opens."""
    return season_window(rule, key) + (limit if key in BEFORE_LIMITS else 0)


def season_window(rule: Rule, key: str) -> int:
    """Say how many days a seasonal cycle stays open."""
    if rule.window_days is not None:
        return rule.window_days
    return BEFORE_WINDOW_DAYS if key in BEFORE_LIMITS else AFTER_WINDOW_DAYS
