"""Prints the reference of every record structure from the rows that check it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from upkeep.catalogue.tables import LIMIT_FIELDS
from upkeep.model import Field
from upkeep.records import fleet_tables, tables
from upkeep.schema import Table, describe

_INTRODUCTION = """# Records

A fleet is a folder: `fleet.toml`, `vessels/*.toml`, and as wanted `fit-outs/*.toml`,
`catalogue/*.toml` (kinds of the fleet's own), `templates/`, `photos/`. The files are TOML.
Days are written without quotes, 2026-05-31; every `to` is the day after the last one. Ids are
lower-case letters, digits and hyphens. An unknown key is an error. Inside a vessel's file a
task is `component/rule`, elsewhere `vessel/component/rule`.

This page is printed from the tables that check the records; `walkround kinds KIND` prints what
a kind adds.
"""


def print_reference() -> str:
    """Write the page as Markdown."""
    lines = [
        _INTRODUCTION,
        *_document("fleet.toml", fleet_tables.FLEET_DOCUMENT),
        *_section("[water.ID]", tables.WATER),
        *_document("vessels/ID.toml", tables.VESSEL_DOCUMENT),
        *_section("[[component]]", (*tables.COMPONENT, tables.INSTALLED)),
        *_section("[[component]] fed_by", tables.SUPPLY),
        *_document("fit-outs/NAME.toml", tables.FIT_OUT_DOCUMENT),
        "Inside a fit-out ids are without prefix, `@name` means what the vessel binds, and the",
        "day of installation comes from the vessel's `[[fit_out]]`.",
        "",
        *_section("Limits, in rules and in [[limit]]", LIMIT_FIELDS),
    ]
    return "\n".join(lines).rstrip() + "\n"


def _document(name: str, table: Table) -> Iterator[str]:
    yield f"## {name}\n"
    for row in table.rows.values():
        if row.fields:
            brackets = f"[[{row.key}]]" if row.type == "tables" else f"[{row.key}]"
            need = "" if row.required else " (may be absent)"
            yield from _section(f"{brackets}: {row.text}{need}", row.fields)


def _section(title: str, rows: Sequence[Field]) -> Iterator[str]:
    yield f"### {title}\n"
    yield "| key | what | write |"
    yield "|---|---|---|"
    for row in rows:
        need = "" if row.required else " May be absent."
        said = describe(row).removeprefix("write ").replace("|", "\\|")
        yield f"| `{row.key}` | {row.text} | {said}.{need} |"
        for inner in row.fields:
            said = describe(inner).removeprefix("write ").replace("|", "\\|")
            yield f"| `{row.key}.{inner.key}` | {inner.text} | {said}. |"
    yield ""
