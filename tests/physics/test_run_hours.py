"""Run-hours: Sen's example, SciPy's statistics, meters that are replaced."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import accumulate

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from upkeep.errors import QuantityError
from upkeep.physics.run_hours import (
    MeterChange,
    estimate_rate,
    estimate_rate_from_readings,
    estimate_rate_from_slopes,
    find_total_hours,
    forecast_dates,
    forecast_days,
    join_meters,
    pool_rate,
)

START = date(2026, 4, 1)
steps = st.lists(st.tuples(st.integers(1, 60), st.floats(0, 24)), min_size=2, max_size=15)


def make_log(steps_):
    """Give days and hours of a meter that ran so many hours a day for so many days."""
    days = list(accumulate(step for step, _ in steps_))
    hours = list(accumulate(step * rate for step, rate in steps_))
    return days, hours


def test_rate_of_sens_own_example_is_four_hours_a_day():
    """P. K. Sen, J. Am. Stat. Assoc. 63 (1968), as two statistics libraries reprint it."""
    days, hours = [1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78]
    assert estimate_rate_from_slopes(days, hours) == 4
    readings = [(START + timedelta(days=d), h) for d, h in zip(days, hours, strict=True)]
    assert estimate_rate_from_readings(readings=readings) == 4


@settings(deadline=None)
@given(steps)
def test_rate_agrees_with_scipy(steps_):
    """Any log a meter can make gives an answer, SciPy's."""
    days, hours = make_log(steps_)
    expected = stats.theilslopes(hours, days).slope
    assert estimate_rate_from_slopes(days, hours) == pytest.approx(expected, abs=1e-9)


@given(st.lists(st.integers(5, 50), min_size=5, max_size=15), st.integers(0, 3))
def test_one_misread_dial_does_not_move_a_steady_rate(gaps, place):
    """At 2 h a day all pairs but those with the misread reading still say 2."""
    days, hours = make_log([(gap, 2.0) for gap in gaps])
    hours[place] = hours[place + 1]
    assert estimate_rate_from_slopes(days, hours) == pytest.approx(2)


@pytest.mark.parametrize(
    ("days", "hours"),
    [([1], [5]), ([1, 1], [5, 6]), ([1, 2], [6, 5]), ([1, 2], [0, 24.1]), ([1, 2], [-1, 0])],
)
def test_log_no_meter_can_make_is_refused(days, hours):
    """Too few, same day, falling, more than the day has, below zero."""
    with pytest.raises(QuantityError) as caught:
        estimate_rate_from_slopes(days, hours)
    assert caught.value.key == "readings"


@given(steps, st.floats(0, 24))
def test_pooled_rate_lies_between_the_stated_and_the_observed(steps_, prior):
    """And draws nearer to the observed with every day."""
    days, hours = make_log(steps_)
    observed = hours[-1] / days[-1]
    pooled = pool_rate(
        prior_h_per_day=prior, observed_hours=hours[-1], observed_days=float(days[-1])
    )
    low, high = sorted((prior, observed))
    assert low - 1e-9 <= pooled <= high + 1e-9


def test_rate_is_pooled_below_four_readings_and_a_median_from_four_on():
    """90 days at 1 h and 30 days at 3 h are 1.5 h a day, by hand; four readings say 3."""
    assert estimate_rate([], [], prior_h_per_day=1) == 1
    assert estimate_rate([5], [700], prior_h_per_day=1) == 1
    assert estimate_rate([0, 10, 30], [0, 30, 90], prior_h_per_day=1) == 1.5
    assert estimate_rate([0, 10, 20, 30], [0, 30, 60, 90], prior_h_per_day=1) == 3


def test_replaced_meters_add_up():
    """By hand: 100 to 150, then 5 to 25, then 0 to 7 make 177."""
    records = [
        (START, 100.0),
        MeterChange(on=START + timedelta(days=10), old_hours=150, new_hours=5),
        (START + timedelta(days=10), 5.0),
        (START + timedelta(days=20), 25.0),
        MeterChange(on=START + timedelta(days=20), old_hours=25, new_hours=0),
        (START + timedelta(days=30), 7.0),
    ]
    assert [hours for _, hours in join_meters(records)] == [100, 150, 150, 170, 170, 177]
    assert find_total_hours(readings=records) == 177


@pytest.mark.parametrize(
    "records",
    [
        [],
        [(START, 100.0), (START + timedelta(days=1), 99.0)],
        [(START, 100.0), (START, 101.0)],
        [(START, 100.0), (START - timedelta(days=1), 101.0)],
        [(START, 100.0), MeterChange(on=START + timedelta(days=9), old_hours=90, new_hours=0)],
        [(START, 100.0), MeterChange(on=START + timedelta(days=9), old_hours=110, new_hours=-1)],
        [(START, 100.0), (START + timedelta(days=1), 124.5)],
    ],
    ids=["none", "falls", "same day", "earlier", "falls at change", "below zero", "too fast"],
)
def test_meter_record_that_cannot_be_is_refused(records):
    """A fall without a recorded change is never a silent reset."""
    with pytest.raises(QuantityError) as caught:
        find_total_hours(readings=records)
    assert caught.value.key == "readings"


@pytest.mark.parametrize(
    ("remaining", "prior", "hours", "days"),
    [(150, 0.55, 171, 153), (40, 0.3, 0, 0), (10, 2, 30, 20)],
)
def test_forecast_agrees_with_mixing_gamma_waits_over_the_unknown_rate(
    remaining, prior, hours, days
):
    """SciPy integrates the wait for the last outing over the rate: 10, 50, 90 % come back."""
    forecast = forecast_days(
        remaining_h=remaining, prior_h_per_day=prior, observed_hours=hours, observed_days=days
    )
    outings, shape, weight = remaining / 2, (prior * 90 + hours) / 2, 90 + days
    rate = stats.gamma(shape, scale=1 / weight)
    for span, chance in zip(forecast, (0.1, 0.5, 0.9), strict=True):
        mixed, _ = integrate.quad(
            lambda x, span=span: stats.gamma.cdf(span * x, outings) * rate.pdf(x),
            rate.ppf(1e-13),
            rate.ppf(1 - 1e-13),
            epsabs=1e-10,
        )
        assert mixed == pytest.approx(chance, abs=1e-7)


def test_forecast_agrees_with_simulated_outings():
    """A fixed seed: one wait in ten is over by the first figure, within sampling error."""
    random = np.random.default_rng(1968)
    shape, weight, outings = (0.55 * 90 + 171) / 2, 90 + 153, 75
    waits = random.gamma(outings, 1 / random.gamma(shape, 1 / weight, 200_000))
    forecast = forecast_days(
        remaining_h=150, prior_h_per_day=0.55, observed_hours=171, observed_days=153
    )
    for span, chance in zip(forecast, (0.1, 0.5, 0.9), strict=True):
        assert (waits <= span).mean() == pytest.approx(chance, abs=0.004)


def test_boat_never_used_has_no_forecast():
    """Neither stated nor observed use."""
    assert (
        forecast_dates(
            remaining_h=50, prior_h_per_day=0, observed_hours=0, observed_days=30, today=START
        )
        is None
    )


def test_forecast_beyond_the_calendar_has_days_but_no_date():
    """The next thousand years are not ours to print."""
    forecast = forecast_dates(
        remaining_h=9000,
        prior_h_per_day=0.0001,
        observed_hours=0,
        observed_days=0,
        today=START,
    )
    assert forecast.d90_days > 3e6
    assert forecast.date90 is None


@given(st.floats(1, 400), st.floats(1, 400), st.floats(0.05, 10))
def test_more_remaining_hours_never_fall_due_sooner(one, other, prior):
    """At every chance."""
    soon, late = (
        forecast_days(remaining_h=hours, prior_h_per_day=prior, observed_hours=0, observed_days=0)
        for hours in sorted((one, other))
    )
    assert all(a <= b * (1 + 1e-9) for a, b in zip(soon, late, strict=True))
    assert soon[0] <= soon[1] <= soon[2]
