"""How fast an anode wastes on one boat, by weighing or by the current it gives; only afloat.

Formulas and their sources: upkeep.physics.anodes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import fmean

from upkeep.clocks.rates import PausedClock
from upkeep.model import Component, Water
from upkeep.physics.anodes import (
    CAPACITY_AH_PER_KG,
    estimate_aluminium_capacity,
    estimate_days_to_consume,
)

Weighing = tuple[date, float]  # the day, and what is left [g]


@dataclass(frozen=True, kw_only=True, slots=True)
class AnodeWear:
    """What is known of one anode's wasting since it was new.

    used: share gone on known_on. per_day: share a day afloat; None when nothing tells.
    basis: "weighed", "weighed before" (the last anode of this place), "stated" (by its current)
    or "". note: "no mass", "no rate", "no loss" (a fault sign) or "".
    """

    known_on: date
    used: float
    per_day: float | None
    basis: str
    note: str = ""

    def days_left(self, limit: float) -> float | None:
        """Give the days afloat after known_on until a share is gone; 0 when it is past.

        None when it wastes at no known rate.
        """
        if self.per_day is None:
            return None
        return max(0.0, limit - self.used) / self.per_day


def settle_wear(
    *,
    anode: Component,
    weighings: Sequence[Weighing],
    lives: Sequence[date],
    anchor: date,
    afloat: PausedClock,
    water: Water,
) -> AnodeWear:
    """Settle how an anode that was new on the anchor day wastes.

    weighings: rising by day. lives: days on which it was new, rising. A weighing tells of the
    life it falls in: what it lost since its first day, over the days afloat of that life. What
    an anode weighed on its first day counts before the weight recorded for the one there now.
    """
    mass_g = anode.values.get("mass_g")
    if not isinstance(mass_g, int | float):
        return AnodeWear(known_on=anchor, used=0, per_day=None, basis="", note="no mass")
    fresh_g = dict(weighings)
    for on, left_g in reversed(weighings):
        start = max((day for day in lives if day < on), default=None)
        if start is None or start > anchor or on in lives:
            continue
        days = afloat.count_between(start.toordinal(), on.toordinal())
        if days <= 0:
            continue
        lost_g = max(0.0, fresh_g.get(start, mass_g) - left_g)
        used = lost_g / fresh_g.get(anchor, mass_g)
        if start < anchor:  # the anode before it: it tells the rate, not what is gone
            if used == 0:
                continue
            return AnodeWear(known_on=anchor, used=0, per_day=used / days, basis="weighed before")
        if used == 0:
            return AnodeWear(known_on=on, used=0, per_day=None, basis="weighed", note="no loss")
        return AnodeWear(known_on=on, used=used, per_day=used / days, basis="weighed")
    return _state_wear(anode, mass_g, anchor, water)


def _state_wear(anode: Component, mass_g: float, anchor: date, water: Water) -> AnodeWear:
    current_ma, alloy = anode.values.get("current_ma"), anode.values.get("alloy")
    if not isinstance(current_ma, int | float) or not isinstance(alloy, str):
        return AnodeWear(known_on=anchor, used=0, per_day=None, basis="", note="no rate")
    capacity = CAPACITY_AH_PER_KG[alloy]
    if alloy == "aluminium":
        capacity = estimate_aluminium_capacity(water_c=fmean(water.monthly_c))
    whole = estimate_days_to_consume(
        mass_g=mass_g, capacity_ah_per_kg=capacity, current_ma=current_ma, consumed_fraction=1
    )
    return AnodeWear(known_on=anchor, used=0, per_day=1 / whole, basis="stated")
