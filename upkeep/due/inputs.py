"""The figures a cycle rests on, as `why` shows them."""

from __future__ import annotations

from datetime import date
from typing import Any

from upkeep.clocks.anodes import AnodeWear
from upkeep.due.allowances import anode_wear, find_bound, list_readings
from upkeep.due.cycles import Cycle
from upkeep.due.subjects import Subject
from upkeep.model import ReadingLimit


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
        if allowance.clock == "anode_used":
            inputs.update(_anode_inputs(anode_wear(subject, allowance.anchor)))
        if isinstance(allowance.limit, ReadingLimit):
            last = cycle.anchor if cycle.done else None
            rows = list_readings(subject, allowance.limit, cycle.anchor, last)
            inputs[allowance.limit.name] = [[on.isoformat(), value] for on, value in rows]
            inputs[f"{allowance.limit.name}_bound"] = find_bound(subject, allowance.limit)
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


def _anode_inputs(wear: AnodeWear) -> dict[str, Any]:
    return {
        "anode_used": round(wear.used, 4),
        "anode_used_on": wear.known_on.isoformat(),
        "anode_per_day_afloat": None if wear.per_day is None else round(wear.per_day, 6),
        "anode_basis": wear.basis or None,
    }


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
