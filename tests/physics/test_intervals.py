"""Intervals: the worked figures, looks counted one by one, and the exact time unready."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from upkeep.errors import QuantityError
from upkeep.physics.intervals import (
    count_looks,
    estimate_inspection_interval,
    estimate_proof_interval,
)


def test_sign_six_months_ahead_is_looked_for_every_three():
    """Worked: nine looks in ten see it, one sign in a hundred may be missed; two looks."""
    assert count_looks(seen_chance=0.9, missed_chance=0.01) == 2
    months = estimate_inspection_interval(warning_time=6, seen_chance=0.9, missed_chance=0.01)
    assert months == 3


def test_function_with_a_mean_life_of_25_years_is_proved_every_year():
    """Worked: it may stand failed one fiftieth of the time."""
    assert estimate_proof_interval(unready_share=0.02, mean_life=25) == pytest.approx(1)


@pytest.mark.parametrize(
    ("seen", "missed", "looks"),
    [
        (0.5, 0.25, 2),
        (0.5, 0.125, 3),
        (0.9, 0.001, 3),
        (0.8, 0.04, 2),
        (0.8, 0.008, 3),
        (0.7, 0.09, 2),
        (0.7, 0.027, 3),
        (0.6, 0.16, 2),
        (0.4, 0.36, 2),
        (0.3, 0.343, 3),
        (1, 0.1, 1),
    ],
)
def test_chance_met_exactly_needs_no_further_look(seen, missed, looks):
    """Powers worked by hand."""
    assert count_looks(seen_chance=seen, missed_chance=missed) == looks


@given(st.floats(0.02, 1), st.floats(0.0001, 0.9999))
def test_looks_are_the_fewest_that_keep_the_chance_to_miss(seen, missed):
    """Looking one by one."""
    chances = [1.0]
    while chances[-1] > missed:
        chances.append(chances[-1] * (1 - seen))
    assume(all(abs(chance / missed - 1) > 1e-6 for chance in chances))
    assert count_looks(seen_chance=seen, missed_chance=missed) == len(chances) - 1


def test_looks_agree_with_simulated_signs():
    """A fixed seed: signs appear at any time, each look sees two in three."""
    random = np.random.default_rng(27)
    interval = estimate_inspection_interval(warning_time=90, seen_chance=2 / 3, missed_chance=0.05)
    appears = random.uniform(0, interval, 200_000)
    looks = np.floor((appears + 90) / interval).astype(int)  # those before it fails
    missed = (random.random((looks.size, looks.max())) > 2 / 3) | (
        np.arange(looks.max()) >= looks[:, None]
    )
    assert missed.all(axis=1).mean() <= 0.05


@pytest.mark.parametrize("share", [0.001, 0.02, 0.05, 0.1])
def test_proof_interval_is_never_longer_than_the_exact_one(share):
    """SciPy inverts the mean time unready at a steady failure rate; cautious by 8 % at most."""

    def excess(interval):
        return 1 + math.expm1(-interval / 40) / (interval / 40) - share

    exact = brentq(excess, 1e-6, 40)
    found = estimate_proof_interval(unready_share=share, mean_life=40)
    assert 0.92 * exact < found <= exact


@pytest.mark.parametrize(
    ("function", "inputs", "key"),
    [
        (count_looks, {"seen_chance": 0, "missed_chance": 0.01}, "seen_chance"),
        (count_looks, {"seen_chance": 90, "missed_chance": 0.01}, "seen_chance"),
        (count_looks, {"seen_chance": 0.9, "missed_chance": 0}, "missed_chance"),
        (count_looks, {"seen_chance": 0.9, "missed_chance": 1}, "missed_chance"),
        (
            estimate_inspection_interval,
            {"warning_time": 0, "seen_chance": 0.9, "missed_chance": 0.01},
            "warning_time",
        ),
        (estimate_proof_interval, {"unready_share": 0.101, "mean_life": 25}, "unready_share"),
        (estimate_proof_interval, {"unready_share": 0, "mean_life": 25}, "unready_share"),
        (estimate_proof_interval, {"unready_share": 0.02, "mean_life": -1}, "mean_life"),
    ],
    ids=str,
)
def test_interval_refuses_by_name(function, inputs, key):
    """A percentage is not a fraction; where the line no longer holds there is no answer."""
    with pytest.raises(QuantityError) as caught:
        function(**inputs)
    assert caught.value.key == key
