"""One cycle of a task: every limit's day, the earliest, the opening, the move by place."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

from upkeep.clocks.storage import StorageSpell, find_charge_due, settle_state
from upkeep.due.allowances import (
    BEFORE_LIMITS,
    Allowance,
    allow_limit,
    allowed_day,
    season_window,
)
from upkeep.due.boat import Boat
from upkeep.due.subjects import Subject, first_anchor
from upkeep.model import SEASON_LIMITS, Limits, Rule

EXPIRY_WINDOW_DAYS = 60
NO_RECORD_DAYS = 30  # grace after hand-over for a renewal nobody recorded
SHORTEST_WINDOW_DAYS, LONGEST_WINDOW_DAYS = 3, 60  # all: common practice, no source


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


def find_cycle(subject: Subject, limits: Limits, last: date | None, today: date) -> Cycle:
    """Work out the cycle after the last completion (None: none is recorded)."""
    if "charge_to" in limits:
        return _storage_cycle(subject, limits, last, today)
    anchor = last or first_anchor(subject)
    subject.boat.reach(anchor)
    allowances = [
        allow_limit(subject, key, value, anchor, last, today) for key, value in limits.items()
    ]
    if last is None and subject.rule.purpose == "renew":
        allowances = _spare_unrecorded(subject.boat, allowances)
    return _settle(subject, tuple(allowances), anchor, last is not None)


def waits_besides(subject: Subject, limits: Limits, last: date | None, day: date) -> bool:
    """Tell whether a clock other than the season's was already due before a day."""
    anchor = last or first_anchor(subject)
    rest = ((key, value) for key, value in limits.items() if key not in SEASON_LIMITS)
    found = (allowed_day(subject, key, value, anchor, last, day) for key, value in rest)
    return any(allows is not None and allows < day for allows in found)


def find_next_due(subject: Subject, limits: Limits, last: date, today: date) -> date | None:
    """Find the due day alone of the cycle after a completion: what forecasts need."""
    if "charge_to" in limits:
        return _storage_cycle(subject, limits, last, today).due
    subject.boat.reach(last)
    due, clock = None, ""
    for key, value in limits.items():
        day = allowed_day(subject, key, value, last, last, today)
        if day is not None and (due is None or (day, key) < (due, clock)):
            due, clock = day, key
    if due is None or subject.rule.place == "any":
        return due
    move = _move_to_place(subject, due, clock, last)
    return move.to if move else due


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


def _opening(key: str, day: date, limit: int, window: int) -> date:
    return day - timedelta(days=window + (limit if key in BEFORE_LIMITS else 0))


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
            found.append(allow_limit(subject, key, value, start, start, boat.today))
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
        window = season_window(rule, first.clock)
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
