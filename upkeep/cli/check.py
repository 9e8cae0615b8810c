"""walkround check: every problem, and what looks wrong as installed."""

from __future__ import annotations

import sys
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any

import click

from upkeep.cli import options
from upkeep.cli.rows import problem_rows
from upkeep.errors import Problem, Warning
from upkeep.handbook.authority import say_source
from upkeep.logbook import FILE, open_logbook
from upkeep.logbook.merge import load_with_logbook
from upkeep.model import Catalogue
from upkeep.records.installed import find_warnings


@click.command()
@options.fleet_argument
@options.vessel_option
@options.today_option
@options.format_option("text", "json", "csv")
def check(fleet: Path, vessels: tuple[str, ...], today: date, form: str) -> None:
    """Check a fleet."""
    loaded = load_with_logbook(fleet, vessels, url=options.logbook_url())
    warnings = find_warnings(loaded, today)
    problems = (*loaded.problems, *_check_chain(fleet))
    if form == "json":
        rows: list[dict[str, Any]] = [asdict(warning) for warning in warnings]
        for row in rows:
            row["sources"] = list(row["sources"])
        found = {"problems": problem_rows(problems), "warnings": rows, "coverage": {}}
        options.print_json(found)
    elif form == "csv":
        options.print_csv(
            ("what", "file", "line", "message", "fix"),
            [("problem", p.file, p.line, p.message, p.fix) for p in problems]
            + [("warning", w.file, w.line, w.message, "") for w in warnings],
        )
    else:
        for problem in problems:
            click.echo(str(problem))
        _print_warnings(warnings)
        _print_sources(warnings, loaded.catalogue)
        _summarise(len(problems), len(warnings), len(loaded.vessels))
    if problems:
        sys.exit(1)


def _check_chain(fleet: Path) -> tuple[Problem, ...]:
    """Follow the logbook's chain; name the first entry that is not as it was recorded."""
    with open_logbook(fleet, options.logbook_url(), write=False) as logbook:
        broken = logbook.verify()
    if broken is None:
        return ()
    fix = "bring the logbook back from a copy, or import an export into a new one"
    return (Problem(file=FILE, line=max(1, broken.seq), message=str(broken), fix=fix),)


def _print_warnings(warnings: tuple[Warning, ...]) -> None:
    titles = ("Look at:", "Not recorded, so not checked:", "To complete the handbook:")
    for title in titles:
        rows = [warning for warning in warnings if _choose_title(warning) == titles.index(title)]
        if rows:
            click.echo(title, err=True)
            for row in rows:
                click.echo(f"  {row}", err=True)


def _print_sources(warnings: tuple[Warning, ...], catalogue: Catalogue) -> None:
    """Say on what each sort of remark rests, once."""
    behind = {warning.check: warning.sources for warning in warnings if warning.sources}
    if behind:
        click.echo("What these rest on:", err=True)
    for check, names in sorted(behind.items()):
        said = " ".join(say_source(catalogue.sources[name]) for name in names)
        click.echo(options.wrap(f"{check}: {said}", 2), err=True)


def _choose_title(warning: Warning) -> int:
    return 2 if warning.check == "handbook" else int(warning.check.endswith("-unknown"))


def _summarise(problems: int, warnings: int, vessels: int) -> None:
    def count(number: int, word: str) -> str:
        return f"{number or 'no'} {word}{'' if number == 1 else 's'}"

    parts = [count(vessels, "vessel"), count(problems, "problem"), count(warnings, "remark")]
    click.echo(", ".join(parts), err=True)
