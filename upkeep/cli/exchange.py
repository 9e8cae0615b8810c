"""walkround import and export: records of old into the logbook, and everything out of it."""

from __future__ import annotations

import sys
from datetime import UTC, date, datetime
from pathlib import Path

import click

from upkeep.cli import options
from upkeep.cli.rows import problem_rows
from upkeep.logbook import open_logbook
from upkeep.logbook.exchange import Report, export, import_export
from upkeep.logbook.old_records import import_table
from upkeep.records import load_fleet


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--dry-run", is_flag=True, help="Say what would be taken in, and write nothing.")
@options.fleet_option
@options.vessel_option
@options.logbook_option
@options.today_option
@options.format_option("text", "json", "csv")
def import_(
    file: Path, dry_run: bool, fleet: Path, vessels: tuple[str, ...], logbook: str | None,
    today: date, form: str,
) -> None:  # fmt: skip
    """Take records in."""
    with open_logbook(fleet, logbook, write=not dry_run) as book:
        if file.suffix.lower() == ".csv":
            report = import_table(
                book, file, loaded=load_fleet(fleet, vessels), today=today,
                recorded_at=datetime.now(UTC), dry_run=dry_run,
            )  # fmt: skip
        else:
            report = import_export(book, file, dry_run=dry_run)
    for problem in report.problems:
        click.echo(str(problem), err=True)
    _tell(report, form, dry_run=dry_run)
    if report.problems:
        sys.exit(1)


def _tell(report: Report, form: str, *, dry_run: bool) -> None:
    counts = {"rows": report.rows, "new": report.new, "known": report.known}
    if form == "json":
        options.print_json({**counts, "problems": problem_rows(report.problems)})
    elif form == "csv":
        options.print_csv(tuple(counts), [tuple(counts.values())])
    else:
        wrong = options.say_count(len(report.problems), "problem")
        said = "would be new" if dry_run or report.problems else "new"
        rows = options.say_count(report.rows, "row")
        click.echo(f"{rows}: {report.new} {said}, {report.known} known already, {wrong}")


@click.command("export")
@options.fleet_argument
@click.option(
    "--to", required=True, type=click.Path(path_type=Path, dir_okay=False), help="File to write."
)
@options.vessel_option
@options.logbook_option
@options.today_option
@options.format_option("text", "json", "csv")
def export_(
    fleet: Path, to: Path, vessels: tuple[str, ...], logbook: str | None, today: date, form: str
) -> None:
    """Write entries out."""
    if len(vessels) > 1:
        raise click.UsageError("export one vessel, or all without --vessel")
    with open_logbook(fleet, logbook, write=False) as book:
        count = export(book, to, vessels[0] if vessels else None)
    if form == "json":
        options.print_json({"written": str(to), "entries": count})
    elif form == "csv":
        options.print_csv(("written", "entries"), [(to, count)])
    else:
        entries = f"{count} entr{'y' if count == 1 else 'ies'}"
        click.echo(f"{entries} written to {to}")
