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
def handbook(
    fleet: Path,
    to: Path,
    paper: Literal["a4", "letter"] | None,
    vessels: tuple[str, ...],
    today: date,
) -> None:
    """Write handbooks."""
    loaded, _ = options.open_fleet(fleet, vessels)
    order = Order(to=to, today=today, paper=paper)
    failed = False
    common = hash_common(loaded)
    for vessel in loaded.vessels:
        try:
            _, written, notes = write_handbook(loaded, vessel, order, common)
        except UpkeepError as error:
            click.echo(f"{vessel.id}: {error}", err=True)
            failed = True
            continue
        for note in notes:
            click.echo(note, err=True)
        click.echo(f"{vessel.name}: {len(written)} files written to {to / 'handbooks'}")
    if failed or loaded.problems:
        sys.exit(1)
