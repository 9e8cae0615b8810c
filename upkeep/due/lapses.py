"""Seasonal work that was never done: its cycle ended with the launch or lay-up it hung on.

Lay-up and storage cycles lapse at launch, launch cycles at the next lay-up. Rules: docs/dates.md.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from upkeep.due.allowances import season_reach
from upkeep.due.boat import Boat
from upkeep.due.cycles import allow_storage, waits_besides
from upkeep.due.subjects import Subject, first_anchor, limits_of_season
from upkeep.model import LAY_UP_LIMITS, SEASON_LIMITS, Fleet, Limits, Rule, Task, Vessel
from upkeep.terms import settle_terms


@dataclass(frozen=True, kw_only=True, slots=True, order=True)
class Lapse:
    """A cycle nobody did: the day it lapsed, and the day it had been due."""

    on: date
    due: date


def find_lapses(
    vessel: Vessel, fleet: Fleet, tasks: Iterable[Task], today: date
) -> Mapping[str, tuple[Lapse, ...]]:
    """Find the cycles of seasonal tasks that passed undone up to today, by local id, rising.

    Nothing before a part was fitted and the boat handed over counts. Tasks without one are left
    out of the mapping.
    """
    seasonal = [task for task in tasks if is_seasonal(task.rule)]
    if not seasonal:
        return {}
    boat = Boat(vessel, fleet, today)
    found = {task.local_id: _list_lapses(_subject(boat, task)) for task in seasonal}
    return {name: lapses for name, lapses in found.items() if lapses}


def is_seasonal(rule: Rule) -> bool:
    """Tell whether a rule has a limit that a launch or lay-up ends."""
    return any(key in SEASON_LIMITS or key == "charge_to" for key in rule.limits)


def _subject(boat: Boat, task: Task) -> Subject:
    override = boat.vessel.overrides.get((task.component.id, task.rule.id))
    terms = settle_terms(task.rule, boat.standing, override)
    return Subject(boat=boat, component=task.component, rule=task.rule, terms=terms)


def _list_lapses(subject: Subject) -> tuple[Lapse, ...]:
    limits = limits_of_season(subject)
    find = _lapsed_storage if "charge_to" in limits else _lapsed_seasons
    return tuple(sorted(set(find(subject, limits))))


def _lapsed_seasons(subject: Subject, limits: Limits) -> Iterator[Lapse]:
    boat, since = subject.boat, first_anchor(subject)
    done = boat.done.get((subject.component.id, subject.rule.id), ())
    for key, value in limits.items():
        if key not in SEASON_LIMITS:
            continue
        assert isinstance(value, int | float)
        days = boat.days.lay_ups if key in LAY_UP_LIMITS else boat.days.launches
        for day, lapse in days:
            due = day + timedelta(days=int(value if key.startswith("after") else -value))
            if lapse is None or lapse > boat.today or due <= since:
                continue
            opening = day - timedelta(days=season_reach(subject.rule, key, int(value)))
            if any(opening <= on < lapse for on in done):
                continue
            last = max((on for on in done if on < lapse), default=None)
            if not waits_besides(subject, limits, last, lapse):  # else it is late, not lapsed
                yield Lapse(on=lapse, due=due)


def _lapsed_storage(subject: Subject, limits: Limits) -> Iterator[Lapse]:
    boat, bank = subject.boat, subject.component
    earliest = max(bank.installed, boat.vessel.handed_over or bank.installed)
    done = boat.done.get((bank.id, subject.rule.id), ())
    for spell in boat.storage_spells():
        if spell.end is None or spell.end > boat.today or spell.end <= earliest:
            continue
        within = [on for on in done if spell.first <= on < spell.end]
        start = max((spell.first, earliest, *within))
        allowances = allow_storage(subject, limits, spell, start)
        due = min((a.allows for a in allowances if a.allows is not None), default=None)
        if due is not None and due < spell.end:
            yield Lapse(on=spell.end, due=due)
