"""All tasks of a vessel: dates, standing, reasons and the next three dates of each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Any

from upkeep.dates import add_months, say_day
from upkeep.due.boat import Boat
from upkeep.due.cycles import Cycle, find_cycle, find_next_due
from upkeep.due.inputs import cycle_inputs
from upkeep.due.learning import MOVED_KEYS
from upkeep.due.reasons import UNITS, say_reasons
from upkeep.due.subjects import Subject, active_limits, hangs_on_season
from upkeep.errors import QuantityError
from upkeep.model import Completion, Component, Fleet, Limits, Moved, Rule, Task, Vessel
from upkeep.physics.run_hours import forecast_days
from upkeep.terms import Terms, applies, is_asked, is_dropped, settle_terms

FORECASTS = 3
SUPPOSED_WEAR = (0.25, 1.0)  # a good finding and a bad one, for `why`


def find_tasks(vessel: Vessel, fleet: Fleet, today: date) -> tuple[Task, ...]:
    """Work out every dated or datable task of a vessel as of today.

    Sorted by due day, then id; those without a day last. Tasks that only have an occasion
    (`each`), were dropped, or need a season she does not have are not among them.
    """
    boat = Boat(vessel, fleet, today)
    tasks = []
    for subject in _subjects(boat):
        limits = active_limits(subject)
        if limits is None:
            continue
        task = _build(subject, limits)
        if task.due is not None or not hangs_on_season(subject, limits):
            tasks.append(task)
    return tuple(sorted(tasks, key=lambda task: (task.due or date.max, task.id)))


def find_occasional(vessel: Vessel, fleet: Fleet, today: date) -> tuple[Task, ...]:
    """Give the tasks that have an occasion (`each`) and never a date; they are not in `due`."""
    boat = Boat(vessel, fleet, today)
    found = []
    for component in vessel.components.values():
        for rule in component.kind.rules:
            if rule.each and applies(rule, component):
                terms = settle_terms(rule, boat.standing)
                subject = Subject(boat=boat, component=component, rule=rule, terms=terms)
                found.append(replace(_build(subject, {}), standing="ahead"))
    return tuple(found)


def task_inputs(vessel: Vessel, fleet: Fleet, task: Task, today: date) -> dict[str, Any]:
    """Gather the figures behind one task, for `why`."""
    boat = Boat(vessel, fleet, today)
    subject = _find_subject(boat, task)
    limits = active_limits(subject) if subject else None
    if subject is None or not limits:
        return {}
    return cycle_inputs(subject, find_cycle(subject, limits, _last_done(subject), today))


def suppose_found(
    vessel: Vessel, fleet: Fleet, task: Task, today: date
) -> tuple[tuple[float, date], ...]:
    """Say when a task would fall due next, were it done today and found so worn.

    For wear of a quarter and at the limit; () where findings do not move its limit.
    """
    if task.rule.evidence not in MOVED_KEYS or task.component.installed > today:
        return ()
    found = []
    for wear in SUPPOSED_WEAR:
        done = Completion(
            component=task.component.id, rule=task.rule.id, on=today, wear=wear, path=()
        )
        supposed = replace(vessel, completions=(*vessel.completions, done))
        subject = _find_subject(Boat(supposed, fleet, today), task)
        limits = active_limits(subject) if subject else None
        due = find_cycle(subject, limits, today, today).due if subject and limits else None
        if due is not None:
            found.append((wear, due))
    return tuple(found)


def forecast_hours(vessel: Vessel, fleet: Fleet, task: Task, today: date) -> tuple[str, ...]:
    """Say when a run-hours limit may be met, as a 10, 50 and 90 % forecast; () without one.

    Text only: dates are planned on the limit's own clock. Model: upkeep.physics.run_hours.
    """
    limit = next((r.limit for r in task.reasons if r.clock == "run_hours"), None)
    boat = Boat(vessel, fleet, today)
    meter = boat.meter(task.component)
    if not isinstance(limit, int | float) or meter.rate_h_per_day is None or not meter.points:
        return ()
    at = today.toordinal()
    remaining = limit - (meter.hours_on(at) - meter.hours_on(task.anchor.toordinal()))
    if remaining <= 0 or meter.rate_h_per_day <= 0:
        return ()
    forecast = forecast_days(
        remaining_h=remaining,
        prior_h_per_day=meter.stated_h_per_day or meter.rate_h_per_day,
        observed_hours=meter.points[-1][1] - meter.points[0][1],
        observed_days=meter.points[-1][0] - meter.points[0][0],
    )
    if forecast is None:
        return ()
    days = []
    for afloat_days in forecast:
        found = meter.afloat.find_due(at, afloat_days)
        if found is None:
            return ()
        days.append(say_day(date.fromordinal(found)))
    return (
        f"By her hours alone: one chance in ten that the limit is met by {days[0]}, even odds "
        f"by {days[1]}, nine in ten by {days[2]}.",
    )


def _subjects(boat: Boat) -> Iterator[Subject]:
    standing, overrides = boat.standing, boat.vessel.overrides
    shared: dict[tuple[str, str], Terms] = {}
    for component in boat.vessel.components.values():
        kind = component.kind.id
        for rule in component.kind.rules:
            if rule.each or (rule.when and not applies(rule, component)):
                continue
            override = overrides.get((component.id, rule.id)) if overrides else None
            if rule.on_request:
                done = (component.id, rule.id) in boat.done
                if not is_asked(rule, standing, override, done=done):
                    continue
            if override is not None:
                terms = settle_terms(rule, standing, override)
                if is_dropped(terms, override):
                    continue
            else:
                known = shared.get((kind, rule.id))
                if known is None:
                    known = shared[kind, rule.id] = settle_terms(rule, standing)
                terms = known
            yield Subject(boat=boat, component=component, rule=rule, terms=terms)


def _find_subject(boat: Boat, task: Task) -> Subject | None:
    """Find a dated task's subject on a boat; None for one that only has an occasion."""
    name = (task.component.id, task.rule.id)
    return next((s for s in _subjects(boat) if (s.component.id, s.rule.id) == name), None)


def _last_done(subject: Subject) -> date | None:
    done = subject.boat.done.get((subject.component.id, subject.rule.id))
    return max(done) if done else None


def _build(subject: Subject, limits: Limits) -> Task:
    boat, component, rule = subject.boat, subject.component, subject.rule
    cycle = find_cycle(subject, limits, _last_done(subject), boat.today)
    return Task(
        vessel=boat.vessel.id,
        component=component,
        rule=rule,
        binding=subject.terms.binding,
        sources=subject.terms.sources,
        anchor=cycle.anchor,
        done=cycle.done,
        due=cycle.due,
        opens=cycle.opens,
        shown_on=cycle.due,
        standing=_stand(cycle, boat.today, bool(limits)),
        reasons=say_reasons(subject, cycle),
        then=_forecast(subject, limits, cycle),
        can_be_done_now=can_be_done(boat, rule, boat.today),
        moved=_say_moved(cycle) if rule.evidence else None,
    )


def _say_moved(cycle: Cycle) -> Moved | None:
    for allowance in cycle.allowances:
        learned, base = allowance.learned, allowance.limit
        if learned is not None and isinstance(base, int | float):
            return Moved(
                clock=allowance.clock, base=base, now=round(base * learned.now, 3),
                evidence=round(base * learned.evidence, 3), unit=UNITS[allowance.clock],
                bound=learned.bound, count=learned.count,
            )  # fmt: skip
    return None


def _stand(cycle: Cycle, today: date, has_limits: bool) -> str:
    if not has_limits:
        return "unknown"
    if cycle.due is None or cycle.opens is None or today < cycle.opens:
        return "ahead"
    return "now" if today <= cycle.due else "late"


def can_be_done(boat: Boat, rule: Rule, day: date) -> bool:
    """Tell whether she is where a rule's work can be done on a day."""
    return rule.place == "any" or boat.days.is_afloat(day) is (rule.place == "afloat")


def _forecast(subject: Subject, limits: Limits, cycle: Cycle) -> tuple[date, ...]:
    """Give the next three days, each as if done on the one before."""
    rule = subject.rule
    if cycle.due is None or (rule.purpose == "renew" and "expiry" in limits):
        return ()
    done = cycle.due
    if done < subject.boat.today:
        done = _first_workable(subject.boat, rule)
    months = limits.get("months")
    if len(limits) == 1 and isinstance(months, int) and rule.place == "any":
        return _count_on(done, months)  # most tasks: the calendar alone
    days: list[date] = []
    while len(days) < FORECASTS:
        after = find_next_due(subject, limits, done, max(done, subject.boat.today))
        if after is None or after <= done:
            break
        days.append(after)
        done = after
    return tuple(days)


def _count_on(done: date, months: int) -> tuple[date, ...]:
    days: list[date] = []
    try:
        for _ in range(FORECASTS):
            done = add_months(done, months)
            days.append(done)
    except QuantityError:
        pass  # the calendar ends
    return tuple(days)


def _first_workable(boat: Boat, rule: Rule) -> date:
    today = boat.today
    if can_be_done(boat, rule, today):
        return today
    find = boat.days.next_afloat if rule.place == "afloat" else boat.days.next_ashore
    return find(today) or today


def list_undated(component: Component, event: str) -> tuple[Rule, ...]:
    """List a component's rules for an occasion (start, leaving…)."""
    rules = (rule for rule in component.kind.rules if event in rule.each)
    return tuple(rule for rule in rules if applies(rule, component))
