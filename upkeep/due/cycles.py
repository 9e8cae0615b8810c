"""One cycle of a task: every limit's day, the earliest, the opening, the move by place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from upkeep.clocks.boat_days import Winter
from upkeep.clocks.storage import BankState, StorageSpell, find_charge_due, settle_state
from upkeep.dates import Stamp, add_months, find_last_valid_day
from upkeep.due.boat import Boat
from upkeep.errors import QuantityError
from upkeep.model import (
    LAUNCH_LIMITS,
    LAY_UP_LIMITS,
    SEASON_LIMITS,
    Component,
    Expiry,
    Limits,
    LimitValue,
    Rule,
)
from upkeep.terms import Terms

EXPIRY_WINDOW_DAYS = 60
STALE_DAYS = 60  # a stamp that ends so soon after a renewal is the old part's
NO_RECORD_DAYS = 30  # grace after hand-over for a renewal nobody recorded
BEFORE_WINDOW_DAYS, AFTER_WINDOW_DAYS = 30, 7
SHORTEST_WINDOW_DAYS, LONGEST_WINDOW_DAYS = 3, 60  # all: common practice, no source
_PER_DAY = {"days": 1, "weeks": 7}


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
        return {**rest, **subject.terms.without_season}
    if rest:
        return rest if not boat.days.winters else limits
    return limits if any(_season_days(boat, key) for key in seasonal) else None


def _season_days(boat: Boat, key: str) -> list[date]:
    days = [w.lay_up if key in LAY_UP_LIMITS else w.launch for w in boat.days.winters]
    return [day for day in days if day is not None and day > boat.today]


def find_cycle(subject: Subject, limits: Limits, last: date | None, today: date) -> Cycle:
    """Work out the cycle after the last completion (None: none is recorded)."""
    if "charge_to" in limits:
        return _storage_cycle(subject, limits, last, today)
    boat = subject.boat
    anchor = last or _first_anchor(subject)
    boat.reach(anchor)
    allowances = [
        _allow(subject, key, value, anchor, last, today) for key, value in limits.items()
    ]
    if last is None and subject.rule.purpose == "renew":
        allowances = _spare_unrecorded(boat, allowances)
    return _settle(subject, tuple(allowances), anchor, last is not None)


def _first_anchor(subject: Subject) -> date:
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
    if isinstance(value, Expiry):
        return _allow_expiry(subject, value, anchor, last)
    if key in SEASON_LIMITS:
        return _allow_season(subject, key, value, anchor, last, today)
    allows: date | None = None
    note = ""
    if isinstance(value, int | float):
        if key == "months":
            allows = _months_later(anchor, int(value))
        elif key in _PER_DAY:
            allows = _later(anchor, int(value) * _PER_DAY[key])
        elif key in _COUNTED:
            allows = _count(subject, key, value, anchor)
            if key == "run_hours" and subject.boat.meter(subject.component).rate_h_per_day is None:
                note = "no rate"
    return Allowance(clock=key, limit=value, anchor=anchor, allows=allows, note=note)


_COUNTED = ("afloat_days", "fouling_days", "run_hours")


def _count(subject: Subject, key: str, limit: float, anchor: date) -> date | None:
    boat, at = subject.boat, anchor.toordinal()
    if key == "run_hours":
        due = boat.meter(subject.component).find_due(at, limit)
    elif key == "afloat_days":
        due = boat.afloat_clock().find_due(at, limit)
    else:
        due = boat.fouling_clock().find_due(at, limit)
        if due is not None:
            due = max(due, at + subject.rule.least_days)
    return None if due is None else date.fromordinal(due)


def _allow_expiry(
    subject: Subject, limit: Expiry, anchor: date, last: date | None
) -> Allowance:
    component = subject.component
    stamp = component.values.get(limit.field)
    handed_over = subject.boat.vessel.handed_over or component.installed
    fallback = max(component.installed, handed_over, last or component.installed)
    if not isinstance(stamp, Stamp):
        return Allowance(
            clock="expiry", limit=limit, anchor=anchor, allows=fallback, note="missing"
        )
    life = limit.life_months
    if limit.life_field:
        value = component.values.get(limit.life_field)
        if not isinstance(value, int | float):
            return Allowance(
                clock="expiry", limit=limit, anchor=anchor, allows=fallback, note="missing life"
            )
        life = int(value)
    allows = find_last_valid_day(stamp, life)
    renewed = last if subject.rule.purpose == "renew" else None
    if renewed is not None and allows <= renewed + timedelta(days=STALE_DAYS):
        return Allowance(clock="expiry", limit=limit, anchor=anchor, allows=fallback, note="stale")
    return Allowance(clock="expiry", limit=limit, anchor=anchor, allows=allows)


def _allow_season(
    subject: Subject, key: str, value: LimitValue, anchor: date, last: date | None, today: date
) -> Allowance:
    assert isinstance(value, int | float)
    window = _season_window(subject.rule, key)
    for day, lapse in _season_cycles(subject.boat.days.winters, key):
        due = _later(day, -int(value) if key.startswith("before") else int(value))
        if due is None or (lapse is not None and lapse <= today):
            continue
        if last is not None and _opening(key, day, int(value), window) <= last:
            continue
        if last is None and due <= anchor:
            continue
        return Allowance(clock=key, limit=value, anchor=anchor, allows=due, season_day=day)
    return Allowance(clock=key, limit=value, anchor=anchor, allows=None)


def _season_cycles(
    winters: tuple[Winter, ...], key: str
) -> Iterator[tuple[date, date | None]]:
    """Give each lay-up or launch, and the day its cycle lapses undone."""
    for index, winter in enumerate(winters):
        if key in LAY_UP_LIMITS:
            yield winter.lay_up, winter.launch
        elif winter.launch is not None and key in LAUNCH_LIMITS:
            after = winters[index + 1].lay_up if index + 1 < len(winters) else None
            yield winter.launch, after


def _season_window(rule: Rule, key: str) -> int:
    if rule.window_days is not None:
        return rule.window_days
    return BEFORE_WINDOW_DAYS if key.startswith("before") else AFTER_WINDOW_DAYS


def _opening(key: str, day: date, limit: int, window: int) -> date:
    return day - timedelta(days=window + (limit if key.startswith("before") else 0))


def _storage_cycle(subject: Subject, limits: Limits, last: date | None, today: date) -> Cycle:
    boat, component = subject.boat, subject.component
    earliest = max(component.installed, boat.vessel.handed_over or component.installed)
    boat.reach(max(earliest, last or earliest, today))
    for spell in boat.storage_spells():
        if spell.end is not None and spell.end <= today:
            continue
        start = max(spell.first, earliest)
        rechecked = last is not None and last >= spell.first and (
            spell.end is None or last < spell.end
        )
        if rechecked and last is not None:
            start = max(start, last)
        if spell.end is not None and start >= spell.end:
            continue
        allowances = _allow_storage(subject, limits, spell, start, today)
        due = min((a.allows for a in allowances if a.allows is not None), default=None)
        if due is None or (spell.end is not None and due >= spell.end):
            continue
        return _settle(subject, allowances, start, rechecked, spell)
    anchor = last or earliest
    none = tuple(
        Allowance(clock=key, limit=value, anchor=anchor, allows=None)
        for key, value in limits.items()
    )
    return Cycle(anchor=anchor, done=last is not None, due=None, opens=None, allowances=none,
                 move=None)  # fmt: skip


def _allow_storage(
    subject: Subject, limits: Limits, spell: StorageSpell, start: date, today: date
) -> tuple[Allowance, ...]:
    boat, bank = subject.boat, subject.component
    found = []
    for key, value in limits.items():
        if key != "charge_to":
            found.append(_allow(subject, key, value, start, start, today))
            continue
        state = settle_state(
            bank=bank,
            readings=boat.readings(bank, "charge"),
            start=start,
            end=spell.end,
            today=boat.today,
            parasitic=boat.parasitic(bank),
            isolated=boat.is_isolated(bank, spell, boat.today),
        )
        assert isinstance(value, int | float)
        allows = find_charge_due(
            bank=bank, state=state, floor=value, water=boat.water_on(start)
        )
        found.append(
            Allowance(clock=key, limit=value, anchor=start, allows=allows, state=state)
        )
    return tuple(found)


def _settle(
    subject: Subject,
    allowances: tuple[Allowance, ...],
    anchor: date,
    done: bool,
    spell: StorageSpell | None = None,
) -> Cycle:
    dated = [a for a in allowances if a.allows is not None]
    cycle = Cycle(anchor=anchor, done=done, due=None, opens=None, allowances=allowances,
                  move=None, spell=spell)  # fmt: skip
    if not dated:
        return cycle
    first = min(dated, key=lambda a: (a.allows, a.clock))
    assert first.allows is not None
    move = _move_to_place(subject, first, anchor)
    due = move.to if move else first.allows
    moved = move is not None and move.to != first.allows
    opens = _find_opening(subject.rule, first, anchor, due, moved, spell is not None)
    return replace(cycle, due=due, opens=opens, move=move)


def _find_opening(
    rule: Rule, first: Allowance, anchor: date, due: date, moved: bool, storage: bool
) -> date:
    span = (due - anchor).days
    if storage:
        return min(due, max(anchor + timedelta(days=1), _later(anchor, span * 2 // 3) or due))
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


def _move_to_place(subject: Subject, first: Allowance, anchor: date) -> Move | None:
    """Move a due day to where the work can be done; None when it can stay."""
    rule, days, due = subject.rule, subject.boat.days, first.allows
    assert due is not None
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
        firm = required or first.clock == "expiry"
        if after is not None and not firm and 4 * (after - due).days <= span:
            return Move(to=after, lift=False)
        return Move(to=due, lift=True)
    return None


def _months_later(anchor: date, months: int) -> date | None:
    try:
        return add_months(anchor, months)
    except QuantityError:
        return None  # past year 9999: this clock alone gives no date


def _later(day: date, days: int) -> date | None:
    try:
        return day + timedelta(days=days)
    except OverflowError:
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
