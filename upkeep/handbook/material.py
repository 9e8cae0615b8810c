"""What every chapter asks for: the vessel, her jobs as of the edition, her circuits, words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from upkeep.due import find_tasks, list_undated
from upkeep.graph import Circuits, build_circuits
from upkeep.handbook.blocks import Block, CautionPanel
from upkeep.handbook.paths import order_by_path
from upkeep.model import (
    EVENTS,
    SIGNAL_WORDS,
    Catalogue,
    Component,
    Fleet,
    Rule,
    Task,
    Vessel,
    Water,
)
from upkeep.terms import Standing, settle_terms, standing_of
from upkeep.units import show_quantity

Parse = Callable[[str], tuple[Block, ...]]


@dataclass(frozen=True, kw_only=True, slots=True)
class Job:
    """A rule on one component: a task with its dates, or one that only has an occasion."""

    component: Component
    rule: Rule
    binding: str
    sources: tuple[str, ...]
    task: Task | None

    @property
    def anchor(self) -> str:
        """Name its card in the book."""
        return f"task-{self.component.id}-{self.rule.id}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Material:
    """One vessel as of her edition. jobs: dated ones first by day, then those of occasions.

    path is her components along water and current. as_of is None when nothing bears a date.
    """

    vessel: Vessel
    fleet: Fleet
    catalogue: Catalogue
    warnings: tuple[str, ...]
    parse: Parse
    as_of: date | None
    water: Water
    standing: Standing
    circuits: Circuits
    jobs: tuple[Job, ...]
    path: tuple[Component, ...]
    shared_titles: frozenset[str]

    @property
    def banks(self) -> tuple[Component, ...]:
        """List what stores charge."""
        return tuple(c for c in self.vessel.components.values() if c.has_role("bank"))

    def show(self, value: float, unit: str) -> str:
        """Write a value in the fleet's units."""
        return show_quantity(value, unit, self.fleet.units)

    def call(self, component: Component) -> str:
        """Name a part so that it cannot be another: with its place where titles are shared."""
        if component.title.casefold() in self.shared_titles and component.location:
            return f"{component.title} ({component.location})"
        return component.title

    def is_for_yard(self, job: Job) -> bool:
        """Tell whether the yard does a job: by the hand it takes, or by name."""
        service = self.fleet.service
        name = f"{self.vessel.id}/{job.component.id}/{job.rule.id}"
        return job.rule.hand in service.yard or name in service.also

    def list_panels(self, names: Iterable[str]) -> tuple[CautionPanel, ...]:
        """Look cautions up, each once, the gravest first. Raises KeyError for an unknown one."""
        found = [self.catalogue.cautions[name] for name in dict.fromkeys(names)]
        return tuple(
            CautionPanel(
                id=caution.id,
                word=caution.word,
                hazard=caution.hazard,
                consequence=caution.consequence,
                avoid=caution.avoid,
            )
            for caution in sorted(found, key=lambda c: SIGNAL_WORDS.index(c.word))
        )


def as_of_day(vessel: Vessel) -> date | None:
    """Find the day a book speaks for: its edition's, else hand-over, else the last fitting."""
    if vessel.editions:
        return vessel.editions[-1].on
    installed = max((c.installed for c in vessel.components.values()), default=None)
    return vessel.handed_over or installed


def gather_material(
    *, vessel: Vessel, fleet: Fleet, catalogue: Catalogue, warnings: Sequence[str], parse: Parse
) -> Material:
    """Gather what the chapters ask for; tasks are worked out once."""
    as_of = as_of_day(vessel)
    if as_of is not None:
        vessel = leave_out_later(vessel, as_of)
    water = _find_water(vessel, fleet, as_of)
    standing = standing_of(vessel, water.jurisdiction)
    titles = Counter(c.title.casefold() for c in vessel.components.values())
    return Material(
        vessel=vessel,
        fleet=fleet,
        catalogue=catalogue,
        warnings=tuple(warnings),
        parse=parse,
        as_of=as_of,
        water=water,
        standing=standing,
        circuits=build_circuits(vessel),
        jobs=(*_list_dated(vessel, fleet, as_of), *_list_occasional(vessel, standing)),
        path=order_by_path(vessel.components),
        shared_titles=frozenset(title for title, count in titles.items() if count > 1),
    )


def leave_out_later(vessel: Vessel, as_of: date) -> Vessel:
    """Leave out what happened after a day, so that living with the boat changes no book."""
    return replace(
        vessel,
        ashore=tuple(period for period in vessel.ashore if period.first <= as_of),
        afloat=tuple(period for period in vessel.afloat if period.first <= as_of),
        berths=tuple(berth for berth in vessel.berths if berth[1] <= as_of),
        left=tuple(left for left in vessel.left if left.period.first <= as_of),
        completions=tuple(done for done in vessel.completions if done.on <= as_of),
        readings=tuple(reading for reading in vessel.readings if reading.on <= as_of),
    )


def _find_water(vessel: Vessel, fleet: Fleet, as_of: date | None) -> Water:
    berths = vessel.berths if as_of is not None else ()
    return fleet.waters[berths[-1][0] if berths else vessel.water]


def _list_dated(vessel: Vessel, fleet: Fleet, as_of: date | None) -> list[Job]:
    if as_of is None or not vessel.components:
        return []
    return [
        Job(
            component=task.component,
            rule=task.rule,
            binding=task.binding,
            sources=task.sources,
            task=task,
        )
        for task in find_tasks(vessel, fleet, as_of)
    ]


def _list_occasional(vessel: Vessel, standing: Standing) -> list[Job]:
    jobs = []
    for component in vessel.components.values():
        rules = {rule.id: rule for event in EVENTS for rule in list_undated(component, event)}
        for rule in rules.values():
            override = vessel.overrides.get((component.id, rule.id))
            if override is not None and override.dropped:
                continue
            terms = settle_terms(rule, standing)
            jobs.append(
                Job(
                    component=component,
                    rule=rule,
                    binding=terms.binding,
                    sources=terms.sources,
                    task=None,
                )
            )
    return jobs
