"""A rule on one component of one boat: which limits run, and from which day if never done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from upkeep.dates import Stamp, add_months
from upkeep.due.boat import Boat
from upkeep.errors import QuantityError
from upkeep.model import SEASON_LIMITS, Component, Limits, Rule
from upkeep.terms import Terms, smallest_limits


@dataclass(frozen=True, kw_only=True, slots=True)
class Subject:
    """A rule on one component of one boat, with the terms that hold there."""

    boat: Boat
    component: Component
    rule: Rule
    terms: Terms


def active_limits(subject: Subject) -> Limits | None:
    """Give the limits that run for this boat; None when the task is not hers at all.

    A boat without a season takes `without_season` in place of the season's keys.
    """
    limits, boat = subject.terms.limits, subject.boat
    if boat.vessel.season is not None:
        return limits
    seasonal = [key for key in limits if key in SEASON_LIMITS or key == "charge_to"]
    if not seasonal:
        return limits
    if "charge_to" in limits:
        ahead = any(s.end is None or s.end > boat.today for s in boat.storage_spells())
        if ahead:
            return limits
        return subject.terms.without_season or None
    rest = {key: value for key, value in limits.items() if key not in SEASON_LIMITS}
    if subject.terms.without_season:
        return smallest_limits(rest, subject.terms.without_season)
    return limits if boat.days.winters else rest or None


def limits_of_season(subject: Subject) -> Limits:
    """Give the limits that a season's cycles ran by, whatever runs today."""
    limits = subject.terms.limits
    if subject.boat.vessel.season is None and subject.terms.without_season:
        return limits if "charge_to" in limits else {}
    return limits


def hangs_on_season(subject: Subject, limits: Limits) -> bool:
    """Tell whether nothing but a lay-up or launch could date a task of a boat without a season."""
    if subject.boat.vessel.season is not None or not limits:
        return False
    return "charge_to" in limits or all(key in SEASON_LIMITS for key in limits)


def first_anchor(subject: Subject) -> date:
    """Give the day the first cycle counts from when nothing is recorded as done."""
    component, handed_over = subject.component, subject.boat.vessel.handed_over
    if subject.rule.purpose == "renew":
        for key in ("made", "serviced"):
            stamp = component.values.get(key)
            if isinstance(stamp, Stamp):
                return stamp.first
        return component.installed
    return max(component.installed, handed_over or component.installed)


def add_calendar(day: date, key: str, count: int) -> date | None:
    """Add days, weeks or months to a day; None past year 9999, where no clock gives a date."""
    try:
        if key == "months":
            return add_months(day, count)
        return day + timedelta(days=count if key == "days" else 7 * count)
    except (QuantityError, OverflowError):
        return None
