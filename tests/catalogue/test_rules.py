"""What the built-in catalogue may say: every rule with its sources, nothing beyond their marks."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from upkeep.catalogue import load_builtin
from upkeep.catalogue.rules import derive_binding
from upkeep.markup import parse_markdown
from upkeep.model import BINDINGS, CALENDAR_LIMITS, DATA_LIMITS, Expiry, Rule
from upkeep.records.installed import SOURCES

CATALOGUE = load_builtin()
RULES = [rule for kind in CATALOGUE.kinds.values() for rule in kind.rules]
PROMISED = {
    "seacock", "sea-strainer", "raw-water-pump", "air-bleed", "sea-water-hose", "heat-exchanger",
    "overboard-outlet", "climate-unit", "climate-panel", "air-filter", "air-duct",
    "condensate-drain", "cabin-heater", "lithium-bank", "lead-acid-bank", "battery-charger",
    "dc-dc-charger", "alternator", "inverter", "solar-array", "battery-monitor",
    "battery-isolator", "breaker", "fuse", "shore-inlet", "shore-lead", "main-breaker",
    "residual-current-device", "galvanic-isolator", "load", "diesel-engine", "petrol-engine",
    "outboard", "saildrive", "gearbox", "generator", "impeller-pump", "fuel-filter", "fuel-tank",
    "exhaust-elbow", "drive-belt", "shaft-gland", "propeller", "hull-anode", "shaft-anode",
    "engine-anode", "bonding", "fire-extinguisher", "fixed-fire-system", "fire-blanket",
    "smoke-alarm", "gas-alarm", "flares", "liferaft", "distress-beacon", "release-unit",
    "lifejacket", "first-aid-kit", "gas-system", "gas-regulator", "gas-hose", "gas-appliance",
    "fresh-water-tank", "fresh-water-pump", "water-filter", "water-heater", "watermaker",
    "toilet", "holding-tank", "bilge-pump", "bilge-alarm", "antifouling", "rudder-gear",
    "steering", "windlass", "anchor-gear", "standing-rigging", "running-rigging", "winch",
    "sail", "hatch", "tender",
}  # fmt: skip
every_rule = pytest.mark.parametrize("rule", RULES, ids=lambda rule: f"{rule.kind}/{rule.id}")


def test_promised_kinds_are_all_there_and_whole() -> None:
    assert set(CATALOGUE.kinds) >= PROMISED
    for kind in CATALOGUE.kinds.values():
        assert kind.what, kind.id
        assert kind.healthy, kind.id
        assert kind.symptoms, kind.id


@every_rule
def test_rule_names_known_sources_and_binds_no_more_than_they_allow(rule: Rule) -> None:
    found = [CATALOGUE.sources[name] for name in rule.sources]
    assert found
    allowed = [derive_binding(source, in_scope=False, in_scheme=False) for source in found]
    assert BINDINGS.index(rule.binding) <= max(map(BINDINGS.index, allowed))
    assert rule.binding != "required", "outside a scope nothing is required of everybody"
    for scope in rule.scopes:
        if scope.binding == "required":
            marks = {
                (CATALOGUE.sources[name].authority, CATALOGUE.sources[name].mark)
                for name in scope.sources
            }
            assert ("LAW", "SEEN") in marks or (scope.schemes and {"CODE"} & {a for a, _ in marks})


@every_rule
def test_habit_or_memory_alone_is_only_practice(rule: Rule) -> None:
    for sources, binding in (
        (rule.sources, rule.binding),
        *((scope.sources, scope.binding) for scope in rule.scopes),
    ):
        found = [CATALOGUE.sources[name] for name in sources]
        if all(source.mark in ("PRACTICE", "MEMORY") for source in found):
            assert binding == "practice"


@every_rule
def test_rule_with_a_clock_that_needs_data_has_a_calendar_limit(rule: Rule) -> None:
    if any(key in rule.limits for key in DATA_LIMITS):
        assert any(key in rule.limits for key in CALENDAR_LIMITS)


@every_rule
def test_steps_are_numbered_and_short(rule: Rule) -> None:
    blocks = parse_markdown(rule.steps)
    assert len(blocks) == 1
    lines = rule.steps.strip().splitlines()
    assert [line.split(" ")[0] for line in lines] == [f"{n}." for n in range(1, len(lines) + 1)]
    for line in rule.steps.strip().splitlines():
        for sentence in re.split(r"(?<=[.!?:])\s+", re.sub(r"^\d+\. ", "", line)):
            assert len(sentence.split()) <= 20, sentence  # ASD-STE100, as reported


def test_every_source_and_caution_is_used() -> None:
    used = {name for rule in RULES for name in rule.sources}
    used |= {name for rule in RULES for scope in rule.scopes for name in scope.sources}
    used |= {name for caution in CATALOGUE.cautions.values() for name in caution.sources}
    used |= {source for _, source in CATALOGUE.signals.values()}
    used |= {name for names in SOURCES.values() for name in names}
    assert set(CATALOGUE.sources) == used
    cautions = {name for rule in RULES for name in rule.cautions}
    cautions |= {name for kind in CATALOGUE.kinds.values() for name in kind.cautions}
    cautions |= {name for page in CATALOGUE.pages for name in page.cautions}
    assert set(CATALOGUE.cautions) == cautions


def test_cautions_use_their_signal_words() -> None:
    # ANSI Z535.4 as quoted by a label publisher: NOTICE where nobody is hurt, never DANGER there.
    for caution in CATALOGUE.cautions.values():
        assert (caution.word == "NOTICE") is not caution.injury, caution.id
        assert caution.avoid, caution.id


def test_flares_are_renewed_by_the_printed_date_alone() -> None:
    # 46 CFR 160.036-5(b): 42 months bind the maker's marking, never an owner.
    rules = [rule for rule in CATALOGUE.kinds["flares"].rules if rule.purpose == "renew"]
    assert [rule.limits["expiry"] for rule in rules] == [
        Expiry(field="expires", life_months=0, life_field="")
    ]
    assert "42" not in " ".join(rule.steps for rule in rules)


def test_disposable_extinguisher_lasts_twelve_years_and_binds_only_where_the_law_was_read() -> None:
    # Utah Admin. Code R650-217-6(1)(c), read; the federal sentence only as reported.
    rule = next(r for r in RULES if r.kind == "fire-extinguisher" and "expiry" in r.limits)
    limit = rule.limits["expiry"]
    assert isinstance(limit, Expiry)
    assert limit.life_months == 144
    assert rule.when == {"rechargeable": (False,)}
    required = [scope.waters for scope in rule.scopes if scope.binding == "required"]
    assert required == [("us-ut",)]


def test_engine_oil_has_no_limit_but_the_engines_own_book() -> None:
    rule = next(r for r in CATALOGUE.kinds["diesel-engine"].rules if r.id == "change-oil")
    assert dict(rule.limits) == {}
    assert rule.each == ()


def test_table_of_rules_and_their_sources_is_as_reviewed(golden: Callable[..., None]) -> None:
    lines = []
    for rule in RULES:
        lines.append(f"{rule.kind}/{rule.id}: {rule.purpose}, {rule.binding}, {rule.hand}")
        lines += [_say(name) for name in rule.sources]
        for scope in rule.scopes:
            held = [*scope.flags, *scope.waters, *scope.uses, *scope.classes, *scope.schemes]
            lines.append(f"  for {', '.join(held)}: {scope.binding}")
            lines += [f"  {_say(name)}" for name in scope.sources]
    golden("catalogue-rules.txt", "\n".join(lines) + "\n")


def _say(name: str) -> str:
    source = CATALOGUE.sources[name]
    return f"  {source.authority} {source.mark}: {source.title}"
