"""walkround kinds: what the catalogue knows, with its sources."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import click

from upkeep.catalogue import load_builtin, load_catalogue
from upkeep.catalogue.explain import (
    explain_kind,
    group_by_area,
    print_kind,
    print_kinds,
    say_limits,
)
from upkeep.cli import options
from upkeep.dates import Stamp
from upkeep.errors import UnknownNameError
from upkeep.model import (
    Catalogue,
    Draw,
    Expiry,
    Field,
    Kind,
    Limits,
    Output,
    ReadingLimit,
    Rule,
    Scope,
    Source,
)
from upkeep.schema import nearest


@click.command()
@click.argument("kind", required=False)
@click.option("--fleet", type=click.Path(path_type=Path), help="With this fleet's own kinds.")
@options.vessel_option
@options.today_option
@options.format_option("text", "json", "csv", "markdown")
def kinds(
    kind: str | None, fleet: Path | None, vessels: tuple[str, ...], today: date, form: str
) -> None:
    """Print the reference; no line of it depends on the day."""
    catalogue = _open(fleet)
    aboard = _list_aboard(fleet or Path(), vessels) if vessels else frozenset(catalogue.kinds)
    if kind is not None and kind not in catalogue.kinds:
        near = nearest(kind, tuple(catalogue.kinds))
        hint = f"; did you mean {near}?" if near else "; walkround kinds lists them"
        raise UnknownNameError(f"there is no kind {kind}{hint}")
    wanted = [kind] if kind else [name for name in catalogue.kinds if name in aboard]
    chosen = [catalogue.kinds[name] for name in wanted]
    if form == "json":
        options.print_json(reference(catalogue, chosen))
    elif form == "csv":
        _print_csv(chosen)
    elif form == "markdown":
        page = print_kind(catalogue, chosen[0]) + "\n" if kind else print_kinds(catalogue)
        click.echo(page, nl=False)
    elif kind:
        for line in _describe(catalogue, chosen[0]):
            click.echo(line)
    else:
        _print_list(chosen)


def _list_aboard(fleet: Path, vessels: tuple[str, ...]) -> frozenset[str]:
    """List the kinds installed on some vessels of a fleet."""
    loaded, _ = options.open_fleet(fleet, vessels)
    return frozenset(c.kind.id for v in loaded.vessels for c in v.components.values())


def _open(fleet: Path | None) -> Catalogue:
    if fleet is None:
        return load_builtin()
    catalogue, problems = load_catalogue(fleet)
    for problem in problems:
        click.echo(str(problem), err=True)
    return catalogue


def reference(catalogue: Catalogue, chosen: list[Kind]) -> dict[str, Any]:
    """Give kinds and the sources they name as JSON values."""
    named = {
        name
        for kind in chosen
        for rule in kind.rules
        for name in (*rule.sources, *(n for scope in rule.scopes for n in scope.sources))
    }
    sources = [source for name, source in sorted(catalogue.sources.items()) if name in named]
    return {"kinds": [_kind_row(k) for k in chosen], "sources": [_source_row(s) for s in sources]}


def _kind_row(kind: Kind) -> dict[str, Any]:
    return {
        "kind": kind.id,
        "title": kind.title,
        "fields": [_field_row(row) for row in kind.fields],
        "readings": [
            {"name": r.name, "unit": r.unit, "low": r.low, "high": r.high} for r in kind.readings
        ],
        "rules": [_rule_row(rule) for rule in kind.rules],
    }


def _field_row(row: Field) -> dict[str, Any]:
    return {
        "key": row.key,
        "type": row.type,
        "unit": row.unit,
        "low": row.low,
        "high": row.high,
        "choices": list(row.choices),
        "default": _plain(row.default),
        "required": row.required,
        "text": row.text,
    }


def _plain(value: object) -> Any:
    if isinstance(value, Stamp):
        return value.text
    if isinstance(value, Draw):
        return {"low": value.low, "usual": value.usual, "full": value.full}
    if isinstance(value, Output):
        return {"idle": value.idle, "cruise": value.cruise}
    return list(value) if isinstance(value, tuple) else value


def _limits_row(limits: Limits, each: tuple[str, ...] = ()) -> dict[str, Any]:
    row: dict[str, Any] = {}
    for key, value in limits.items():
        if isinstance(value, Expiry):
            row["expiry"] = value.field
            if value.life_field or value.life_months:
                row["life_months"] = value.life_field or value.life_months
        elif isinstance(value, ReadingLimit):
            bound = {"name": value.name, "above": value.above, "below": value.below}
            row["reading"] = {k: v for k, v in bound.items() if v is not None}
            if value.of_commissioning:
                row["reading"]["of_commissioning"] = True
        else:
            row[key] = value
    if each:
        row["each"] = list(each)
    return row


def _rule_row(rule: Rule) -> dict[str, Any]:
    return {
        "rule": rule.id,
        "title": rule.title,
        "purpose": rule.purpose,
        "limits": _limits_row(rule.limits, rule.each),
        "when": {key: list(values) for key, values in rule.when.items()},
        "without_season": _limits_row(rule.without_season),
        "evidence": rule.evidence or None,
        "window_days": rule.window_days,
        "least_days": rule.least_days,
        "isolates": rule.isolates,
        "place": rule.place,
        "binding": rule.binding,
        "scopes": [_scope_row(scope) for scope in rule.scopes],
        "hand": rule.hand,
        "skills": list(rule.skills),
        "licence": rule.licence or None,
        "minutes": rule.minutes,
        "out_of_water": rule.out_of_water,
        "sources": list(rule.sources),
        "on_request": rule.on_request,
    }


def _scope_row(scope: Scope) -> dict[str, Any]:
    return {
        "flags": list(scope.flags),
        "waters": list(scope.waters),
        "uses": list(scope.uses),
        "classes": list(scope.classes),
        "schemes": list(scope.schemes),
        "binding": scope.binding,
        "limits": _limits_row(scope.limits),
        "sources": list(scope.sources),
    }


def _source_row(source: Source) -> dict[str, Any]:
    return {
        "id": source.id,
        "title": source.title,
        "section": source.section,
        "authority": source.authority,
        "mark": source.mark,
    }


def _print_csv(chosen: list[Kind]) -> None:
    head = ("kind", "rule", "title", "purpose", "limits", "binding", "hand", "minutes", "sources")
    options.print_csv(
        head,
        [
            (k.id, r.id, r.title, r.purpose, say_limits(r.limits, r.each), r.binding, r.hand,
             r.minutes, " ".join(r.sources))
            for k in chosen
            for r in k.rules
        ],
    )  # fmt: skip


def _print_list(chosen: list[Kind]) -> None:
    width = max(len(kind.id) for kind in chosen)
    for area, group in group_by_area(chosen):
        click.echo(options.strong(area[:1].upper() + area[1:]))
        for kind in group:
            count = options.say_count(len(kind.rules), "task")
            click.echo(f"  {kind.id:<{width}}  {kind.title}, {count}")
        click.echo()
    click.echo("walkround kinds KIND says more of one.")


def _describe(catalogue: Catalogue, kind: Kind) -> Iterator[str]:
    number = 0
    for line in explain_kind(catalogue, kind):
        number = number + 1 if line.style == "step" else 0
        if line.style in ("kind", "head", "rule"):
            yield ("" if line.style == "kind" else "\n") + options.strong(line.text)
        elif line.style == "code":
            yield f"  {line.text}"
        else:
            mark = {"item": "– ", "step": f"{number}. ", "text": ""}[line.style]
            yield options.wrap(line.text, 2, mark)
