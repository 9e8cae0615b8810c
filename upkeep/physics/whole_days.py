"""Whole days: from a span in days to the last day on which a limit has not been passed.

The start day counts 0; a limit met exactly keeps its day. Rule ours.
"""

from __future__ import annotations

from datetime import date, timedelta
from math import floor

from upkeep.errors import QuantityError

SLACK_DAYS = 1e-9  # rounding never costs a day


def find_last_whole_day(start: date, days: float) -> date | None:
    """Find the last day not past start + days (0 or more).

    Returns None where the calendar ends first: this clock alone gives no date.
    Raises QuantityError on "days". Source: ours, module docstring.
    """
    if not days >= 0:
        raise QuantityError("days", f"{days} is below 0")
    if days > (date.max - start).days:
        return None
    return start + timedelta(days=floor(days + SLACK_DAYS))
