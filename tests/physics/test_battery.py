"""Battery runtime: properties; figures stand in worked_examples.csv and the vectors."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upkeep.physics.battery import (
    estimate_peukert_runtime,
    estimate_runtime,
    estimate_temperature_factor,
    find_net_current,
)

capacities = st.floats(1, 5000)
draws = st.floats(0.1, 500)
fractions = st.floats(0.05, 1)


@given(capacities, capacities, fractions, draws, st.floats(0, 500))
def test_larger_bank_never_runs_shorter(one, other, usable, draw, source):
    """None means it never empties, for either."""
    times = [
        estimate_runtime(capacity_ah=capacity, usable_fraction=usable, draw_a=draw, source_a=source)
        for capacity in sorted((one, other))
    ]
    assert times == [None, None] if source >= draw else times[0] <= times[1]


@given(capacities, fractions, draws, st.floats(1, 2))
def test_peukert_bank_never_outlasts_an_ideal_one(capacity, usable, draw, exponent):
    """Drawn fast it gives less, drawn slowly the same."""
    ideal = estimate_runtime(capacity_ah=capacity, usable_fraction=usable, draw_a=draw)
    real = estimate_peukert_runtime(
        capacity_ah=capacity,
        rated_hours_h=20,
        peukert_exponent=exponent,
        usable_fraction=usable,
        draw_a=draw,
    )
    assert real <= ideal * (1 + 1e-12)
    if draw <= capacity / 20:
        assert real == pytest.approx(ideal)


@pytest.mark.parametrize("draw", [4.999999, 5.0, 5.000001])
def test_peukert_runtime_has_no_step_at_the_rated_current(draw):
    """A bank of 100 Ah rated over 20 h gives its 20 h at 5 A: the meaning of the rating."""
    hours = estimate_peukert_runtime(
        capacity_ah=100, rated_hours_h=20, peukert_exponent=1.3, usable_fraction=1, draw_a=draw
    )
    assert hours == pytest.approx(20, abs=1e-4)


def test_peukert_runtime_without_draw_never_ends():
    """No division by the draw."""
    assert (
        estimate_peukert_runtime(
            capacity_ah=100, rated_hours_h=20, peukert_exponent=1.3, usable_fraction=1, draw_a=0
        )
        is None
    )


@given(st.floats(-30, 60), st.floats(-30, 60))
def test_colder_bank_never_gives_more(one, other):
    """And never less than the line's end or more than rated."""
    cold, warm = (estimate_temperature_factor(battery_c=t) for t in sorted((one, other)))
    assert 0.4 <= cold <= warm <= 1


@given(st.lists(st.floats(0, 200), max_size=5), st.floats(0, 300))
def test_bank_drains_exactly_when_load_exceeds_chargers(chargers, load):
    """The sign is what the reader is shown."""
    assert (find_net_current(charger_a=chargers, load_a=load) < 0) == (load > sum(chargers))
