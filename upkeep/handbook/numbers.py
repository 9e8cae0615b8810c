"""The numbers: how cold the sea gets, how long banks last, what flow to expect.

Models and their sources: upkeep.physics. A variable-speed unit's draw is never one number.
"""

from __future__ import annotations

from collections.abc import Iterator

from upkeep.clocks.fouling import find_class_factor, monthly_rates
from upkeep.dates import MONTH_NAMES, say_day
from upkeep.handbook.blocks import Block, Chapter, Heading, Table
from upkeep.handbook.material import Material
from upkeep.handbook.paths import find_downstream_water, find_supply_bank
from upkeep.handbook.power_numbers import build_bank_numbers, find_number
from upkeep.handbook.wording import (
    NO_SOURCE,
    make_paragraph,
    open_with_capital,
    say_months,
    say_rise,
)
from upkeep.model import Component, Draw, Reading
from upkeep.physics.raw_water import (
    FRESH_CP_J_PER_KG_K,
    FRESH_DENSITY_KG_PER_M3,
    LIMIT_DROP,
    SEA_CP_J_PER_KG_K,
    SEA_DENSITY_KG_PER_M3,
    estimate_flow_needed,
    estimate_heat_rejected,
)

FLOW = "overboard_flow_l_per_min"
NO_BANK = "No battery bank is recorded, so no run time can be told."


def build_numbers(material: Material) -> Chapter:
    """Build run times, charge times, flow, heating months and water temperatures."""
    blocks: list[Block] = [
        make_paragraph("These numbers plan a day. They certify nothing. Keep a reserve."),
    ]
    for bank in material.banks:
        blocks.extend(build_bank_numbers(bank, material))
    if not material.banks:
        blocks.append(make_paragraph(NO_BANK))
    blocks.extend(_build_flow(material))
    blocks.extend(_build_heating(material))
    blocks.extend(_build_water(material))
    return Chapter(number=6, anchor="numbers", title="The numbers", blocks=tuple(blocks))


def _build_flow(material: Material) -> Iterator[Block]:
    rows = [
        row
        for component in material.vessel.components.values()
        if (row := _say_flow(component, material)) is not None
    ]
    if not rows:
        return
    yield Heading(level=2, text="Water overboard: the flow to expect", anchor="flow")
    yield make_paragraph(
        "Fill a bucket and count the seconds. Litres divided by seconds, times 60, is the flow."
    )
    yield make_paragraph(
        f"Act when the flow is {LIMIT_DROP * 100:.0f} % below the first reading ({NO_SOURCE})."
    )
    yield Table(
        caption="Flow to expect",
        head=("Part", "Expect", "Act below", "Where the figure comes from"),
        rows=tuple(rows),
        shares=(3, 2, 2, 5),
    )


def _say_flow(component: Component, material: Material) -> tuple[str | None, ...] | None:
    """Say the first reading of a flow; without one, what the heat asks for."""
    cooled = find_number(component, "cooling_w") is not None
    own = any(row.name == FLOW for row in component.kind.readings)
    if not (cooled or own):
        return None
    first = find_first_flow(component, material)
    if first is not None:
        said = f"measured on {say_day(first.on)}"
        flows = (first.value, first.value * (1 - LIMIT_DROP))
        expect, act = (material.show(value, "L/min") for value in flows)
        return (material.call(component), expect, act, said)
    needed = estimate_flow(component, material)
    if needed is None:
        return (material.call(component), None, None, "not measured yet: measure and write it here")
    said = "reckoned from its heat at full load; not measured yet"
    return (material.call(component), f"about {material.show(needed, 'L/min')}", None, said)


def find_first_flow(component: Component, material: Material) -> Reading | None:
    """Find the commissioning reading of a flow, on the part or where its water goes on."""
    for part in find_downstream_water(material.vessel, component):
        for reading in material.vessel.readings:
            if reading.component == part.id and reading.name == FLOW and reading.commissioning:
                return reading
    return None


def estimate_flow(component: Component, material: Material) -> float | None:
    """Estimate the flow that carries a unit's heat at full load [L/min]; None without figures.

    Its own current counts as heat where the bank it runs from, and so its voltage, is known.
    """
    cooling_w = find_number(component, "cooling_w")
    rise_k = find_number(component, "rise_k")
    if cooling_w is None or rise_k is None:
        return None
    draw = component.values.get("draw_a")
    bank = find_supply_bank(material.vessel.components, component)
    volts = find_number(bank, "volts") if bank is not None else None
    electrical_w = draw.full * volts if isinstance(draw, Draw) and volts is not None else 0.0
    fresh = material.water.salinity == "fresh"
    return estimate_flow_needed(
        heat_w=estimate_heat_rejected(cooling_w=cooling_w, electrical_w=electrical_w),
        rise_k=rise_k,
        cp_j_per_kg_k=FRESH_CP_J_PER_KG_K if fresh else SEA_CP_J_PER_KG_K,
        density_kg_per_m3=FRESH_DENSITY_KG_PER_M3 if fresh else SEA_DENSITY_KG_PER_M3,
    )


def _build_heating(material: Material) -> Iterator[Block]:
    rows = []
    for component in material.vessel.components.values():
        lowest_c = component.values.get("lowest_sea_c")
        if isinstance(lowest_c, int | float) and not isinstance(lowest_c, bool):
            cold = find_cold_months(lowest_c, material.water.monthly_c)
            said = open_with_capital(say_months(cold)) if cold else "No month of a usual year"
            rows.append((material.call(component), material.show(lowest_c, "°C"), said))
    if not rows:
        return
    yield Heading(level=2, text="When the sea is too cold to heat with", anchor="cold-sea")
    yield make_paragraph(
        "The unit takes its heat from the sea. In these months the sea is usually too cold. "
        "Use another heater then."
    )
    yield Table(
        caption="Too cold to heat",
        head=("Part", "Coldest sea", "Months that are colder"),
        rows=tuple(rows),
        shares=(3, 2, 5),
    )


def find_cold_months(lowest_c: float, monthly_c: tuple[float, ...]) -> frozenset[int]:
    """Find the months (1 to 12) whose water is below a temperature [°C]."""
    return frozenset(month for month, water in enumerate(monthly_c, start=1) if water < lowest_c)


def _build_water(material: Material) -> Iterator[Block]:
    water = material.water
    rates = monthly_rates(water.monthly_c, find_class_factor(water))
    yield Heading(level=2, text="The water she lies in", anchor="water")
    yield make_paragraph(f"{water.name}: temperatures by month, as recorded for a usual year.")
    yield make_paragraph(
        f"A warm day is one day of growth in ordinary marina water of {material.show(20, '°C')}. "
        f"Growth doubles with every {say_rise(10, material.fleet.units)} (weak source)."
    )
    air = water.monthly_air_c
    rows = [
        (
            name,
            material.show(water.monthly_c[index], "°C"),
            *((material.show(air[index], "°C"),) if air else ()),
            f"{rates[index]:.2f}",
        )
        for index, name in enumerate(MONTH_NAMES)
    ]
    yield Table(
        caption=f"{water.name}, month by month",
        head=("Month", "Water", *(("Air",) if air else ()), "One day counts as warm days"),
        rows=tuple(rows),
        shares=(3, 3, *((3,) if air else ()), 4),
    )
