"""A second, slow reader of the rules for dates: every clock is run day by day, nothing is clever.

Written from the contract's own words before the product's code was read. It gives no reasons
in words, and leaves out evidence. Where the words leave a choice, the product's was taken and is
marked "choice".
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from dateutil.relativedelta import relativedelta

from upkeep.dates import Stamp
from upkeep.model import Component, Expiry, Fleet, ReadingLimit, Rule, Scope, Vessel

from .oracle_clocks import HORIZON_DAYS, Clocks
from .oracle_days import DAY, Days

SEASON_KEYS = (
    "before_lay_up_days",
    "after_lay_up_days",
    "before_launch_days",
    "after_launch_days",
)
RANK = ("practice", "advised", "required")


@dataclass(kw_only=True)
class Job:
    """A rule on a component, with the binding and limits that hold on this vessel."""

    component: Component
    rule: Rule
    binding: str
    limits: dict[str, Any]


@dataclass(kw_only=True)
class Cycle:
    """One occurrence; openings are those of season clocks."""

    anchor: date
    done: bool
    allows: dict[str, date | None]
    openings: dict[str, date]
    due: date | None = None
    opens: date | None = None


@dataclass(frozen=True, kw_only=True)
class Expected:
    """What the contract says of one task."""

    id: str
    binding: str
    anchor: date
    done: bool
    allows: dict[str, date | None]
    due: date | None
    opens: date | None
    standing: str
    then: tuple[date, ...]


class Oracle:
    """One vessel on one day."""

    def __init__(self, vessel: Vessel, fleet: Fleet, today: date) -> None:
        self.vessel, self.today = vessel, today
        self.where = Days(vessel, fleet)
        self.clocks = Clocks(vessel, self.where, today)

    def find_tasks(self) -> dict[str, Expected]:
        found = {}
        for component in self.vessel.components.values():
            for rule in component.kind.rules:
                job = self.job(component, rule)
                task = self.task(job) if job else None
                if task is not None:
                    found[task.id] = task
        return found

    # --- what holds on this vessel -------------------------------------------------------

    def job(self, component: Component, rule: Rule) -> Job | None:
        """Settle binding and limits; None when the rule is not for her."""
        for field, allowed in rule.when.items():
            if component.values.get(field) not in allowed:
                return None
        override = self.vessel.overrides.get((component.id, rule.id))
        if rule.each:
            return None
        binding, limits = rule.binding, dict(rule.limits)
        for scope in rule.scopes:
            if self.in_scope(scope):
                binding = max(binding, scope.binding, key=RANK.index)
                limits = smallest(limits, scope.limits)
        if override and override.dropped and binding != "required":
            return None
        own = dict(override.limits) if override else {}
        if binding == "required":  # a limit of her own may only shorten it
            own = {key: value for key, value in own.items() if not longer(key, value, limits)}
            instead = {k: v for k, v in own.items() if not longer(k, v, rule.without_season)}
        else:
            instead = own
        settled = self.for_her_season(rule, {**limits, **own}, instead)
        if settled is None:
            return None
        return Job(component=component, rule=rule, binding=binding, limits=settled)

    def in_scope(self, scope: Scope) -> bool:
        vessel = self.vessel
        water = self.where.water(self.today)  # choice: the water she lies in today
        asked = [
            (scope.flags, {vessel.flag}),
            (scope.waters, {water.jurisdiction}),
            (scope.uses, {vessel.use}),
            (scope.classes, set(vessel.classes)),
            (scope.schemes, set(vessel.schemes)),
        ]
        return all(not rows or own & set(rows) for rows, own in asked)

    def for_her_season(
        self, rule: Rule, limits: dict[str, Any], own: dict[str, Any]
    ) -> dict[str, Any] | None:
        """Settle season keys for a boat without a season; None: not listed."""
        if self.vessel.season is not None or not limits:
            return limits
        shared = {key: value for key, value in own.items() if key in rule.without_season}
        instead = {**rule.without_season, **shared}
        if "charge_to" in limits:
            # choice: a spell that is recorded serves first, without_season after it
            if any(s.end is None or s.end > self.today for s in self.where.spells):
                return limits
            return instead or None
        if not any(key in SEASON_KEYS for key in limits):
            return limits
        others = {key: value for key, value in limits.items() if key not in SEASON_KEYS}
        if instead:
            return smallest(others, instead)
        return limits if self.where.winters else others or None

    # --- one task ------------------------------------------------------------------------

    def task(self, job: Job) -> Expected | None:
        component, rule = job.component, job.rule
        done = [
            work.on
            for work in self.vessel.completions
            if (work.component, work.rule) == (component.id, rule.id)
            and component.installed <= work.on <= self.today
        ]
        cycle = self.cycle(job, max(done, default=None), self.today)
        seasonal = "charge_to" in job.limits or all(key in SEASON_KEYS for key in job.limits)
        if self.vessel.season is None and job.limits and seasonal and cycle.due is None:
            return None
        return Expected(
            id=f"{self.vessel.id}/{component.id}/{rule.id}",
            binding=job.binding,
            anchor=cycle.anchor,
            done=cycle.done,
            allows=cycle.allows,
            due=cycle.due,
            opens=cycle.opens,
            standing=self.standing(job, cycle),
            then=tuple(self.then(job, cycle)),
        )

    def standing(self, job: Job, cycle: Cycle) -> str:
        if not job.limits:
            return "unknown"
        if cycle.due is None or cycle.opens is None or self.today < cycle.opens:
            return "ahead"
        return "now" if self.today <= cycle.due else "late"

    def then(self, job: Job, cycle: Cycle) -> Iterator[date]:
        day = cycle.due
        if day is None or (job.rule.purpose == "renew" and "expiry" in job.limits):
            return
        if day < self.today:  # choice: where she never is, as if done today
            workable = (d for d in ahead(self.today) if self.can_be_done(job.rule, d))
            day = next(workable, self.today)
        for _ in range(3):
            after = self.cycle(job, day, max(day, self.today)).due
            if after is None or after <= day:
                return
            day = after
            yield day

    def can_be_done(self, rule: Rule, day: date) -> bool:
        if rule.place == "any":
            return True
        return self.where.is_afloat(day) == (rule.place == "afloat")

    # --- one cycle -----------------------------------------------------------------------

    def cycle(self, job: Job, last: date | None, today: date) -> Cycle:
        if "charge_to" in job.limits:
            return self.storage_cycle(job, last, today)
        anchor = last or self.first_anchor(job)
        cycle = Cycle(anchor=anchor, done=last is not None, allows={}, openings={})
        for key, limit in job.limits.items():
            if key in SEASON_KEYS:
                self.allow_season(job, cycle, key, today)
            else:
                cycle.allows[key] = self.allow(job, key, limit, cycle)
        if job.rule.purpose == "renew" and last is None:
            self.spare(cycle)
        self.settle(job, cycle)
        return cycle

    def lives(self, job: Job) -> list[date]:
        """List the days on which the part was new: first fitted, and each time it was done."""
        name = (job.component.id, job.rule.id)
        done = [w.on for w in self.vessel.completions if (w.component, w.rule) == name]
        known = [on for on in done if job.component.installed <= on <= self.today]
        return sorted({self.first_anchor(job), *known})

    def first_anchor(self, job: Job) -> date:
        installed, handed_over = job.component.installed, self.vessel.handed_over
        if job.rule.purpose != "renew":
            return max(installed, handed_over or installed)
        for field in ("made", "serviced"):
            stamp = job.component.values.get(field)
            if isinstance(stamp, Stamp):
                return stamp.first
        return installed

    def spare(self, cycle: Cycle) -> None:
        """An unrecorded renewal due before hand-over is due 30 days after it; a stamp stays."""
        handed_over = self.vessel.handed_over
        counted = {key: day for key, day in cycle.allows.items() if key != "expiry" and day}
        if handed_over and counted and min(counted.values()) < handed_over:
            spared = handed_over + 30 * DAY
            cycle.allows |= {key: max(day, spared) for key, day in counted.items()}

    def allow(self, job: Job, key: str, limit: Any, cycle: Cycle) -> date | None:
        anchor = cycle.anchor
        match key:
            case "days":
                return anchor + limit * DAY
            case "weeks":
                return anchor + 7 * limit * DAY
            case "months":
                return anchor + relativedelta(months=limit)
            case "afloat_days":
                return self.clocks.allow_afloat(anchor, limit)
            case "fouling_days":
                return self.clocks.allow_fouling(anchor, limit, job.rule.least_days)
            case "run_hours":
                return self.clocks.allow_hours(job.component, limit, anchor)
            case "anode_used":
                return self.clocks.allow_anode(job.component, limit, anchor, self.lives(job))
            case "reading":
                since = anchor + DAY if cycle.done else anchor
                return self.clocks.allow_reading(job.component, limit, since)
        assert key == "expiry"
        last = anchor if cycle.done else None
        renewed = job.rule.purpose == "renew"  # choice: only then is a stamp from before stale
        return self.clocks.allow_expiry(job.component, limit, last, renewed=renewed)

    # --- seasons -------------------------------------------------------------------------

    def allow_season(self, job: Job, cycle: Cycle, key: str, today: date) -> None:
        """Find the first season that is neither done nor lapsed, and its opening."""
        limit, window = job.limits[key], season_window(job.rule, key)
        cycle.allows[key] = None
        for index, winter in enumerate(self.where.winters):
            day, lapses = winter.lay_up, winter.launch
            if "launch" in key:
                following = self.where.winters[index + 1 : index + 2]
                lapses = following[0].lay_up if following else None
                if winter.launch is None:
                    continue
                day = winter.launch
            if key.startswith("before"):
                due, opens = day - limit * DAY, day - limit * DAY - window * DAY
            else:
                due, opens = day + limit * DAY, day - window * DAY
            is_done = opens <= cycle.anchor if cycle.done else due <= cycle.anchor
            if is_done or (lapses is not None and today >= lapses):
                continue
            cycle.allows[key], cycle.openings[key] = due, opens
            return

    # --- storage -------------------------------------------------------------------------

    def storage_cycle(self, job: Job, last: date | None, today: date) -> Cycle:
        known = (job.component.installed, self.vessel.handed_over)
        earliest = max(day for day in (*known, last) if day is not None)
        for spell in self.where.spells:
            start = max(spell.start, earliest)
            if spell.end is not None and (start >= spell.end or today >= spell.end):
                continue
            cycle = Cycle(anchor=start, done=start == last, allows={}, openings={})
            for key, limit in job.limits.items():
                if key == "charge_to":
                    allowed = self.clocks.allow_charge(job.component, limit, start, spell)
                    cycle.allows[key] = allowed
                else:
                    cycle.allows[key] = self.allow(job, key, limit, cycle)
            due = min(day for day in cycle.allows.values() if day is not None)
            if spell.end is not None and due >= spell.end:
                continue  # gives way to the next lay-up
            self.settle(job, cycle)
            assert cycle.due is not None
            two_thirds = start + ((cycle.due - start).days * 2 // 3) * DAY
            cycle.opens = min(cycle.due, max(start + DAY, two_thirds))
            return cycle
        anchor = last or max(day for day in known if day is not None)
        nothing = dict.fromkeys(job.limits)
        return Cycle(anchor=anchor, done=last is not None, allows=nothing, openings={})

    # --- due day, place and opening ------------------------------------------------------

    def settle(self, job: Job, cycle: Cycle) -> None:
        dated = sorted((day, key) for key, day in cycle.allows.items() if day is not None)
        if not dated:
            return
        first, clock = dated[0]
        cycle.due = self.move(job, clock, first, cycle.anchor)
        if clock in SEASON_KEYS:
            window = season_window(job.rule, clock)
        elif job.rule.window_days is not None:
            window = job.rule.window_days
        elif clock == "expiry":
            window = 60
        else:
            window = min(60, max(3, (cycle.due - cycle.anchor).days // 4))
        opens = cycle.due - window * DAY
        if clock in SEASON_KEYS and cycle.due == first:
            opens = cycle.openings[clock]
        cycle.opens = min(cycle.due, max(cycle.anchor + DAY, opens))

    def move(self, job: Job, clock: str, due: date, anchor: date) -> date:
        """Move a day to where the work can be done, if it should move."""
        rule = job.rule
        if self.can_be_done(rule, due):
            return due
        before = next((d for d in back(due) if self.can_be_done(rule, d)), None)
        after = next((d for d in ahead(due) if self.can_be_done(rule, d)), None)
        if rule.place == "afloat":
            if job.binding == "required" and before is not None and before > anchor:
                return before
            return after or due
        span = (due - anchor).days
        if before is not None and (before - anchor).days > span / 2:
            return before
        firm = job.binding == "required" or clock == "expiry"
        if not firm and after is not None and (after - due).days <= span / 4:
            return after
        return due


def season_window(rule: Rule, key: str) -> int:
    return rule.window_days or (30 if key.startswith("before") else 7)


def ahead(day: date) -> Iterator[date]:
    for _ in range(HORIZON_DAYS):
        yield day
        day += DAY


def back(day: date) -> Iterator[date]:
    for _ in range(HORIZON_DAYS):
        yield day
        day -= DAY


def longer(key: str, new: Any, limits: Mapping[str, Any]) -> bool:
    """Tell whether a limit lets a task run longer than the one of its key."""
    old = limits.get(key)
    if old is None:
        return False
    if isinstance(new, Expiry):
        return new.field != old.field or new.life_months > old.life_months
    if isinstance(new, ReadingLimit):
        return smallest({key: old}, {key: new})[key] != new
    return new < old if key.startswith("before") or key == "charge_to" else new > old


def smallest(first: dict[str, Any], second: Mapping[str, Any]) -> dict[str, Any]:
    """Merge two sets of limits, the smallest number of each."""
    merged = dict(first)
    for key, value in second.items():
        mine = merged.get(key, value)
        if isinstance(value, Expiry):
            merged[key] = min(mine, value, key=lambda limit: limit.life_months)
        elif isinstance(value, ReadingLimit):
            merged[key] = value  # choice: of two bounds on different things the scope's
            if (mine.name, mine.of_commissioning) == (value.name, value.of_commissioning):
                if mine.below is not None and value.below is not None:
                    merged[key] = max(mine, value, key=lambda limit: limit.below)
                elif mine.above is not None and value.above is not None:
                    merged[key] = min(mine, value, key=lambda limit: limit.above)
        else:
            merged[key] = min(mine, value)
    return merged
