"""Evidence: what a moved interval promises; its figures stand in the vectors.

The chances beneath are proved in test_wear_rate.
"""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from upkeep.errors import QuantityError
from upkeep.physics.evidence import SAFETY_LEAST_FACTOR, estimate_chance, estimate_interval
from upkeep.physics.wear_rate import LimitCrossing, WearBounds, WearFinding

bases = st.floats(0.5, 4000)
read = st.builds(WearFinding, span_days=st.floats(10, 900), wear_to=st.floats(0, 5))
bounded = st.one_of(
    st.builds(WearBounds, span_days=st.floats(10, 900), wear_hi=st.floats(0.05, 5)),
    st.builds(WearBounds, span_days=st.floats(10, 900), wear_lo=st.floats(0, 5)),
    st.builds(LimitCrossing, below_at_days=st.floats(10, 300), past_at_days=st.floats(310, 900)),
)
histories = st.lists(read, min_size=1, max_size=5)
mixed = st.lists(st.one_of(read, bounded), max_size=3)


@given(bases, st.floats(0.01, 1), st.floats(1, 10))
def test_interval_without_findings_is_the_base_exactly(base, least, most):
    """To the last digit: no whole day may be lost."""
    moved = estimate_interval(t0_days=base, findings=[], least_factor=least, most_factor=most)
    assert (moved.evidence_days, moved.interval_days, moved.clamped) == (base, base, "none")


@given(histories, st.integers(0, 4), st.floats(0, 5))
def test_more_wear_never_gives_a_longer_interval(history, place, more):
    """One finding worse, the others as they were."""
    place %= len(history)
    worse = list(history)
    wear = min(5.0, history[place].wear_to + more)
    worse[place] = WearFinding(span_days=history[place].span_days, wear_to=wear)
    moved, shortened = (estimate_interval(t0_days=180, findings=f) for f in (history, worse))
    assert shortened.evidence_days <= moved.evidence_days + 1e-8
    assert shortened.interval_days <= moved.interval_days + 1e-8


@given(histories, st.integers(0, 4), st.floats(1, 5))
def test_same_wear_over_a_longer_span_never_gives_a_shorter_interval(history, place, longer):
    """It wore more slowly."""
    place %= len(history)
    slower = list(history)
    span = history[place].span_days * longer
    slower[place] = WearFinding(span_days=span, wear_to=history[place].wear_to)
    moved, lengthened = (estimate_interval(t0_days=180, findings=f) for f in (history, slower))
    assert lengthened.evidence_days >= moved.evidence_days - 1e-8


@settings(max_examples=50)
@given(mixed, st.floats(0.05, 1), st.floats(1, 4))
def test_interval_after_a_full_clean_stays_between_its_factors(history, least, most):
    """And the word says which of them held it, and whether the base is to be set anew."""
    moved = estimate_interval(t0_days=180, findings=history, least_factor=least, most_factor=most)
    low, high = 180 * least, 180 * most
    assert low * (1 - 1e-12) <= moved.interval_days <= high * (1 + 1e-12)
    if moved.clamped == "none":
        assert moved.interval_days == moved.evidence_days
    elif moved.clamped == "low":
        assert moved.evidence_days < low
    else:
        assert (moved.clamped, moved.evidence_days > high) == ("high", True)
    assert moved.asks_for_new_base == (moved.clamped == "low")


@settings(max_examples=50)
@given(mixed, st.floats(1, 1000), st.floats(0, 0.95))
def test_hard_limit_is_never_exceeded_and_only_shortens(history, hard, wear):
    """Evidence may shorten what a regulation allows, never lengthen it."""
    free = estimate_interval(t0_days=180, findings=history, wear_after_clean=wear)
    held = estimate_interval(
        t0_days=180, findings=history, wear_after_clean=wear, hard_limit_days=hard
    )
    assert held.evidence_days == free.evidence_days
    if free.interval_days > hard:
        assert (held.interval_days, held.clamped) == (hard, "hard")
    else:
        assert held == free


@settings(max_examples=50)
@given(mixed, st.floats(0, 0.99), st.floats(0, 0.99))
def test_poorer_clean_never_gives_a_longer_interval(history, one, other):
    """Whatever was found before; at the limit it is due now."""
    better, poorer, past = (
        estimate_interval(t0_days=180, findings=history, wear_after_clean=wear)
        for wear in (*sorted((one, other)), 1.0)
    )
    assert 0 == past.interval_days < poorer.interval_days
    assert poorer.interval_days <= better.interval_days + 1e-8


@settings(max_examples=50)
@given(mixed, st.floats(0, 0.95))
def test_chance_at_the_end_of_the_interval_by_evidence_is_one_in_ten(history, wear):
    """There and back; later the chance is larger."""
    moved = estimate_interval(t0_days=180, findings=history, wear_after_clean=wear)
    assume(moved.evidence_days < 180 * 200)
    before, then, after = (
        estimate_chance(
            t0_days=180, findings=history, ahead_days=moved.evidence_days * part, wear_now=wear
        )
        for part in (0.5, 1, 1.5)
    )
    assert then == pytest.approx(0.10, abs=1e-9)
    assert before < then < after


@settings(max_examples=50)
@given(st.permutations(range(4)), st.lists(st.one_of(read, bounded), min_size=4, max_size=4))
def test_order_of_findings_does_not_matter(order, history):
    """What was learnt is learnt."""
    moved, shuffled = (
        estimate_interval(t0_days=180, findings=found)
        for found in (history, [history[place] for place in order])
    )
    assert shuffled.evidence_days == pytest.approx(moved.evidence_days, rel=1e-9)


@given(histories, st.floats(0.04, 24))
def test_units_of_the_clock_do_not_matter(history, factor):
    """Days or hours, fouling or running."""
    scaled = [
        WearFinding(span_days=found.span_days * factor, wear_to=found.wear_to) for found in history
    ]
    moved = estimate_interval(t0_days=180, findings=history)
    other = estimate_interval(t0_days=180 * factor, findings=scaled)
    assert other.interval_days == pytest.approx(moved.interval_days * factor, rel=1e-9)


@settings(max_examples=30)
@given(st.floats(20, 400), st.floats(1.05, 3))
def test_crossing_lies_between_what_its_two_looks_say_alone(below, later):
    """Past by the second is worse news than both, below at the first better."""
    past = below * later
    histories_ = (
        WearBounds(span_days=past, wear_lo=1),
        LimitCrossing(below_at_days=below, past_at_days=past),
        WearBounds(span_days=below, wear_hi=1),
    )
    worst, crossing, best = (
        estimate_interval(t0_days=180, findings=[finding]).evidence_days for finding in histories_
    )
    assert worst < crossing < best


def test_four_parts_like_new_reach_the_bound_and_not_an_optimum():
    """Both numbers come back, so that both can be shown."""
    moved = estimate_interval(t0_days=180, findings=[WearFinding(span_days=180, wear_to=0)] * 4)
    assert moved.interval_days == 360
    assert moved.clamped == "high"
    assert moved.evidence_days > 2 * 360


@pytest.mark.parametrize(
    ("hard", "interval", "clamped"), [(500, 360, "high"), (360, 360, "high"), (300, 300, "hard")]
)
def test_hard_limit_counts_after_the_factor(hard, interval, clamped):
    """Four like new say more than 700 days; twice the base holds them first."""
    moved = estimate_interval(
        t0_days=180,
        findings=[WearFinding(span_days=180, wear_to=0)] * 4,
        hard_limit_days=hard,
    )
    assert (moved.interval_days, moved.clamped) == (interval, clamped)


def test_safety_task_may_be_brought_nearer_than_half():
    """Its own factor lets the evidence through; below that it is still held."""
    found = [WearFinding(span_days=45, wear_to=1.2)]
    usual = estimate_interval(t0_days=180, findings=found)
    safety = estimate_interval(t0_days=180, findings=found, least_factor=SAFETY_LEAST_FACTOR)
    assert usual.interval_days == 90
    assert usual.asks_for_new_base
    assert safety.interval_days == safety.evidence_days < 90


@pytest.mark.parametrize(("wear", "ahead", "chance"), [(1, 0, 1), (5, 10, 1), (0.999, 0, 0)])
def test_chance_needs_no_model_at_the_limit_or_today(wear, ahead, chance):
    """At the limit it is certain; without time to wear it is not."""
    found = estimate_chance(t0_days=180, findings=[], ahead_days=ahead, wear_now=wear)
    assert found == chance


@pytest.mark.parametrize(
    ("changed", "key"),
    [
        ({"t0_days": 0}, "t0_days"),
        ({"findings": None}, "findings"),
        ({"findings": "none"}, "findings"),
        ({"wear_after_clean": 5.1}, "wear_after_clean"),
        ({"wear_after_clean": -0.1}, "wear_after_clean"),
        ({"hard_limit_days": 0}, "hard_limit_days"),
        ({"least_factor": 0}, "least_factor"),
        ({"least_factor": 1.1}, "least_factor"),
        ({"most_factor": 0.9}, "most_factor"),
    ],
    ids=str,
)
def test_interval_refuses_by_name(changed, key):
    """Percentages are not fractions."""
    with pytest.raises(QuantityError) as caught:
        estimate_interval(**{"t0_days": 180, "findings": [], **changed})
    assert caught.value.key == key


@pytest.mark.parametrize(
    ("changed", "key"),
    [
        ({"ahead_days": -1}, "ahead_days"),
        ({"ahead_days": 180_001}, "ahead_days"),
        ({"wear_now": 30}, "wear_now"),
    ],
    ids=str,
)
def test_chance_refuses_by_name(changed, key):
    """What no clock of this task can reach."""
    with pytest.raises(QuantityError) as caught:
        estimate_chance(**{"t0_days": 180, "findings": [], "ahead_days": 1, **changed})
    assert caught.value.key == key
