"""Reads the rules of one kind and holds them to what their sources allow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from upkeep.catalogue import tables
from upkeep.model import (
    BINDINGS,
    DATA_LIMITS,
    CALENDAR_LIMITS,
    EVENTS,
    Caution,
    Expiry,
    Field,
    Finding,
    Limits,
    LimitValue,
    ReadingLimit,
    Rule,
    Scope,
    Source,
)
from upkeep.schema import Fault, Path, nearest, read_table, show

_EXTRA = ("expiry", "life_months", "reading", "each")


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


def read_limits(
    data: Any, path: Path, faults: list[Fault], *, fields: Mapping[str, Field]
) -> tuple[Limits, tuple[str, ...]]:
    """Read a table of limits; give the clocks' limits and the undated occasions (`each`)."""
    values = read_table(data, tables.LIMITS, path, faults)
    limits: dict[str, LimitValue] = {
        key: value for key, value in values.items() if key not in _EXTRA
    }
    if "expiry" in values or "life_months" in values:
        expiry = _read_expiry(values, path, faults, fields)
        if expiry:
            limits["expiry"] = expiry
    if "reading" in values:
        bound = values["reading"]
        limits["reading"] = ReadingLimit(
            name=bound.get("name", ""),
            above=bound.get("above"),
            below=bound.get("below"),
            of_commissioning=bound.get("of_commissioning", False),
        )
        if ("above" in bound) is ("below" in bound):
            faults.append(Fault((*path, "reading"), "reading has no bound", "give above or below"))
    return MappingProxyType(limits), _read_each(values.get("each"), path, faults)


def _read_each(value: Any, path: Path, faults: list[Fault]) -> tuple[str, ...]:
    if value is None:
        return ()
    events = tuple(value) if isinstance(value, list) else (value,)
    for event in events:
        if event not in EVENTS:
            near = nearest(str(event), EVENTS)
            fix = f'did you mean "{near}"?' if near else f"one of {', '.join(EVENTS)}"
            faults.append(Fault((*path, "each"), f"occasion {show(event)} is not known", fix))
    return events


def _read_expiry(
    values: Mapping[str, Any], path: Path, faults: list[Fault], fields: Mapping[str, Field]
) -> Expiry | None:
    name = values.get("expiry", "")
    row = fields.get(name)
    if row is None or row.type != "stamp":
        fix = "name a field of this kind that holds a printed date"
        faults.append(Fault((*path, "expiry"), f"expiry field {show(name)} is not known", fix))
        return None
    life = values.get("life_months", 0)
    if isinstance(life, str) and life in fields:
        return Expiry(field=name, life_months=-1, life_field=life)
    if type(life) is not int or not 0 <= life <= 1200:
        fix = "write a whole number of months, 0 to 1200, or the field that holds it"
        faults.append(Fault((*path, "life_months"), f"life_months is {show(life)}", fix))
        return None
    return Expiry(field=name, life_months=life, life_field="")


@dataclass(frozen=True, kw_only=True, slots=True)
class RuleReader:
    """Reads one kind's rules against its fields, readings and the known sources."""

    kind: str
    fields: Sequence[Field]
    readings: Sequence[str]
    sources: Mapping[str, Source]
    cautions: Mapping[str, Caution]

    def read_all(self, data: Any, path: Path, faults: list[Fault]) -> tuple[Rule, ...]:
        """Read every rule; faulty ones are left out and reported."""
        if not isinstance(data, dict):
            faults.append(Fault(path, "rule is not a table", "write [kind.id.rule.id]"))
            return ()
        rules = []
        for name, row in data.items():
            before = len(faults)
            rule = self._read(name, row, (*path, name), faults)
            if rule is not None and len(faults) == before:
                rules.append(rule)
        return tuple(rules)

    def _read(self, name: str, data: Any, path: Path, faults: list[Fault]) -> Rule | None:
        before = len(faults)
        values = read_table(data, tables.RULE, path, faults)
        if len(faults) > before:
            return None
        limits, each = self._limits(values.pop("limits"), (*path, "limits"), faults)
        without, _ = self._limits(values.pop("without_season", {}), path, faults)
        self._check(values, limits, each, path, faults)
        scopes = self._read_scopes(values.pop("scope", []), (*path, "scope"), faults)
        findings = self._read_findings(values.pop("findings", []), (*path, "findings"), faults)
        binding = self._bind(values, path, faults)
        place = "ashore" if values["out_of_water"] else values["place"]
        empty: dict[str, Any] = {
            "evidence": "", "licence": "", "record": "", "window_days": None, "skills": (),
            "parts": (), "tools": (), "cautions": (),
        }  # fmt: skip
        when = {key: _as_tuple(value) for key, value in values.pop("when", {}).items()}
        settled = {
            **empty, **values, "binding": binding, "place": place, "limits": limits, "each": each,
            "without_season": without, "when": when, "findings": findings, "scopes": scopes,
        }  # fmt: skip
        return Rule(id=name, kind=self.kind, **settled)

    def _limits(
        self, data: Any, path: Path, faults: list[Fault]
    ) -> tuple[Limits, tuple[str, ...]]:
        rows = {row.key: row for row in self.fields}
        limits, each = read_limits(data, path, faults, fields=rows)
        bound = limits.get("reading")
        if isinstance(bound, ReadingLimit) and bound.name not in self.readings:
            fix = f"one of {', '.join(self.readings) or 'none: add it to readings'}"
            faults.append(Fault((*path, "reading"), f"reading {bound.name} is not known", fix))
        needs = [key for key in DATA_LIMITS if key in limits]
        if needs and not any(key in limits for key in CALENDAR_LIMITS):
            fix = "add days, weeks or months, so that missing data never silences the task"
            faults.append(Fault(path, f"{needs[0]} stands without a calendar limit", fix))
        return limits, each

    def _check(
        self, values: Mapping[str, Any], limits: Limits, each: tuple[str, ...], path: Path,
        faults: list[Fault],
    ) -> None:  # fmt: skip
        for key, known, what in (
            ("sources", self.sources, "source"),
            ("cautions", self.cautions, "caution"),
        ):
            for name in values.get(key, ()):
                if name not in known:
                    near = nearest(name, tuple(known))
                    fix = f"did you mean {near}?" if near else f"add [{what}.{name}]"
                    faults.append(Fault((*path, key), f"{what} {name} is not known", fix))
        if not values["sources"]:
            fix = "name a row of sources; a trade's habit is a row marked PRACTICE"
            faults.append(Fault((*path, "sources"), "rule has no source", fix))
        if each and limits:
            faults.append(Fault(path, "each stands beside another limit", "split the rule in two"))
        evidence = values.get("evidence")
        if evidence and evidence not in limits:
            fix = f"one of {', '.join(limits)}"
            faults.append(Fault((*path, "evidence"), f"evidence {evidence} is no limit", fix))
        self._check_when(values.get("when", {}), (*path, "when"), faults)

    def _check_when(self, when: Any, path: Path, faults: list[Fault]) -> None:
        if not isinstance(when, dict):
            faults.append(Fault(path, "when is not a table", "write { field = value }"))
            return
        rows = {row.key: row for row in self.fields}
        for key, value in when.items():
            row = rows.get(key)
            if row is None:
                fix = f"one of {', '.join(rows)}"
                faults.append(Fault((*path, key), f"when names no field {show(key)}", fix))
            elif row.choices and any(item not in row.choices for item in _as_tuple(value)):
                fix = f"one of {', '.join(row.choices)}"
                faults.append(Fault((*path, key), f"{key} is never {show(value)}", fix))

    def _bind(self, values: dict[str, Any], path: Path, faults: list[Fault]) -> str:
        found = [self.sources[name] for name in values["sources"] if name in self.sources]
        allowed = strongest([derive_binding(s, in_scope=False, in_scheme=False) for s in found])
        return _hold(values.get("binding", allowed), allowed, (*path, "binding"), faults)

    def _read_scopes(self, data: Any, path: Path, faults: list[Fault]) -> tuple[Scope, ...]:
        if not isinstance(data, list):
            faults.append(Fault(path, "scope is not a list", "write [[kind.id.rule.id.scope]]"))
            return ()
        scopes = []
        for index, row in enumerate(data):
            before = len(faults)
            scope = self._read_scope(row, (*path, index), faults)
            if scope is not None and len(faults) == before:
                scopes.append(scope)
        return tuple(scopes)

    def _read_scope(self, data: Any, path: Path, faults: list[Fault]) -> Scope | None:
        before = len(faults)
        values = read_table(data, tables.SCOPE, path, faults)
        if len(faults) > before:
            return None
        limits, _ = self._limits(values.get("limits", {}), (*path, "limits"), faults)
        lists = {k: values.get(k, ()) for k in ("flags", "waters", "uses", "classes", "schemes")}
        if not any(lists.values()):
            fix = "name flags, waters, uses, classes or schemes"
            faults.append(Fault(path, "scope applies to everybody", fix))
        unknown = [name for name in values["sources"] if name not in self.sources]
        for name in unknown:
            faults.append(Fault((*path, "sources"), f"source {name} is not known", "add it"))
        found = [self.sources[name] for name in values["sources"] if name in self.sources]
        in_scheme = bool(lists["schemes"])
        allowed = strongest([derive_binding(s, in_scope=True, in_scheme=in_scheme) for s in found])
        binding = _hold(values["binding"], allowed, (*path, "binding"), faults)
        return Scope(**lists, binding=binding, limits=limits, sources=values["sources"])

    def _read_findings(self, data: Any, path: Path, faults: list[Fault]) -> tuple[Finding, ...]:
        if not isinstance(data, list):
            faults.append(Fault(path, "findings is not a list", "write a list of wear and words"))
            return ()
        rows = [
            read_table(row, tables.FINDING, (*path, index), faults)
            for index, row in enumerate(data)
        ]
        found = tuple(Finding(**row) for row in rows if len(row) == 2)
        wears = [finding.wear for finding in found]
        if wears != sorted(set(wears)):
            faults.append(Fault(path, "findings do not rise", "order them by wear, each once"))
        return found


def _as_tuple(value: object) -> tuple[object, ...]:
    return tuple(value) if isinstance(value, list) else (value,)


def _hold(stated: str, allowed: str, path: Path, faults: list[Fault]) -> str:
    if BINDINGS.index(stated) > BINDINGS.index(allowed):
        fix = f'at most "{allowed}": no law read or scheme stands behind it'
        faults.append(Fault(path, f'binding is "{stated}"', fix))
    return stated
