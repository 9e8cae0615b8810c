"""Options and habits shared by the commands: the day, the fleet, the form of the output."""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import click

from upkeep.errors import UpkeepError
from upkeep.logbook.merge import load_with_logbook
from upkeep.model import Fleet
from upkeep.records import LoadedFleet
from upkeep.values import FIRST_DAY, LAST_DAY

Command = TypeVar("Command", bound=Callable[..., Any])
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


class _Day(click.ParamType[date]):
    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            if len(value) != 10:
                raise ValueError(value)
            day = date.fromisoformat(value)
        except ValueError:
            self.fail(f"{value} is not a day; write YYYY-MM-DD", param, ctx)
        if not FIRST_DAY <= day <= LAST_DAY:
            self.fail(f"{value} is not from {FIRST_DAY} to {LAST_DAY}", param, ctx)
        return day


DAY = _Day()


def _ask_today() -> date:
    return date.today()  # noqa: DTZ011 - a boat's day is the civil day where the user is


today_option = click.option(
    "--today", type=DAY, default=_ask_today, help="Count from this day instead of today."
)
vessel_option = click.option(
    "--vessel", "vessels", multiple=True, help="Only this vessel; may be repeated."
)
fleet_argument = click.argument("fleet", default=".", type=click.Path(path_type=Path))
fleet_option = click.option(
    "--fleet", default=".", type=click.Path(path_type=Path), help="The fleet's folder."
)
logbook_option = click.option(
    "--logbook", metavar="URL", envvar="WALKROUND_LOGBOOK",
    help="The logbook's PostgreSQL address; else logbook.sqlite in the fleet's folder.",
)  # fmt: skip
to_option = click.option(
    "--to", "to", required=True, type=click.Path(path_type=Path, file_okay=False),
    help="Folder to write into.",
)  # fmt: skip


def format_option(*forms: str) -> Callable[[Command], Command]:
    """Offer the forms a command can print in; the first is the default."""
    return click.option(
        "--format", "form", type=click.Choice(forms), default=forms[0], help="Form of the output."
    )


def logbook_url() -> str | None:
    """Give the address of the logbook where the environment names one."""
    return os.environ.get("WALKROUND_LOGBOOK") or None


def open_fleet(folder: Path, vessels: Iterable[str] = ()) -> tuple[LoadedFleet, Fleet]:
    """Load a fleet; its problems go to stderr. Raises UpkeepError when it cannot be used."""
    loaded = load_with_logbook(folder, vessels, url=logbook_url())
    for problem in loaded.problems:
        click.echo(str(problem), err=True)
    for vessel, file in sorted(loaded.stopped.items()):
        click.echo(f"{vessel} is left out until {file} is mended", err=True)
    if loaded.fleet is None:
        raise UpkeepError("fleet.toml must be mended first")
    return loaded, loaded.fleet


def print_json(data: Any) -> None:
    """Print one JSON value on stdout."""
    plain = (sys.stdout.encoding or "").lower() not in ("utf-8", "utf8")
    click.echo(json.dumps(data, ensure_ascii=plain, indent=2))


def print_csv(head: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """Print rows for a spreadsheet; no cell can start a formula."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    click.echo(out.getvalue(), nl=False)


def print_written(
    form: str, written: Sequence[str], vessels: int, stopped: Iterable[str], said: str
) -> None:
    """Print what a command wrote: as JSON, as rows of a spreadsheet, or as said in words."""
    if form == "json":
        print_json({"written": list(written), "vessels": vessels, "stopped": sorted(stopped)})
    elif form == "csv":
        rows = [("written", name) for name in written]
        print_csv(("what", "name"), [*rows, *(("stopped", name) for name in sorted(stopped))])
    else:
        click.echo(said)


def _cell(value: object) -> str:
    text = "" if value is None else str(value)
    return f"'{text}" if text.startswith(_FORMULA) else text


def say_count(number: int, word: str) -> str:
    """Say a number of things: "1 vessel", "2 vessels"."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def terminal_width() -> int:
    """Give the columns to fill: the terminal's or COLUMNS, held to 60…120; 80 elsewhere."""
    if not sys.stdout.isatty() and not os.environ.get("COLUMNS"):
        return 80
    return min(120, max(60, shutil.get_terminal_size().columns))


def wrap(text: str, indent: int = 0, mark: str = "") -> str:
    """Break a text at the terminal's edge; later lines stand under what follows the mark."""
    first = " " * indent + mark
    return textwrap.fill(
        text, terminal_width(), initial_indent=first, subsequent_indent=" " * len(first)
    )


def strong(text: str) -> str:
    """Set text bold on a terminal; elsewhere it stays plain (click strips the style)."""
    return click.style(text, bold=True)


def faint(text: str) -> str:
    """Set text faint on a terminal."""
    return click.style(text, dim=True)
