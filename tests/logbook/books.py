"""Facts, times and strategies for the tests of the logbook."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from upkeep.logbook import Draft

ROOT = Path(__file__).parents[2]
NOON = datetime(2026, 5, 1, 12, tzinfo=UTC)


def work(number: int = 0, **more: Any) -> dict[str, Any]:
    """Facts of work done; each number gives others."""
    return {"task": "strainer/clean-basket", "on": "2026-05-01", "minutes": number, **more}


def draft(number: int = 0, vessel: str = "skua", seconds: float = 0) -> Draft:
    """Work to record, a number of seconds after noon."""
    at = NOON + timedelta(seconds=seconds)
    return Draft(vessel=vessel, kind="done", facts=work(number), recorded_at=at)


scalars = (
    st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.booleans()
)
any_facts = st.dictionaries(
    st.text(st.characters(exclude_categories=["Cs"]), max_size=6),
    scalars | st.none() | st.lists(scalars | st.none(), max_size=3).map(tuple),
    max_size=5,
)
instants = st.integers(-60 * 10**15, 2 * 10**17).map(
    lambda microseconds: NOON + timedelta(microseconds=microseconds)
)  # of the years 125 to 8363
