"""Fouling: against a root finder, and properties."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from upkeep.physics import fouling


@given(st.floats(0, 20), st.floats(0.1, 3))
def test_growth_doubles_over_ten_degrees(water_c, factor):
    """The cited rule, anywhere inside its range."""
    low, high = (
        fouling.estimate_fouling_rate(water_c=t, class_factor=factor)
        for t in (water_c, water_c + 10)
    )
    assert high == pytest.approx(2 * low)


@given(st.floats(-3, 45), st.floats(-3, 45))
def test_colder_water_never_fouls_faster(one, other):
    """Level at both ends, rising between."""
    cold, warm = (
        fouling.estimate_fouling_rate(water_c=t, class_factor=1) for t in sorted((one, other))
    )
    assert cold <= warm


@pytest.mark.parametrize("part", [0.01, 0.3, 0.9, 0.999])
def test_days_to_resistance_are_where_the_curve_meets_the_limit(part):
    """SciPy searches the other function."""
    curve = {"asymptote_m2k_per_w": 0.0003, "time_constant_d": 120}
    limit = 0.0003 * part

    def excess(days):
        return fouling.estimate_resistance(**curve, time_d=days) / limit - 1

    days = fouling.estimate_days_to_resistance(**curve, limit_m2k_per_w=limit)
    assert days == pytest.approx(brentq(excess, 0, 5000, xtol=1e-10), rel=1e-7)


def test_curve_that_levels_off_at_the_limit_never_meets_it():
    """A plateau never forces cleaning."""
    assert (
        fouling.estimate_days_to_resistance(
            asymptote_m2k_per_w=9e-5, time_constant_d=120, limit_m2k_per_w=9e-5
        )
        is None
    )


@given(st.floats(100, 5000), st.floats(0, 0.9))
def test_resistance_of_a_drop_brings_the_transfer_down_by_it(clean_u, drop):
    """Two resistances in series."""
    added = fouling.estimate_resistance_of_drop(clean_u_w_per_m2k=clean_u, u_drop_fraction=drop)
    fouled_u = 1 / (1 / clean_u + added)
    assert 1 - fouled_u / clean_u == pytest.approx(drop, abs=1e-12)


@pytest.mark.parametrize(("residual", "days"), [(0, 100), (5e-5, 50), (1e-4, 0), (2e-4, 0)])
def test_descaling_counts_what_the_last_clean_left(residual, days):
    """At 20 degC, a hundredth of the limit a day, by hand; never below 0."""
    found = fouling.estimate_descaling_days(
        rate_m2k_per_w_per_day_at_20c=1e-6,
        limit_m2k_per_w=1e-4,
        residual_m2k_per_w=residual,
        water_c=20,
    )
    assert found == pytest.approx(days)


def test_class_factors_are_the_cited_ones():
    """Common practice, no source."""
    assert dict(fouling.CLASS_FACTORS) == {"open": 0.6, "marina": 1.0, "rich": 1.6, "fresh": 0.3}
