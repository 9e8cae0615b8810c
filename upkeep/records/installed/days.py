"""Days in a record that cannot be right today: not come yet, run out, or without an end."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import date

from upkeep.dates import Stamp, find_last_valid_day, say_day
from upkeep.errors import QuantityError
from upkeep.model import Component, Expiry, Fleet, Vessel
from upkeep.records.installed.remarks import VESSEL, Remark, find_water, list_names
from upkeep.terms import Standing, Terms, applies, is_asked, is_dropped, settle_terms, standing_of


def remark_days(vessel: Vessel, fleet: Fleet, today: date) -> Iterator[Remark]:
    """Remark on hand-over, installation, work, readings, stamps and stays."""
    yield from _remark_coming(vessel, today)
    yield from _remark_work(vessel, today)
    standing = standing_of(vessel, find_water(vessel, fleet, today).jurisdiction)
    for component in vessel.components.values():
        yield from _remark_stamps(vessel, component, standing, today)
    yield from _remark_stays(vessel, today)


def _remark_coming(vessel: Vessel, today: date) -> Iterator[Remark]:
    if vessel.handed_over is not None and vessel.handed_over > today:
        message = f"{vessel.id} is handed over on {say_day(vessel.handed_over)}, after today"
        yield Remark((*VESSEL, "handed_over"), "future", message)
    coming: dict[date, list[Component]] = {}
    for component in vessel.components.values():
        if component.installed > today:
            coming.setdefault(component.installed, []).append(component)
    for day, components in coming.items():
        names = list_names([component.id for component in components])
        message = f"installed on {say_day(day)}, after today: {names}"
        yield Remark((*components[0].path, "installed"), "future", message)


def _remark_work(vessel: Vessel, today: date) -> Iterator[Remark]:
    for done in vessel.completions:
        installed = vessel.components[done.component].installed
        if done.on > today:
            message = f"{done.component}/{done.rule} is done on {done.on}, after today: not counted"
            yield Remark((*done.path, "on"), "future", message)
        elif done.on < installed:
            message = f"{done.component}/{done.rule} was done before it was installed: not counted"
            yield Remark((*done.path, "on"), "history", message)
    for reading in vessel.readings:
        if reading.on > today:
            message = f"{reading.component} {reading.name} is read after today: not counted"
            yield Remark((*reading.path, "on"), "future", message)


def _remark_stamps(
    vessel: Vessel, component: Component, standing: Standing, today: date
) -> Iterator[Remark]:
    """Tell of a date printed on a part, or a life counted from one, that has run out."""
    ended: dict[str, tuple[date, tuple[str, ...]]] = {}
    for terms in _list_terms(vessel, component, standing):
        limit = terms.limits.get("expiry")
        last = _find_last_day(component, limit) if isinstance(limit, Expiry) else None
        if isinstance(limit, Expiry) and last is not None and last < today:
            known = ended.get(limit.field)
            if known is None or last < known[0]:
                ended[limit.field] = (last, terms.sources)
    for key, (last, sources) in ended.items():
        stamp = component.values[key]
        assert isinstance(stamp, Stamp)
        said = say_day(last)
        message = (
            f"{component.id}: {key} {stamp.text}, ran out on {said}: renew, or record {key} anew"
        )
        yield Remark((*component.path, key), "expired", message, sources)


def _list_terms(vessel: Vessel, component: Component, standing: Standing) -> Iterator[Terms]:
    """List the terms of each rule that is on for a component."""
    done = {item.rule for item in vessel.completions if item.component == component.id}
    for rule in component.kind.rules:
        override = vessel.overrides.get((component.id, rule.id))
        asked = is_asked(rule, standing, override, done=rule.id in done)
        terms = settle_terms(rule, standing, override)
        if applies(rule, component) and asked and not is_dropped(terms, override):
            yield terms


def _find_last_day(component: Component, limit: Expiry) -> date | None:
    stamp = component.values.get(limit.field)
    life = component.values.get(limit.life_field) if limit.life_field else limit.life_months
    if not isinstance(stamp, Stamp) or not isinstance(life, int | float):
        return None
    with suppress(QuantityError):
        return find_last_valid_day(stamp, int(life))
    return None


def _remark_stays(vessel: Vessel, today: date) -> Iterator[Remark]:
    for index, period in enumerate(vessel.ashore):
        if period.end is None:
            message = (
                f"ashore since {say_day(period.first)} with no day of launching: nothing that "
                "depends on it has a date until `to` is written"
            )
            yield Remark(("ashore", index), "open-spell", message)
    for index, left in enumerate(vessel.left):
        if left.period.end is None and left.period.first <= today:
            message = "left unused with no day of return: write `to` when somebody is back"
            yield Remark(("left", index), "open-spell", message)
