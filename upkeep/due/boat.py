"""One vessel with the clocks of her surroundings, each built once and shared by all her tasks."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from upkeep.clocks.boat_days import BoatDays, build_boat_days, count_afloat_days
from upkeep.clocks.fouling import (
    build_day_clock,
    build_growth_clock,
    find_class_factor,
    monthly_rates,
)
from upkeep.clocks.rates import HORIZON_DAYS, PausedClock, RateClock, pause_clock
from upkeep.clocks.run_hours import HourMeter, build_meter
from upkeep.clocks.storage import StorageSpell, list_storage_spells
from upkeep.dates import Stamp
from upkeep.evidence import Learned
from upkeep.graph import Circuits, Parasitic, build_circuits, sum_parasitic
from upkeep.model import Completion, Component, Fleet, Vessel, Water
from upkeep.terms import Standing, standing_of

LAST_YEAR = 2219  # records end with 2200
_SPAN_YEARS = 10  # enough for most tasks and their forecasts; a later day widens it


class Boat:
    """What every task of one vessel asks: her days, clocks, circuits, history."""

    def __init__(self, vessel: Vessel, fleet: Fleet, today: date) -> None:
        """Gather a vessel's surroundings; the heavier parts are made when first asked."""
        self.vessel, self.fleet, self.today = vessel, fleet, today
        self.first_year = self._find_first_year()
        self.last_year = max(today.year, self.first_year) + _SPAN_YEARS
        self.done: dict[tuple[str, str], list[date]] = {}
        self.work: dict[tuple[str, str], list[Completion]] = {}
        self.found: set[tuple[str, str]] = set()  # tasks with a finding
        self.learned: dict[tuple[str, str, str], Learned | None] = {}
        for completion in vessel.completions:
            installed = vessel.components[completion.component].installed
            if installed <= completion.on <= today:
                key = (completion.component, completion.rule)
                self.done.setdefault(key, []).append(completion.on)
                self.work.setdefault(key, []).append(completion)
                if completion.has_finding:
                    self.found.add(key)
        self._clocks: dict[str, PausedClock] = {}
        self._meters: dict[str, HourMeter] = {}
        self._parasitic: dict[str, Parasitic] = {}
        self._isolated_on: dict[str, list[date]] = {}
        self._readings: dict[tuple[str, str], list[tuple[date, float]]] | None = None
        self._circuits: Circuits | None = None
        self._spells: list[StorageSpell] | None = None
        self.days = self._build_days()

    def _find_first_year(self) -> int:
        days = [component.installed for component in self.vessel.components.values()]
        days += [completion.on for completion in self.vessel.completions]
        days += [reading.on for reading in self.vessel.readings]
        for component in self.vessel.components.values():
            days += [v.first for v in component.values.values() if isinstance(v, Stamp)]
        return min((*days, self.today)).year - 1

    def _build_days(self) -> BoatDays:
        vessel = self.vessel
        return build_boat_days(
            vessel.season, vessel.ashore, vessel.afloat, self.first_year, self.last_year
        )

    def reach(self, day: date) -> None:
        """Widen the range of years until a day and the winters after it lie inside."""
        if day.year + 2 > self.last_year:
            self.last_year = day.year + 2 + _SPAN_YEARS
            self.days = self._build_days()
            self._spells = None

    def _range(self) -> tuple[int, int]:
        first, last = max(self.first_year, 1890), min(self.last_year, LAST_YEAR)
        return date(first, 1, 1).toordinal(), date(last, 12, 31).toordinal()

    def count_due(self, find: Callable[[], PausedClock | HourMeter], anchor: date, limit: float,
                  ) -> date | None:  # fmt: skip
        """Find the due day of a counting clock, widening its range while none is found."""
        at = anchor.toordinal()
        self.reach(anchor)
        while True:
            clock = find()
            due = clock.find_due(at, limit) if clock.end > at else None
            if due is not None:
                return date.fromordinal(due)
            if clock.end > at + HORIZON_DAYS + 1 or self.last_year >= LAST_YEAR:
                return None
            self.last_year = max(self.last_year, anchor.year) + HORIZON_DAYS // 365 + 1
            self.days = self._build_days()
            self._spells = None
            self._clocks.clear()
            self._meters.clear()

    @property
    def standing(self) -> Standing:
        """Say what decides which scopes hold her, in today's water."""
        return standing_of(self.vessel, self.water_on(self.today).jurisdiction)

    def water_on(self, day: date) -> Water:
        """Give the water she lies in on a day."""
        name = self.vessel.water
        for water, first in self.vessel.berths:
            if first <= day:
                name = water
        return self.fleet.waters[name]

    def afloat_clock(self) -> PausedClock:
        """Count days afloat."""
        if "afloat" not in self._clocks:
            self._clocks["afloat"] = self._pause(build_day_clock())
        return self._clocks["afloat"]

    def fouling_clock(self) -> PausedClock:
        """Count days afloat as days in water of 20 °C."""
        if "fouling" not in self._clocks:
            moves = [(self.vessel.water, 0)]
            moves += [(water, day.toordinal()) for water, day in self.vessel.berths]
            waters = tuple((day, self._rates(name)) for name, day in moves)
            self._clocks["fouling"] = self._pause(build_growth_clock(waters))
        return self._clocks["fouling"]

    def _pause(self, base: RateClock) -> PausedClock:
        first, end = self._range()
        return pause_clock(base, self.days.ashore, first, end)

    def _rates(self, water: str) -> tuple[float, ...]:
        found = self.fleet.waters[water]
        return monthly_rates(found.monthly_c, find_class_factor(found))

    def circuits(self) -> Circuits:
        """Give her circuits."""
        if self._circuits is None:
            self._circuits = build_circuits(self.vessel)
        return self._circuits

    def parasitic(self, bank: Component) -> Parasitic:
        """Give what a bank goes on losing to its loads."""
        if bank.id not in self._parasitic:
            self._parasitic[bank.id] = sum_parasitic(self.circuits(), bank)
        return self._parasitic[bank.id]

    def storage_spells(self) -> list[StorageSpell]:
        """List the spells in which she lies unused."""
        if self._spells is None:
            self._spells = list_storage_spells(self.days.winters, self.vessel.left)
        return self._spells

    def metered(self, component: Component) -> Component:
        """Give the component whose hours count: itself, or the engine that drives it."""
        engine = self.vessel.components.get(component.driven_by)
        if engine is None or component.hours_per_year is not None or hour_reading(component):
            return component
        return engine

    def meter(self, component: Component) -> HourMeter:
        """Give the hour meter that counts for a component."""
        source = self.metered(component)
        if source.id not in self._meters:
            stated = source.hours_per_year
            per_day = None if stated is None else stated / count_afloat_days(self.vessel.season)
            self._meters[source.id] = build_meter(
                afloat=self.afloat_clock(),
                readings=self.readings(source, hour_reading(source), since=source.installed),
                stated_h_per_day=per_day,
            )
        return self._meters[source.id]

    def readings(
        self, component: Component, name: str, *, since: date | None = None
    ) -> list[tuple[date, float]]:
        """List the readings of one name, rising by day, none after today."""
        if self._readings is None:
            self._readings = {}
            for reading in self.vessel.readings:
                if reading.on <= self.today:
                    key = (reading.component, reading.name)
                    self._readings.setdefault(key, []).append((reading.on, reading.value))
        found = self._readings.get((component.id, name), [])
        return found if since is None else [row for row in found if row[0] >= since]

    def commissioned(self, component: Component, name: str) -> float | None:
        """Give the value read when a component was commissioned; the latest such by today."""
        found = [
            reading.value
            for reading in self.vessel.readings  # rising by day
            if (reading.component, reading.name) == (component.id, name)
            if reading.commissioning and reading.on <= self.today
        ]
        return found[-1] if found else None

    def is_isolated(self, bank: Component, spell: StorageSpell) -> bool:
        """Tell whether isolation is recorded in a spell, for the bank or what cuts it off."""
        return spell.isolated or any(
            spell.first <= on <= self.today and (spell.end is None or on < spell.end)
            for on in self._isolations(bank)
        )

    def _isolations(self, bank: Component) -> list[date]:
        if bank.id not in self._isolated_on:
            near = {bank.id}
            for _, supply in self.circuits().fed.get(bank.id, ()):
                near.update(device.id for device in self.circuits().isolators(supply))
            self._isolated_on[bank.id] = [
                on
                for name in near
                for rule in self.vessel.components[name].kind.rules
                if rule.isolates
                for on in self.done.get((name, rule.id), ())
            ]
        return self._isolated_on[bank.id]


def hour_reading(component: Component) -> str:
    """Name the reading that counts run-hours of a component; "" if its kind has none."""
    return counting_reading(component, "run_hours")


def counting_reading(component: Component, limit: str) -> str:
    """Name the reading that counts for a limit; "" if the component's kind has none."""
    return next((row.name for row in component.kind.readings if row.counts_for == limit), "")
