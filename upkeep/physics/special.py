"""Special functions: the regularised incomplete beta function, its inverse, and gamma.

Continued fractions by Lentz's method, as in Abramowitz and Stegun 26.5.8 (beta) and 6.5.31
(gamma); the series for gamma 6.5.29 (all MEMORY).
"""

from __future__ import annotations

from math import exp, isfinite, lgamma, log, log1p

from upkeep.errors import QuantityError
from upkeep.physics.ranges import check_above, check_within

PRECISION = 3e-16  # a rounding of a double
TINY = 1e-300  # stands in for a zero denominator
FRACTION_STEPS = 20_000
ROOT_STEPS = 200
ODDS_BOUND = 700.0  # log of the odds; beyond it a double overflows


def integrate_beta(a: float, b: float, x: float) -> float:
    """Compute the regularised incomplete beta function I_x(a, b) [0-1].

    a, b: above 0. x: 0 to 1. Raises QuantityError naming a, b or x. Source: module docstring.
    """
    first, second = check_above("a", a), check_above("b", b)
    part = check_within("x", x, 0, 1)
    if part in (0.0, 1.0):
        return part
    return _integrate(first, second, log(part), log1p(-part))


def invert_beta(a: float, b: float, p: float) -> float:
    """Find x with I_x(a, b) = p [0-1].

    a, b: above 0. p: 0 to 1. Raises QuantityError naming a, b or p.
    Source: module docstring; root by Newton's method held between bounds.
    """
    if p == 1:
        return 1.0
    odds = invert_beta_odds(a, b, p)
    return odds / (1 + odds)


def invert_beta_odds(a: float, b: float, p: float) -> float:
    """Find x / (1 - x) with I_x(a, b) = p [0 or more], exact even where x is close to 1.

    a, b: above 0. p: 0 up to, not including, 1. Raises QuantityError naming a, b or p.
    Source: as invert_beta.
    """
    first, second = check_above("a", a), check_above("b", b)
    goal = check_within("p", p, 0, 1)
    if goal == 1:
        raise QuantityError("p", "the odds are endless at 1")
    return 0.0 if goal == 0 else exp(_solve_log_odds(first, second, goal))


def split_gamma(a: float, x: float) -> tuple[float, float]:
    """Compute the regularised incomplete gamma functions P(a, x) and Q = 1 - P [0-1 each].

    a: above 0. x: 0 or more; both already checked, no errors of its own. P keeps its digits
    below a + 1, Q from there on. Source: module docstring.
    """
    if x == 0:
        return 0.0, 1.0
    front = exp(a * log(x) - x - lgamma(a))
    if x < a + 1:
        lower = min(1.0, front * _sum_gamma(a, x))
        return lower, 1 - lower
    upper = min(1.0, front * _gamma_fraction(a, x))
    return 1 - upper, upper


def _sum_gamma(a: float, x: float) -> float:
    term = total = 1 / a
    for step in range(1, FRACTION_STEPS):
        term *= x / (a + step)
        total += term
        if term <= total * PRECISION:
            break
    return total


def _gamma_fraction(a: float, x: float) -> float:
    base = x + 1 - a  # at least 2 where the fraction is used
    ratio_c, ratio_d = 1 / TINY, 1 / base
    value = ratio_d
    for step in range(1, FRACTION_STEPS):
        term = step * (a - step)
        base += 2
        ratio_d = 1 / _nonzero(base + term * ratio_d)
        ratio_c = _nonzero(base + term / ratio_c)
        value *= ratio_d * ratio_c
        if abs(ratio_d * ratio_c - 1) <= PRECISION:
            break
    return value


def _solve_log_odds(a: float, b: float, goal: float) -> float:
    low, high = -ODDS_BOUND, ODDS_BOUND
    here = min(high, max(low, log(a) - log(b)))
    for _ in range(ROOT_STEPS):
        log_x, log_y = -_soft_plus(-here), -_soft_plus(here)
        excess = _integrate(a, b, log_x, log_y) - goal
        low, high = (low, here) if excess > 0 else (here, high)
        slope = exp(_log_front(a, b, log_x, log_y))
        there = here - excess / slope if slope > 0 else low
        if not low < there < high:
            there = (low + high) / 2
        if abs(there - here) <= 4 * PRECISION * (1 + abs(here)):
            return there
        here = there
    return here


def _soft_plus(value: float) -> float:
    """Compute log(1 + e^value) without overflow."""
    return max(value, 0.0) + log1p(exp(-abs(value)))


def _log_front(a: float, b: float, log_x: float, log_y: float) -> float:
    return lgamma(a + b) - lgamma(a) - lgamma(b) + a * log_x + b * log_y


def _integrate(a: float, b: float, log_x: float, log_y: float) -> float:
    front = exp(_log_front(a, b, log_x, log_y))
    x, y = exp(log_x), exp(log_y)
    if x < (a + 1) / (a + b + 2):
        return min(1.0, front * _fraction(a, b, x) / a)
    return max(0.0, 1 - front * _fraction(b, a, y) / b)


def _fraction(a: float, b: float, x: float) -> float:
    ratio_c, ratio_d = 1.0, 1 / _nonzero(1 - (a + b) * x / (a + 1))
    value = ratio_d
    for step in range(1, FRACTION_STEPS):
        end = a + 2 * step
        even = step * (b - step) * x / ((end - 1) * end)
        odd = -(a + step) * (a + b + step) * x / (end * (end + 1))
        for term in (even, odd):
            ratio_d = 1 / _nonzero(1 + term * ratio_d)
            ratio_c = _nonzero(1 + term / ratio_c)
            value *= ratio_d * ratio_c
        if not isfinite(value) or abs(ratio_d * ratio_c - 1) <= PRECISION:
            break
    return value


def _nonzero(value: float) -> float:
    return value if abs(value) > TINY else TINY
