"""A bank in storage, day by day, and the spells in which a boat lies unused."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import exp
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upkeep.catalogue.load import load_builtin
from upkeep.clocks.boat_days import Winter
from upkeep.clocks.storage import (
    BankState,
    StorageSpell,
    find_charge_due,
    list_storage_spells,
    settle_state,
)
from upkeep.graph import Parasitic
from upkeep.model import Component, Left, Period, Water

START = date(2026, 11, 1)
DAY = timedelta(days=1)
MILD = (8.0, 7.0, 8.0, 10.0, 13.0, 16.0, 18.0, 19.0, 17.0, 14.0, 11.0, 9.0)
WATER = Water(
    id="bay",
    name="the bay",
    moving="marina",
    salinity="sea",
    monthly_c=MILD,
    monthly_air_c=None,
    jurisdiction="",
)
PARASITIC = Parasitic(as_left_a=0.5, isolated_a=0.003)
# self-discharge [% in 30 days] at [°C]: a maker's page and a trade page, see the physics
LOSSES = {"lithium": (3, 25), "agm": (3, 20), "gel": (2, 20), "flooded": (6, 20)}


def bank(chemistry: str = "lithium", capacity_ah: float = 460.0) -> Component:
    kind = "lithium-bank" if chemistry == "lithium" else "lead-acid-bank"
    values = {"capacity_ah": capacity_ah}
    return Component(
        id="bank",
        kind=load_builtin().kinds[kind],
        **dict.fromkeys(("name", "maker", "model", "serial", "location"), ""),
        **dict.fromkeys(("marked", "photo", "notes", "driven_by"), ""),
        installed=date(2024, 1, 1),
        hours_per_year=None,
        warranty_until=None,
        supplies=(),
        water_from=(),
        stays_live=False,
        parts={},
        values=values if chemistry == "lithium" else {**values, "chemistry": chemistry},
        path=(),
    )


def state(charge: float, draw_a: float, on: date = START) -> BankState:
    return BankState(known_on=on, charge=charge, measured=True, parasitic_a=draw_a)


def charge_on(day: date, chemistry: str, known: BankState, capacity_ah: float) -> float:
    """Let a bank lose charge one day after another; the draw goes on at nought and below."""
    percent, at_c = LOSSES[chemistry]
    drain, charge, today = 24 * known.parasitic_a / capacity_ah, known.charge, known.known_on
    while today < day:
        today += DAY
        loss = percent / 100 / 30 * 2 ** ((MILD[today.month - 1] - at_c) / 10)
        charge = (charge + drain / loss) * exp(-loss) - drain / loss
    return charge


@given(
    st.sampled_from(tuple(LOSSES)),
    st.floats(0.1, 1),
    st.floats(0.05, 0.95),
    st.floats(0.02, 3),
    st.dates(date(2026, 1, 1), date(2027, 12, 31)),
)
def test_due_day_is_above_the_floor_and_the_next_day_below_it(
    chemistry: str, charge: float, floor: float, draw_a: float, on: date
) -> None:
    known = state(charge, draw_a, on)
    due = find_charge_due(bank=bank(chemistry, 200), state=known, floor=floor, water=WATER)
    assert due is not None
    assert charge_on(due + DAY, chemistry, known, 200) < floor + 1e-9
    if charge <= floor:
        assert due == on
    else:
        assert charge_on(due, chemistry, known, 200) >= floor - 1e-9


@given(st.floats(0.3, 1), st.floats(0, 0.3), st.floats(0, 0.3), st.floats(0.01, 2))
def test_lower_floor_is_never_earlier(
    charge: float, one: float, other: float, draw_a: float
) -> None:
    low, high = (
        find_charge_due(bank=bank(), state=state(charge, draw_a), floor=floor, water=WATER)
        for floor in sorted((one, other))
    )
    assert low is not None
    assert high is not None
    assert high <= low


def test_lithium_bank_of_the_worked_example_lasts_as_said() -> None:
    # physics, section 2: 460 Ah, 60 to 20 %, 20 °C: 72.74 d at 0.10 A, 15.17 d at 0.50 A
    warm = replace(WATER, monthly_c=(20.0,) * 12)
    for draw_a, days in ((0.10, 72), (0.50, 15)):
        due = find_charge_due(bank=bank(), state=state(0.6, draw_a), floor=0.2, water=warm)
        assert due == START + timedelta(days=days)


def test_air_counts_where_it_is_known() -> None:
    known = state(1.0, 0.0)
    cold = replace(WATER, monthly_air_c=(0.0,) * 12)
    by_water = find_charge_due(bank=bank("agm"), state=known, floor=0.8, water=WATER)
    by_air = find_charge_due(bank=bank("agm"), state=known, floor=0.8, water=cold)
    assert by_water is not None
    assert by_air is not None
    # at 0 °C a quarter of 0.1 % a day: ln(1 / 0.8) / 0.00025 = 892.57 days
    assert by_air == START + timedelta(days=892)
    assert by_water < by_air


def settle(
    *readings: tuple[date, float], isolated: bool = False, kind: str = "lithium"
) -> BankState:
    return settle_state(
        bank=bank(kind),
        readings=readings,
        start=START,
        end=date(2027, 4, 1),
        today=date(2027, 3, 1),
        parasitic=PARASITIC,
        isolated=isolated,
    )


@pytest.mark.parametrize(
    ("readings", "known_on", "charge"),
    [
        ((), START, 0.6),
        (((START - 15 * DAY, 0.9),), START, 0.6),  # too long before
        (((START - 14 * DAY, 0.9),), START, 0.9),
        (((START - 14 * DAY, 0.9), (START - DAY, 0.5)), START, 0.5),  # the latest
        (((START - DAY, 0.5), (START + 9 * DAY, 0.4)), START + 9 * DAY, 0.4),  # its own day
        (((date(2027, 3, 2), 0.3),), START, 0.6),  # after today
    ],
)
def test_charge_of_storage_is_the_latest_reading_near_enough(
    readings: tuple[tuple[date, float], ...], known_on: date, charge: float
) -> None:
    known = settle(*readings)
    assert (known.known_on, known.charge) == (known_on, charge)


def test_lead_acid_is_taken_to_be_full_and_isolation_to_leave_its_own_draw() -> None:
    assert settle(kind="gel").charge == 1.0
    assert settle().parasitic_a == 0.5
    assert settle(isolated=True).parasitic_a == 0.003


@given(
    st.lists(st.tuples(st.integers(0, 400), st.integers(1, 200), st.booleans()), max_size=6),
    st.integers(0, 1000),
)
def test_storage_spells_hold_the_days_of_their_rows_whatever_the_order(
    rows: list[tuple[int, int, bool]], seed: int
) -> None:
    left = [
        Left(period=Period(first=START + a * DAY, end=START + (a + n) * DAY), isolated=off)
        for a, n, off in rows
    ]
    winter = Winter(lay_up=START + 50 * DAY, launch=START + 180 * DAY)
    found = list_storage_spells([winter], left)
    Random(seed).shuffle(left)
    assert list_storage_spells([winter], left) == found
    for day in (START + n * DAY for n in range(700)):
        lies = START + 50 * DAY <= day < START + 180 * DAY or any(
            row.period.first <= day and row.period.end is not None and day < row.period.end
            for row in left
        )
        assert sum(spell.end is not None and spell.first <= day < spell.end for spell in found) == (
            1 if lies else 0
        )


def test_spell_left_without_an_end_runs_on() -> None:
    left = Left(period=Period(first=date(2027, 3, 1), end=None), isolated=True)
    winter = Winter(lay_up=START, launch=date(2027, 4, 1))
    assert list_storage_spells([winter], [left]) == [
        StorageSpell(first=START, end=None, isolated=True)
    ]
