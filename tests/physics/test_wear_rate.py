"""Wear rate: against SciPy's quadrature over the uncertain rate, and against simulated parts.

The reference knows only the statement of the model: the wear of a span is gamma distributed,
its rate is gamma distributed. It does without the closed form and without our grid.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize, special, stats

from upkeep.errors import QuantityError
from upkeep.physics.wear_rate import (
    LimitCrossing,
    WearBounds,
    WearFinding,
    estimate_chance_worn,
    find_prior_rate,
    learn_wear_rate,
)

SHAPE, PRIOR_SHAPE, CHANCE = 4, 8, 0.10  # as the model states them
BASE = 180.0


def survive(days, room, beta):
    """Give the chance that wear grows by room in so many days at a known rate."""
    return special.gammaincc(SHAPE * days / BASE, beta * room)


def likelihood(finding, beta):
    """Say how likely a finding is where the rate of wear is beta."""
    start = finding.wear_from
    if isinstance(finding, LimitCrossing):
        late, early = (
            survive(days, 1 - start, beta) for days in (finding.past_at_days, finding.below_at_days)
        )
        return late - early
    if isinstance(finding, WearFinding):
        grown = finding.wear_to - start
        return beta ** (SHAPE * finding.span_days / BASE) * math.exp(-beta * grown)
    low = 0.0 if finding.wear_lo is None else finding.wear_lo - start
    past_high = 0.0
    if finding.wear_hi is not None:
        past_high = survive(finding.span_days, finding.wear_hi - start, beta)
    return survive(finding.span_days, low, beta) - past_high


def average(function, rate, findings, ends=None):
    """Average over the rate of wear, given the findings, by adaptive quadrature."""
    prior = stats.gamma(PRIOR_SHAPE, scale=1 / rate)

    def density(beta):
        chances = (likelihood(finding, beta) for finding in findings)
        return beta ** (PRIOR_SHAPE - 1) * math.exp(-rate * beta) * math.prod(chances)

    exactly = {"epsabs": 0, "epsrel": 1e-10, "limit": 400}
    low, high = ends or (prior.ppf(1e-15), prior.isf(1e-15) * 3)
    above, _ = integrate.quad(lambda beta: function(beta) * density(beta), low, high, **exactly)
    whole, _ = integrate.quad(density, low, high, **exactly)
    return above / whole


def chance_worn(days, room, rate, findings):
    """Give the reference's chance that wear grows by room in so many days."""
    return average(lambda beta: survive(days, room, beta), rate, findings)


@cache
def reference_rate():
    """Find the prior rate by the reference alone."""
    return optimize.brentq(lambda rate: chance_worn(BASE, 1, rate, ()) - CHANCE, 0.5, 2, xtol=1e-11)


def test_prior_rate_is_the_one_that_leaves_the_base_interval_one_chance_in_ten():
    """SciPy searches it with the chance found by quadrature."""
    assert find_prior_rate() == pytest.approx(reference_rate(), abs=1e-8)


HISTORIES = {
    "none": (),
    "light": (WearFinding(span_days=180, wear_to=0.2),),
    "heavy": (WearFinding(span_days=45, wear_to=1.2),),
    "partial": (
        WearFinding(span_days=90, wear_to=0.3),
        WearFinding(span_days=60, wear_from=0.3, wear_to=0.55),
    ),
    "below": (WearBounds(span_days=400, wear_hi=1),),
    "past": (WearBounds(span_days=120, wear_lo=1),),
    "between": (WearBounds(span_days=180, wear_from=0.2, wear_lo=0.25, wear_hi=0.75),),
    "crossing": (LimitCrossing(below_at_days=90, past_at_days=150, wear_from=0.1),),
    "mixed": (
        WearFinding(span_days=180, wear_to=0.4),
        WearBounds(span_days=200, wear_hi=1),
        WearBounds(span_days=60, wear_from=0.4, wear_lo=1),
        LimitCrossing(below_at_days=100, past_at_days=300),
    ),
}


@pytest.mark.parametrize("room", [1.0, 0.35])
@pytest.mark.parametrize("days", [20.0, 250.0])
@pytest.mark.parametrize("history", HISTORIES.values(), ids=HISTORIES)
def test_chance_worn_agrees_with_adaptive_quadrature(history, days, room):
    """Exact findings, bounds, crossings and all together."""
    wear = learn_wear_rate(t0_days=BASE, findings=history)
    chance = estimate_chance_worn(wear, intervals=days / BASE, room=room)
    expected = chance_worn(days, room, reference_rate(), history)
    assert chance == pytest.approx(expected, abs=1e-8)


@pytest.mark.parametrize(
    "finding",
    [
        WearBounds(span_days=180, wear_lo=0.45, wear_hi=0.55),
        WearBounds(span_days=240, wear_hi=1),
        LimitCrossing(below_at_days=120, past_at_days=200),
    ],
    ids=["between", "below", "crossing"],
)
def test_chance_worn_agrees_with_simulated_parts(finding):
    """A fixed seed: of the parts that were found so, count those worn out 150 days later."""
    random = np.random.default_rng(411)
    beta = random.gamma(PRIOR_SHAPE, 1 / reference_rate(), 1_500_000)

    def grow(days):
        return random.gamma(SHAPE * days / BASE, 1 / beta)

    if isinstance(finding, LimitCrossing):
        early = grow(finding.below_at_days)
        later = early + grow(finding.past_at_days - finding.below_at_days)
        is_seen = (early < 1) & (later >= 1)
    else:
        worn = grow(finding.span_days)
        is_seen = (worn >= (finding.wear_lo or 0)) & (worn < finding.wear_hi)
    is_worn_next = grow(150)[is_seen] >= 1
    wear = learn_wear_rate(t0_days=BASE, findings=[finding])
    chance = estimate_chance_worn(wear, intervals=150 / BASE, room=1)
    sampling = (is_worn_next.mean() * (1 - is_worn_next.mean()) / is_seen.sum()) ** 0.5
    assert is_seen.sum() > 50_000
    assert chance == pytest.approx(is_worn_next.mean(), abs=4 * sampling)


@settings(max_examples=25)
@given(st.floats(10, 800), st.floats(0.02, 3))
def test_narrow_bounds_say_what_an_exact_finding_says(span, wear):
    """The grid and the closed form tell one story."""
    exact = learn_wear_rate(t0_days=BASE, findings=[WearFinding(span_days=span, wear_to=wear)])
    narrow = learn_wear_rate(
        t0_days=BASE,
        findings=[WearBounds(span_days=span, wear_lo=wear * 0.9999, wear_hi=wear * 1.0001)],
    )
    for intervals in (0.2, 1, 3):
        assert estimate_chance_worn(narrow, intervals=intervals, room=1) == pytest.approx(
            estimate_chance_worn(exact, intervals=intervals, room=1), abs=1e-6
        )


def test_bounds_that_hold_everything_say_nothing():
    """From none to endless."""
    none = learn_wear_rate(t0_days=BASE, findings=[])
    all_ = learn_wear_rate(t0_days=BASE, findings=[WearBounds(span_days=180, wear_lo=0)])
    for intervals in (0.2, 1, 3):
        assert estimate_chance_worn(all_, intervals=intervals, room=1) == pytest.approx(
            estimate_chance_worn(none, intervals=intervals, room=1), abs=1e-12
        )


def test_finding_far_from_the_base_interval_is_still_weighed():
    """Seen below after 1000 intervals, it is taken to outlast a hundred."""
    wear = learn_wear_rate(t0_days=1, findings=[WearBounds(span_days=1000, wear_hi=1)])
    assert estimate_chance_worn(wear, intervals=100, room=1) < 1e-6


def test_findings_far_from_what_was_expected_are_still_weighed():
    """Twenty past their limit after a thousandth of the base interval."""
    history = [WearBounds(span_days=BASE / 1000, wear_lo=1)] * 20
    wear = learn_wear_rate(t0_days=BASE, findings=history)
    for intervals in (0.001, 0.02, 0.5):
        expected = average(
            lambda beta, days=BASE * intervals: survive(days, 1, beta),
            reference_rate(),
            history,
            ends=(1e-9, 2),
        )
        chance = estimate_chance_worn(wear, intervals=intervals, room=1)
        assert chance == pytest.approx(expected, abs=1e-8)


@pytest.mark.parametrize(
    ("finding", "key"),
    [
        (WearFinding(span_days=0, wear_to=0.4), "span_days"),
        (WearFinding(span_days=float("nan"), wear_to=0.4), "span_days"),
        (WearFinding(span_days=180_001, wear_to=0.4), "span_days"),
        (WearFinding(span_days=180, wear_to=-0.01), "wear_to"),
        (WearFinding(span_days=180, wear_to=5.01), "wear_to"),
        (WearFinding(span_days=180, wear_to=25), "wear_to"),
        (WearFinding(span_days=180, wear_from=1, wear_to=1), "wear_from"),
        (WearFinding(span_days=180, wear_from=-0.1, wear_to=1), "wear_from"),
        (WearFinding(span_days=180, wear_from=0.5, wear_to=0.449), "wear_to"),
        (WearBounds(span_days=-1, wear_hi=1), "span_days"),
        (WearBounds(span_days=180), "wear_hi"),
        (WearBounds(span_days=180, wear_hi=5.1), "wear_hi"),
        (WearBounds(span_days=180, wear_lo=-0.1), "wear_lo"),
        (WearBounds(span_days=180, wear_lo=0.5, wear_hi=0.5), "wear_lo"),
        (WearBounds(span_days=180, wear_from=0.4, wear_hi=0.4), "wear_hi"),
        (WearBounds(span_days=180, wear_from=True, wear_hi=1), "wear_from"),
        (LimitCrossing(below_at_days=0, past_at_days=150), "below_at_days"),
        (LimitCrossing(below_at_days=150, past_at_days=150), "past_at_days"),
        (LimitCrossing(below_at_days=90, past_at_days=150, wear_from=1), "wear_from"),
        ({"span_days": 180, "wear_to": 0.4}, "findings"),
    ],
    ids=str,
)
def test_finding_that_cannot_be_is_refused_by_name(finding, key):
    """A clean that was not recorded is asked about, never guessed."""
    with pytest.raises(QuantityError) as caught:
        learn_wear_rate(t0_days=BASE, findings=[finding])
    assert caught.value.key == key


@pytest.mark.parametrize(
    ("wear_from", "wear_to", "is_lower"),
    [(0.5, 0.45, True), (0.999, 0.949, True), (0.5, 0.5, False), (0.0, 0.0, False)],
)
def test_wear_read_slightly_lower_counts_as_none_and_says_so(wear_from, wear_to, is_lower):
    """By up to 0.05, that included."""
    finding = WearFinding(span_days=180, wear_from=wear_from, wear_to=wear_to)
    steady = WearFinding(span_days=180, wear_from=wear_from, wear_to=wear_from)
    assert finding.is_read_lower == is_lower
    assert learn_wear_rate(t0_days=BASE, findings=[finding]) == learn_wear_rate(
        t0_days=BASE, findings=[steady]
    )
