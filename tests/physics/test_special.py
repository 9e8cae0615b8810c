"""The incomplete beta and gamma functions against SciPy's."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import special

from upkeep.errors import QuantityError
from upkeep.physics.special import integrate_beta, invert_beta, invert_beta_odds, split_gamma

shapes = st.floats(0.02, 2000)
chances = st.floats(0.001, 0.999)


@settings(deadline=None, max_examples=300)
@given(shapes, shapes, st.floats(1e-300, 1))
def test_incomplete_beta_agrees_with_scipy(a, b, x):
    """Absolute, over shapes from far below to far above those of hour meters."""
    assert integrate_beta(a, b, x) == pytest.approx(special.betainc(a, b, x), abs=1e-11)


@settings(deadline=None, max_examples=300)
@given(shapes, shapes, chances)
def test_inverse_beta_agrees_with_scipy(a, b, p):
    """Relative, where SciPy's own answer is not lost at the ends."""
    expected = special.betaincinv(a, b, p)
    assume(expected > 1e-280)
    assert invert_beta(a, b, p) == pytest.approx(expected, rel=1e-9, abs=0)


@settings(deadline=None, max_examples=200)
@given(shapes, shapes, chances)
def test_odds_keep_their_precision_near_one(a, b, p):
    """The complement from SciPy with the shapes swapped."""
    below, above = special.betaincinv(a, b, p), special.betaincinv(b, a, 1 - p)
    assume(below > 1e-280 and above > 1e-280)
    assert invert_beta_odds(a, b, p) == pytest.approx(below / above, rel=1e-8, abs=0)


@settings(deadline=None, max_examples=300)
@given(st.floats(1e-5, 4000), st.floats(0, 10))
def test_incomplete_gamma_agrees_with_scipy(a, part):
    """Absolute, from nothing to ten times the shape, both halves."""
    lower, upper = split_gamma(a, a * part)
    assert lower == pytest.approx(special.gammainc(a, a * part), abs=1e-11)
    assert upper == pytest.approx(special.gammaincc(a, a * part), abs=1e-11)


@settings(deadline=None, max_examples=300)
@given(st.floats(1e-5, 400), st.floats(1, 40))
def test_tail_of_gamma_keeps_its_digits(a, beyond):
    """Relative, where SciPy's own tail is not lost."""
    x = a + 1 + beyond * (a**0.5 + 1)
    expected = special.gammaincc(a, x)
    assume(expected > 1e-280)
    assert split_gamma(a, x)[1] == pytest.approx(expected, rel=1e-10, abs=0)


def test_ends_of_the_range_are_exact():
    """Nothing below 0, everything below 1."""
    assert split_gamma(3, 0) == (0, 1)
    assert split_gamma(3, 1e6) == (1, 0)
    assert (integrate_beta(2, 3, 0), integrate_beta(2, 3, 1)) == (0, 1)
    assert (invert_beta(2, 3, 0), invert_beta(2, 3, 1)) == (0, 1)


@pytest.mark.parametrize(
    ("arguments", "key"), [((0, 1, 0.5), "a"), ((1, -1, 0.5), "b"), ((1, 1, 1.5), "p")]
)
def test_inverse_refuses_by_name(arguments, key):
    """Shapes above 0, chance 0 to 1."""
    with pytest.raises(QuantityError) as caught:
        invert_beta(*arguments)
    assert caught.value.key == key


@pytest.mark.parametrize("p", [1.0, 1.5, float("nan")])
def test_odds_at_certainty_are_refused(p):
    """They would be endless."""
    with pytest.raises(QuantityError):
        invert_beta_odds(2, 3, p)
