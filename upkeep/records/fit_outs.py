"""Fit-outs: reads their files, and writes their components out for one vessel."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from upkeep.catalogue.load import LoadedCatalogue
from upkeep.errors import Fault, KeyPath
from upkeep.model import Kind
from upkeep.naming import is_id, nearest, show, suggest
from upkeep.records.components import find_spoilt, has_nameless, read_rows, written_ids
from upkeep.records.references import KnownIds, Row, check_loops, check_names, check_references
from upkeep.records.tables import FIT_OUT_DOCUMENT, component_table
from upkeep.schema import is_misspelt, read_table

_ANY = {"any bank": "bank", "any charger": "charger", "any protection": "protection"}


@dataclass(frozen=True, kw_only=True, slots=True)
class FitOut:
    """A reusable set of components.

    needs: wanted kind by name, "" where that is at fault; None when they could not be read.
    rows: the components of known kind, without prefix. known: every id written; None when the
    file could not be read. mend: the file to mend before a vessel with it can be used.
    """

    name: str
    needs: Mapping[str, str] | None
    rows: tuple[Row, ...]
    known: KnownIds | None
    mend: str

    @property
    def kinds(self) -> Mapping[str, Kind]:
        """Give the kind of each component."""
        return {row.values["id"]: row.kind for row in self.rows if "id" in row.values}


def unread_fit_out(name: str, file: str) -> FitOut:
    """Stand in for a fit-out whose file could not be read."""
    return FitOut(name=name, needs=None, rows=(), known=None, mend=file)


def read_fit_out(
    name: str,
    data: Mapping[str, Any],
    *,
    file: str,
    catalogue: LoadedCatalogue,
    parts: Collection[str] | None,
    faults: list[Fault],
) -> FitOut:
    """Read one fit-out's file, every fault of it at once. parts: as in check_references."""
    values = read_table(data, FIT_OUT_DOCUMENT, (), faults)
    written = data.get("component", [])
    rows = read_rows(written, catalogue, faults, in_fit_out=True)
    needs = values.get("needs", {})
    wanted = needs if isinstance(needs, dict) else {}
    _check_needs(wanted, catalogue, faults)
    kinds: dict[str, Kind | None] = {
        f"@{need}": catalogue.catalogue.kinds.get(kind) for need, kind in wanted.items()
    }
    unread = "needs" in data and "needs" not in values
    unread = unread or is_misspelt("needs", data, FIT_OUT_DOCUMENT)
    open_prefixes = ("@",) if unread else ()
    if not isinstance(data.get("component"), list):
        open_prefixes = ("",)  # missing, misspelt or no list: reported where it stands
    known = KnownIds(
        kinds={**kinds, **{row.values["id"]: row.kind for row in rows if "id" in row.values}},
        ids=frozenset(written_ids(written)),
        open_prefixes=open_prefixes,
        nameless=has_nameless(written),
        place="this fit-out",
    )
    check_references(rows, known, parts, faults)
    check_loops(rows, faults)
    return FitOut(
        name=name,
        needs=None if unread else needs,
        rows=tuple(rows),
        known=known,
        mend=file if faults else find_spoilt(written, catalogue),
    )


def _check_needs(needs: Mapping[str, str], catalogue: LoadedCatalogue, faults: list[Fault]) -> None:
    kinds = catalogue.catalogue.kinds
    for need, wanted in needs.items():
        at = ("needs", need)
        if not is_id(need):
            fix = "name it in lower-case letters, digits and hyphens"
            faults.append(Fault(at, f"need {show(need)} is no id", fix))
        elif wanted and wanted not in (*_ANY, *kinds) and not catalogue.file_to_mend(wanted):
            near = nearest(wanted, (*_ANY, *kinds))
            fix = f'did you mean "{near}"?' if near else f"a kind, or {', '.join(_ANY)}"
            faults.append(Fault(at, f"{show(wanted)} is not a kind", fix))


def expand_fit_out(
    use: Mapping[str, Any],
    fit_out: FitOut,
    parts: Collection[str] | None,
    path: KeyPath,
    faults: list[Fault],
) -> list[Row]:
    """Write a fit-out's components out for one vessel: prefix, bind and set applied."""
    bind, prefix = use["bind"], use["prefix"]
    _check_bind(bind, fit_out, (*path, "bind"), faults)
    changes = _read_set(use.get("set", {}), fit_out, parts, (*path, "set"), faults)
    rows = []
    for row in fit_out.rows:
        if row.whole:
            own = changes.get(row.values["id"], {})
            merged = {"installed": use["installed"], **row.values, **own}
            merged["assumed"] = row.values["assumed"] - own.keys()
            rows.append(Row(row.kind, _rename(merged, bind, prefix), path, True))
    return rows


def _check_bind(
    bind: Mapping[str, str], fit_out: FitOut, path: KeyPath, faults: list[Fault]
) -> None:
    if fit_out.needs is None:
        return
    unbound = [need for need in fit_out.needs if need not in bind and is_id(need)]
    for need in bind:
        if need not in fit_out.needs:
            near = nearest(need, unbound) or nearest(need, tuple(fit_out.needs))
            fix = f"did you mean {near}?" if near else "the fit-out needs no such thing"
            faults.append(Fault((*path, need), f"bind names no need {show(need)}", fix))
            unbound = [other for other in unbound if other != near]
    for need in unbound:
        wanted = fit_out.needs[need]
        kind = _article(wanted) if wanted else "a component"
        fix = f'write bind = {{ {need} = "the id of {kind}" }}'
        faults.append(Fault(path, f"need {need} is not bound", fix))


def _article(wanted: str) -> str:
    return wanted if wanted.startswith("any ") else f"a {wanted}"


def _read_set(
    data: Any,
    fit_out: FitOut,
    parts: Collection[str] | None,
    path: KeyPath,
    faults: list[Fault],
) -> dict[str, dict[str, Any]]:
    if not isinstance(data, dict):
        faults.append(Fault(path, "set is not a table", "write { component = { field = … } }"))
        return {}
    known, kinds = fit_out.known, fit_out.kinds
    changes = {}
    for name, row in data.items():
        at, before = (*path, name), len(faults)
        if name in kinds and known is not None:
            values = read_table(row, component_table(kinds[name]), at, faults, partial=True)
            for key in {"id", "kind"} & values.keys():
                fix = "set what differs from boat to boat"
                faults.append(Fault((*at, key), f"{key} of a fit-out's part is fixed", fix))
            check_names(values, at, known, parts, faults)
            if len(faults) == before:
                changes[name] = values
        elif known is not None and known.whole and name not in known.ids:
            fix = suggest(name, tuple(kinds), f"one of {', '.join(kinds) or 'none'}")
            faults.append(Fault(at, f"set names no part {show(name)}", fix))
    return changes


def _rename(values: dict[str, Any], bind: Mapping[str, str], prefix: str) -> dict[str, Any]:
    def full(name: str) -> str:
        return bind.get(name[1:], name) if name.startswith("@") else f"{prefix}-{name}"

    renamed = {**values, "id": full(values["id"])}
    if "fed_by" in values:
        renamed["fed_by"] = tuple(
            {**row, "from": full(row["from"]), "through": tuple(map(full, row.get("through", ())))}
            for row in values["fed_by"]
        )
    if "water_from" in values:
        renamed["water_from"] = tuple(map(full, values["water_from"]))
    if "driven_by" in values:
        renamed["driven_by"] = full(values["driven_by"])
    return renamed


def check_bindings(
    use: Mapping[str, Any], fit_out: FitOut, known: KnownIds, path: KeyPath, faults: list[Fault]
) -> None:
    """Report each need bound to nothing aboard, or to a component of another kind."""
    needs = fit_out.needs or {}
    for need, name in use["bind"].items():
        at = (*path, "bind", need)
        known.check(name, at, faults)
        wanted, kind = needs.get(need), known.kinds.get(name)
        if not wanted or kind is None or not _is_kind(wanted, need, fit_out):
            continue
        role = _ANY.get(wanted)
        if not (role in kind.roles if role else kind.id == wanted):
            message = f"{need} is bound to {name}, a {kind.id}"
            faults.append(Fault(at, message, f"bind {_article(wanted)}"))


def _is_kind(wanted: str, need: str, fit_out: FitOut) -> bool:
    """Tell whether a need asks for something that is; if not, the fit-out's file is at fault."""
    known = fit_out.known
    return wanted in _ANY or (known is not None and known.kinds.get(f"@{need}") is not None)
