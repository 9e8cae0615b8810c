"""One vessel with the clocks of her surroundings, each built once and shared by all her tasks."""

from __future__ import annotations

from datetime import date

from upkeep.clocks.boat_days import BoatDays, build_boat_days, count_afloat_days
from upkeep.clocks.fouling import (
    build_afloat_clock,
    build_fouling_clock,
    find_class_factor,
    monthly_rates,
)
from upkeep.clocks.rates import HORIZON_DAYS, RateClock
from upkeep.clocks.run_hours import HourMeter, build_meter
from upkeep.clocks.storage import StorageSpell, list_storage_spells
from upkeep.dates import Stamp
from upkeep.graph import Circuits, Parasitic, build_circuits, sum_parasitic
from upkeep.model import Component, Fleet, Vessel, Water
from upkeep.terms import Standing, standing_of

_SPAN_YEARS = 22  # enough for three forecasts of most tasks; longer ones widen it


class Boat:
    """What every task of one vessel asks: her days, clocks, circuits, history."""

    def __init__(self, vessel: Vessel, fleet: Fleet, today: date) -> None:
        """Gather a vessel's surroundings; the heavier parts are made when first asked."""
        self.vessel, self.fleet, self.today = vessel, fleet, today
        self.first_year = self._find_first_year()
        self.last_year = max(today.year, self.first_year) + _SPAN_YEARS
        self.done: dict[tuple[str, str], list[date]] = {}
        for completion in vessel.completions:
            installed = vessel.components[completion.component].installed
            if installed <= completion.on <= today:
                key = (completion.component, completion.rule)
                self.done.setdefault(key, []).append(completion.on)
        self._clocks: dict[str, RateClock] = {}
        self._meters: dict[str, HourMeter] = {}
        self._parasitic: dict[str, Parasitic] = {}
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

    def reach(self, anchor: date) -> None:
        """Widen the range of years until an anchor's whole horizon lies inside it."""
        needed = anchor.year + HORIZON_DAYS // 365 + 2
        if needed > self.last_year:
            self.last_year = needed + _SPAN_YEARS
            self.days = self._build_days()
            self._clocks.clear()
            self._meters.clear()
            self._spells = None

    def _range(self) -> tuple[int, int]:
        first = min(self.first_year, 9990)
        return date(first, 1, 1).toordinal(), date(min(self.last_year, 9998), 12, 31).toordinal()

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

    def afloat_clock(self) -> RateClock:
        """Count days afloat."""
        if "afloat" not in self._clocks:
            self._clocks["afloat"] = build_afloat_clock(self.days.ashore, *self._range())
        return self._clocks["afloat"]

    def fouling_clock(self) -> RateClock:
        """Count days afloat as days in water of 20 °C."""
        if "fouling" not in self._clocks:
            first, end = self._range()
            moves = [(self.vessel.water, first)]
            moves += [(water, day.toordinal()) for water, day in self.vessel.berths]
            waters = tuple((day, self._rates(name)) for name, day in moves)
            self._clocks["fouling"] = build_fouling_clock(waters, self.days.ashore, first, end)
        return self._clocks["fouling"]

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
        return [
            (reading.on, reading.value)
            for reading in self.vessel.readings
            if reading.component == component.id
            and reading.name == name
            and reading.on <= self.today
            and (since is None or reading.on >= since)
        ]

    def is_isolated(self, bank: Component, spell: StorageSpell, today: date) -> bool:
        """Tell whether isolation is recorded in a spell, for the bank or what cuts it off."""
        if spell.isolated:
            return True
        near = {bank.id}
        for _, supply in self.circuits().fed.get(bank.id, ()):
            near.update(device.id for device in self.circuits().isolators(supply))
        for name in near:
            for rule in self.vessel.components[name].kind.rules:
                if rule.isolates and any(
                    spell.first <= on <= today and (spell.end is None or on < spell.end)
                    for on in self.done.get((name, rule.id), ())
                ):
                    return True
        return False


def hour_reading(component: Component) -> str:
    """Name the reading that counts run-hours of a component; "" if its kind has none."""
    for reading in component.kind.readings:
        if reading.counts_for == "run_hours":
            return reading.name
    return ""
