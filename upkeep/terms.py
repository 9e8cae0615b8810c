"""The terms of a rule on one vessel: what binds, which limits, who says so.

Of the scopes that hold the vessel, the highest binding and the smallest of each limit.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from upkeep.model import (
    BINDINGS,
    Component,
    Expiry,
    Limits,
    LimitValue,
    Override,
    ReadingLimit,
    Rule,
    Scope,
    Vessel,
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Terms:
    """A rule as it stands for one vessel. overridden names the limits its own books set."""

    binding: str
    limits: Limits
    without_season: Limits
    sources: tuple[str, ...]
    overridden: frozenset[str]
    override_source: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """What decides which scopes hold a vessel; jurisdiction is that of her water."""

    flag: str
    jurisdiction: str
    use: str
    classes: tuple[str, ...]
    schemes: tuple[str, ...]


def applies(rule: Rule, component: Component) -> bool:
    """Tell whether a rule is for this component: each field of `when` has one of its values."""
    return all(component.values.get(key) in allowed for key, allowed in rule.when.items())


def is_asked(rule: Rule, standing: Standing, override: Override | None, *, done: bool) -> bool:
    """Tell whether a rule is on: always, unless it waits to be asked for.

    A [[limit]] on it asks, and so do a record of it done and a scope that holds the vessel.
    """
    if not rule.on_request or done:
        return True
    return override is not None or any(scope_holds(scope, standing) for scope in rule.scopes)


def is_dropped(terms: Terms, override: Override | None) -> bool:
    """Tell whether a [[limit]] drops a task; what is required stays whatever it says."""
    return override is not None and override.dropped and terms.binding != "required"


def scope_holds(scope: Scope, standing: Standing) -> bool:
    """Tell whether every list a scope gives holds the vessel's own word."""
    return (
        (not scope.flags or standing.flag in scope.flags)
        and (not scope.waters or standing.jurisdiction in scope.waters)
        and (not scope.uses or standing.use in scope.uses)
        and (not scope.classes or any(item in scope.classes for item in standing.classes))
        and (not scope.schemes or any(item in scope.schemes for item in standing.schemes))
    )


def settle_terms(rule: Rule, standing: Standing, override: Override | None = None) -> Terms:
    """Work out binding, limits and sources of a rule for one vessel."""
    binding, limits, sources = rule.binding, rule.limits, rule.sources
    for scope in rule.scopes:
        if scope_holds(scope, standing):
            binding = max(binding, scope.binding, key=BINDINGS.index)
            limits = smallest_limits(limits, scope.limits)
            sources = (*sources, *(name for name in scope.sources if name not in sources))
    without = rule.without_season
    keys: frozenset[str] = frozenset()
    if override is not None and override.limits:
        firm = binding == "required"  # then a limit of her own may only shorten
        own = {k: v for k, v in override.limits.items() if not (firm and lengthens(k, v, limits))}
        limits = MappingProxyType({**limits, **own})
        if without:
            shared = {k: v for k, v in override.limits.items() if k in without}
            shared = {k: v for k, v in shared.items() if not (firm and lengthens(k, v, without))}
            without = MappingProxyType({**without, **shared})
        keys = frozenset(own)
    return Terms(
        binding=binding,
        limits=limits,
        without_season=without,
        sources=sources,
        overridden=keys,
        override_source=override.source if override else "",
    )


def smallest_limits(first: Limits, second: Limits) -> Limits:
    """Merge two sets of limits, the smaller of each."""
    if not second:
        return first
    merged = dict(first)
    for key, value in second.items():
        merged[key] = smaller(merged[key], value) if key in merged else value
    return MappingProxyType(merged)


def smaller(first: LimitValue, second: LimitValue) -> LimitValue:
    """Pick the smaller of two limits of one key."""
    if isinstance(first, Expiry) and isinstance(second, Expiry):
        return min(first, second, key=lambda limit: limit.life_months)
    if isinstance(first, int | float) and isinstance(second, int | float):
        return min(first, second)
    if isinstance(first, ReadingLimit) and isinstance(second, ReadingLimit):
        return _stricter(first, second)
    return first


def _stricter(first: ReadingLimit, second: ReadingLimit) -> ReadingLimit:
    """Pick the bound that is met sooner; the second where they bound different things."""
    alike = (first.name, first.of_commissioning) == (second.name, second.of_commissioning)
    if alike and first.above is not None and second.above is not None:
        return min(first, second, key=lambda limit: limit.above or 0.0)
    if alike and first.below is not None and second.below is not None:
        return max(first, second, key=lambda limit: limit.below or 0.0)
    return second


def is_longer(key: str, new: LimitValue, old: LimitValue) -> bool:
    """Tell whether a limit lets a task run longer than another of the same key."""
    if isinstance(new, Expiry) and isinstance(old, Expiry):
        return new.field != old.field or new.life_months > old.life_months
    if isinstance(new, ReadingLimit) and isinstance(old, ReadingLimit):
        return _stricter(old, new) != new
    if isinstance(new, int | float) and isinstance(old, int | float):
        # "before" keys ask for work earlier the larger they are; so does a charge floor.
        rising = key in ("charge_to", "before_lay_up_days", "before_launch_days")
        return new < old if rising else new > old
    return True


def lengthens(key: str, value: LimitValue, limits: Limits) -> bool:
    """Tell whether a limit lets a task run longer than the one of its key among others."""
    return key in limits and is_longer(key, value, limits[key])


def standing_of(vessel: Vessel, jurisdiction: str) -> Standing:
    """Gather what scopes ask of a vessel."""
    return Standing(
        flag=vessel.flag,
        jurisdiction=jurisdiction,
        use=vessel.use,
        classes=vessel.classes,
        schemes=vessel.schemes,
    )
