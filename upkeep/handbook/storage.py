"""Storage: what to switch off before she lies unused, and how long each bank lasts.

Model, rates and their sources: upkeep.physics.storage. A look after two thirds of the time:
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, timedelta

from upkeep.clocks.storage import BankState, find_charge_due, find_chemistry
from upkeep.dates import add_months, say_day
from upkeep.due.reasons import LONGEST_SAID_DAYS
from upkeep.errors import QuantityError
from upkeep.graph import find_consumers, list_isolation, sum_parasitic
from upkeep.handbook.blocks import Block, Facts, Heading, Paragraph, Table
from upkeep.handbook.material import Material
from upkeep.handbook.paths import list_behind
from upkeep.handbook.power_numbers import find_number
from upkeep.handbook.wording import (
    LONG_TIME,
    blank_if_empty,
    make_labelled,
    make_listing,
    make_paragraph,
    open_with_capital,
    say_all,
    say_count,
    say_percent,
)
from upkeep.model import Component, Reason, Vessel
from upkeep.physics.storage import estimate_charge_left

SHOWN_DAYS = (0, 1, 2, 3, 5, 7, 10, 14, 21, 30, 60, 90, 120, 150)
LAST_SHOWN_DAY = 180
NO_BANK = "No battery bank is recorded. Ask what must be off before she lies unused."


@dataclass(frozen=True, kw_only=True, slots=True)
class Spell:
    """The spell she lies unused that the figures are for; launch None is not known."""

    start: date
    launch: date | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Lying:
    """A bank that lies unused: how it starts isolated and left on, and how far it may fall.

    reasons: the limits of its own storage task by clock, empty without one.
    """

    bank: Component
    spell: Spell
    isolated: BankState
    left_on: BankState
    floor: float
    reasons: Mapping[str, Reason]


def find_spell(vessel: Vessel, as_of: date) -> Spell:
    """Find the first usual winter from a day on; without a season, from that day."""
    season = vessel.season
    if season is None or as_of.year > 9990:
        return Spell(start=as_of, launch=None)
    start = season.lay_up.in_year(as_of.year)
    if start < as_of:
        start = season.lay_up.in_year(as_of.year + 1)
    launch = season.launch.in_year(start.year)
    if launch <= start:
        launch = season.launch.in_year(start.year + 1)
    return Spell(start=start, launch=launch)


def build_storage(material: Material) -> Iterator[Block]:
    """Build the isolation list, what stays live, and a table of days for each bank."""
    yield Heading(level=2, text="Before she lies unused", anchor="storage")
    banks = material.banks
    if not banks:
        yield make_paragraph(NO_BANK)
        return
    yield from _build_isolation(material)
    yield from _build_live(material)
    if material.as_of is None:
        return
    spell = find_spell(material.vessel, material.as_of)
    for bank in banks:
        yield from _build_bank(bank, spell, material)


def _build_isolation(material: Material) -> Iterator[Block]:
    devices = list_isolation(material.circuits, material.banks)
    if not devices:
        yield make_paragraph(
            "Nothing recorded draws current while idle behind a switch. There is nothing to open."
        )
        return
    yield from material.list_panels(_collect_cautions(devices, material))
    yield make_paragraph("Switch these off in this order. Tick each one.")
    yield Table(
        caption="Switch off, nearest the source first",
        head=("What", "Where", "Marked", "Why", "Off"),
        rows=tuple(
            (
                device.title,
                blank_if_empty(device.location),
                blank_if_empty(device.marked),
                say_why(device, material),
                None,
            )
            for device in devices
        ),
        shares=(3, 4, 3, 5, 1),
    )


def _collect_cautions(devices: tuple[Component, ...], material: Material) -> list[str]:
    names = [name for device in devices for name in device.kind.cautions]
    for component in material.vessel.components.values():
        for rule in component.kind.rules:
            if rule.isolates:
                names += rule.cautions
    return names


def say_why(device: Component, material: Material) -> str:
    """Say which idle draws a device ends: "stops the climate unit, 0.12 A"."""
    draws = [
        f"{material.call(item)} ({material.show(standby, 'A')})"
        for item in list_behind(material.circuits, device)
        if (standby := _find_standby(item)) > 0 and not item.stays_live
    ]
    return f"ends the idle draw of {say_all(draws)}"


def _find_standby(component: Component) -> float:
    value = component.values.get("standby_a")
    return float(value) if isinstance(value, int | float) else 0.0


def _build_live(material: Material) -> Iterator[Block]:
    lines: dict[str, str] = {}
    for bank in material.banks:
        for consumer in find_consumers(material.circuits, bank.id):
            part = consumer.component
            standby = _find_standby(part)
            if part.stays_live or (standby > 0 and not consumer.cut):
                draw = f", {material.show(standby, 'A')}" if standby else ""
                lines[part.id] = f"{part.title}, {part.location}{draw}"
    if lines:
        yield make_paragraph("These stay live. Leave them on.")
        yield make_listing(lines.values())
    else:
        yield make_paragraph("Nothing that is recorded stays live besides the banks themselves.")


def _build_bank(bank: Component, spell: Spell, material: Material) -> Iterator[Block]:
    name = open_with_capital(material.call(bank))
    yield Heading(level=3, text=f"{name}: how long it lasts")
    if find_number(bank, "capacity_ah") is None:
        yield make_paragraph("Its capacity is not recorded, so no time is given.")
        return
    lying = _settle(bank, spell, material)
    chemistry = find_chemistry(bank)
    yield make_paragraph(
        f"Reckoned from {say_day(spell.start)}, with {say_percent(chemistry.soc_start)} charge "
        "and no charger on. Charge it to that before you leave."
    )
    yield make_paragraph(f"Recharge it before it falls below {say_percent(lying.floor)}.")
    yield Facts(
        rows=(
            ("Draws when isolated", material.show(lying.isolated.parasitic_a, "A")),
            ("Draws when left on", material.show(lying.left_on.parasitic_a, "A")),
            *_say_lasting("isolated", lying, lying.isolated, material),
            *_say_lasting("left on", lying, lying.left_on, material),
        )
    )
    yield _list_charge(lying, material)
    said = chemistry.source.replace("MEMORY", "from memory")
    yield Paragraph(line=make_labelled("Where the figures come from:", f"{said}."))


def _settle(bank: Component, spell: Spell, material: Material) -> Lying:
    charge = find_chemistry(bank).soc_start
    parasitic = sum_parasitic(material.circuits, bank)
    reasons = _find_reasons(bank, material)
    return Lying(
        bank=bank,
        spell=spell,
        isolated=_make_state(spell.start, charge, parasitic.isolated_a),
        left_on=_make_state(spell.start, charge, parasitic.as_left_a),
        floor=_find_floor(bank, reasons),
        reasons=reasons,
    )


def _make_state(start: date, charge: float, draw_a: float) -> BankState:
    return BankState(known_on=start, charge=charge, measured=False, parasitic_a=draw_a)


def _find_reasons(bank: Component, material: Material) -> dict[str, Reason]:
    """Find the limits of the bank's own storage task, by clock; empty where it has none."""
    for job in material.jobs:
        if job.task is None or job.component.id != bank.id:
            continue
        reasons = {reason.clock: reason for reason in job.task.reasons}
        if "charge_to" in reasons:
            return reasons
    return {}


def _find_floor(bank: Component, reasons: dict[str, Reason]) -> float:
    reason = reasons.get("charge_to")
    limit = reason.limit if reason else None
    return float(limit) if isinstance(limit, int | float) else find_chemistry(bank).soc_floor


def _say_lasting(
    how: str, lying: Lying, state: BankState, material: Material
) -> tuple[tuple[str, str | None], ...]:
    start = state.known_on
    last = find_charge_due(bank=lying.bank, state=state, floor=lying.floor, water=material.water)
    days = None if last is None else (last - start).days
    if days is None or days > LONGEST_SAID_DAYS:
        lasts = LONG_TIME
    else:
        lasts = f"{say_count(days, 'days')}, to {say_day(start + timedelta(days=days))}"
    return (
        (f"Lasts {how}", lasts),
        (f"Someone must look, {how}", _say_look(start, days, lying.reasons)),
    )


def _say_look(start: date, days: int | None, reasons: Mapping[str, Reason]) -> str | None:
    """Say when to look: two thirds of the time it lasts, or of its calendar limit if sooner."""
    spans = [days] if days is not None else []
    months = reasons["months"].limit if "months" in reasons else None
    if isinstance(months, int | float):
        with suppress(QuantityError):  # past year 9999 that limit alone gives no day
            spans.append((add_months(start, int(months)) - start).days)
    if not spans or min(spans) > LONGEST_SAID_DAYS * 2:
        return None
    after = min(spans) * 2 // 3
    said = say_day(start + timedelta(days=after))
    return f"by {said}, {say_count(after, 'days')} after you leave her"


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
