"""Storage: against a differential-equation solver, day-by-day simulation, and properties."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from upkeep.errors import QuantityError
from upkeep.physics.storage import (
    CHEMISTRIES,
    estimate_charge_left,
    estimate_self_discharge,
    estimate_storage_days,
    find_floor_day,
    find_recheck_day,
)

NORTH_SEA_C = (5.0, 4.0, 6.0, 9.0, 13.0, 17.0, 19.0, 19.0, 17.0, 13.0, 9.0, 6.0)  # invented
BANK = {
    "capacity_ah": 280.0,
    "soc_start": 0.6,
    "self_discharge_pct_per_30d": 3.0,
    "reference_c": 25.0,
    "parasitic_a": 0.08,
}

banks = st.fixed_dictionaries(
    {
        "capacity_ah": st.floats(20, 2000),
        "soc_start": st.floats(0, 1),
        "self_discharge_pct_per_30d": st.floats(0, 30),
        "reference_c": st.sampled_from([20.0, 25.0]),
        "parasitic_a": st.just(0.0) | st.floats(1e-6, 2),  # 1e-313 A is rounding too
    }
)
floors = st.just(0.0) | st.floats(1e-6, 1)  # a charge of 1e-309 is rounding, not storage
months = st.lists(st.floats(-5, 35), min_size=12, max_size=12)
starts = st.dates(date(2020, 1, 1), date(2032, 12, 31))


def simulate_day(charge, loss, drain):
    """Step one day by the classic Runge-Kutta rule: knows the balance, not its solution."""

    def slope(held):
        return -loss * held - drain

    first = slope(charge)
    second = slope(charge + first / 2)
    third = slope(charge + second / 2)
    return charge + (first + 2 * second + 2 * third + slope(charge + third)) / 6


def simulate(bank, monthly_c, start, days):
    """Give the charge at the end of each day, from the start day on."""
    charges = [bank["soc_start"]]
    for number in range(1, days + 1):
        month_c = monthly_c[(start + timedelta(days=number)).month - 1]
        loss = estimate_self_discharge(
            battery_c=month_c,
            self_discharge_pct_per_30d=bank["self_discharge_pct_per_30d"],
            reference_c=bank["reference_c"],
        )
        charges.append(
            simulate_day(charges[-1], loss, bank["parasitic_a"] * 24 / bank["capacity_ah"])
        )
    return charges


@pytest.mark.parametrize("parasitic_a", [0.0, 0.003, 0.05, 1.5])
@pytest.mark.parametrize("battery_c", [-10.0, 8.0, 30.0])
def test_storage_days_agree_with_a_solver_of_differential_equations(parasitic_a, battery_c):
    """SciPy finds the moment the balance crosses the floor."""
    bank = {**BANK, "parasitic_a": parasitic_a, "battery_c": battery_c}
    loss = estimate_self_discharge(
        battery_c=battery_c, self_discharge_pct_per_30d=3.0, reference_c=25.0
    )

    def meets_floor(_, charge):
        return charge[0] - 0.2

    meets_floor.terminal = True
    solved = solve_ivp(
        lambda _, charge: -loss * charge - 24 * parasitic_a / 280,
        (0, 1e6),
        [0.6],
        events=meets_floor,
        rtol=1e-10,
        atol=1e-12,
        method="LSODA",
    )
    days = estimate_storage_days(**bank, soc_floor=0.2)
    assert days == pytest.approx(solved.t_events[0][0], rel=1e-6)


@settings(deadline=None, max_examples=60)
@given(banks, floors, months, starts)
def test_floor_day_agrees_with_simulating_day_by_day(bank, floor, monthly_c, start):
    """The due day is the last one simulated at or above the floor."""
    due = find_floor_day(**bank, soc_floor=floor, monthly_battery_c=monthly_c, start=start)
    charges = simulate(bank, monthly_c, start, 400)
    assume(all(abs(charge - floor) > 1e-8 for charge in charges))
    below = next((day for day, charge in enumerate(charges) if charge < floor), None)
    if below is None:
        assert due is None or due >= start + timedelta(days=400)
    else:
        assert due == start + timedelta(days=max(0, below - 1))


@settings(deadline=None, max_examples=60)
@given(banks, months, starts, st.integers(0, 400))
def test_charge_left_agrees_with_simulating_day_by_day(bank, monthly_c, start, days):
    """An empty bank stays empty."""
    left = estimate_charge_left(
        **bank, monthly_battery_c=monthly_c, start=start, on=start + timedelta(days=days)
    )
    assert left == pytest.approx(max(0.0, simulate(bank, monthly_c, start, days)[-1]), abs=1e-6)


@settings(deadline=None)
@given(banks, st.floats(0.001, 0.999), months, starts)
def test_charge_is_at_the_floor_on_the_due_day_and_below_the_day_after(
    bank, part, monthly_c, start
):
    """The two functions tell one story."""
    assume(bank["soc_start"] > 0.001)
    floor = bank["soc_start"] * part
    due = find_floor_day(**bank, soc_floor=floor, monthly_battery_c=monthly_c, start=start)
    assume(due is not None and due < date(9000, 1, 1))
    held, after = (
        estimate_charge_left(**bank, monthly_battery_c=monthly_c, start=start, on=on)
        for on in (due, due + timedelta(days=1))
    )
    assert held >= floor - 1e-9
    assert after < floor + 1e-12


@settings(deadline=None)
@given(banks, floors, months, starts, st.tuples(st.floats(1, 3), st.floats(0, 20)))
def test_easier_storage_never_falls_due_sooner(bank, floor, monthly_c, start, easier):
    """A larger bank, less draw, a lower floor, colder months, a fuller start."""
    more, cooler_k = easier

    def due(monthly=monthly_c, soc_floor=floor, **changed):
        day = find_floor_day(
            **{**bank, **changed}, soc_floor=soc_floor, monthly_battery_c=monthly, start=start
        )
        return day or date.max

    base = due()
    assert due(capacity_ah=bank["capacity_ah"] * more) >= base
    assert due(parasitic_a=bank["parasitic_a"] / more) >= base
    assert due(soc_floor=floor / more) >= base
    assert due(soc_start=min(1.0, bank["soc_start"] * more)) >= base
    assert due(monthly=[month - cooler_k for month in monthly_c]) >= base


@settings(deadline=None)
@given(banks, floors, st.floats(-5, 35), starts)
def test_months_all_alike_agree_with_one_temperature(bank, floor, battery_c, start):
    """Month ends leave no mark."""
    one = find_recheck_day(**bank, soc_floor=floor, battery_c=battery_c, start=start)
    twelve = find_floor_day(
        **bank, soc_floor=floor, monthly_battery_c=[battery_c] * 12, start=start
    )
    assert (one is None) == (twelve is None)
    if one is not None:
        assert abs((one - twelve).days) <= (0 if one.year < 2100 else 1)


def test_bank_left_with_nothing_drawing_and_nothing_lost_never_falls_due():
    """Nor does one that may run empty by self-discharge alone: the last of it stays."""
    still = {**BANK, "parasitic_a": 0.0, "monthly_battery_c": NORTH_SEA_C}
    start = date(2026, 10, 15)
    assert find_floor_day(**still, soc_floor=0.0, start=start) is None
    still["self_discharge_pct_per_30d"] = 0.0
    assert find_floor_day(**still, soc_floor=0.2, start=start) is None


def test_bank_already_at_its_floor_is_due_on_the_start_day():
    """Whatever else holds."""
    start = date(2026, 10, 15)
    due = find_floor_day(**BANK, soc_floor=0.6, monthly_battery_c=NORTH_SEA_C, start=start)
    assert due == start


def test_floor_met_exactly_keeps_its_day():
    """100 Ah, 1 A: 24 % a day; half a bank lasts two days to 2 %, by hand."""
    bank = {**BANK, "capacity_ah": 100, "soc_start": 0.5, "self_discharge_pct_per_30d": 0}
    due = find_floor_day(
        **{**bank, "parasitic_a": 1.0},
        soc_floor=0.02,
        monthly_battery_c=NORTH_SEA_C,
        start=date(2028, 2, 28),
    )
    assert due == date(2028, 3, 1)


@pytest.mark.parametrize("on", [date(2026, 10, 14), date.min])
def test_charge_left_before_the_start_is_refused(on):
    """Nothing is known of the days before."""
    with pytest.raises(QuantityError) as caught:
        estimate_charge_left(**BANK, monthly_battery_c=NORTH_SEA_C, start=date(2026, 10, 15), on=on)
    assert caught.value.key == "on"


def test_charge_left_on_the_last_day_of_the_calendar():
    """No date beyond it is asked for."""
    start = date(9999, 12, 1)
    assert find_floor_day(**BANK, soc_floor=0.2, monthly_battery_c=NORTH_SEA_C, start=start) is None
    left = estimate_charge_left(**BANK, monthly_battery_c=NORTH_SEA_C, start=start, on=date.max)
    assert 0.2 < left < 0.6


# Start charge and floor: common practice, no source, but lead-acid's floor (a battery maker's
# support page: recharge below 80 %). Rates: a battery maker's table at 20 degC; lithium 2-3 %.
@pytest.mark.parametrize(
    ("chemistry", "rate", "reference_c", "soc_start", "soc_floor"),
    [
        ("lithium", 3, 25, 0.6, 0.2),
        ("agm", 3, 20, 1.0, 0.8),
        ("gel", 2, 20, 1.0, 0.8),
        ("flooded", 6, 20, 1.0, 0.8),
    ],
)
def test_chemistry_holds_the_cited_figures(chemistry, rate, reference_c, soc_start, soc_floor):
    """And names where they come from."""
    row = CHEMISTRIES[chemistry]
    assert (row.self_discharge_pct_per_30d, row.reference_c) == (rate, reference_c)
    assert (row.soc_start, row.soc_floor) == (soc_start, soc_floor)
    assert row.source
