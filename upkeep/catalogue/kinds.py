"""Reads one kind: what is recorded of it, what is measured on it, what goes wrong, its rules."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from upkeep.catalogue import tables
from upkeep.catalogue.limits import Measures
from upkeep.catalogue.names import Names, check_distinct
from upkeep.catalogue.rules import RuleReader
from upkeep.errors import Fault, KeyPath
from upkeep.model import Caution, Field, FieldValue, Kind, ReadingKind, Rule, Source, Symptom
from upkeep.schema import Table, compile_table, read_table

CONSUMER_FIELDS = (
    Field(key="draw_a", type="draw", unit="A", low=0, high=1000, text="current while running"),
    Field(
        key="standby_a", type="number", unit="A", low=0, high=100, text="current drawn when idle"
    ),
)
_SETTLED_CHOICES = ("alloy", "chemistry")  # words the models of upkeep.physics are made for


@dataclass(frozen=True, kw_only=True, slots=True)
class KindReader:
    """Reads kinds against the known names. builtin holds the kinds that ship with the tool."""

    builtin: Mapping[str, Kind]
    sources: Mapping[str, Source]
    cautions: Mapping[str, Caution]
    source_names: Names
    caution_names: Names

    def read(self, name: str, data: Any, path: KeyPath, faults: list[Fault]) -> Kind | None:
        """Read one kind; None when anything in it, or a row it names, is at fault."""
        before = len(faults)
        values = read_table(data, tables.KIND, path, faults)
        self.caution_names.check(values.get("cautions", ()), (*path, "cautions"), faults)
        fields = self._read_fields(values, (*path, "fields"), faults)
        readings = _read_readings(values.get("readings"), (*path, "readings"), faults)
        symptoms = list_of(values.get("symptoms"), tables.SYMPTOM, (*path, "symptoms"), faults)
        roles = values.get("roles", ())
        if "bank" in roles:
            _check_bank(fields, path, faults)
        reader = RuleReader(
            kind=name,
            measures=Measures(
                fields=fields, readings=[row.name for row in readings], is_bank="bank" in roles
            ),
            sources=self.sources,
            source_names=self.source_names,
            caution_names=self.caution_names,
        )
        rules = reader.read_all(values.get("rule", {}), (*path, "rule"), faults)
        if len(faults) > before or not self._is_usable(values, rules):
            return None
        return Kind(
            id=name,
            title=values["title"],
            area=values["area"],
            roles=roles,
            what=values.get("what", ""),
            fields=tuple(row for row in fields.values() if row is not None),
            readings=readings,
            healthy=values.get("healthy", ()),
            symptoms=tuple(Symptom(**row) for row in symptoms),
            cautions=values.get("cautions", ()),
            spares=values.get("spares", ()),
            rules=rules,
        )

    def _is_usable(self, values: Mapping[str, Any], rules: Sequence[Rule]) -> bool:
        """Tell whether every source and caution named is right itself; if not, it is reported."""
        cautions = {*values.get("cautions", ()), *(n for rule in rules for n in rule.cautions)}
        sources = {name for rule in rules for name in rule.sources}
        sources |= {name for rule in rules for scope in rule.scopes for name in scope.sources}
        return cautions <= self.cautions.keys() and sources <= self.sources.keys()

    def _read_fields(
        self, values: Mapping[str, Any], path: KeyPath, faults: list[Fault]
    ) -> dict[str, Field | None]:
        """Read the field rows; None stands for a faulty one."""
        rows = list_of(values.get("fields"), tables.FIELD, path, faults)
        check_distinct([row.get("key", "") for row in rows], path, "key", faults)
        fields: dict[str, Field | None] = {}
        for place, row in enumerate(rows):
            if "key" in row:
                fields[row["key"]] = self._read_field(row, (*path, place), faults)
        if "consumes" in values.get("roles", ()):
            fields = {**fields, **{r.key: r for r in CONSUMER_FIELDS if r.key not in fields}}
        return fields

    def _read_field(
        self, values: Mapping[str, Any], path: KeyPath, faults: list[Fault]
    ) -> Field | None:
        if not values.keys() >= {"type", "text"}:
            return None
        row = Field(
            key=values["key"],
            type=values["type"],
            unit=values.get("unit", ""),
            low=values.get("low"),
            high=values.get("high"),
            choices=values.get("choices", ()),
            required=values["required"],
            text=values["text"],
        )
        before = len(faults)
        row = self._hold_to_builtin(row, path, faults)
        _check_field(row, path, faults)
        if len(faults) > before or "default" not in values:
            return row if len(faults) == before else None
        found = read_table(
            {row.key: values["default"]}, compile_table("field", [row]), path, faults
        )
        default: FieldValue | None = found.get(row.key)
        return replace(row, default=default)

    def _hold_to_builtin(self, row: Field, path: KeyPath, faults: list[Fault]) -> Field:
        """Give a key that the models read the bounds it has elsewhere; report another type."""
        same = [r for kind in self.builtin.values() for r in kind.fields if r.key == row.key]
        types = sorted({other.type for other in same})
        if not same or "text" in types:
            return row
        if row.type not in types:
            fix = f'write type = "{types[0]}", or choose another key'
            faults.append(Fault((*path, "type"), f"{row.key} is a {types[0]} elsewhere", fix))
            return row
        if row.key in _SETTLED_CHOICES:
            known = sorted({word for other in same for word in other.choices})
            if not set(row.choices) <= set(known):
                fix = f"take them from {', '.join(known)}"
                faults.append(Fault((*path, "choices"), f"{row.key} has other choices", fix))
        lows = [other.low for other in same if other.low is not None]
        highs = [other.high for other in same if other.high is not None]
        low = row.low if row.low is not None else min(lows, default=None)
        high = row.high if row.high is not None else max(highs, default=None)
        if low is not None and lows and low < min(lows):
            faults.append(Fault((*path, "low"), f"low is {low:g}", f"write {min(lows):g} or more"))
        if high is not None and highs and high > max(highs):
            fix = f"write {max(highs):g} or less"
            faults.append(Fault((*path, "high"), f"high is {high:g}", fix))
        return replace(row, low=low, high=high)


def list_of(data: Any, table: Table, path: KeyPath, faults: list[Fault]) -> list[dict[str, Any]]:
    """Read a list of tables; faulty keys are left out of their row, no row is."""
    if data is None:
        return []
    if not isinstance(data, list):
        faults.append(Fault(path, f"{path[-1]} is not a list", "write a list of tables"))
        return []
    return [read_table(item, table, (*path, place), faults) for place, item in enumerate(data)]


def _check_field(row: Field, path: KeyPath, faults: list[Fault]) -> None:
    if row.key in tables.COMPONENT_KEYS:
        fault = Fault((*path, "key"), f"every component has {row.key}", "choose another key")
        faults.append(fault)
    if row.type == "choice" and not row.choices:
        faults.append(Fault(path, f"field {row.key} has no choices", "list them"))
    if row.low is not None and row.high is not None and row.low > row.high:
        faults.append(Fault((*path, "low"), "low is above high", "change the two"))


def _check_bank(fields: Mapping[str, Field | None], path: KeyPath, faults: list[Fault]) -> None:
    row = fields.get("capacity_ah")
    if "capacity_ah" not in fields or (row is not None and not row.required):
        fix = 'add { key = "capacity_ah", type = "number", required = true, … }'
        faults.append(Fault(path, "capacity_ah is no required field of this bank", fix))


def _read_readings(data: Any, path: KeyPath, faults: list[Fault]) -> tuple[ReadingKind, ...]:
    """Read the reading rows; a faulty one keeps its name, so that rules may name it."""
    rows = list_of(data, tables.READING, path, faults)
    check_distinct([row.get("name", "") for row in rows], path, "name", faults)
    found: Sequence[dict[str, Any]] = [
        {"name": "", "unit": "", "low": 0, "high": 0, "at_commissioning": False,
         "counts_for": "", "text": "", **row}
        for row in rows
    ]  # fmt: skip
    for place, row in enumerate(found):
        if row["low"] > row["high"]:
            faults.append(Fault((*path, place, "low"), "low is above high", "change the two"))
    return tuple(ReadingKind(**row) for row in found)
