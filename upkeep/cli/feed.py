"""walkround feed: the calendars, or how two of them differ."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

import click

from upkeep.cli import options
from upkeep.documents import write_atomic
from upkeep.due import find_tasks
from upkeep.errors import UpkeepError
from upkeep.feed.write import PRINTED_MAKER
from upkeep.model import HANDS
from upkeep.publish import Order, write_feed


@click.command()
@click.argument("paths", nargs=-1, type=click.Path(path_type=Path))
@click.option("--to", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to.")
@click.option("--hand", type=click.Choice(HANDS), help="Only what this hand may do.")
@click.option("--static", is_flag=True, help="A fixed file for calendars that cannot subscribe.")
@click.option("--compare", is_flag=True, help="Say in words how OLD and NEW differ.")
@options.vessel_option
@options.today_option
def feed(
    paths: tuple[Path, ...], to: Path | None, hand: str | None, static: bool, compare: bool,
    vessels: tuple[str, ...], today: date,
) -> None:  # fmt: skip
    """Write or compare calendars."""
    if compare:
        if len(paths) != 2:
            raise click.UsageError("--compare takes two files, OLD and NEW")
        _compare(*paths)
        return
    if to is None or len(paths) > 1:
        raise click.UsageError("write: walkround feed [FLEET] --to FOLDER")
    _write(paths[0] if paths else Path(), Order(to=to, today=today), hand, static, vessels)


def _compare(old: Path, new: Path) -> None:
    from upkeep.feed import compare_feeds

    try:
        lines = compare_feeds(old.read_bytes(), new.read_bytes())
    except OSError as error:
        raise UpkeepError(f"cannot read {error.filename}: {error.strerror}") from error
    for line in lines or ["no difference"]:
        click.echo(line)


def _write(
    fleet: Path, order: Order, hand: str | None, static: bool, vessels: tuple[str, ...]
) -> None:
    from upkeep.feed import build_static_feed

    loaded, settled = options.open_fleet(fleet, vessels)
    failed: list[str] = []
    for vessel in loaded.vessels:
        tasks = find_tasks(vessel, settled, order.today)
        try:
            if static:
                data = build_static_feed(
                    fleet=settled, vessel=vessel, tasks=tasks, today=order.today, hand=hand,
                    cautions=loaded.catalogue.cautions,
                )  # fmt: skip
                _write_printed(order.to / f"feeds/{vessel.id}.ics", data)
            else:
                write_feed(loaded, vessel, tasks, order, hand)
        except UpkeepError as error:
            click.echo(f"{vessel.id}: {error}", err=True)
            failed.append(vessel.id)
    boats = options.say_count(len(loaded.vessels) - len(failed), "vessel")
    left = "".join(f"; {name} left out" for name in sorted({*failed, *loaded.stopped}))
    click.echo(f"{boats}, calendars in {order.to / 'feeds'}{left}")
    if failed or loaded.problems:
        sys.exit(1)


def _write_printed(path: Path, data: bytes | None) -> None:
    """Write a fixed calendar, never over a living one: that file is its subscribers' memory."""
    if path.is_file() and b"PRODID:" + PRINTED_MAKER.encode() not in path.read_bytes():
        raise UpkeepError(f"{path} is a living calendar; write the fixed one to another folder")
    if data is not None:
        write_atomic(path, data)
