"""Run and charge times of one bank: least, usual and full draw, with and without charging.

Models and their sources: upkeep.physics.battery and upkeep.physics.recharge.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from upkeep.graph import find_consumers, sum_draw
from upkeep.handbook.blocks import Block, Facts, Heading, Table
from upkeep.handbook.material import Material
from upkeep.handbook.paths import find_chargers, is_engine_charger
from upkeep.handbook.wording import (
    NO_SOURCE,
    make_paragraph,
    open_with_capital,
    say_hours,
    say_percent,
)
from upkeep.model import Component, Draw, Output
from upkeep.physics.battery import (
    estimate_peukert_runtime,
    estimate_runtime,
    estimate_temperature_factor,
)
from upkeep.physics.recharge import estimate_recharge_hours
from upkeep.physics.storage import CHEMISTRIES

EXPONENTS: Mapping[str, float] = {"agm": 1.15, "gel": 1.25, "flooded": 1.6}
# upper ends of the ranges in upkeep.physics.battery: the cautious side
LEAD_ACID_FULL = 0.95  # full is never quite reached; common practice, no source
COVERED = "charging covers it"
NO_DRAW = "nothing draws"
NEVER = "never: the draw takes it all"


@dataclass(frozen=True, kw_only=True, slots=True)
class Bank:
    """A bank's figures; exponent and rated_h only where it is lead-acid."""

    capacity_ah: float
    usable: float
    chemistry: str
    rated_h: float | None

    @property
    def full(self) -> float:
        """Give the charge at which a charge time ends [0-1]."""
        return 1.0 if self.chemistry == "lithium" else LEAD_ACID_FULL


@dataclass(frozen=True, kw_only=True, slots=True)
class Supplying:
    """One way of being charged: in words, and the current given [A]."""

    words: str
    output_a: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Circuit:
    """A bank with what draws from it and what charges it; name is how it is called."""

    name: str
    component: Component
    bank: Bank
    draw: Draw
    supplies: tuple[Supplying, ...]


def find_number(component: Component, key: str) -> float | None:
    """Give a recorded number above 0; None without one."""
    value = component.values.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float) or value <= 0:
        return None
    return float(value)


def read_bank(component: Component) -> Bank | None:
    """Read a bank's figures; None where capacity or usable part is not recorded."""
    capacity_ah, usable = find_number(component, "capacity_ah"), find_number(component, "usable")
    if capacity_ah is None or usable is None:
        return None
    chemistry = str(component.values.get("chemistry", "lithium"))
    rated_h = find_number(component, "rated_h")
    return Bank(capacity_ah=capacity_ah, usable=usable, chemistry=chemistry, rated_h=rated_h)


def build_bank_numbers(component: Component, material: Material) -> Iterator[Block]:
    """Build a bank's figures, what draws from it, its run times and its charge times."""
    name = open_with_capital(material.call(component))
    yield Heading(level=2, text=name, anchor=f"numbers-{component.id}")
    bank = read_bank(component)
    if bank is None:
        yield make_paragraph("Its capacity or usable part is not recorded, so no time is given.")
        return
    yield Facts(rows=tuple(_list_facts(component, bank, material)))
    circuit = Circuit(
        name=name,
        component=component,
        bank=bank,
        draw=sum_draw(material.circuits, component.id),
        supplies=list_supplying(component, material),
    )
    if circuit.draw.full > 0:
        yield _list_loads(circuit, material)
        yield from _say_basis(bank, material)
        yield _list_run_times(circuit, material)
    else:
        yield make_paragraph("No current of what it feeds is recorded, so no run time is given.")
    yield from _build_charging(circuit, material)


def _list_facts(
    component: Component, bank: Bank, material: Material
) -> Iterator[tuple[str, str | None]]:
    yield "Capacity", material.show(bank.capacity_ah, "Ah")
    assumed = f" ({NO_SOURCE})" if "usable" in component.assumed else ", as recorded"
    yield "Usable part", f"{say_percent(bank.usable)}{assumed}"
    yield "Usable charge", material.show(bank.capacity_ah * bank.usable, "Ah")
    lowest_c = component.values.get("charge_min_c")
    if isinstance(lowest_c, int | float):
        yield "Never charge it below", material.show(lowest_c, "°C")


def _list_loads(circuit: Circuit, material: Material) -> Table:
    rows = [
        (material.call(consumer.component), *_say_draw(draw, material))
        for consumer in find_consumers(material.circuits, circuit.component.id)
        if isinstance(draw := consumer.component.values.get("draw_a"), Draw)
    ]
    return Table(
        caption="What draws from it while running",
        head=("Part", "Least", "Usual", "Full"),
        rows=(*rows, ("All at once", *_say_draw(circuit.draw, material))),
        shares=(5, 2, 2, 2),
    )


def _say_draw(draw: Draw, material: Material) -> tuple[str, str, str]:
    least, usual, full = (material.show(x, "A") for x in (draw.low, draw.usual, draw.full))
    return least, usual, full


def _say_basis(bank: Bank, material: Material) -> Iterator[Block]:
    yield make_paragraph("The draw changes with the load. Plan with the figure under Full.")
    if bank.chemistry != "lithium" and bank.rated_h is not None:
        yield make_paragraph(
            "Lead-acid gives less the faster it is drawn: Peukert's law, exponent "
            f"{EXPONENTS[bank.chemistry]:g}, the cautious end of the usual range."
        )
    else:
        yield make_paragraph("Run time is the usable charge divided by the current.")
    coldest_c = min(material.water.monthly_air_c or material.water.monthly_c)
    part = estimate_temperature_factor(battery_c=coldest_c)
    if part < 1:
        yield make_paragraph(
            f"In her coldest month, about {material.show(coldest_c, '°C')}, expect "
            f"{say_percent(part)} of these times (trade pages, weak)."
        )


def _list_run_times(circuit: Circuit, material: Material) -> Table:
    draw = circuit.draw
    ways = (Supplying(words="Nothing charging", output_a=0.0), *circuit.supplies)
    rows = [
        (way.words, *(_say_run(circuit.bank, draw_a, way.output_a) for draw_a in _loads(draw)[1:]))
        for way in ways
    ]
    return Table(
        caption=f"{circuit.name}: how long it lasts, all running",
        head=("Meanwhile", *_head(draw, material)),
        rows=tuple(rows),
        shares=(5, 3, 3, 3),
    )


def _head(draw: Draw, material: Material) -> tuple[str, str, str]:
    least, usual, full = _say_draw(draw, material)
    return f"Least, {least}", f"Usual, {usual}", f"Full, {full}"


def _say_run(bank: Bank, draw_a: float, source_a: float) -> str:
    if draw_a == 0:
        return NO_DRAW
    hours = find_run_time(bank, draw_a, source_a)
    return COVERED if hours is None else say_hours(hours)


def find_run_time(bank: Bank, draw_a: float, source_a: float) -> float | None:
    """Find how long a bank lasts [h]; None when charging covers the draw, or nothing draws."""
    if bank.chemistry == "lithium" or bank.rated_h is None:
        return estimate_runtime(
            capacity_ah=bank.capacity_ah,
            usable_fraction=bank.usable,
            draw_a=draw_a,
            source_a=source_a,
        )
    return estimate_peukert_runtime(
        capacity_ah=bank.capacity_ah,
        rated_hours_h=bank.rated_h,
        peukert_exponent=EXPONENTS[bank.chemistry],
        usable_fraction=bank.usable,
        draw_a=max(0.0, draw_a - source_a),
    )


def list_supplying(component: Component, material: Material) -> tuple[Supplying, ...]:
    """List the ways a bank is charged: engine idling, cruising, shore. The sun is not counted."""
    idle_a = cruise_a = shore_a = 0.0
    for charger in find_chargers(material.circuits, component):
        output = charger.values.get("output_a")
        if is_engine_charger(charger):
            idle_a += output.idle if isinstance(output, Output) else 0.0
            cruise_a += output.cruise if isinstance(output, Output) else 0.0
        else:
            shore_a += output.cruise if isinstance(output, Output) else _number(output)
    ways = (("Engine idling", idle_a), ("Engine at cruise", cruise_a), ("Shore power", shore_a))
    return tuple(
        Supplying(words=f"{words}, {material.show(output_a, 'A')}", output_a=output_a)
        for words, output_a in ways
        if output_a > 0
    )


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else 0.0


def _build_charging(circuit: Circuit, material: Material) -> Iterator[Block]:
    chargers = find_chargers(material.circuits, circuit.component)
    if any(find_number(charger, "peak_w") for charger in chargers):
        yield make_paragraph("The sun is not counted: nobody can promise it.")
    if not circuit.supplies:
        yield make_paragraph("No charging current is recorded, so no charge time is given.")
        return
    bank, loads = circuit.bank, _loads(circuit.draw)
    yield make_paragraph(
        "A charger gives its rated current only while it is cool. The charge lost on the way "
        "is a figure from memory."
    )
    empty = say_percent(1 - bank.usable)
    yield Table(
        caption=f"{circuit.name}: charge time from {empty} to {say_percent(bank.full)}",
        head=(
            "Charged by",
            "Nothing running",
            *(_head(circuit.draw, material) if len(loads) > 1 else ()),
        ),
        rows=tuple(
            (way.words, *(_say_charging(bank, way.output_a, load_a) for load_a in loads))
            for way in circuit.supplies
        ),
        shares=(5, *(3 for _ in loads)),
    )


def _loads(draw: Draw) -> tuple[float, ...]:
    return (0.0, draw.low, draw.usual, draw.full) if draw.full > 0 else (0.0,)


def _say_charging(bank: Bank, charger_a: float, load_a: float) -> str:
    hours = estimate_recharge_hours(
        capacity_ah=bank.capacity_ah,
        soc_from=1 - bank.usable,
        soc_to=bank.full,
        charger_a=charger_a,
        load_a=load_a,
        chemistry=bank.chemistry,
        acceptance_per_h=find_acceptance(bank),
    )
    return NEVER if hours is None else say_hours(hours)


def find_acceptance(bank: Bank) -> float | None:
    """Give what part of its missing charge a bank takes in an hour [1/h]; None: all offered."""
    return CHEMISTRIES[bank.chemistry].acceptance_per_h
