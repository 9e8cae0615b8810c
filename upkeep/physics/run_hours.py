"""Run-hours: from hour-meter readings to a daily rate and the days a service may fall due.

Rate: the median slope of all pairs of readings; one misread dial hardly moves it.
Source: P. K. Sen, J. Am. Stat. Assoc. 63 (1968), 1379-1389, by an encyclopaedia article.
Pooling with the stated use and the forecast: models ours.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations, pairwise
from math import inf, isfinite
from statistics import median

from upkeep.errors import QuantityError
from upkeep.physics.ranges import check_above, check_within
from upkeep.physics.special import invert_beta_odds
from upkeep.physics.whole_days import find_last_whole_day

PRIOR_WEIGHT_D = 90.0  # the stated use counts as so many days; common practice, no source
SESSION_H = 2.0  # one outing; common practice, no source
SLOPES_FROM = 4  # readings; below, pool with the stated use
DAY_H = 24
SLACK_H = 1e-9


@dataclass(frozen=True, kw_only=True, slots=True)
class MeterChange:
    """An hour meter replaced: what the old one said, and the new one, on that day [h]."""

    on: date
    old_hours: float
    new_hours: float


@dataclass(frozen=True, kw_only=True, slots=True)
class HoursForecast:
    """When the remaining hours are used up: one chance in ten, even, nine in ten.

    d10_days, d50_days, d90_days: from today, 0 or more. date10, date50, date90: a date is
    None where the calendar ends first. Plan on the first.
    """

    d10_days: float
    date10: date | None
    d50_days: float
    date50: date | None
    d90_days: float
    date90: date | None


def estimate_rate_from_readings(*, readings: Sequence[tuple[date, float]]) -> float:
    """Estimate use from (date, hours) readings [h/day], 0 to 24.

    Two or more, dates strictly rising, hours not falling, at most 24 a day. Raises
    QuantityError on "readings". Source: Sen, module docstring.
    """
    days = [float(on.toordinal()) for on, _ in readings]
    return estimate_rate_from_slopes(days, [hours for _, hours in readings])


def estimate_rate_from_slopes(days: Sequence[float], hours: Sequence[float]) -> float:
    """Estimate use from readings whose days are numbers, such as days afloat [h/day].

    Conditions, errors and source as estimate_rate_from_readings.
    """
    pairs = _check_readings(days, hours)
    if len(pairs) < 2:
        raise QuantityError("readings", f"{len(pairs)} reading; write two or more")
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in combinations(pairs, 2)]
    return min(float(DAY_H), median(slopes))  # rounding may land just above


def pool_rate(
    *,
    prior_h_per_day: float,
    observed_hours: float,
    observed_days: float,
    prior_weight_d: float = PRIOR_WEIGHT_D,
) -> float:
    """Pool the stated use with what the meter ran [h/day].

    prior_h_per_day: 0 to 24. observed_days: 0 or more. observed_hours: 0 to 24 a day.
    prior_weight_d: above 0, the days the stated use counts for. Raises QuantityError.
    Source: model ours.
    """
    hours, days = _pool(prior_h_per_day, prior_weight_d, observed_hours, observed_days)
    return hours / days


def estimate_rate(
    days: Sequence[float],
    hours: Sequence[float],
    *,
    prior_h_per_day: float,
    prior_weight_d: float = PRIOR_WEIGHT_D,
) -> float:
    """Estimate use the better way for the readings there are [h/day], 0 to 24.

    Pools below four readings (none at all: the stated use), takes the median slope from
    four on. Conditions and errors as estimate_rate_from_slopes and pool_rate. Source: as
    theirs; that four are enough is common practice, no source.
    """
    if len(days) >= SLOPES_FROM:
        return estimate_rate_from_slopes(days, hours)
    pairs = _check_readings(days, hours)
    first, last = (pairs[0], pairs[-1]) if pairs else ((0.0, 0.0), (0.0, 0.0))
    return pool_rate(
        prior_h_per_day=prior_h_per_day,
        prior_weight_d=prior_weight_d,
        observed_hours=last[1] - first[1],
        observed_days=last[0] - first[0],
    )


def join_meters(
    readings: Sequence[tuple[date, float] | MeterChange],
) -> tuple[tuple[date, float], ...]:
    """Give (date, total hours) as if the first meter had never been replaced.

    A reading may fall on the day of a change, otherwise dates rise. Raises QuantityError on
    "readings" where the hours fall without a recorded change: never a silent reset.
    Source: arithmetic.
    """
    offset, shown, before = 0.0, -inf, date.min
    is_after_change, joined = True, []
    for record in readings:
        on, old_hours, new_hours = _spread(record)
        is_change = isinstance(record, MeterChange)
        _check_step(before, shown, on, old_hours, same_day=is_after_change or is_change)
        joined.append((on, offset + old_hours))
        offset += old_hours - new_hours
        before, shown, is_after_change = on, new_hours, is_change
    return tuple(joined)


def find_total_hours(*, readings: Sequence[tuple[date, float] | MeterChange]) -> float:
    """Find the hours run by the latest record, over all meters [h].

    One or more records; conditions, errors and source as join_meters.
    """
    joined = join_meters(readings)
    if not joined:
        raise QuantityError("readings", "none; write one or more")
    return joined[-1][1]


def forecast_days(
    *,
    remaining_h: float,
    prior_h_per_day: float,
    observed_hours: float,
    observed_days: float,
    session_h: float = SESSION_H,
    prior_weight_d: float = PRIOR_WEIGHT_D,
) -> tuple[float, float, float] | None:
    """Forecast the days until the remaining hours are used: 10, 50 and 90 % chance.

    remaining_h: above 0 (at 0 it is due now). session_h: above 0 to 24, one outing. Others
    as pool_rate. Outings arrive at a daily rate that is itself uncertain. Returns None for a
    boat neither used nor expected to be. Raises QuantityError. Source: model ours.
    """
    remaining = check_above("remaining_h", remaining_h)
    session = check_above("session_h", session_h, high=DAY_H)
    hours, days = _pool(prior_h_per_day, prior_weight_d, observed_hours, observed_days)
    if hours == 0:
        return None
    ten, half, ninety = (
        days * invert_beta_odds(remaining / session, hours / session, chance)
        for chance in (0.1, 0.5, 0.9)
    )
    return ten, half, ninety


def forecast_dates(
    *,
    remaining_h: float,
    prior_h_per_day: float,
    observed_hours: float,
    observed_days: float,
    today: date,
    session_h: float = SESSION_H,
    prior_weight_d: float = PRIOR_WEIGHT_D,
) -> HoursForecast | None:
    """Forecast the dates on which the remaining hours are used, boat afloat throughout.

    Inputs, None, errors and source as forecast_days; dates by the whole-day rule.
    """
    days = forecast_days(
        remaining_h=remaining_h,
        prior_h_per_day=prior_h_per_day,
        observed_hours=observed_hours,
        observed_days=observed_days,
        session_h=session_h,
        prior_weight_d=prior_weight_d,
    )
    if days is None:
        return None
    date10, date50, date90 = (find_last_whole_day(today, span) for span in days)
    return HoursForecast(
        d10_days=days[0],
        date10=date10,
        d50_days=days[1],
        date50=date50,
        d90_days=days[2],
        date90=date90,
    )


def _check_readings(days: Sequence[float], hours: Sequence[float]) -> list[tuple[float, float]]:
    if len(days) != len(hours):
        raise QuantityError("readings", f"{len(days)} days but {len(hours)} hours")
    pairs = [
        (check_within("readings", day), check_within("readings", hour, 0))
        for day, hour in zip(days, hours, strict=True)
    ]
    for (day, hour), (next_day, next_hour) in pairwise(pairs):
        if next_day <= day:
            raise QuantityError("readings", "dates must rise from one reading to the next")
        if not hour <= next_hour <= hour + DAY_H * (next_day - day) + SLACK_H:
            raise QuantityError("readings", f"{next_hour:g} h cannot follow {hour:g} h")
    return pairs


def _spread(record: tuple[date, float] | MeterChange) -> tuple[date, float, float]:
    """Give a record's day, and what the meter shows before and after it."""
    if isinstance(record, MeterChange):
        new_hours = check_within("readings", record.new_hours, 0)
        return record.on, check_within("readings", record.old_hours, 0), new_hours
    hours = check_within("readings", record[1], 0)
    return record[0], hours, hours


def _check_step(before: date, shown: float, on: date, hours: float, *, same_day: bool) -> None:
    days = (on - before).days
    if days < 0 or (days == 0 and not same_day):
        raise QuantityError("readings", f"write a date after {before}")
    if isfinite(shown) and not shown <= hours <= shown + DAY_H * max(days, 1) + SLACK_H:
        raise QuantityError("readings", f"{hours:g} h on {on} cannot follow {shown:g} h")


def _pool(
    prior_h_per_day: float, prior_weight_d: float, observed_hours: float, observed_days: float
) -> tuple[float, float]:
    prior = check_within("prior_h_per_day", prior_h_per_day, 0, DAY_H)
    weight = check_above("prior_weight_d", prior_weight_d)
    days = check_within("observed_days", observed_days, 0)
    hours = check_within("observed_hours", observed_hours, 0, DAY_H * days + SLACK_H)
    return prior * weight + hours, weight + days
