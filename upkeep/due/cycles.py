"""One cycle of a task: every limit's day, the earliest, the opening, the move by place."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from upkeep.clocks.storage import BankState, StorageSpell, find_charge_due, settle_state
from upkeep.dates import Stamp, add_months, find_last_valid_day
from upkeep.due.boat import Boat
from upkeep.errors import QuantityError
from upkeep.model import (
    LAY_UP_LIMITS,
    SEASON_LIMITS,
    Component,
    Limits,
    LimitValue,
    Rule,
)
from upkeep.terms import Terms, smallest_limits

EXPIRY_WINDOW_DAYS = 60
STALE_DAYS = 60  # a stamp that ends so soon after a renewal is the old part's
NO_RECORD_DAYS = 30  # grace after hand-over for a renewal nobody recorded
BEFORE_WINDOW_DAYS, AFTER_WINDOW_DAYS = 30, 7
SHORTEST_WINDOW_DAYS, LONGEST_WINDOW_DAYS = 3, 60  # all: common practice, no source

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


@dataclass(frozen=True, kw_only=True, slots=True)
class Move:
    """A due day moved to where the work can be done; lift says she must be lifted instead."""

    to: date
    lift: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Cycle:
    """One cycle of a task. due and opens are after the move; None when no clock gives a day."""

    anchor: date
    done: bool
    due: date | None
    opens: date | None
    allowances: tuple[Allowance, ...]
    move: Move | None
    spell: StorageSpell | None = None


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


def find_cycle(subject: Subject, limits: Limits, last: date | None, today: date) -> Cycle:
    """Work out the cycle after the last completion (None: none is recorded)."""
    if "charge_to" in limits:
        return _storage_cycle(subject, limits, last, today)
    anchor = last or first_anchor(subject)
    subject.boat.reach(anchor)
    allowances = [_allow(subject, key, value, anchor, last, today) for key, value in limits.items()]
    if last is None and subject.rule.purpose == "renew":
        allowances = _spare_unrecorded(subject.boat, allowances)
    return _settle(subject, tuple(allowances), anchor, last is not None)


def waits_besides(subject: Subject, limits: Limits, last: date | None, day: date) -> bool:
    """Tell whether a clock other than the season's was already due before a day."""
    anchor = last or first_anchor(subject)
    rest = ((key, value) for key, value in limits.items() if key not in SEASON_LIMITS)
    found = (_CLOCKS[key](subject, key, value, anchor, last, day)[0] for key, value in rest)
    return any(allows is not None and allows < day for allows in found)


def find_next_due(subject: Subject, limits: Limits, last: date, today: date) -> date | None:
    """Find the due day alone of the cycle after a completion: what forecasts need."""
    if "charge_to" in limits:
        return _storage_cycle(subject, limits, last, today).due
    subject.boat.reach(last)
    due, clock = None, ""
    for key, value in limits.items():
        day = _CLOCKS[key](subject, key, value, last, last, today)[0]
        if day is not None and (due is None or (day, key) < (due, clock)):
            due, clock = day, key
    if due is None or subject.rule.place == "any":
        return due
    move = _move_to_place(subject, due, clock, last)
    return move.to if move else due


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


def _spare_unrecorded(boat: Boat, found: list[Allowance]) -> list[Allowance]:
    """Give a renewal nobody recorded, due before hand-over, 30 days after hand-over.

    A date printed on the part is a record of its own and stays as it is.
    """
    handed_over = boat.vessel.handed_over
    counted = [a.allows for a in found if a.clock != "expiry" and a.allows is not None]
    if handed_over is None or not counted or min(counted) >= handed_over:
        return found
    spared = handed_over + timedelta(days=NO_RECORD_DAYS)
    return [
        replace(a, allows=spared, note="no record")
        if a.clock != "expiry" and a.allows is not None and a.allows < spared
        else a
        for a in found
    ]


def _allow(
    subject: Subject, key: str, value: LimitValue, anchor: date, last: date | None, today: date
) -> Allowance:
    allows, season_day, note = _CLOCKS[key](subject, key, value, anchor, last, today)
    return Allowance(
        clock=key, limit=value, anchor=anchor, allows=allows, season_day=season_day, note=note
    )


def _allow_calendar(
    subject: Subject, key: str, value: Any, anchor: date, last: date | None, today: date
) -> Found:
    try:
        if key == "months":
            return add_months(anchor, value), None, ""
        return anchor + timedelta(days=value if key == "days" else 7 * value), None, ""
    except (QuantityError, OverflowError):
        return _NOTHING  # past year 9999: this clock alone gives no date


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
    before = key in _BEFORE
    reach = season_reach(subject.rule, key, value)
    for day, lapse in subject.boat.days.season_days(key in LAY_UP_LIMITS, today):
        due = day - timedelta(days=value) if before else day + timedelta(days=value)
        if lapse is not None and lapse <= today:
            continue
        if due <= anchor if last is None else day - timedelta(days=reach) <= last:
            continue
        return due, day, ""
    return _NOTHING


_BEFORE = ("before_lay_up_days", "before_launch_days")
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
    "anode_used": _allow_nothing,  # readings give these two a date
    "reading": _allow_nothing,
    "expiry": _allow_expiry,
}


def season_reach(rule: Rule, key: str, limit: int) -> int:
    """Say how many days before its lay-up or launch a seasonal cycle opens."""
    return _season_window(rule, key) + (limit if key in _BEFORE else 0)


def _season_window(rule: Rule, key: str) -> int:
    if rule.window_days is not None:
        return rule.window_days
    return BEFORE_WINDOW_DAYS if key in _BEFORE else AFTER_WINDOW_DAYS


def _opening(key: str, day: date, limit: int, window: int) -> date:
    return day - timedelta(days=window + (limit if key in _BEFORE else 0))


def _storage_cycle(subject: Subject, limits: Limits, last: date | None, today: date) -> Cycle:
    boat, component = subject.boat, subject.component
    earliest = max(component.installed, boat.vessel.handed_over or component.installed)
    boat.reach(max(earliest, last or earliest, today))
    for spell in boat.storage_spells():
        if spell.end is not None and spell.end <= today:
            continue
        start = max(spell.first, earliest)
        rechecked = (
            last is not None and last >= spell.first and (spell.end is None or last < spell.end)
        )
        if rechecked and last is not None:
            start = max(start, last)
        if spell.end is not None and start >= spell.end:
            continue
        allowances = allow_storage(subject, limits, spell, start)
        due = min((a.allows for a in allowances if a.allows is not None), default=None)
        if due is None or (spell.end is not None and due >= spell.end):
            continue
        return _settle(subject, allowances, start, start == last, spell)
    anchor = last or earliest
    none = tuple(
        Allowance(clock=key, limit=value, anchor=anchor, allows=None)
        for key, value in limits.items()
    )
    return Cycle(anchor=anchor, done=last is not None, due=None, opens=None, allowances=none,
                 move=None)  # fmt: skip


def allow_storage(
    subject: Subject, limits: Limits, spell: StorageSpell, start: date
) -> tuple[Allowance, ...]:
    """Work out what each limit of a storage rule allows, counted from a day in the spell."""
    boat, bank = subject.boat, subject.component
    found = []
    for key, value in limits.items():
        if key != "charge_to":
            found.append(_allow(subject, key, value, start, start, boat.today))
            continue
        state = settle_state(
            bank=bank,
            readings=boat.readings(bank, "charge"),
            start=start,
            end=spell.end,
            today=boat.today,
            parasitic=boat.parasitic(bank),
            isolated=boat.is_isolated(bank, spell),
        )
        assert isinstance(value, int | float)
        allows = find_charge_due(bank=bank, state=state, floor=value, water=boat.water_on(start))
        found.append(Allowance(clock=key, limit=value, anchor=start, allows=allows, state=state))
    return tuple(found)


def _settle(
    subject: Subject,
    allowances: tuple[Allowance, ...],
    anchor: date,
    done: bool,
    spell: StorageSpell | None = None,
) -> Cycle:
    dated = [a for a in allowances if a.allows is not None]
    if not dated:
        return Cycle(anchor=anchor, done=done, due=None, opens=None, allowances=allowances,
                     move=None, spell=spell)  # fmt: skip
    first = min(dated, key=lambda a: (a.allows, a.clock)) if len(dated) > 1 else dated[0]
    due = first.allows
    assert due is not None
    move = None
    if subject.rule.place != "any":
        move = _move_to_place(subject, due, first.clock, anchor)
    moved = move is not None and move.to != due
    if move is not None:
        due = move.to
    opens = _find_opening(subject.rule, first, anchor, due, moved, spell is not None)
    return Cycle(anchor=anchor, done=done, due=due, opens=opens, allowances=allowances,
                 move=move, spell=spell)  # fmt: skip


def _find_opening(
    rule: Rule, first: Allowance, anchor: date, due: date, moved: bool, storage: bool
) -> date:
    span = (due - anchor).days
    if storage:
        return min(due, max(anchor + timedelta(days=1), anchor + timedelta(days=span * 2 // 3)))
    if first.clock in SEASON_LIMITS and first.season_day is not None:
        window = _season_window(rule, first.clock)
        assert isinstance(first.limit, int | float)
        opens = _opening(first.clock, first.season_day, int(first.limit), window)
        if moved:
            opens = due - timedelta(days=window)
    else:
        opens = due - timedelta(days=_window(rule, first.clock, span))
    return min(due, max(anchor + timedelta(days=1), opens))


def _window(rule: Rule, clock: str, span: int) -> int:
    if rule.window_days is not None:
        return rule.window_days
    if clock == "expiry":
        return EXPIRY_WINDOW_DAYS
    return min(LONGEST_WINDOW_DAYS, max(SHORTEST_WINDOW_DAYS, span // 4))


def _move_to_place(subject: Subject, due: date, clock: str, anchor: date) -> Move | None:
    """Move a due day to where the work can be done; None when it can stay."""
    subject.boat.reach(due)
    rule, days = subject.rule, subject.boat.days
    spell = days.spell_ashore(due)
    required = subject.terms.binding == "required"
    if rule.place == "afloat" and spell is not None:
        before = date.fromordinal(spell[0] - 1)
        if required and before > anchor:
            return Move(to=before, lift=False)
        launch = days.next_afloat(due)
        return Move(to=launch, lift=False) if launch else None
    if rule.place == "ashore" and spell is None:
        span = (due - anchor).days
        last = days.last_ashore_before(due)
        if last is not None and 2 * (last - anchor).days > span:
            return Move(to=last, lift=False)
        after = days.next_ashore(due)
        firm = required or clock == "expiry"
        if after is not None and not firm and 4 * (after - due).days <= span:
            return Move(to=after, lift=False)
        return Move(to=due, lift=True)
    return None


def cycle_inputs(subject: Subject, cycle: Cycle) -> dict[str, Any]:
    """Gather the figures a cycle rests on, for `why`."""
    inputs: dict[str, Any] = {}
    for allowance in cycle.allowances:
        if allowance.clock == "run_hours":
            inputs.update(_meter_inputs(subject, allowance.anchor))
        if allowance.clock == "fouling_days":
            water = subject.boat.water_on(allowance.anchor)
            inputs["water"] = water.name
            inputs["water_monthly_c"] = list(water.monthly_c)
        if allowance.state is not None:
            state = allowance.state
            parasitic = subject.boat.parasitic(subject.component)
            inputs["charge"] = state.charge
            inputs["charge_measured"] = state.measured
            inputs["charge_on"] = state.known_on.isoformat()
            inputs["draw_a"] = round(state.parasitic_a, 6)
            inputs["as_left_a"] = round(parasitic.as_left_a, 6)
            inputs["isolated_a"] = round(parasitic.isolated_a, 6)
    return inputs


def _meter_inputs(subject: Subject, anchor: date) -> dict[str, Any]:
    meter = subject.boat.meter(subject.component)
    rate = meter.rate_h_per_day
    inputs: dict[str, Any] = {
        "hours_from": subject.boat.metered(subject.component).id,
        "hours_per_day_afloat": None if rate is None else round(rate, 4),
        "readings": len(meter.points),
    }
    if meter.points:
        today = subject.boat.today.toordinal()
        inputs["hours_at_anchor"] = round(meter.hours_on(anchor.toordinal()), 1)
        inputs["hours_today"] = round(meter.hours_on(today), 1)
    return inputs
