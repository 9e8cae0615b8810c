"""What findings teach: how far a limit moves by what was seen, by the purpose of the work.

Wear: upkeep.physics.evidence. Proof tests: failures at a steady rate with a conjugate prior worth
one failure in the mean life that the interval was made for; constants ours.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from upkeep.physics.evidence import (
    LEAST_FACTOR,
    MOST_FACTOR,
    SAFETY_LEAST_FACTOR,
    estimate_interval,
)
from upkeep.physics.wear_rate import LOST_WEAR, Evidence, WearBounds, WearFinding

LIMIT_WEAR = 1.0
INSPECT_MOST = 1.0  # of the base limit: a look is never put off; ours
UNREADY_SHARE = 0.02  # of time a tested function may stand failed; common practice, no source
LARGEST_SPAN = 900.0  # base intervals; a longer run says nothing of its wear


@dataclass(frozen=True, kw_only=True, slots=True)
class Look:
    """What one look found at the end of a run.

    span: base limits run since the look before. wear_from: left then. wear: seen, or None where
    only bounds are known. low, high: those bounds, None where there is none. left: wear when the
    work was over; a look alone leaves what it saw.
    """

    span: float
    wear_from: float
    wear: float | None
    low: float | None = None
    high: float | None = None
    left: float = 0.0

    @property
    def seen(self) -> float:
        """Give the wear to go on from: as seen, else the lower bound."""
        return self.wear if self.wear is not None else self.low or 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Learned:
    """How far a limit may run now, and after a full restoration, in base limits.

    evidence: what the findings say of now without any bound. bound: none, low, high or hard, what
    held it. count: the looks it rests on.
    """

    now: float
    later: float
    evidence: float
    bound: str
    count: int


@lru_cache(maxsize=65536)
def learn(purpose: str, looks: tuple[Look, ...], *, firm: bool) -> Learned:
    """Learn how far a limit may run from what was found.

    purpose: restore, inspect, prove or renew. looks: in their order; empty ones are not asked
    for. firm: a limit that may only shorten (required, printed, or of the vessel's own books).
    """
    if purpose == "prove":
        return _learn_tests(looks, firm)
    least, most = (
        (SAFETY_LEAST_FACTOR, INSPECT_MOST) if purpose == "inspect" else (LEAST_FACTOR, MOST_FACTOR)
    )
    hard = 1.0 if firm or purpose == "renew" else None
    findings = [_as_evidence(look) for look in looks]
    wear = min(looks[-1].left, 5.0)
    moved = estimate_interval(
        t0_days=1.0, findings=findings, wear_after_clean=wear, hard_limit_days=hard,
        least_factor=least, most_factor=most,
    )  # fmt: skip
    fresh = moved if wear == 0 else estimate_interval(
        t0_days=1.0, findings=findings, hard_limit_days=hard, least_factor=least,
        most_factor=most,
    )  # fmt: skip
    now, bound = moved.interval_days, moved.clamped
    if purpose == "inspect" and now < SAFETY_LEAST_FACTOR:
        now, bound = SAFETY_LEAST_FACTOR, "low"
    return Learned(
        now=now, later=fresh.interval_days, evidence=moved.evidence_days, bound=bound,
        count=len(looks),
    )  # fmt: skip


def _as_evidence(look: Look) -> Evidence:
    if look.wear is not None:
        return WearFinding(span_days=look.span, wear_to=look.wear, wear_from=look.wear_from)
    return WearBounds(
        span_days=look.span, wear_lo=look.low, wear_hi=look.high, wear_from=look.wear_from
    )


def _learn_tests(looks: Sequence[Look], firm: bool) -> Learned:
    """Shorten at once on a failed test; lengthen only as passes add up.

    The mean life goes from 1 / (2 U) base limits to (1 / (2 U) + time tested) / (1 + failures).
    """
    tested = sum(look.span for look in looks)
    failures = sum(look.seen >= LIMIT_WEAR for look in looks)
    evidence = (1 + 2 * UNREADY_SHARE * tested) / (1 + failures)
    now, bound = evidence, "none"
    if evidence < SAFETY_LEAST_FACTOR:
        now, bound = SAFETY_LEAST_FACTOR, "low"
    elif firm and evidence > 1:
        now, bound = 1.0, "hard"
    elif evidence > MOST_FACTOR:
        now, bound = MOST_FACTOR, "high"
    return Learned(now=now, later=now, evidence=evidence, bound=bound, count=len(looks))


def is_unrecorded_clean(wear_from: float, wear: float) -> bool:
    """Tell whether less wear than before means that somebody cleaned and did not say so."""
    return wear < wear_from - LOST_WEAR
