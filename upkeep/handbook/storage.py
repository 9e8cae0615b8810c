"""Storage: what to switch off before she lies unused, and how long each bank lasts.

Model, rates and their sources: upkeep.physics.storage.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from upkeep.clocks.storage import BankState, find_chemistry
from upkeep.dates import say_day
from upkeep.handbook.blocks import Block, Heading, Paragraph, Table
from upkeep.handbook.isolation import build_isolation
from upkeep.handbook.looks import STORAGE, list_looks, say_temperature
from upkeep.handbook.lying import Lying, Spell, find_spell, settle_lying
from upkeep.handbook.material import Material
from upkeep.handbook.power_numbers import find_number
from upkeep.handbook.wording import (
    make_labelled,
    make_paragraph,
    open_with_capital,
    say_percent,
)
from upkeep.model import Component
from upkeep.physics.storage import estimate_charge_left

SHOWN_DAYS = (0, 1, 2, 3, 5, 7, 10, 14, 21, 30, 60, 90, 120, 150)
LAST_SHOWN_DAY = 180
NO_BANK = "No battery bank is recorded. Ask what must be off before she lies unused."


def build_storage(material: Material) -> Iterator[Block]:
    """Build the isolation list, what stays live, and the days of each bank."""
    yield Heading(level=2, text="Before she lies unused", anchor=STORAGE)
    banks = material.banks
    if not banks:
        yield make_paragraph(NO_BANK)
        return
    yield from build_isolation(material)
    if material.as_of is None:
        return
    spell = find_spell(material.vessel, material.as_of)
    for bank in banks:
        yield from _build_bank(bank, spell, material)


def _build_bank(bank: Component, spell: Spell, material: Material) -> Iterator[Block]:
    name = open_with_capital(material.call(bank))
    yield Heading(level=3, text=f"{name}: how long it lasts")
    if find_number(bank, "capacity_ah") is None:
        yield make_paragraph("Its capacity is not recorded, so no time is given.")
        return
    lying = settle_lying(bank, spell, material)
    yield make_paragraph(
        f"Charge it to {say_percent(lying.isolated.charge)} before you leave, and take the "
        f"charger off. Recharge it before it falls below {say_percent(lying.floor)}."
    )
    yield list_looks(lying, material)
    yield say_temperature(material)
    said = find_chemistry(bank).source.replace("MEMORY", "from memory")
    yield Paragraph(line=make_labelled("Where the figures come from:", f"{said}."))
    yield _list_charge(lying, material)


def _list_charge(lying: Lying, material: Material) -> Table:
    states = {"Isolated": lying.isolated, "Left on": lying.left_on}
    if lying.isolated == lying.left_on:
        states = {"Charge": lying.isolated}
    rows = []
    for days in _choose_days(lying.spell):
        on = lying.spell.start + timedelta(days=days)
        cells = [_say_charge(lying, state, on, material) for state in states.values()]
        rows.append((str(days), say_day(on, style="short"), *cells))
    return Table(
        caption=f"{open_with_capital(material.call(lying.bank))}: charge day by day",
        head=("Days", "Date", *states),
        rows=tuple(rows),
        shares=(1, 2, *(3 for _ in states)),
    )


def _choose_days(spell: Spell) -> list[int]:
    last = LAST_SHOWN_DAY
    if spell.launch is not None:
        last = min(last, (spell.launch - spell.start).days)
    return [*(day for day in SHOWN_DAYS if day < last - 3), last]


def _say_charge(lying: Lying, state: BankState, on: date, material: Material) -> str:
    chemistry = find_chemistry(lying.bank)
    capacity_ah = lying.bank.values["capacity_ah"]
    assert isinstance(capacity_ah, int | float)
    left = estimate_charge_left(
        capacity_ah=capacity_ah,
        soc_start=state.charge,
        monthly_battery_c=material.water.monthly_air_c or material.water.monthly_c,
        self_discharge_pct_per_30d=chemistry.self_discharge_pct_per_30d,
        reference_c=chemistry.reference_c,
        parasitic_a=state.parasitic_a,
        start=state.known_on,
        on=on,
    )
    if left <= 0:
        return "empty"
    said = say_percent(left)
    return f"{said}, too low" if left < lying.floor else said
