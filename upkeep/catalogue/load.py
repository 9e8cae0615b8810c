"""Reads catalogue files into kinds, rules, cautions and sources, every fault at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from upkeep.catalogue import tables
from upkeep.catalogue.rules import RuleReader
from upkeep.documents import Document, read_document
from upkeep.errors import Problem
from upkeep.model import (
    BookText,
    Catalogue,
    Caution,
    EmergencyPage,
    Field,
    FieldValue,
    Kind,
    PartList,
    ReadingKind,
    Source,
    Symptom,
)
from upkeep.schema import Fault, Path as KeyPath, Table, nearest, read_table, show

CONSUMER_FIELDS = (
    Field(key="draw_a", type="draw", unit="A", low=0, high=1000, text="current while running"),
    Field(
        key="standby_a", type="number", unit="A", low=0, high=100, text="current drawn when idle"
    ),
)
_HERE = Path(__file__).parent


@dataclass(kw_only=True)
class _Building:
    """What has been read so far; names already built in may not be replaced."""

    kinds: dict[str, Kind] = field(default_factory=dict)
    cautions: dict[str, Caution] = field(default_factory=dict)
    sources: dict[str, Source] = field(default_factory=dict)
    pages: list[EmergencyPage] = field(default_factory=list)
    signals: dict[str, tuple[str, str]] = field(default_factory=dict)
    texts: dict[str, BookText] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


@lru_cache(maxsize=1)
def load_builtin() -> Catalogue:
    """Read the catalogue that ships with the tool. A fault in it is our own mistake."""
    building = _Building()
    documents = [read_document(_HERE, path) for path in sorted(_HERE.glob("*.toml"))]
    _read_all(building, documents)
    if building.problems:
        raise ValueError("\n".join(map(str, building.problems)))
    return _finish(building)


def load_catalogue(folder: Path) -> tuple[Catalogue, list[Problem]]:
    """Read a fleet's own catalogue over the built-in one. It may add, not replace."""
    builtin = load_builtin()
    paths = sorted((folder / "catalogue").glob("*.toml"))
    if not paths:
        return builtin, []
    building = _Building(
        kinds=dict(builtin.kinds),
        cautions=dict(builtin.cautions),
        sources=dict(builtin.sources),
        pages=list(builtin.pages),
        signals=dict(builtin.signals),
        texts=dict(builtin.texts),
    )
    _read_all(building, [read_document(folder, path) for path in paths])
    return _finish(building), building.problems


def _finish(building: _Building) -> Catalogue:
    return Catalogue(
        kinds=MappingProxyType(building.kinds),
        cautions=MappingProxyType(building.cautions),
        sources=MappingProxyType(building.sources),
        pages=tuple(sorted(building.pages, key=lambda page: (page.order, page.id))),
        signals=MappingProxyType(building.signals),
        texts=MappingProxyType(building.texts),
    )


def _read_all(building: _Building, documents: list[Document | Problem]) -> None:
    readable = []
    for document in documents:
        if isinstance(document, Problem):
            building.problems.append(document)
            continue
        faults: list[Fault] = []
        read_table(document.data, tables.DOCUMENT, (), faults)
        building.problems.extend(map(document.problem, faults))
        readable.append(document)
    for section, reader in _SECTIONS:  # sources first: later sections refer to earlier ones
        for document in readable:
            faults = []
            _read_section(building, document, section, reader, faults)
            building.problems.extend(map(document.problem, faults))


def _read_section(
    building: _Building,
    document: Document,
    section: str,
    reader: Callable[[_Building, str, Any, KeyPath, list[Fault]], None],
    faults: list[Fault],
) -> None:
    rows = document.data.get(section, {})
    if not isinstance(rows, dict):
        faults.append(Fault((section,), f"{section} is not a table", f"write [{section}.id]"))
        return
    known = getattr(building, f"{section}s")
    taken = {page.id for page in known} if section == "page" else set(known)
    for name, data in rows.items():
        path = (section, name)
        if name in taken:
            faults.append(Fault(path, f"{section} {show(name)} exists already", "add another id"))
        elif not isinstance(data, dict):
            faults.append(Fault(path, f"{show(name)} is not a table", "write a table of keys"))
        else:
            reader(building, name, data, path, faults)


def _read_source(
    building: _Building, name: str, data: Any, path: KeyPath, faults: list[Fault]
) -> None:
    before = len(faults)
    values = read_table(data, tables.SOURCE, path, faults)
    if len(faults) > before:
        return
    building.sources[name] = Source(
        id=name,
        title=values["title"],
        edition=values.get("edition", ""),
        section=str(values.get("section", "")),
        authority=values["authority"],
        mark=values["mark"],
        range=values.get("range", ""),
    )


def check_names(
    names: tuple[str, ...], known: Mapping[str, object], what: str, path: KeyPath,
    faults: list[Fault],
) -> None:  # fmt: skip
    """Report each name that is not a known source, caution or kind."""
    for name in names:
        if name not in known:
            near = nearest(name, tuple(known))
            fix = f"did you mean {near}?" if near else f"add [{what}.{name}]"
            faults.append(Fault(path, f"{what} {name} is not known", fix))


def _read_caution(
    building: _Building, name: str, data: Any, path: KeyPath, faults: list[Fault]
) -> None:
    before = len(faults)
    values = read_table(data, tables.CAUTION, path, faults)
    check_names(values.get("sources", ()), building.sources, "source", (*path, "sources"), faults)
    if len(faults) > before:
        return
    if values["injury"] is (values["word"] == "NOTICE"):
        fix = "NOTICE is for damage to equipment alone; DANGER, WARNING, CAUTION for people"
        faults.append(Fault(path, f"{values['word']} with injury = {values['injury']}", fix))
        return
    building.cautions[name] = Caution(id=name, **values)


def _list_of(
    data: Any, table: Table, path: KeyPath, faults: list[Fault]
) -> list[dict[str, Any]]:
    if data is None:
        return []
    if not isinstance(data, list):
        faults.append(Fault(path, f"{path[-1]} is not a list", "write a list of tables"))
        return []
    rows = []
    for index, item in enumerate(data):
        before = len(faults)
        values = read_table(item, table, (*path, index), faults)
        if len(faults) == before:
            rows.append(values)
    return rows


def _read_field(values: dict[str, Any], path: KeyPath, faults: list[Fault]) -> Field | None:
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
    if row.type == "choice" and not row.choices:
        faults.append(Fault(path, f"field {row.key} has no choices", "list them"))
        return None
    if "default" not in values:
        return row
    from dataclasses import replace

    from upkeep.schema import compile_table

    found = read_table({row.key: values["default"]}, compile_table("field", [row]), path, faults)
    default: FieldValue | None = found.get(row.key)
    return replace(row, default=default)


def _read_kind(
    building: _Building, name: str, data: Any, path: KeyPath, faults: list[Fault]
) -> None:
    before = len(faults)
    values = read_table(data, tables.KIND, path, faults)
    check_names(values.get("cautions", ()), building.cautions, "caution", path, faults)
    fields = [
        _read_field(row, (*path, "fields", index), faults)
        for index, row in enumerate(
            _list_of(values.get("fields"), tables.FIELD, (*path, "fields"), faults)
        )
    ]
    rows = [row for row in fields if row is not None]
    roles = values.get("roles", ())
    if "consumes" in roles:
        keys = {row.key for row in rows}
        rows.extend(row for row in CONSUMER_FIELDS if row.key not in keys)
    readings = _list_of(values.get("readings"), tables.READING, (*path, "readings"), faults)
    symptoms = _list_of(values.get("symptoms"), tables.SYMPTOM, (*path, "symptoms"), faults)
    reader = RuleReader(
        kind=name, fields=rows, readings=[row["name"] for row in readings],
        sources=building.sources, cautions=building.cautions,
    )  # fmt: skip
    rules = reader.read_all(values.get("rule", {}), (*path, "rule"), faults)
    if len(faults) > before:
        return
    building.kinds[name] = Kind(
        id=name,
        title=values["title"],
        area=values["area"],
        roles=roles,
        what=values.get("what", ""),
        fields=tuple(rows),
        readings=tuple(
            ReadingKind(**{"counts_for": "", "text": "", **row}) for row in readings
        ),
        healthy=values.get("healthy", ()),
        symptoms=tuple(Symptom(**row) for row in symptoms),
        cautions=values.get("cautions", ()),
        spares=values.get("spares", ()),
        rules=rules,
    )


def _read_page(
    building: _Building, name: str, data: Any, path: KeyPath, faults: list[Fault]
) -> None:
    before = len(faults)
    values = read_table(data, tables.PAGE, path, faults)
    lists = _list_of(values.get("lists"), tables.PART_LIST, (*path, "lists"), faults)
    check_names((values.get("caution", ""),), building.cautions, "caution", path, faults)
    for row in lists:
        check_names(row.get("kinds", ()), building.kinds, "kind", (*path, "lists"), faults)
    if len(faults) > before:
        return
    part_lists = tuple(
        PartList(title=row["title"], kinds=row.get("kinds", ()), roles=row.get("roles", ()))
        for row in lists
    )
    building.pages.append(EmergencyPage(id=name, **{**values, "lists": part_lists}))


def _read_signal(
    building: _Building, name: str, data: Any, path: KeyPath, faults: list[Fault]
) -> None:
    before = len(faults)
    values = read_table(data, tables.SIGNAL, path, faults)
    check_names((values.get("source", ""),), building.sources, "source", path, faults)
    if len(faults) == before:
        building.signals[name] = (values["meaning"], values["source"])


def _read_text(
    building: _Building, name: str, data: Any, path: KeyPath, faults: list[Fault]
) -> None:
    before = len(faults)
    values = read_table(data, tables.TEXT, path, faults)
    if len(faults) == before:
        building.texts[name] = BookText(title=values.get("title", ""), body=values["body"])


_SECTIONS = (
    ("source", _read_source),
    ("caution", _read_caution),
    ("kind", _read_kind),
    ("page", _read_page),
    ("signal", _read_signal),
    ("text", _read_text),
)


