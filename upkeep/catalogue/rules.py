"""Reads the rules of one kind and holds them to what their sources allow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from upkeep.catalogue import tables
from upkeep.catalogue.limits import Measures, check_calendar, read_limits
from upkeep.catalogue.names import Names
from upkeep.errors import Fault, KeyPath
from upkeep.model import BINDINGS, Finding, Limits, Rule, Scope, Source
from upkeep.naming import is_id, show, suggest
from upkeep.schema import compile_table, read_table

_EMPTY: Mapping[str, Any] = {
    "evidence": "", "licence": "", "record": "", "window_days": None, "skills": (),
    "parts": (), "tools": (), "cautions": (),
}  # fmt: skip
_SCOPE_LISTS = ("flags", "waters", "uses", "classes", "schemes")
_NO_TEST = ("draw", "output", "month-list", "stamp")  # types no rule can ask about in `when`


def derive_binding(source: Source, *, in_scope: bool, in_scheme: bool) -> str:
    """Say how strongly one source may bind: its mark first, then its authority.

    Only a law whose text was read binds, and only in its scope; a scheme's code binds
    the vessels in that scheme.
    """
    if source.mark in ("PRACTICE", "MEMORY") or source.authority == "NONE":
        return "practice"
    if source.authority == "LAW":
        return "required" if source.mark == "SEEN" and in_scope else "advised"
    if source.authority == "CODE":
        return "required" if in_scheme else "advised"
    return "advised"


def strongest(bindings: Sequence[str]) -> str:
    """Pick the highest binding; practice when there is none."""
    return max(bindings, key=BINDINGS.index, default="practice")


@dataclass(frozen=True, kw_only=True, slots=True)
class RuleReader:
    """Reads one kind's rules against what it measures and the known names.

    sources: the usable ones; names of sources and cautions hold every one written.
    """

    kind: str
    measures: Measures
    sources: Mapping[str, Source]
    source_names: Names
    caution_names: Names

    def read_all(self, data: Any, path: KeyPath, faults: list[Fault]) -> tuple[Rule, ...]:
        """Read every rule; faulty ones are left out and reported."""
        if not isinstance(data, dict):
            faults.append(Fault(path, "rule is not a table", "write [kind.id.rule.id]"))
            return ()
        rules = []
        for name, row in data.items():
            before = len(faults)
            if not is_id(name):
                fix = "name it in lower-case letters, digits and hyphens"
                faults.append(Fault((*path, name), f"rule {show(name)} is no id", fix))
            rule = self._read(name, row, (*path, name), faults)
            if rule is not None and len(faults) == before:
                rules.append(rule)
        return tuple(rules)

    def _read(self, name: str, data: Any, path: KeyPath, faults: list[Fault]) -> Rule | None:
        before = len(faults)
        values = read_table(data, tables.RULE, path, faults)
        given = values.pop("limits", {})
        limits, each = read_limits(given, (*path, "limits"), faults, self.measures)
        written = frozenset(given if isinstance(given, dict) else ())
        check_calendar(limits, written, (*path, "limits"), faults)
        if each and len(written) > 1:
            faults.append(Fault(path, "each stands beside another limit", "split the rule in two"))
        if each and values.get("on_request"):
            fix = "leave on_request out: a checklist is read, it does not remind"
            faults.append(Fault((*path, "on_request"), "each is never off until asked for", fix))
        without = self._read_without(values.pop("without_season", {}), path, faults)
        self._check(values, written, path, faults)
        scopes = self._read_scopes(values.pop("scope", []), (*path, "scope"), written, faults)
        findings = _read_findings(values.pop("findings", []), (*path, "findings"), faults)
        when = self._read_when(values.pop("when", {}), (*path, "when"), faults)
        binding = self._bind(
            values.get("sources", ()), values.get("binding"), (*path, "binding"), faults
        )
        if len(faults) > before:
            return None
        place = "ashore" if values["out_of_water"] else values["place"]
        settled = {
            **_EMPTY, **values, "binding": binding, "place": place, "limits": limits, "each": each,
            "without_season": without, "when": when, "findings": findings, "scopes": scopes,
        }  # fmt: skip
        return Rule(id=name, kind=self.kind, **settled)

    def _read_without(self, data: Any, path: KeyPath, faults: list[Fault]) -> Limits:
        at = (*path, "without_season")
        limits, each = read_limits(data, at, faults, self.measures)
        written = frozenset(data if isinstance(data, dict) else ())
        check_calendar(limits, written, at, faults)
        _refuse_each(each, at, faults)
        return limits

    def _check(
        self, values: Mapping[str, Any], limits: frozenset[str], path: KeyPath,
        faults: list[Fault],
    ) -> None:  # fmt: skip
        self.source_names.check(values.get("sources", ()), (*path, "sources"), faults)
        self.caution_names.check(values.get("cautions", ()), (*path, "cautions"), faults)
        _check_sourced("rule", values, path, faults)
        evidence = values.get("evidence")
        if evidence and evidence not in limits and limits <= tables.LIMITS.rows.keys():
            fix = f"one of {', '.join(map(show, sorted(limits))) or 'none: give it limits'}"
            message = f"evidence {show(evidence)} is no limit"
            faults.append(Fault((*path, "evidence"), message, fix))
        if values.get("out_of_water") and values.get("place") == "afloat":
            fix = 'write place = "ashore"'
            faults.append(Fault((*path, "place"), "place is afloat, out of the water", fix))

    def _read_when(
        self, data: Any, path: KeyPath, faults: list[Fault]
    ) -> dict[str, tuple[object, ...]]:
        if not isinstance(data, dict):
            faults.append(Fault(path, "when is not a table", "write { field = value }"))
            return {}
        fields = self.measures.fields
        for key, value in data.items():
            row = fields.get(key)
            if key not in fields:
                fix = suggest(key, tuple(fields), f"one of {', '.join(fields) or 'none'}")
                faults.append(Fault((*path, key), f"when names no field {show(key)}", fix))
            elif row is not None and row.type in _NO_TEST:
                fix = "name a field with a word, a number, or true and false"
                faults.append(Fault((*path, key), f"when cannot ask about {key}", fix))
            elif row is not None:
                table = compile_table("when", [row])
                for item in _as_tuple(value):
                    read_table({key: item}, table, path, faults)
        return {key: _as_tuple(value) for key, value in data.items()}

    def _bind(
        self, names: Sequence[str], stated: str | None, path: KeyPath, faults: list[Fault],
        *, in_scope: bool = False, in_scheme: bool = False,
    ) -> str:  # fmt: skip
        """Settle a binding; one stronger than every source allows is reported."""
        found = [self.sources[name] for name in names if name in self.sources]
        allowed = strongest(
            [derive_binding(s, in_scope=in_scope, in_scheme=in_scheme) for s in found]
        )
        binding = stated or allowed
        whole = names and len(found) == len(names)  # else a source's own fault is reported
        if whole and BINDINGS.index(binding) > BINDINGS.index(allowed):
            fix = f'at most "{allowed}": no law read or scheme stands behind it'
            faults.append(Fault(path, f'binding is "{binding}"', fix))
        return binding

    def _read_scopes(
        self, data: Any, path: KeyPath, rule_limits: frozenset[str], faults: list[Fault]
    ) -> tuple[Scope, ...]:
        if not isinstance(data, list):
            faults.append(Fault(path, "scope is not a list", "write [[kind.id.rule.id.scope]]"))
            return ()
        scopes = []
        for index, row in enumerate(data):
            scope = self._read_scope(row, (*path, index), rule_limits, faults)
            if scope is not None:
                scopes.append(scope)
        return tuple(scopes)

    def _read_scope(
        self, data: Any, path: KeyPath, rule_limits: frozenset[str], faults: list[Fault]
    ) -> Scope | None:
        before = len(faults)
        values = read_table(data, tables.SCOPE, path, faults)
        given = values.get("limits", {})
        limits, each = read_limits(given, (*path, "limits"), faults, self.measures)
        written = rule_limits.union(given if isinstance(given, dict) else ())
        check_calendar(limits, written, (*path, "limits"), faults)
        _refuse_each(each, (*path, "limits"), faults)
        if isinstance(data, dict) and not any(data.get(key) for key in _SCOPE_LISTS):
            fix = f"name {', '.join(_SCOPE_LISTS[:-1])} or {_SCOPE_LISTS[-1]}"
            faults.append(Fault(path, "scope applies to everybody", fix))
        self.source_names.check(values.get("sources", ()), (*path, "sources"), faults)
        _check_sourced("scope", values, path, faults)
        binding = self._bind(
            values.get("sources", ()), values.get("binding"), (*path, "binding"), faults,
            in_scope=True, in_scheme=bool(values.get("schemes")),
        )  # fmt: skip
        if len(faults) > before:
            return None
        lists = {key: values.get(key, ()) for key in _SCOPE_LISTS}
        return Scope(**lists, binding=binding, limits=limits, sources=values["sources"])


def _check_sourced(
    what: str, values: Mapping[str, Any], path: KeyPath, faults: list[Fault]
) -> None:
    if "sources" in values and not values["sources"]:
        fix = "name a row of sources; a trade's habit is a row marked PRACTICE"
        faults.append(Fault((*path, "sources"), f"{what} has no source", fix))


def _refuse_each(each: tuple[str, ...], path: KeyPath, faults: list[Fault]) -> None:
    if each:
        fix = "split the rule in two"
        faults.append(Fault((*path, "each"), "each stands outside the rule's own limits", fix))


def _read_findings(data: Any, path: KeyPath, faults: list[Fault]) -> tuple[Finding, ...]:
    if not isinstance(data, list):
        faults.append(Fault(path, "findings is not a list", "write a list of wear and words"))
        return ()
    before = len(faults)
    rows = [
        read_table(row, tables.FINDING, (*path, index), faults) for index, row in enumerate(data)
    ]
    if len(faults) > before:
        return ()
    found = tuple(Finding(**row) for row in rows)
    wears = [finding.wear for finding in found]
    if wears != sorted(set(wears)):
        faults.append(Fault(path, "findings do not rise", "order them by wear, each once"))
    return found


def _as_tuple(value: object) -> tuple[object, ...]:
    return tuple(value) if isinstance(value, list) else (value,)
