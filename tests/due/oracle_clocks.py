"""Every clock run day by day: the slow reader's second part.

Rates as in the engineering models: growth doubles per 10 °C between 0 and 30 °C; a bank loses a
share of its charge that doubles per 10 °C, and what was left on. The anchor day counts 0.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from itertools import pairwise
from math import exp
from statistics import median

from dateutil.relativedelta import relativedelta

from upkeep.dates import Stamp
from upkeep.model import Component, Expiry, ReadingLimit, Vessel

from .oracle_days import DAY, Days, Spell, days

HORIZON_DAYS = 3660
SLACK = 1e-9
CLASSES = {"open": 0.6, "marina": 1.0, "rich": 1.6}
FRESH = 0.3
# chemistry: self-discharge [% in 30 days] at [°C], charge taken for granted
LOSSES = {
    "lithium": (3, 25, 0.6),
    "agm": (3, 20, 1.0),
    "gel": (2, 20, 1.0),
    "flooded": (6, 20, 1.0),
}
READING_REACH_DAYS = 14
STALE_DAYS = 60
STATED_WEIGHT_DAYS = 90
Readings = list[tuple[date, float]]


class Clocks:
    """The clocks of one vessel on one day."""

    def __init__(self, vessel: Vessel, where: Days, today: date) -> None:
        self.vessel, self.where, self.today = vessel, where, today
        self._fouling: dict[date, float] = {}

    def allow_afloat(self, anchor: date, limit: float) -> date | None:
        return self.count(anchor, limit, self.where.is_afloat)

    def allow_fouling(self, anchor: date, limit: float, least_days: int) -> date | None:
        allowed = self.count(anchor, limit, self.fouling_on)
        return None if allowed is None else max(allowed, anchor + least_days * DAY)

    def count(self, anchor: date, limit: float, rate: Callable[[date], float]) -> date | None:
        """Sum a daily rate until the limit has been passed."""
        total, day = 0.0, anchor
        for _ in range(HORIZON_DAYS + 1):
            total += rate(day + DAY)
            if total > limit + SLACK * max(1.0, limit):
                return day
            day += DAY
        return None

    def fouling_on(self, day: date) -> float:
        if day not in self._fouling:
            water = self.where.water(day)
            warmth = min(30.0, max(0.0, water.monthly_c[day.month - 1]))
            factor = FRESH if water.salinity == "fresh" else CLASSES[water.moving]
            rate = factor * 2 ** ((warmth - 20) / 10)
            self._fouling[day] = rate if self.where.is_afloat(day) else 0.0
        return self._fouling[day]

    # --- run-hours -----------------------------------------------------------------------

    def allow_hours(self, component: Component, limit: float, anchor: date) -> date | None:
        engine = component
        if component.driven_by and not hour_meters(component) and component.hours_per_year is None:
            engine = self.vessel.components[component.driven_by]
        readings = self.hour_readings(engine)
        rate = self.hours_rate(readings, engine.hours_per_year)
        if rate is None:
            return None
        at_anchor = self.hours_on(anchor, readings, rate)
        slack = SLACK * max(1.0, limit)
        for day in days(anchor + DAY, anchor + (HORIZON_DAYS + 2) * DAY):
            if self.hours_on(day, readings, rate) - at_anchor > limit + slack:
                return day - DAY
        return None

    def hour_readings(self, engine: Component) -> Readings:
        readings: Readings = []
        for reading in sorted(self.vessel.readings, key=lambda reading: reading.on):
            if reading.component != engine.id or reading.name not in hour_meters(engine):
                continue
            if not engine.installed <= reading.on <= self.today:
                continue
            while readings:
                span = self.afloat_between(readings[-1][0], reading.on)
                if span and reading.value - readings[-1][1] <= 24 * span:
                    break
                readings.pop()  # choice: it ran while she was ashore, so the later counts
            readings.append((reading.on, reading.value))
        return readings

    def hours_rate(self, readings: Readings, per_year: float | None) -> float | None:
        """Hours per day afloat."""
        if len(readings) >= 4:
            slopes = []
            for i, (on, value) in enumerate(readings):
                for later, more in readings[i + 1 :]:
                    slopes.append((more - value) / self.afloat_between(on, later))
            return min(24.0, median(slopes))
        run = readings[-1][1] - readings[0][1] if readings else 0.0
        span = self.afloat_between(readings[0][0], readings[-1][0]) if readings else 0
        if per_year is None:
            return run / span if span else None
        stated = per_year / self.where.afloat_days_of_a_year()
        return (stated * STATED_WEIGHT_DAYS + run) / (STATED_WEIGHT_DAYS + span)

    def afloat_between(self, before: date, after: date) -> int:
        """Count the days afloat after one day, up to and with the other."""
        return self.where.afloat_until(after) - self.where.afloat_until(before)

    def hours_on(self, day: date, readings: Readings, rate: float) -> float:
        """Hours a meter shows on a day: between readings by days afloat, else by the rate."""
        if not readings:
            return rate * self.where.afloat_until(day)
        first, last = readings[0], readings[-1]
        if day <= first[0]:
            return first[1] - rate * self.afloat_between(day, first[0])
        if day >= last[0]:
            return last[1] + rate * self.afloat_between(last[0], day)
        (on, value), (later, more) = next(
            pair for pair in pairwise(readings) if pair[0][0] <= day <= pair[1][0]
        )
        share = self.afloat_between(on, day) / self.afloat_between(on, later)
        return value + (more - value) * share

    # --- anodes and readings ---------------------------------------------------------------

    def allow_anode(
        self, anode: Component, limit: float, anchor: date, lives: list[date]
    ) -> date | None:
        """Waste it day by day while afloat: as weighed, as the one before, or by its current."""
        mass_g = anode.values.get("mass_g")
        if not isinstance(mass_g, int | float):
            return None
        gone, from_day, per_day = 0.0, anchor, 0.0
        weighed = [r for r in self.vessel.readings if (r.component, r.name) == (anode.id, "left_g")]
        on_day = {r.on: r.value for r in weighed if r.on <= self.today}
        for reading in sorted(weighed, key=lambda reading: reading.on):
            born = [day for day in {*lives, anchor} if day < reading.on]
            if not born or max(born) > anchor or reading.on > self.today:
                continue
            if reading.on in {*lives, anchor}:
                continue  # it is the weight of the new one
            days_afloat = self.afloat_between(max(born), reading.on)
            new_g = on_day.get(max(born), mass_g)
            lost = max(0.0, new_g - reading.value) / on_day.get(anchor, mass_g)
            if not days_afloat:
                continue  # choice: weighed before she swam, it tells nothing
            if max(born) == anchor:
                gone, from_day, per_day = lost, reading.on, lost / days_afloat
            elif lost:  # choice: an anode that lost nothing says nothing of the next
                per_day = lost / days_afloat
        if from_day > anchor and gone == 0:
            return None
        if not per_day:
            current_ma, alloy = anode.values.get("current_ma"), anode.values.get("alloy")
            if not isinstance(current_ma, int | float):
                return None
            water_c = sum(self.where.water(anchor).monthly_c) / 12
            aluminium = 2000 - 27 * max(0.0, water_c - 20)
            capacity = {"zinc": 780, "magnesium": 1100, "aluminium": aluminium}[str(alloy)]
            per_day = 24 * current_ma / mass_g / capacity
        if gone > limit:
            return from_day
        return self.count(from_day, (limit - gone) / per_day, self.where.is_afloat)

    def allow_reading(self, component: Component, limit: ReadingLimit, since: date) -> date | None:
        """Find the first of the readings past the bound that nothing inside it has followed."""
        own = [
            r for r in self.vessel.readings if (r.component, r.name) == (component.id, limit.name)
        ]
        own = sorted((r for r in own if r.on <= self.today), key=lambda reading: reading.on)
        scale = 1.0
        if limit.of_commissioning:
            first = [reading.value for reading in own if reading.commissioning]
            if not first:
                return None
            scale = first[-1]
        allowed = None
        for reading in own:
            if reading.on < since:
                continue
            low = limit.below is not None and reading.value < limit.below * scale - 1e-9
            high = limit.above is not None and reading.value > limit.above * scale + 1e-9
            allowed = (allowed or reading.on) if low or high else None
        return allowed

    # --- stamps --------------------------------------------------------------------------

    def allow_expiry(
        self, component: Component, limit: Expiry, last: date | None, *, renewed: bool
    ) -> date:
        stamp = component.values.get(limit.field)
        life: object = limit.life_months
        if limit.life_field:
            life = component.values.get(limit.life_field)
        unread = max(filter(None, (component.installed, self.vessel.handed_over, last)))
        if not isinstance(stamp, Stamp) or not isinstance(life, int | float):
            return unread
        valid = stamp.last + relativedelta(months=int(life))
        if stamp.first != stamp.last:  # a month or a year: to its end
            month = stamp.last.replace(day=1) + relativedelta(months=int(life))
            valid = month + relativedelta(months=1) - DAY
        if renewed and last is not None and valid <= last + STALE_DAYS * DAY:
            return unread
        return valid

    # --- storage -------------------------------------------------------------------------

    def allow_charge(self, bank: Component, floor: float, start: date, spell: Spell) -> date | None:
        name = "lithium" if bank.kind.id == "lithium-bank" else str(bank.values["chemistry"])
        percent, at_c, charge = LOSSES[name]
        day = start
        for reading in sorted(self.vessel.readings, key=lambda reading: reading.on):
            if reading.component == bank.id and reading.name == "charge":
                recent = start - READING_REACH_DAYS * DAY <= reading.on <= self.today
                if recent and (spell.end is None or reading.on < spell.end):
                    charge, day = reading.value, max(start, reading.on)
        capacity = bank.values["capacity_ah"]
        assert isinstance(capacity, int | float)
        drain = 24 * self.storage_draw(bank, spell) / capacity
        if charge <= floor:
            return day
        water = self.where.water(start)
        monthly_c = water.monthly_air_c or water.monthly_c
        for _ in range(HORIZON_DAYS):
            loss = percent / 100 / 30 * 2 ** ((monthly_c[(day + DAY).month - 1] - at_c) / 10)
            charge = (charge + drain / loss) * exp(-loss) - drain / loss
            if charge < floor - 1e-12:
                return day
            day += DAY
        return None

    def storage_draw(self, bank: Component, spell: Spell) -> float:
        """Current left on [A]: all standbys as left; once isolated, what nothing cuts."""
        isolated = spell.isolated or self.isolated_in(bank, spell)
        total = number(bank, "own_draw_a")
        for component in self.vessel.components.values():
            cut_on_each_path = list(self.paths(component, bank.id))
            if not cut_on_each_path:
                continue
            if not isolated or component.stays_live or not all(cut_on_each_path):
                total += number(component, "standby_a")
        return total

    def isolated_in(self, bank: Component, spell: Spell) -> bool:
        isolating = {rule.id for rule in bank.kind.rules if rule.isolates}
        for work in self.vessel.completions:
            in_spell = spell.start <= work.on and (spell.end is None or work.on < spell.end)
            known = bank.installed <= work.on <= self.today
            if work.component == bank.id and work.rule in isolating and in_spell and known:
                return True
        return False

    def paths(self, component: Component, bank: str) -> Iterator[bool]:
        """Yield for every way from the bank to a component whether it can be isolated."""
        if component.has_role("bank"):
            return
        for supply in component.supplies:
            devices = [component, *(self.vessel.components[name] for name in supply.through)]
            cut = any(device.has_role("isolates") for device in devices)
            if supply.source == bank:
                yield cut
            else:
                for before in self.paths(self.vessel.components[supply.source], bank):
                    yield cut or before


def hour_meters(component: Component) -> list[str]:
    return [row.name for row in component.kind.readings if row.counts_for == "run_hours"]


def number(component: Component, key: str) -> float:
    value = component.values.get(key, 0.0)
    assert isinstance(value, int | float)
    return value
