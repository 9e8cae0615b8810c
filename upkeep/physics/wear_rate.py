"""Wear rate: what findings say of how fast a part wears, and the chance it has reached its limit.

Wear after a span is gamma distributed, its shape in proportion to the span and its rate itself
uncertain: a gamma process with conjugate rate, model class as in arXiv 2406.11216; algebra and
constants ours. Wear is 0 as new and 1 at the limit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import ceil, exp, inf, log, sqrt

from upkeep.errors import QuantityError
from upkeep.physics.ranges import check_above, check_below_one, check_within
from upkeep.physics.special import integrate_beta, invert_beta_odds, split_gamma

SHAPE_PER_INTERVAL = 4.0  # of the wear over one base interval; ours
PRIOR_SHAPE = 8.0  # a finding at the base interval weighs 4 / (4 + 8), one third; ours
ACCEPTED_CHANCE = 0.10  # one interval in ten ends at or past the limit; ours
LEAST_SPANS, MOST_SPANS = 1e-6, 1000.0  # base intervals; else a slip of the pen; no source
MOST_WEAR = 5.0  # beyond it a figure is a slip of the pen; common practice, no source
LOST_WEAR = 0.05  # a reading may come back so much lower; more is an unrecorded clean; ours
LOST_SLACK = 1e-12  # 0.999 less 0.949 is 0.05
REACHES = (6.0, 12.0, 24.0)  # of the grid, both sides of the rate expected, in its logarithm; ours
STEP = 0.25  # of the grid, in standard deviations of the narrowest part; ours
LEAST_END = 1e-12  # of the heaviest node; an end that weighs more is a grid too short
LEAST_WEIGHT = 1e-20  # of the heaviest node; less does not reach the last digit


@dataclass(frozen=True, kw_only=True, slots=True)
class WearFinding:
    """Wear read at the end of a span of use.

    span_days: above a millionth of the base interval to 1000 of them, in the units of the
    clock it was measured on. wear_from: left by the clean before, 0 up to, not including, 1.
    wear_to: 0 to 5, and not more than 0.05 below wear_from, which would be a clean nobody
    recorded.
    """

    span_days: float
    wear_to: float
    wear_from: float = 0.0

    @property
    def is_read_lower(self) -> bool:
        """Whether less wear was read than at the start: it counts as none, and is to be said."""
        return self.wear_to < self.wear_from


@dataclass(frozen=True, kw_only=True, slots=True)
class WearBounds:
    """Wear known only to lie between bounds at the end of a span of use.

    wear_lo None: no lower bound. wear_hi None: no upper bound. Below the limit is wear_hi 1,
    past it wear_lo 1. Of two looks "below" in one run keep the later. Others as WearFinding.
    """

    span_days: float
    wear_lo: float | None = None
    wear_hi: float | None = None
    wear_from: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class LimitCrossing:
    """Wear seen below the limit at one look and past it at a later one of the same run.

    Both count from the clean, ranges as span_days of WearFinding, the second the larger.
    wear_from as there.
    """

    below_at_days: float
    past_at_days: float
    wear_from: float = 0.0


Evidence = WearFinding | WearBounds | LimitCrossing


@dataclass(frozen=True, kw_only=True, slots=True)
class WearRate:
    """What is believed of a part's wear.

    The rate has a gamma distribution (shape, rate: above 0). Where findings are bounds it is
    instead the nodes: (rate, probability) pairs that sum to 1; empty otherwise.
    """

    shape: float
    rate: float
    nodes: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class _Bound:
    """A likelihood Q(shape, rate * level) - Q(other_shape, rate * other_level)."""

    shape: float
    level: float
    other_shape: float
    other_level: float


def learn_wear_rate(*, t0_days: float, findings: Sequence[Evidence]) -> WearRate:
    """Learn a part's wear from its base interval and what was found since.

    t0_days: the base interval, above 0, in the units of the clock. findings: of one part,
    material, berth and water, all by that clock; none is the belief that one base interval
    in ten ends at or past the limit.
    Raises QuantityError naming t0_days, findings, or the field of a finding at fault.
    Source: module docstring.
    """
    base = check_above("t0_days", t0_days)
    if isinstance(findings, str | bytes) or not isinstance(findings, Sequence):
        raise QuantityError("findings", "is not a list of findings")
    shape, rate = PRIOR_SHAPE, find_prior_rate()
    bounds = []
    for finding in findings:
        if isinstance(finding, WearFinding):
            more_shape, wear = _read_finding(finding, base)
            shape, rate = shape + more_shape, rate + wear
        else:
            bounds.append(_read_bound(finding, base))
    nodes = _weigh_nodes(shape, rate, bounds) if bounds else ()
    return WearRate(shape=shape, rate=rate, nodes=nodes)


@cache
def find_prior_rate() -> float:
    """Find the rate of the belief before any finding [1/wear].

    Such that the base interval ends at or past the limit with the accepted chance.
    Source: module docstring.
    """
    return invert_beta_odds(PRIOR_SHAPE, SHAPE_PER_INTERVAL, ACCEPTED_CHANCE)


def estimate_chance_worn(wear: WearRate, *, intervals: float, room: float) -> float:
    """Estimate the chance that wear has grown by the room there is [0-1].

    intervals: base intervals ahead, above 0. room: wear left to the limit, above 0.
    Raises QuantityError. Source: module docstring.
    """
    shape = SHAPE_PER_INTERVAL * check_above("intervals", intervals)
    level = check_above("room", room)
    if not wear.nodes:
        return integrate_beta(wear.shape, shape, wear.rate / (wear.rate + level))
    beyond = sum(weight * split_gamma(shape, rate * level)[1] for rate, weight in wear.nodes)
    return min(1.0, beyond)


def _read_finding(finding: WearFinding, base: float) -> tuple[float, float]:
    """Give the shape its span adds, and the wear that came in it."""
    shape = _check_span("span_days", finding.span_days, base)
    start = check_below_one("wear_from", finding.wear_from)
    end = check_within("wear_to", finding.wear_to, 0, MOST_WEAR)
    if end < start - LOST_WEAR - LOST_SLACK:
        raise QuantityError("wear_to", f"{end:g} is below {start:g}; record the clean between")
    return shape, max(0.0, end - start)


def _check_span(key: str, span: float, base: float) -> float:
    """Give the shape of the wear over a span."""
    return SHAPE_PER_INTERVAL * check_above(key, span, LEAST_SPANS * base, MOST_SPANS * base) / base


def _read_bound(finding: object, base: float) -> _Bound:
    if isinstance(finding, WearBounds):
        return _read_bounds(finding, base)
    if isinstance(finding, LimitCrossing):
        return _read_crossing(finding, base)
    raise QuantityError("findings", f"{finding!r:.40} is not a finding")


def _read_bounds(finding: WearBounds, base: float) -> _Bound:
    shape = _check_span("span_days", finding.span_days, base)
    start = check_below_one("wear_from", finding.wear_from)
    low, high = finding.wear_lo, finding.wear_hi
    if low is None and high is None:
        raise QuantityError("wear_hi", "write wear_lo, wear_hi or both")
    least = 0.0 if low is None else check_within("wear_lo", low, 0, MOST_WEAR)
    most = inf if high is None else check_within("wear_hi", high, 0, MOST_WEAR)
    if most <= start:
        raise QuantityError("wear_hi", f"{most:g} is not above {start:g}, where it began")
    if most <= least:
        raise QuantityError("wear_lo", f"{least:g} is not below {most:g}")
    level = max(0.0, least - start)
    return _Bound(shape=shape, level=level, other_shape=shape, other_level=most - start)


def _read_crossing(finding: LimitCrossing, base: float) -> _Bound:
    below = _check_span("below_at_days", finding.below_at_days, base)
    past = _check_span("past_at_days", finding.past_at_days, base)
    room = 1 - check_below_one("wear_from", finding.wear_from)
    if past <= below:
        raise QuantityError("past_at_days", "write a later look than below_at_days")
    return _Bound(shape=past, level=room, other_shape=below, other_level=room)


def _weigh_nodes(
    shape: float, rate: float, bounds: Sequence[_Bound]
) -> tuple[tuple[float, float], ...]:
    """Weigh for a sum by the trapezoid rule in the logarithm of the rate; the ends are nothing."""
    for reach in REACHES:
        logs = _weigh_logs(shape, rate, bounds, reach)
        top = max(weight for _, weight in logs)
        if max(logs[0][1], logs[-1][1]) < top + log(LEAST_END):
            break
    else:
        raise QuantityError("findings", "contradict the base interval; set it anew")
    weights = [(node, exp(weight - top)) for node, weight in logs]
    total = sum(weight for _, weight in weights)
    return tuple((node, weight / total) for node, weight in weights if weight > LEAST_WEIGHT)


def _weigh_logs(
    shape: float, rate: float, bounds: Sequence[_Bound], reach: float
) -> list[tuple[float, float]]:
    """Give each node and the logarithm of its weight."""
    narrowest = sqrt(shape + sum(bound.shape for bound in bounds))
    count = ceil(reach * narrowest / STEP)
    centre = log(shape / rate)
    logs = []
    for place in range(-count, count + 1):
        log_node = centre + reach * place / count
        node = exp(log_node)
        likelihood = sum(_find_log(_find_likelihood(bound, node)) for bound in bounds)
        logs.append((node, shape * log_node - rate * node + likelihood))
    return logs


def _find_log(chance: float) -> float:
    return log(chance) if chance > 0 else -inf


def _find_likelihood(bound: _Bound, node: float) -> float:
    within, beyond = split_gamma(bound.shape, node * bound.level)
    if bound.other_level == inf:
        return beyond
    other_within, other_beyond = split_gamma(bound.other_shape, node * bound.other_level)
    return beyond - other_beyond if beyond < 0.5 else other_within - within
