"""When a task comes round, in words that depend on no day but the edition's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from upkeep.clocks.fouling import find_class_factor, monthly_rates
from upkeep.dates import MonthDay, say_day
from upkeep.handbook.material import Job, Material
from upkeep.handbook.wording import say_all, say_count, say_months, say_percent
from upkeep.model import CALENDAR_LIMITS, SEASON_LIMITS, ReadingLimit, Reason, Season

WARM_SHARE = 0.5  # of the warmest month's growth: a month counts as warm (practice, no source)
OFTEN_DAYS = 62  # tasks that come sooner again are not listed by month; ours, no source
_YEAR_DAYS = 366
_CALENDAR_DAYS = {"days": 1, "weeks": 7, "months": 30}
_UNIT_ENDINGS = ("_l_per_min", "_mohm", "_ohm", "_mv", "_ma", "_v", "_a", "_c", "_g", "_h", "_k")
OCCASIONS: Mapping[str, str] = {
    "start": "each time before you start up",
    "leaving": "each time you leave her",
    "return": "each time you come back to her",
    "connection": "each time you connect a supply",
    "fuelling": "each time you take fuel",
    "after_work": "after any work on it",
}
PURPOSE_WORDS: Mapping[str, str] = {
    "restore": "It wears or fills up in use. This brings it back.",
    "inspect": "To see the first sign of trouble in time.",
    "prove": "To know that it works before you need it.",
    "renew": "Its life ends, even when it looks good.",
}


def say_rhythm(job: Job, material: Material) -> str:
    """Say when a job comes round: "every 30 warm days, usually May to September"."""
    if job.task is None:
        return say_all([OCCASIONS[event] for event in job.rule.each])
    limits = [_say_limit(reason, job, material) for reason in _drop_longer(job.task.reasons)]
    words = list(dict.fromkeys(filter(None, limits)))
    if not words:
        return "as the maker's book says: no figure is recorded"
    if len(words) == 1:
        return words[0]
    return f"{'; or '.join(words)}: whichever comes first"


def _drop_longer(reasons: Sequence[Reason]) -> list[Reason]:
    """Leave out a calendar limit that a shorter one always comes before."""
    spans = {
        reason.clock: float(reason.limit) * _CALENDAR_DAYS[reason.clock]
        for reason in reasons
        if reason.clock in _CALENDAR_DAYS and isinstance(reason.limit, int | float)
    }
    shortest = min(spans.values(), default=0.0)
    return [reason for reason in reasons if spans.get(reason.clock, shortest) <= shortest]


def _say_limit(reason: Reason, job: Job, material: Material) -> str:
    clock, limit = reason.clock, reason.limit
    if clock == "expiry":
        return reason.text
    if clock == "reading":
        return _say_reading(job, material)
    if not isinstance(limit, int | float):
        return ""  # a move by place is no rhythm
    return _say_number(clock, limit, job, material)


def _say_number(clock: str, limit: float, job: Job, material: Material) -> str:
    if clock in SEASON_LIMITS:
        return _say_season(clock, int(limit))
    if clock in CALENDAR_LIMITS:
        return _say_calendar(clock, int(limit), job)
    if clock == "fouling_days":
        months = find_warm_months(material)
        usually = "" if len(months) == 12 else f", usually {say_months(months)}"
        return f"every {limit:g} warm days{usually}"
    return _MEASURED[clock].format(number=f"{limit:g}", share=say_percent(limit))


_MEASURED: Mapping[str, str] = {
    "run_hours": "every {number} hours run",
    "afloat_days": "every {number} days afloat",
    "charge_to": "in storage, before the charge falls to {share}",
    "anode_used": "when {share} of it is gone",
}


def _say_calendar(clock: str, count: int, job: Job) -> str:
    if job.rule.purpose == "renew":
        return f"{say_count(count, clock)} from new"
    every = f"every {clock[:-1]}" if count == 1 else f"every {count} {clock}"
    return f"{every} in storage" if is_storage(job) else every


def _say_reading(job: Job, material: Material) -> str:
    override = material.vessel.overrides.get((job.component.id, job.rule.id))
    limits = {**job.rule.limits, **(override.limits if override else {})}
    limit = limits.get("reading")
    kinds = {kind.name: kind for kind in job.component.kind.readings}
    if not isinstance(limit, ReadingLimit) or limit.name not in kinds:
        return ""
    bound, side = (limit.above, "above") if limit.above is not None else (limit.below, "below")
    if bound is None:
        return ""
    unit = kinds[limit.name].unit
    said = say_percent(bound) if limit.of_commissioning else material.show(bound, unit)
    share = " of the first reading" if limit.of_commissioning else ""
    return f"at once when {name_reading(limit.name)} is {side} {said}{share}"


def name_reading(name: str) -> str:
    """Say a reading's name without its unit: "overboard flow"."""
    for ending in _UNIT_ENDINGS:
        if name.endswith(ending):
            return name.removesuffix(ending).replace("_", " ")
    return name.replace("_", " ")


def _say_season(clock: str, count: int) -> str:
    side, _, event = clock.removesuffix("_days").partition("_")
    event = event.replace("_", "-")
    return f"{say_count(count, 'days')} {side} {event}" if count else f"on the day of {event}"


def is_storage(job: Job) -> bool:
    """Tell whether a job is to look at a bank while she lies."""
    return (
        "charge_to" in job.rule.limits
        and job.task is not None
        and any(reason.clock == "charge_to" for reason in job.task.reasons)
    )


def find_warm_months(material: Material) -> frozenset[int]:
    """Find the months (1 to 12) afloat with at least half the growth of the warmest one."""
    rates = monthly_rates(material.water.monthly_c, find_class_factor(material.water))
    afloat = find_months_afloat(material.vessel.season)
    most = max((rates[month - 1] for month in afloat), default=0.0)
    return frozenset(month for month in afloat if rates[month - 1] >= WARM_SHARE * most)


def find_months_afloat(season: Season | None) -> frozenset[int]:
    """Find the months (1 to 12) whose middle day is afloat in a usual year."""
    if season is None:
        return frozenset(range(1, 13))
    launch, lay_up = _key(season.launch), _key(season.lay_up)
    middles = [(month, 15) for month in range(1, 13)]
    if launch == lay_up:
        return frozenset(range(1, 13))
    if launch < lay_up:
        return frozenset(m[0] for m in middles if launch <= m < lay_up)
    return frozenset(m[0] for m in middles if m >= launch or m < lay_up)


def _key(day: MonthDay) -> tuple[int, int]:
    return day.month, day.day


def say_first(job: Job, as_of: date | None) -> str | None:
    """Say the first date as of the edition; None, a blank, where no clock gives one."""
    if job.task is None or job.task.due is None:
        return None
    said = say_day(job.task.due)
    return f"{said}, waiting already" if as_of is not None and job.task.due < as_of else said


def is_often(job: Job) -> bool:
    """Tell whether a dated job comes round again within two months."""
    if job.task is None or job.task.due is None or not job.task.then or is_storage(job):
        return False
    return (job.task.then[0] - job.task.due).days < OFTEN_DAYS


def find_months(job: Job) -> frozenset[int]:
    """Find the months (1 to 12) in which a dated job falls due in its first year."""
    if job.task is None or job.task.due is None:
        return frozenset()
    due = job.task.due
    reach = _YEAR_DAYS if due.year < 9998 else 0
    days = (due, *(day for day in job.task.then if day <= due + timedelta(days=reach)))
    return frozenset(day.month for day in days)
