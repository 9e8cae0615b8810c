"""What no boat may ever be told: each statement held against every rule, flag, use and scheme."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from itertools import product
from pathlib import Path

import pytest

from upkeep.catalogue import load_builtin
from upkeep.due import find_tasks
from upkeep.model import Expiry, ReadingLimit, Rule
from upkeep.physics.antifreeze import BURST_POINTS, FREEZE_POINTS
from upkeep.records import load_fleet
from upkeep.terms import Standing, scope_holds, settle_terms

CATALOGUE = load_builtin()
RULES = [rule for kind in CATALOGUE.kinds.values() for rule in kind.rules]
SCOPES = [scope for rule in RULES for scope in rule.scopes]
FLAGS = sorted({"us", "gb", "nl", *(f for scope in SCOPES for f in scope.flags)})
WATERS = sorted({"", *(w for scope in SCOPES for w in scope.waters)})
SCHEMES = sorted({"", *(s for scope in SCOPES for s in scope.schemes)})
USES = ("private", "charter", "hire", "residential", "work")


def every_standing() -> Iterator[Standing]:
    for flag, water, use, scheme in product(FLAGS, WATERS, USES, SCHEMES):
        schemes = (scheme,) if scheme else ()
        yield Standing(flag=flag, jurisdiction=water, use=use, classes=(), schemes=schemes)


def all_text(rule: Rule) -> str:
    found = " ".join(finding.words for finding in rule.findings)
    return f"{rule.title} {rule.steps} {rule.record} {found}"


def required_of(standing: Standing) -> set[str]:
    return {
        f"{rule.kind}/{rule.id}"
        for rule in RULES
        if settle_terms(rule, standing).binding == "required"
    }


def test_what_is_required_has_a_law_read_or_a_scheme_that_holds_her() -> None:
    for standing in every_standing():
        for rule in RULES:
            if settle_terms(rule, standing).binding != "required":
                continue
            behind = [
                (CATALOGUE.sources[name], scope)
                for scope in rule.scopes
                if scope.binding == "required" and scope_holds(scope, standing)
                for name in scope.sources
            ]
            assert any(
                (source.authority, source.mark) == ("LAW", "SEEN")
                or (source.authority == "CODE" and scope.schemes)
                for source, scope in behind
            ), (rule.kind, rule.id, standing)


def test_practice_and_memory_are_never_required() -> None:
    for rule in RULES:
        for scope in rule.scopes:
            if scope.binding == "required":
                marks = {CATALOGUE.sources[name].mark for name in scope.sources}
                assert marks - {"PRACTICE", "MEMORY"}, (rule.kind, rule.id)


def test_boats_of_other_flag_use_and_scheme_are_held_to_other_rules() -> None:
    def hold(flag: str, use: str, water: str = "", scheme: str = "") -> set[str]:
        schemes = (scheme,) if scheme else ()
        return required_of(
            Standing(flag=flag, jurisdiction=water, use=use, classes=(), schemes=schemes)
        )

    assert hold("nl", "private") == set()
    # 33 CFR 175.125: coastal waters, Great Lakes, high seas; an inland lake is none of them.
    assert "flares/renew" in hold("us", "private", "us-coastal")
    assert "flares/renew" not in hold("us", "private", "us-ut")
    assert "flares/renew" not in hold("gb", "private")
    assert "gas-alarm/renew-carbon-monoxide" in hold("gb", "residential", "", "uk-inland")
    assert "gas-alarm/renew-carbon-monoxide" not in hold("gb", "residential")
    assert "fire-extinguisher/renew-by-age" in hold("us", "hire", "us-ut")
    assert "fire-extinguisher/renew-by-age" not in hold("us", "hire", "us-ca")


def test_demo_boats_of_other_flag_and_use_show_other_required_work() -> None:
    loaded = load_fleet(Path(__file__).parents[2] / "fleets" / "gander-hythe")
    assert loaded.fleet is not None
    required = {}
    for vessel in loaded.vessels:
        tasks = find_tasks(vessel, loaded.fleet, date(2026, 11, 25))
        assert len(tasks) <= 90, vessel.id
        names = {f"{t.component.kind.id}/{t.rule.id}" for t in tasks if t.binding == "required"}
        required[vessel.flag, vessel.use] = names
    assert required["us", "private"] == {"flares/renew"}
    assert required["us", "hire"] == {"fire-extinguisher/renew-by-age"}
    assert required["gb", "residential"] == {"gas-alarm/renew-carbon-monoxide"}
    assert required["gb", "private"] == set()


def test_no_private_boat_is_told_that_a_test_of_bottled_gas_is_law() -> None:
    # 46 CFR 58.16-19 binds inspected vessels; GB: private boats are outside the gas regulations.
    gas = {kind.id for kind in CATALOGUE.kinds.values() if kind.area == "gas"}
    for standing in every_standing():
        if standing.use == "private":
            assert not {name for name in required_of(standing) if name.split("/")[0] in gas}
    assert "58.16" not in " ".join(source.title for source in CATALOGUE.sources.values())


def test_forty_two_months_are_never_an_owners_limit_for_flares() -> None:
    # 46 CFR 160.036-5(b) binds the maker's marking.
    for rule in CATALOGUE.kinds["flares"].rules:
        sets = [rule.limits, rule.without_season, *(scope.limits for scope in rule.scopes)]
        assert not any(limits.get("months") == 42 for limits in sets)
        for limits in sets:
            expiry = limits.get("expiry")
            if isinstance(expiry, Expiry):
                assert (expiry.field, expiry.life_months) == ("expires", 0)
        assert not re.search(r"\b42\b", all_text(rule))


def test_loss_of_charge_and_loss_of_tare_stay_apart() -> None:
    # Charge: 10 % of the gas, 46 CFR table of the older text; tare: 5 % of the metal, 46 CFR 147.
    bounds: dict[str, set[float | None]] = {"charge_g": set(), "tare_g": set()}
    for kind in ("fire-extinguisher", "fixed-fire-system"):
        for rule in CATALOGUE.kinds[kind].rules:
            limit = rule.limits.get("reading")
            if not isinstance(limit, ReadingLimit):
                continue
            bounds[limit.name].add(limit.below)
            assert limit.of_commissioning
            agents = set(rule.when.get("agent", ()))
            if limit.name == "charge_g":
                assert agents == {"co2"}, rule.id
                assert not re.search(r"\btare\b", all_text(rule)), rule.id
            else:
                assert agents <= {"halocarbon", "inert"}, rule.id
                assert agents, rule.id
    assert bounds == {"charge_g": {0.9}, "tare_g": {0.95}}


def test_burst_temperature_never_stands_where_freezing_belongs() -> None:
    # Freezing: handbook table 5.13; burst: makers' pages. The "-50" on a bottle is a burst figure.
    burst = {value for row in BURST_POINTS for value in row if value < 0}
    freeze = {value for row in FREEZE_POINTS for value in row if value < 0}
    assert min(freeze) > min(burst)
    for rule in RULES:
        text = all_text(rule).replace("\N{MINUS SIGN}", "-")
        figures = {float(found) for found in re.findall(r"-\d+(?:\.\d+)?(?= ?°C)", text)}
        assert not figures & (burst - freeze), (rule.kind, rule.id)
        assert "-50" not in text, (rule.kind, rule.id)
    for kind in CATALOGUE.kinds.values():
        for row in kind.fields:
            about = f"{row.key} {row.text}".lower()
            assert not ("freez" in about and "burst" in about), (kind.id, row.key)


def test_no_interval_is_required_of_a_liferaft() -> None:
    # Three years was looked for in the law and not found; the raft's own papers give the life.
    for standing in every_standing():
        assert not {name for name in required_of(standing) if name.startswith("liferaft/")}
    for rule in CATALOGUE.kinds["liferaft"].rules:
        assert rule.limits.get("months") != 36
        expiry = rule.limits.get("expiry")
        if isinstance(expiry, Expiry):
            assert expiry.life_field == "service_months" or expiry.life_months == 0


@pytest.mark.parametrize("kind", sorted(CATALOGUE.kinds))
def test_two_hydrometer_tables_are_never_mixed(kind: str) -> None:
    # TM 5-1185: full at 1.280 and 80 °F; makers: full at 1.265 and 25 °C.
    army, makers = r"1\.(280|250|220|190|160|130)", r"1\.(265|225|155|120)"
    found = CATALOGUE.kinds[kind]
    texts = [all_text(rule) for rule in found.rules]
    texts += [f"{s.sees} {' '.join(s.checks)}" for s in found.symptoms]
    texts += [row.text for row in (*found.fields, *found.readings)]
    whole = " ".join([found.what, *found.healthy, *texts])
    assert not (re.search(army, whole) and re.search(makers, whole))


def test_carbon_monoxide_alarm_has_no_life_but_the_date_on_it() -> None:
    # Lives of 5 to 10 years are from memory: the printed date counts.
    for rule in CATALOGUE.kinds["gas-alarm"].rules:
        expiry = rule.limits.get("expiry")
        if isinstance(expiry, Expiry):
            assert (expiry.field, expiry.life_months) == ("replace_by", 0)
