"""Evidence: how findings move an interval, and the chance that a part is at its limit by a day.

Model, constants and bounds ours, over the gamma process of wear_rate. An interval moved by
evidence plans work; it is a bounded estimate, not an optimum.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from upkeep.physics.ranges import check_above, check_within
from upkeep.physics.wear_rate import (
    ACCEPTED_CHANCE,
    MOST_SPANS,
    MOST_WEAR,
    Evidence,
    WearRate,
    estimate_chance_worn,
    learn_wear_rate,
)

LEAST_FACTOR = 0.5  # of the base interval; ours
MOST_FACTOR = 2.0  # of the base interval; ours
SAFETY_LEAST_FACTOR = 0.1  # for tasks that safety hangs on; ours
FEWEST_INTERVALS, MOST_INTERVALS = 1e-9, 200.0  # where a root is looked for
PRECISION = 1e-12  # of a root, in base intervals
ROOT_STEPS = 200


@dataclass(frozen=True, kw_only=True, slots=True)
class MovedInterval:
    """An interval moved by evidence.

    evidence_days: what the findings say by themselves. interval_days: what is planned; both
    in the units of the clock, and both to be shown unless clamped is "none". clamped: "low"
    or "high" where a factor of the base interval held it, "hard" where the hard limit did.
    """

    evidence_days: float
    interval_days: float
    clamped: Literal["none", "low", "high", "hard"]

    @property
    def asks_for_new_base(self) -> bool:
        """Whether findings are worse than what is planned: the base interval is too long."""
        return self.interval_days > self.evidence_days


def estimate_interval(
    *,
    t0_days: float,
    findings: Sequence[Evidence],
    wear_after_clean: float = 0.0,
    hard_limit_days: float | None = None,
    least_factor: float = LEAST_FACTOR,
    most_factor: float = MOST_FACTOR,
) -> MovedInterval:
    """Estimate the interval after which one part in ten is at its limit [units of the clock].

    t0_days, findings: as learn_wear_rate. wear_after_clean: 0 to 5, where a partial clean
    left it, or the present wear of a running interval, whose remaining time is then given;
    from 1 on it is due now. hard_limit_days: above 0, a regulation's, expiry's or maker's
    maximum, applied last and never exceeded; None: there is none. least_factor: above 0 to
    1; most_factor: 1 or more, of the base interval for a part fully cleaned. Without findings
    a full clean gives the base interval.
    Raises QuantityError. Source: module docstring.
    """
    wear = learn_wear_rate(t0_days=t0_days, findings=findings)
    room = 1 - check_within("wear_after_clean", wear_after_clean, 0, MOST_WEAR)
    hard = None if hard_limit_days is None else check_above("hard_limit_days", hard_limit_days)
    least = check_above("least_factor", least_factor, high=1)
    most = check_within("most_factor", most_factor, 1)
    full = _find_intervals(wear, 1.0) if findings else 1.0
    ratio = full if room == 1 else _find_intervals(wear, room)
    moved = _clamp(t0_days, ratio, full, min(most, max(least, full)))
    return moved if hard is None else _hold(moved, hard)


def estimate_chance(
    *,
    t0_days: float,
    findings: Sequence[Evidence],
    ahead_days: float,
    wear_now: float = 0.0,
) -> float:
    """Estimate the chance that a part is at or past its limit some time from now [0-1].

    t0_days, findings: as learn_wear_rate. ahead_days: 0 to 1000 base intervals, in the
    units of the clock. wear_now: 0 to 5; from 1 on the chance is 1.
    Raises QuantityError. Source: module docstring.
    """
    wear = learn_wear_rate(t0_days=t0_days, findings=findings)
    ahead = check_within("ahead_days", ahead_days, 0, MOST_SPANS * t0_days)
    room = 1 - check_within("wear_now", wear_now, 0, MOST_WEAR)
    if room <= 0:
        return 1.0
    intervals = ahead / t0_days
    return estimate_chance_worn(wear, intervals=intervals, room=room) if intervals else 0.0


def _clamp(base: float, ratio: float, full: float, held: float) -> MovedInterval:
    """Scale an interval as the one after a full clean is scaled from full to held."""
    if held == full or ratio == 0:
        return MovedInterval(evidence_days=base * ratio, interval_days=base * ratio, clamped="none")
    return MovedInterval(
        evidence_days=base * ratio,
        interval_days=base * (held * (ratio / full)),
        clamped="low" if held > full else "high",
    )


def _hold(moved: MovedInterval, hard: float) -> MovedInterval:
    if moved.interval_days <= hard:
        return moved
    return MovedInterval(evidence_days=moved.evidence_days, interval_days=hard, clamped="hard")


def _find_intervals(wear: WearRate, room: float) -> float:
    """Find the base intervals after which the chance of having used the room is the accepted."""
    if room <= 0:
        return 0.0

    def excess(intervals: float) -> float:
        return estimate_chance_worn(wear, intervals=intervals, room=room) - ACCEPTED_CHANCE

    low = high = 1.0
    while excess(high) < 0:
        if high == MOST_INTERVALS:
            return high
        low, high = high, min(MOST_INTERVALS, 2 * high)
    while excess(low) >= 0:
        if low == FEWEST_INTERVALS:
            return low
        low, high = max(FEWEST_INTERVALS, low / 2), low
    return _find_root(excess, low, high)


def _find_root(excess: Callable[[float], float], low: float, high: float) -> float:
    """Close in on where a rising function passes 0: false position, Illinois variant (MEMORY)."""
    below, above = excess(low), excess(high)
    was_below = was_above = False
    for _ in range(ROOT_STEPS):
        if high - low <= PRECISION:
            break
        there = high - above * (high - low) / (above - below)
        there = there if low < there < high else (low + high) / 2
        value = excess(there)
        if value < 0:
            low, below, above = there, value, above / 2 if was_below else above
        else:
            high, above, below = there, value, below / 2 if was_above else below
        was_below, was_above = value < 0, value >= 0
    return high
