"""walkround publish: everything that changed, with an index page."""

from __future__ import annotations

import os
import sys
from datetime import date
from pathlib import Path
from typing import Literal

import click

from upkeep.cli import options
from upkeep.publish import Order, publish_fleet

_FEW_VESSELS = 8  # below this, starting processes costs more than it saves


@click.command()
@options.fleet_argument
@options.to_option
@options.vessel_option
@options.today_option
@click.option("--no-pdf", is_flag=True, help="Leave the PDFs out.")
@click.option("--jobs", type=click.IntRange(1, 256), help="Processes to use.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), help="Paper of the PDFs.")
@options.format_option("text", "json", "csv")
def publish(
    fleet: Path, to: Path, vessels: tuple[str, ...], today: date, no_pdf: bool,
    jobs: int | None, paper: Literal["a4", "letter"] | None, form: str,
) -> None:  # fmt: skip
    """Write everything."""
    loaded, _ = options.open_fleet(fleet, vessels)
    count = jobs or ((os.cpu_count() or 1) if len(loaded.vessels) >= _FEW_VESSELS else 1)
    order = Order(
        to=to, today=today, pdf=not no_pdf, paper=paper, whole=not vessels,
        logbook=options.logbook_url(),
    )  # fmt: skip
    reports = publish_fleet(loaded, order, count)
    failed = {report.vessel: report.failed for report in reports if report.failed}
    written = [name for report in reports for name in report.written]
    for report in reports:
        for note in filter(None, (*report.notes, report.problem)):
            click.echo(note, err=True)
    for vessel, message in failed.items():
        click.echo(f"{vessel}: {message}", err=True)
    stopped = sorted({*failed, *loaded.stopped})
    lines = [f"  {to / name}" for name in written]
    said = f"{options.say_count(len(written), 'file')} written" if written else "nothing changed"
    boats = options.say_count(len(reports) - len(failed), "vessel")
    left = "".join(f"; {name} left out" for name in stopped)
    lines.append(f"{boats}, {said}{left}. Open {to / 'index.html'}")
    options.print_written(form, written, len(reports), stopped, "\n".join(lines))
    if loaded.problems or failed or any(report.problem for report in reports):
        sys.exit(1)
