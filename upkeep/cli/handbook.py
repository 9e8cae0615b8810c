"""walkround handbook: each vessel's book of the current edition, HTML and PDF."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import Literal

import click

from upkeep.cli import options
from upkeep.errors import UpkeepError
from upkeep.publish import Order, hash_common, write_handbook


@click.command()
@options.fleet_argument
@options.to_option
@click.option("--paper", type=click.Choice(["a4", "letter"]), help="Default: by the fleet's units.")
@options.vessel_option
@options.today_option
@options.format_option("text", "json", "csv")
def handbook(
    fleet: Path, to: Path, paper: Literal["a4", "letter"] | None, vessels: tuple[str, ...],
    today: date, form: str,
) -> None:  # fmt: skip
    """Write handbooks."""
    loaded, _ = options.open_fleet(fleet, vessels)
    order = Order(to=to, today=today, paper=paper)
    written: list[str] = []
    failed: set[str] = set()
    problems = len(loaded.problems)
    lines: list[str] = []
    common = hash_common(loaded)
    for vessel in loaded.vessels:
        try:
            book = write_handbook(loaded, vessel, order, common)
        except UpkeepError as error:
            click.echo(f"{vessel.id}: {error}", err=True)
            failed.add(vessel.id)
            continue
        for note in filter(None, (*book.made.notes, book.problem)):
            click.echo(note, err=True)
        problems += bool(book.problem)
        written += book.written
        count = options.say_count(len(book.written), "file")
        lines.append(f"{vessel.name}: {count} written to {to / 'handbooks'}")
    stopped = {*failed, *loaded.stopped}
    options.print_written(form, written, len(loaded.vessels), stopped, "\n".join(lines))
    if failed or problems:
        sys.exit(1)
