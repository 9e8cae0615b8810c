"""The days on which a stored bank must be looked at, and what each takes for granted.

A look after two thirds of the time: common practice, no source. Other places of the book, and
the calendar, give other days: each is said here beside the charge, the draw and the rule
behind it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from upkeep.clocks.storage import BankState, find_charge_due
from upkeep.dates import add_months, say_day
from upkeep.due import task_inputs
from upkeep.due.reasons import LONGEST_SAID_DAYS
from upkeep.errors import QuantityError
from upkeep.handbook.blocks import Cell, Paragraph, Table
from upkeep.handbook.lying import Lying
from upkeep.handbook.material import Job, Material
from upkeep.handbook.rhythm import say_first
from upkeep.handbook.wording import (
    LONG_TIME,
    make_line,
    make_paragraph,
    make_reference,
    open_with_capital,
    say_count,
    say_percent,
)
from upkeep.model import Reason

STORAGE = "storage"  # the anchor of the heading that the days stand under
OFF = "all of the list is off"
ON = "nothing is switched off"
EITHER_WAY = "whether the list is off or not"


@dataclass(frozen=True, kw_only=True, slots=True)
class _Way:
    """One way of leaving a bank: in a word for the first column, and in words for its draw."""

    ending: str
    draw: str
    state: BankState


def list_looks(lying: Lying, material: Material) -> Table:
    """List each day with the charge, the draw and the rule it was reckoned with."""
    rows: list[tuple[Cell, ...]] = []
    for way in _list_ways(lying):
        rows += _say_way(way, lying, material)
    if lying.job is not None:
        rows += _say_elsewhere(lying, lying.job, material)
    return Table(
        caption=f"{open_with_capital(material.call(lying.bank))}: which day, and why",
        head=("What", "Day", "Starts from", "Left drawing", "Reckoned how"),
        rows=tuple(rows),
        shares=(4, 5, 5, 5, 5),
    )


def _list_ways(lying: Lying) -> tuple[_Way, ...]:
    if lying.isolated == lying.left_on:
        return (_Way(ending="", draw=EITHER_WAY, state=lying.isolated),)
    return (
        _Way(ending=", isolated", draw=OFF, state=lying.isolated),
        _Way(ending=", left on", draw=ON, state=lying.left_on),
    )


def _say_way(way: _Way, lying: Lying, material: Material) -> Iterator[tuple[Cell, ...]]:
    state = way.state
    last = find_charge_due(bank=lying.bank, state=state, floor=lying.floor, water=material.water)
    days = None if last is None else (last - state.known_on).days
    known = f"{say_percent(state.charge)} on {say_day(state.known_on)}, taken for granted"
    draw = f"{material.show(state.parasitic_a, 'A')}: {way.draw}"
    lasts = _say_lasting(state.known_on, days)
    yield (f"It lasts{way.ending}", lasts, known, draw, _say_limit(lying))
    look, how = _say_look(state.known_on, days, lying.reasons)
    yield (f"Someone must look{way.ending}", look, known, draw, how)


def _say_limit(lying: Lying) -> str:
    return f"the last day above {say_percent(lying.floor)}, without reserve"


def _say_lasting(start: date, days: int | None) -> str:
    if days is None or days > LONGEST_SAID_DAYS:
        return LONG_TIME
    return f"{say_count(days, 'days')}, to {say_day(start + timedelta(days=days))}"


def _say_look(
    start: date, days: int | None, reasons: Mapping[str, Reason]
) -> tuple[str | None, str]:
    """Say when to look and why then: two thirds of what it lasts, or of its months if sooner."""
    spans = [(days, f"the {say_count(days, 'days')} it lasts")] if days is not None else []
    months = reasons["months"].limit if "months" in reasons else None
    if isinstance(months, int | float):
        with suppress(QuantityError):  # past year 9999 that limit alone gives no day
            span = (add_months(start, int(months)) - start).days
            spans.append((span, f"the {say_count(int(months), 'months')} its task allows"))
    if not spans or min(spans)[0] > LONGEST_SAID_DAYS * 2:
        return None, "nothing recorded gives a day"
    span, words = min(spans)
    after = span * 2 // 3
    said = say_day(start + timedelta(days=after))
    return f"by {said}, {say_count(after, 'days')} after you leave her", f"two thirds of {words}"


def _say_elsewhere(lying: Lying, job: Job, material: Material) -> Iterator[tuple[Cell, ...]]:
    """Say the first date of the bank's own task, and how the calendar goes on from it."""
    card = make_reference("First date in her year and on its card", job.anchor)
    first = say_first(job, material.as_of)
    inputs = _find_inputs(job, material)
    if first is None or "charge" not in inputs:
        yield (
            card,
            "no date yet",
            "not reckoned",
            "not reckoned",
            "no storage is ahead that is known",
        )
    else:
        yield (
            card,
            first,
            _say_charge(inputs),
            f"{material.show(inputs['draw_a'], 'A')}: {_say_switching(inputs, material)}",
            _say_first_limit(lying, job),
        )
    ways = _list_ways(lying)
    draws = [material.show(way.state.parasitic_a, "A") for way in ways]
    once = f"{draws[0]} once switching off is recorded, before that {draws[-1]}"
    yield (
        "Your calendar",
        "moves with what you record",
        "the charge you read and record",
        once if len(ways) > 1 else f"{draws[0]}: {EITHER_WAY}",
        "as on the card, anew after each record",
    )


def _find_inputs(job: Job, material: Material) -> dict[str, Any]:
    if job.task is None or material.as_of is None:
        return {}
    return task_inputs(material.vessel, material.fleet, job.task, material.as_of)


def _say_charge(inputs: Mapping[str, Any]) -> str:
    on = say_day(date.fromisoformat(inputs["charge_on"]))
    how = "as read" if inputs["charge_measured"] else "taken for granted"
    return f"{say_percent(inputs['charge'])} on {on}, {how}"


def _say_switching(inputs: Mapping[str, Any], material: Material) -> str:
    if inputs["as_left_a"] == inputs["isolated_a"]:
        return EITHER_WAY
    if inputs["draw_a"] == inputs["isolated_a"]:
        return "switching off is recorded"
    by = f" by {say_day(material.as_of)}" if material.as_of is not None else ""
    return f"no switching off was recorded{by}"


def _say_first_limit(lying: Lying, job: Job) -> str:
    assert job.task is not None
    earliest = job.task.reasons[0]  # they are sorted by the day they allow
    if earliest.clock == "charge_to" or not isinstance(earliest.limit, int | float):
        return _say_limit(lying)
    span = say_count(int(earliest.limit), earliest.clock)
    return f"{span} in storage, without reserve"


def say_temperature(material: Material) -> Paragraph:
    """Say which temperatures every one of these days takes for granted."""
    water = material.water
    months_c = water.monthly_air_c or water.monthly_c
    what = "air" if water.monthly_air_c else "water"
    coldest, warmest = (material.show(value, "°C") for value in (min(months_c), max(months_c)))
    return make_paragraph(
        f"All these days take the usual {what} temperatures of {water.name}, month by month: "
        f"{coldest} to {warmest}. Where the bank lies warmer, its charge falls sooner."
    )


def refer_to_storage() -> Paragraph:
    """Lead to where the days of a stored bank are explained."""
    text = make_line(
        "The first date of a stored bank is the last day it is allowed, without reserve. Other "
        "days, and what each takes for granted: "
    )
    return Paragraph(line=(*text, *make_reference("Before she lies unused", STORAGE)))


def say_granted(job: Job, material: Material) -> str:
    """Say what the first date of a storage task takes for granted, for its card."""
    inputs = _find_inputs(job, material)
    if "charge" not in inputs:
        return "no storage is ahead that is known"
    switching = _say_switching(inputs, material)
    if switching == EITHER_WAY:
        switching = f"the draw is the same {EITHER_WAY}"
    return (
        f"{open_with_capital(switching)}. Usual temperatures of {material.water.name}. "
        "No reserve: chapter 3 says when to look, and why its days differ."
    )
