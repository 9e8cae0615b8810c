"""Every limit behind a date, said in one plain sentence each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date

from upkeep.dates import Stamp, say_day
from upkeep.due.allowances import Allowance, anode_wear, find_bound, list_readings
from upkeep.due.cycles import Cycle
from upkeep.due.subjects import Subject
from upkeep.evidence import Learned
from upkeep.model import CALENDAR_LIMITS, Expiry, LimitValue, ReadingLimit, Reason

UNITS: Mapping[str, str] = {
    "days": "days",
    "weeks": "weeks",
    "months": "months",
    "run_hours": "h",
    "fouling_days": "days at 20 °C",
    "afloat_days": "days afloat",
    "before_lay_up_days": "days",
    "after_lay_up_days": "days",
    "before_launch_days": "days",
    "after_launch_days": "days",
    "charge_to": "0-1",
    "anode_used": "0-1",
    "expiry": "date",
    "reading": "",
}
LONGEST_SAID_DAYS = 183  # a bank's figure beyond this is not worth more than "over six months"


def say_reasons(subject: Subject, cycle: Cycle) -> tuple[Reason, ...]:
    """Say each limit and the move by place, the earliest first, those without a day last."""
    reasons = [_say(subject, cycle, allowance) for allowance in cycle.allowances]
    if cycle.move is not None:
        reasons.append(_say_move(subject, cycle))
    return tuple(sorted(reasons, key=lambda r: (r.allows is None, r.allows or date.max, r.clock)))


def _say(subject: Subject, cycle: Cycle, allowance: Allowance) -> Reason:
    clock = allowance.clock
    text = _SAYINGS[clock](subject, cycle, allowance)
    if allowance.learned is not None:
        purpose = subject.rule.purpose
        text += f"; {_say_learned(allowance, allowance.learned, purpose)}"
    if allowance.note == "no record" and clock not in CALENDAR_LIMITS:
        text += "; no record of when it was last renewed: ask, or renew"
    if clock in subject.terms.overridden:
        text += f" (set for this boat: {subject.terms.override_source})"
    return Reason(
        clock=clock,
        limit=_plain(subject, allowance.limit),
        unit=UNITS[clock],
        anchor=allowance.anchor,
        allows=allowance.allows,
        text=text,
    )


_HELD = {
    "none": "",
    "low": " (held there: it is found worse than that, so its usual limit is too long)",
    "high": " (held there, whatever is found)",
    "hard": " (never longer than what binds it)",
}


_HELD_LOOK = {
    **_HELD,
    "low": " (held there until it is put right)",
    "high": " (a look is never put off)",
}


def _say_learned(allowance: Allowance, learned: Learned, purpose: str) -> str:
    """Say how findings moved a limit, with both figures."""
    assert isinstance(allowance.limit, int | float)
    held = (_HELD_LOOK if purpose == "inspect" else _HELD)[learned.bound]
    looks = "what was found once" if learned.count == 1 else f"what was found {learned.count} times"
    unit = UNITS[allowance.clock]
    now = allowance.limit * learned.now
    if abs(now - allowance.limit) < 0.05:
        return f"{looks} leaves it there{held}"
    return f"by {looks} it is now {now:.3g} {unit}{held}"


def _plain(subject: Subject, limit: LimitValue) -> float | str | None:
    if isinstance(limit, Expiry):
        stamp = subject.component.values.get(limit.field)
        return stamp.text if isinstance(stamp, Stamp) else None
    if isinstance(limit, ReadingLimit):
        return limit.above if limit.above is not None else limit.below
    return limit


def _since(cycle: Cycle, allowance: Allowance) -> str:
    day = say_day(allowance.anchor)
    return f"last done {day}" if cycle.done else f"no record before {day}"


def _say_calendar(subject: Subject, cycle: Cycle, allowance: Allowance) -> str:
    assert isinstance(allowance.limit, int | float)
    count, unit = int(allowance.limit), allowance.clock
    every = f"every {count} {unit}" if count != 1 else f"every {unit[:-1]}"
    if subject.rule.purpose == "renew" and not cycle.done:
        every = f"{count} {unit if count != 1 else unit[:-1]} after it was new"
    if cycle.spell is not None:
        return f"{every} in storage, from {say_day(allowance.anchor)}"
    if allowance.note == "no record":
        return f"{every}; no record of when it was last renewed: ask, or renew"
    return f"{every}; {_since(cycle, allowance)}"


def _say_fouling(subject: Subject, cycle: Cycle, allowance: Allowance) -> str:
    water = subject.boat.water_on(allowance.anchor).name
    return (
        f"{allowance.limit:g} days of growth in {water}, counted as days at 20 °C while afloat; "
        f"{_since(cycle, allowance)}"
    )


def _say_afloat(subject: Subject, cycle: Cycle, allowance: Allowance) -> str:
    return f"every {allowance.limit:g} days afloat; {_since(cycle, allowance)}"


def _say_hours(subject: Subject, cycle: Cycle, allowance: Allowance) -> str:
    meter = subject.boat.meter(subject.component)
    source = subject.boat.metered(subject.component)
    text = f"every {allowance.limit:g} hours run; {_since(cycle, allowance)}"
    if meter.rate_h_per_day is None:
        return f"{text}; no hours are known: read the hour meter of the {source.title}"
    text += f"; she runs about {meter.rate_h_per_day:.2g} h a day afloat"
    if not meter.points:
        return f"{text}, as stated: a reading of the hour meter would better this"
    count = len(meter.points)
    return f"{text}, by {count} reading{'s' if count > 1 else ''} of the {source.title}"


def _say_season(subject: Subject, cycle: Cycle, allowance: Allowance) -> str:
    side, _, event = allowance.clock.removesuffix("_days").partition("_")
    event = event.replace("_", "-")
    count = int(allowance.limit) if isinstance(allowance.limit, int | float) else 0
    days = "1 day" if count == 1 else f"{count} days"
    when = f"{days} {side} {event}" if count else f"on the day of {event}"
    if allowance.season_day is None:
        return f"{when}; no {event} is known"
    return f"{when}, {say_day(allowance.season_day)}; {_since(cycle, allowance)}"


def _say_charge(subject: Subject, cycle: Cycle, allowance: Allowance) -> str:
    floor = (
        f"{float(allowance.limit) * 100:.0f} %" if isinstance(allowance.limit, float | int) else ""
    )
    state = allowance.state
    if state is None:
        return f"the bank may fall to {floor} in storage; no storage is ahead"
    came = "read" if state.measured else "taken for granted: read the charge to better this"
    text = (
        f"from {state.charge * 100:.0f} % on {say_day(state.known_on)} ({came}) down to {floor}, "
        f"with {state.parasitic_a:.3g} A left drawing"
    )
    if allowance.allows is None:
        return f"{text}: over six months"
    days = (allowance.allows - state.known_on).days
    lasts = "over six months" if days > LONGEST_SAID_DAYS else f"{days} days"
    return f"{text}: {lasts}"


def _say_expiry(subject: Subject, cycle: Cycle, allowance: Allowance) -> str:
    limit = allowance.limit
    assert isinstance(limit, Expiry)
    stamp = subject.component.values.get(limit.field)
    if allowance.note == "missing" or not isinstance(stamp, Stamp):
        return "no date is recorded: read the date printed on it and record it"
    if allowance.note == "missing life":
        return "its life is not recorded: read its papers and record it"
    if allowance.note == "stale":
        return (
            f"the recorded date {stamp.text} is from before the last renewal: "
            "read the date printed on it and record it"
        )
    if limit.life_months or limit.life_field:
        recorded = subject.component.values.get(limit.life_field) if limit.life_field else None
        months = int(recorded) if isinstance(recorded, int | float) else limit.life_months
        return f"stamped {stamp.text}; good for {_say_life(months)} after that"
    return f"the date printed on it: {stamp.text}"


def _say_life(months: int) -> str:
    count, unit = (months, "month") if months % 12 else (months // 12, "year")
    return f"{count} {unit}{'' if count == 1 else 's'}"


_NO_WEAR = {
    "no mass": "record its weight when new (mass_g) to get a date from this",
    "no rate": "weigh it and record the weight to get a date from this",
    "no loss": "it has lost nothing: a sign that it does not work; have the bonding looked at",
}


def _say_used(subject: Subject, cycle: Cycle, allowance: Allowance) -> str:
    assert isinstance(allowance.limit, int | float)
    wear = anode_wear(subject, allowance.anchor)
    text = f"renew when {allowance.limit * 100:.0f} % is gone"
    if wear.note:
        return f"{text}; {_NO_WEAR[wear.note]}"
    if wear.basis == "weighed":
        gone = f"weighed on {say_day(wear.known_on)}, {wear.used * 100:.0f} % gone"
        return f"{text}; {gone}; {_since(cycle, allowance)}"
    month = f"about {(wear.per_day or 0) * 30 * 100:.2g} % in 30 days afloat"
    how = "as the one before it was weighed" if wear.basis == "weighed before" else (
        "by the current recorded: weighing it would better this"
    )  # fmt: skip
    return f"{text}; {month}, {how}; {_since(cycle, allowance)}"


def _say_reading(subject: Subject, cycle: Cycle, allowance: Allowance) -> str:
    limit = allowance.limit
    assert isinstance(limit, ReadingLimit)
    side = "above" if limit.above is not None else "below"
    share = limit.above if limit.above is not None else limit.below or 0.0
    kinds = subject.component.kind.readings
    unit, name = next(((r.unit, r.text or r.name) for r in kinds if r.name == limit.name), ("", ""))
    bound = find_bound(subject, limit)
    text = f"at once when {side} " + (
        f"{share * 100:g} % of the first reading" if limit.of_commissioning else ""
    )
    if limit.of_commissioning and bound is not None:
        text += f", {bound:.3g} {unit}".rstrip()
    elif bound is not None:
        text += f"{bound:g} {unit}".rstrip()
    text += f" ({name})"
    if bound is None:
        return f"{text}; the first reading is not recorded: no date from this"
    rows = list_readings(subject, limit, cycle.anchor, cycle.anchor if cycle.done else None)
    if not rows:
        return f"{text}; not read since {say_day(cycle.anchor)}"
    on, value = rows[-1]
    found = f"{value:g} {unit}".rstrip()
    past = f", past it since {say_day(allowance.allows)}" if allowance.allows else ", within it"
    return f"{text}; read {found} on {say_day(on)}{past}"


_SAYINGS: Mapping[str, Callable[[Subject, Cycle, Allowance], str]] = {
    "days": _say_calendar,
    "weeks": _say_calendar,
    "months": _say_calendar,
    "run_hours": _say_hours,
    "fouling_days": _say_fouling,
    "afloat_days": _say_afloat,
    "before_lay_up_days": _say_season,
    "after_lay_up_days": _say_season,
    "before_launch_days": _say_season,
    "after_launch_days": _say_season,
    "charge_to": _say_charge,
    "anode_used": _say_used,
    "expiry": _say_expiry,
    "reading": _say_reading,
}


def _say_move(subject: Subject, cycle: Cycle) -> Reason:
    assert cycle.move is not None
    place = subject.rule.place
    if cycle.move.lift:
        text = "she is afloat then and must be lifted for it"
    elif place == "afloat":
        text = f"it is done afloat, so it moves to {say_day(cycle.move.to)}"
    else:
        text = f"it is done ashore, so it moves to {say_day(cycle.move.to)}, when she is out"
    return Reason(clock="place", limit=None, unit="", anchor=cycle.anchor, allows=cycle.move.to,
                  text=text)  # fmt: skip
