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
@options.format_option("text", "json", "csv")
def feed(
    paths: tuple[Path, ...], to: Path | None, hand: str | None, static: bool, compare: bool,
    vessels: tuple[str, ...], today: date, form: str,
) -> None:  # fmt: skip
    """Write or compare calendars."""
    if compare:
        if len(paths) != 2:
            raise click.UsageError("--compare takes two files, OLD and NEW")
        _compare(*paths, form)
        return
    if to is None or len(paths) > 1:
        raise click.UsageError("write: walkround feed [FLEET] --to FOLDER")
    order = Order(to=to, today=today)
    _write(paths[0] if paths else Path(), order, hand, static, vessels, form)


def _compare(old: Path, new: Path, form: str) -> None:
    from upkeep.feed import compare_feeds

    try:
        lines = compare_feeds(old.read_bytes(), new.read_bytes())
    except OSError as error:
        raise UpkeepError(f"cannot read {error.filename}: {error.strerror}") from error
    if form == "json":
        options.print_json({"changes": lines})
    elif form == "csv":
        options.print_csv(("change",), [(line,) for line in lines])
    else:
        click.echo("\n".join(lines or ["no difference"]))


def _write(
    fleet: Path, order: Order, hand: str | None, static: bool, vessels: tuple[str, ...], form: str
) -> None:
    from upkeep.feed import build_static_feed

    loaded, settled = options.open_fleet(fleet, vessels)
    failed: set[str] = set()
    written: list[str] = []
    for vessel in loaded.vessels:
        tasks = find_tasks(vessel, settled, order.today)
        try:
            if static:
                data = build_static_feed(
                    fleet=settled, vessel=vessel, tasks=tasks, today=order.today, hand=hand,
                    cautions=loaded.catalogue.cautions,
                )  # fmt: skip
                written += _write_printed(order.to, f"feeds/{vessel.id}.ics", data)
            else:
                written += write_feed(loaded, vessel, tasks, order, hand)
        except UpkeepError as error:
            click.echo(f"{vessel.id}: {error}", err=True)
            failed.add(vessel.id)
    stopped = {*failed, *loaded.stopped}
    boats = options.say_count(len(loaded.vessels) - len(failed), "vessel")
    left = "".join(f"; {name} left out" for name in sorted(stopped))
    said = f"{boats}, calendars in {order.to / 'feeds'}{left}"
    options.print_written(form, written, len(loaded.vessels), stopped, said)
    if failed or loaded.problems:
        sys.exit(1)


def _write_printed(to: Path, name: str, data: bytes | None) -> list[str]:
    """Write a fixed calendar, never over a living one: that file is its subscribers' memory."""
    path = to / name
    if path.is_file() and b"PRODID:" + PRINTED_MAKER.encode() not in path.read_bytes():
        raise UpkeepError(f"{path} is a living calendar; write the fixed one to another folder")
    if data is None:
        return []
    write_atomic(path, data)
    return [name]
