"""Civil dates: months that clip, stamps printed on parts, yearly anchors. No times, no zones.

Month clipping is that of dateutil.relativedelta (tested against it). How a stamp of a year
or a month is read: common practice, no source.
"""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from upkeep.errors import QuantityError

MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_STAMP = re.compile(r"(\d{4})(?:-(\d{2}))?(?:-(\d{2}))?", re.ASCII)
_MONTH_DAY = re.compile(r"(\d{2})-(\d{2})", re.ASCII)


@dataclass(frozen=True, kw_only=True, slots=True)
class Stamp:
    """A date as printed on a part: first and last are the days it spans; text as written."""

    first: date
    last: date
    text: str


@dataclass(frozen=True, kw_only=True, slots=True)
class MonthDay:
    """A day of every year; 29 February falls on the 28th in common years."""

    month: int
    day: int

    def in_year(self, year: int) -> date:
        """Give this day in one year."""
        if self.day <= 28:
            return date(year, self.month, self.day)
        return date(year, self.month, min(self.day, _month_length(year, self.month)))

    def __str__(self) -> str:
        """Write it as records do, MM-DD."""
        return f"{self.month:02}-{self.day:02}"


def parse_day(text: str, key: str = "day") -> date:
    """Read an ISO date. Raises QuantityError naming key."""
    try:
        if len(text) != 10 or "W" in text:  # a week date is not how records write a day
            raise ValueError(text)
        return date.fromisoformat(text)
    except ValueError:
        raise QuantityError(key, f"{text} is not a day; write YYYY-MM-DD") from None


def parse_month_day(text: str, key: str = "anchor") -> MonthDay:
    """Read "MM-DD". Raises QuantityError naming key."""
    match = _MONTH_DAY.fullmatch(text)
    month, day = (int(match[1]), int(match[2])) if match else (0, 0)
    if not (1 <= month <= 12 and 1 <= day <= _month_length(2000, month)):
        raise QuantityError(key, f"{text} is not a day of the year; write MM-DD")
    return MonthDay(month=month, day=day)


def parse_stamp(text: str) -> Stamp:
    """Read "YYYY", "YYYY-MM" or "YYYY-MM-DD". Raises QuantityError on "stamp"."""
    match = _STAMP.fullmatch(text)
    if match is None or match[1] == "0000":
        raise QuantityError("stamp", f"{text} is not a date; write YYYY, YYYY-MM or YYYY-MM-DD")
    month, day = (int(part) if part else None for part in match.groups()[1:])
    try:
        first = date(int(match[1]), 1 if month is None else month, 1 if day is None else day)
    except ValueError:
        raise QuantityError("stamp", f"{text} is not in the calendar") from None
    if day is not None:
        return Stamp(first=first, last=first, text=text)
    end_month = month or 12
    last = date(first.year, end_month, _month_length(first.year, end_month))
    return Stamp(first=first, last=last, text=text)


def add_months(anchor: date, months: int, key: str = "months") -> date:
    """Add months and clip to the month's last day: 31 January + 1 is 28 February.

    Always count from the anchor; stepping from a clipped day drifts.
    Raises QuantityError naming key where the calendar ends (years 1 to 9999).
    """
    index = anchor.year * 12 + anchor.month - 1 + months
    year, month = index // 12, index % 12 + 1
    if not 1 <= year <= 9999:
        raise QuantityError(key, f"{months} months from {anchor} leaves the calendar")
    day = anchor.day
    if day > 28:
        day = min(day, _month_length(year, month))
    return date(year, month, day)


def find_month_due(anchor: date, months: int, times: int = 1) -> date:
    """Find the day of the times-th repeat, every `months` (1 or more) from the anchor."""
    for key, value in (("months", months), ("times", times)):
        if value < 1:
            raise QuantityError(key, f"{value} is not 1 or more")
    first = add_months(anchor, months)
    return first if times == 1 else add_months(anchor, months * times, "times")


def find_last_valid_day(stamp: Stamp, life_months: int = 0) -> date:
    """Find the last day a stamped part may be used.

    The life is added at the stamp's own precision, then rounded to its end:
    a month stamp ends on that month's last day, a year stamp on 31 December.
    """
    if life_months < 0:
        raise QuantityError("life_months", f"{life_months} is below 0")
    if life_months == 0 or stamp.first == stamp.last:
        return add_months(stamp.last, life_months, "life_months")
    month = add_months(stamp.last.replace(day=1), life_months, "life_months")
    return month.replace(day=_month_length(month.year, month.month))


def find_first_end_day(stamp: Stamp, life_months: int = 0) -> date:
    """Find the last valid day read cautiously: the life counts from the stamp's first day."""
    if life_months < 0:
        raise QuantityError("life_months", f"{life_months} is below 0")
    return add_months(stamp.first, life_months, "life_months")


def find_season_due(
    done: date, anchor: MonthDay, *, window_days: int = 0, offset_days: int = 0
) -> date:
    """Find the next yearly due day after work done on a day.

    Work done up to window_days before the anchor counts for that year's.
    offset_days is added to the anchor found. Raises QuantityError on "window_d" below 0, and
    on "done", "window_d" or "offset_d" where the calendar ends.
    """
    if window_days < 0:
        raise QuantityError("window_d", f"{window_days} is below 0")
    earliest = _add_days(done, window_days, "window_d")
    for year in range(earliest.year, min(earliest.year + 2, 10_000)):
        if anchor.in_year(year) > earliest:
            return _add_days(anchor.in_year(year), offset_days, "offset_d")
    raise QuantityError("done", f"the season after {done} is not in the calendar")


def find_earliest(days: Iterable[date | None]) -> date | None:
    """Find the earliest day of several clocks; None where none gives one."""
    return min((day for day in days if day is not None), default=None)


def say_day(day: date, *, style: Literal["full", "short"] = "full") -> str:
    """Write a day for a reader: "14 July 2027", or "14 Jul" for tables."""
    name = MONTH_NAMES[day.month - 1]
    return f"{day.day} {name} {day.year}" if style == "full" else f"{day.day} {name[:3]}"


def _add_days(day: date, days: int, key: str) -> date:
    try:
        return day + timedelta(days=days)
    except OverflowError:
        raise QuantityError(key, f"{days} days from {day} leave the calendar") from None


def _month_length(year: int, month: int) -> int:
    return monthrange(year, month)[1] if month == 2 else _LENGTHS[month - 1]
