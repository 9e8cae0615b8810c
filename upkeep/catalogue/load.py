"""Reads catalogue files into kinds, rules, cautions and sources, every fault at once.

A row that names a faulty one is left out with it, without another problem.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from upkeep.catalogue import tables
from upkeep.catalogue.kinds import KindReader, list_of
from upkeep.catalogue.names import Names
from upkeep.documents import Document, list_documents, read_document
from upkeep.errors import Fault, KeyPath, Problem
from upkeep.model import (
    BookText,
    Catalogue,
    Caution,
    EmergencyPage,
    Kind,
    PartList,
    Source,
)
from upkeep.naming import NOTE_LENGTH, is_id, name_value, show
from upkeep.schema import is_misspelt, read_table
from upkeep.values import find_text_fault

_HERE = Path(__file__).parent


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadedCatalogue:
    """A fleet's catalogue as read. spoilt names the file of each kind left out for a fault.

    unread is a file that could not be read at all, so that any kind may be in it; "" if none.
    """

    catalogue: Catalogue
    problems: tuple[Problem, ...]
    spoilt: Mapping[str, str]
    unread: str

    def file_to_mend(self, kind: str) -> str:
        """Name the file whose mending may bring a missing kind; "" when none would."""
        return self.spoilt.get(kind, self.unread)


@dataclass(kw_only=True)
class _Building:
    """What has been read so far; names already built in may not be replaced."""

    builtin: Mapping[str, Kind] = field(default_factory=dict)
    kinds: dict[str, Kind] = field(default_factory=dict)
    cautions: dict[str, Caution] = field(default_factory=dict)
    sources: dict[str, Source] = field(default_factory=dict)
    pages: dict[str, EmergencyPage] = field(default_factory=dict)
    signals: dict[str, tuple[str, str]] = field(default_factory=dict)
    texts: dict[str, BookText] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    spoilt: dict[str, str] = field(default_factory=dict)
    unread: str = ""
    names: dict[str, Names] = field(default_factory=dict)


@lru_cache(maxsize=1)
def load_builtin() -> Catalogue:
    """Read the catalogue that ships with the tool. A fault in it is our own mistake."""
    building = _Building()
    _read_all(building, [read_document(_HERE, path) for path in sorted(_HERE.glob("*.toml"))])
    if building.problems:
        raise ValueError("\n".join(map(str, building.problems)))
    return _finish(building)


def load_catalogue(folder: Path) -> tuple[Catalogue, list[Problem]]:
    """Read a fleet's own catalogue over the built-in one. It may add, not replace."""
    loaded = read_catalogue(folder)
    return loaded.catalogue, list(loaded.problems)


def read_catalogue(folder: Path) -> LoadedCatalogue:
    """Read a fleet's own catalogue over the built-in one, and what is missing from it."""
    builtin = load_builtin()
    paths = list_documents(folder, "catalogue")
    if not paths:
        return LoadedCatalogue(catalogue=builtin, problems=(), spoilt={}, unread="")
    building = _Building(
        builtin=builtin.kinds,
        kinds=dict(builtin.kinds),
        cautions=dict(builtin.cautions),
        sources=dict(builtin.sources),
        pages={page.id: page for page in builtin.pages},
        signals=dict(builtin.signals),
        texts=dict(builtin.texts),
    )
    _read_all(building, [read_document(folder, path) for path in paths])
    return LoadedCatalogue(
        catalogue=_finish(building),
        problems=tuple(building.problems),
        spoilt=building.spoilt,
        unread=building.unread,
    )


def _finish(building: _Building) -> Catalogue:
    return Catalogue(
        kinds=MappingProxyType(building.kinds),
        cautions=MappingProxyType(building.cautions),
        sources=MappingProxyType(building.sources),
        pages=tuple(sorted(building.pages.values(), key=lambda page: (page.order, page.id))),
        signals=MappingProxyType(building.signals),
        texts=MappingProxyType(building.texts),
    )


def _read_all(building: _Building, documents: Sequence[Document | Problem]) -> None:
    readable = []
    for document in documents:
        if isinstance(document, Problem):
            building.problems.append(document)
            building.unread = building.unread or document.file
            continue
        faults: list[Fault] = []
        read_table(document.data, tables.DOCUMENT, (), faults)
        building.problems.extend(map(document.problem, faults))
        readable.append(document)
    for section, reader in _SECTIONS:  # sources first: later sections refer to earlier ones
        known = getattr(building, f"{section}s")
        written = [document.data.get(section, {}) for document in readable]
        usable = [rows for rows in written if isinstance(rows, dict)]
        lost = [d.file for d in readable if is_misspelt(section, d.data, tables.DOCUMENT)]
        lost += [d.file for d in readable if not isinstance(d.data.get(section, {}), dict)]
        if lost and section == "kind":
            building.unread = building.unread or lost[0]
        building.names[section] = Names(
            what=section,
            written=frozenset(known).union(*usable),
            whole=not building.unread and not lost,
        )
        for document in readable:
            faults = []
            _read_section(building, document, section, reader, faults)
            building.problems.extend(map(document.problem, faults))


def _read_section(
    building: _Building,
    document: Document,
    section: str,
    reader: _Reader,
    faults: list[Fault],
) -> None:
    rows = document.data.get(section, {})
    if not isinstance(rows, dict):
        faults.append(Fault((section,), f"{section} is not a table", f"write [{section}.id]"))
        return
    known = getattr(building, f"{section}s")
    taken = set(known)
    for name, data in rows.items():
        path, before = (section, name), len(faults)
        if name in taken:
            faults.append(Fault(path, f"{section} {show(name)} exists already", "add another id"))
            continue
        if not is_id(name) and section != "signal":
            fix = "name it in lower-case letters, digits and hyphens"
            faults.append(Fault(path, f"{section} {show(name)} is no id", fix))
        found = reader(building, name, data, path, faults)
        if found is not None and len(faults) == before:
            known[name] = found
        elif section == "kind":
            building.spoilt[name] = document.file


def _read_source(
    building: _Building, name: str, data: Any, path: KeyPath, faults: list[Fault]
) -> Source | None:
    before = len(faults)
    values = read_table(data, tables.SOURCE, path, faults)
    section = values.get("section", "")
    _check_section(section, (*path, "section"), faults)
    if len(faults) > before:
        return None
    return Source(
        id=name,
        title=values["title"],
        edition=values.get("edition", ""),
        section=str(section),
        authority=values["authority"],
        mark=values["mark"],
        range=values.get("range", ""),
    )


def _check_section(value: object, path: KeyPath, faults: list[Fault]) -> None:
    """Report a section that is neither a number nor a text; it may be empty."""
    fault: tuple[str, str] | None = None
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        fault = (f"is {name_value(value)}", "write a text or a number")
    elif isinstance(value, str):
        fault = find_text_fault(value, most=NOTE_LENGTH, breaks=False)
    if fault:
        faults.append(Fault(path, f"section {fault[0]}", fault[1]))


def _read_caution(
    building: _Building, name: str, data: Any, path: KeyPath, faults: list[Fault]
) -> Caution | None:
    before = len(faults)
    values = read_table(data, tables.CAUTION, path, faults)
    building.names["source"].check(values.get("sources", ()), (*path, "sources"), faults)
    for key, fix in (("sources", "name a row of sources"), ("avoid", "say how to avoid it")):
        if key in values and not values[key]:
            faults.append(Fault((*path, key), f"caution has no {key}", fix))
    injury, word = values.get("injury"), values.get("word")
    if injury is not None and word and injury is (word == "NOTICE"):
        fix = "NOTICE is for damage to equipment alone; DANGER, WARNING, CAUTION for people"
        faults.append(Fault((*path, "word"), f"{word} with injury = {name_value(injury)}", fix))
    if len(faults) > before or not building.sources.keys() >= set(values["sources"]):
        return None
    return Caution(id=name, **values)


def _read_kind(
    building: _Building, name: str, data: Any, path: KeyPath, faults: list[Fault]
) -> Kind | None:
    reader = KindReader(
        builtin=building.builtin,
        sources=building.sources,
        cautions=building.cautions,
        source_names=building.names["source"],
        caution_names=building.names["caution"],
    )
    return reader.read(name, data, path, faults)


def _read_page(
    building: _Building, name: str, data: Any, path: KeyPath, faults: list[Fault]
) -> EmergencyPage | None:
    before = len(faults)
    values = read_table(data, tables.PAGE, path, faults)
    lists = list_of(values.get("lists"), tables.PART_LIST, (*path, "lists"), faults)
    building.names["caution"].check(values.get("cautions", ()), (*path, "cautions"), faults)
    if "cautions" in values and not values["cautions"]:
        faults.append(Fault((*path, "cautions"), "page has no cautions", "name a row of cautions"))
    for place, row in enumerate(lists):
        at = (*path, "lists", place, "kinds")
        building.names["kind"].check(row.get("kinds", ()), at, faults)
    kinds = {name for row in lists for name in row.get("kinds", ())}
    if len(faults) > before or not building.cautions.keys() >= set(values["cautions"]):
        return None
    if not kinds <= building.kinds.keys():
        return None
    part_lists = tuple(
        PartList(title=row["title"], kinds=row.get("kinds", ()), roles=row.get("roles", ()))
        for row in lists
    )
    return EmergencyPage(id=name, **{**values, "lists": part_lists})


def _read_signal(
    building: _Building, name: str, data: Any, path: KeyPath, faults: list[Fault]
) -> tuple[str, str] | None:
    before = len(faults)
    values = read_table(data, tables.SIGNAL, path, faults)
    building.names["source"].check_one(values.get("source", ""), (*path, "source"), faults)
    if len(faults) > before or values["source"] not in building.sources:
        return None
    return values["meaning"], values["source"]


def _read_text(
    building: _Building, name: str, data: Any, path: KeyPath, faults: list[Fault]
) -> BookText | None:
    before = len(faults)
    values = read_table(data, tables.TEXT, path, faults)
    if len(faults) > before:
        return None
    return BookText(title=values.get("title", ""), body=values["body"])


_Reader = Callable[[_Building, str, Any, KeyPath, list[Fault]], Any]
_SECTIONS: tuple[tuple[str, _Reader], ...] = (
    ("source", _read_source),
    ("caution", _read_caution),
    ("kind", _read_kind),
    ("page", _read_page),
    ("signal", _read_signal),
    ("text", _read_text),
)
