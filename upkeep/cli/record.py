"""walkround done, read and log: what was done and read, and what stands of it."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import click

from upkeep.cli import options
from upkeep.dates import say_day
from upkeep.errors import Fault, UpkeepError
from upkeep.logbook import Entry, open_logbook
from upkeep.logbook.checks import Checked, check_done, check_read
from upkeep.logbook.facts import read_measurement, read_work
from upkeep.logbook.merge import merge_logbook
from upkeep.model import Vessel
from upkeep.records import load_fleet

_GIVEN = (
    "wear", "finding", "left", "stamp", "by", "licence", "minutes", "note", "photo",
)  # fmt: skip


@click.command()
@click.argument("task", required=False)
@click.option("--on", type=options.DAY, help="Day it was done.")
@click.option("--wear", type=float, help="What was found: 0 as new, 1 at the limit.")
@click.option("--between", type=(float, float), help="Wear found to lie between two figures.")
@click.option("--finding", help="What was found, in the words of the rule; kinds KIND lists them.")
@click.option("--left", type=float, help="Wear left when not all was cleaned.")
@click.option("--stamp", help="Date printed on the new part.")
@click.option("--by", help="Who did it.")
@click.option("--licence", help="Number of the licence, where the rule asks for one.")
@click.option("--minutes", type=int, help="Time it took.")
@click.option("--note", help="Anything else.")
@click.option("--photo", help="A file in photos/.")
@click.option("--undo", "undo", metavar="ENTRY", help="Take an entry back, or put one back.")
@options.fleet_option
@options.vessel_option
@options.logbook_option
@options.today_option
@options.format_option("text", "json", "csv")
def done(
    task: str | None, on: date | None, undo: str | None, fleet: Path, vessels: tuple[str, ...],
    logbook: str | None, today: date, form: str, **given: Any,
) -> None:  # fmt: skip
    """Record work."""
    if undo is not None:
        if task is not None:
            raise click.UsageError("--undo ENTRY stands without a task")
        with open_logbook(fleet, logbook, write=True) as book:
            _tell(*book.undo(book.find(undo), recorded_at=_now()), form)
        return
    if task is None or on is None:
        raise click.UsageError("write: walkround done TASK --on DATE, or done --undo ENTRY")
    vessel, local = _split(task, vessels, 3, "vessel/component/rule")
    said = {"task": local, "on": on, **{k: given[k] for k in _GIVEN if given[k] is not None}}
    if given["between"] is not None:
        said["between"] = list(given["between"])
    loaded = load_fleet(fleet, [vessel])
    _record(fleet, logbook, vessel, "done", check_done(loaded, vessel, said, today), form)


@click.command(context_settings={"ignore_unknown_options": True})  # -550 is a value
@click.argument("component")
@click.argument("name")
@click.argument("value", type=float)
@click.option("--on", type=options.DAY, required=True, help="Day it was read.")
@click.option("--commissioning", is_flag=True, help="Read at hand-over.")
@options.fleet_option
@options.vessel_option
@options.logbook_option
@options.today_option
@options.format_option("text", "json", "csv")
def read(
    component: str, name: str, value: float, on: date, commissioning: bool, fleet: Path,
    vessels: tuple[str, ...], logbook: str | None, today: date, form: str,
) -> None:  # fmt: skip
    """Record a reading."""
    vessel, local = _split(component, vessels, 2, "vessel/component")
    said: dict[str, Any] = {"component": local, "name": name, "value": value, "on": on}
    if commissioning:
        said["commissioning"] = True
    loaded = load_fleet(fleet, [vessel])
    with open_logbook(fleet, logbook, write=False) as book:
        merged = merge_logbook(loaded, book)
    boat: Vessel | None = next(iter(merged.vessels), None)
    beside = tuple(row for row in boat.readings if row.path[:1] == ("logbook",)) if boat else ()
    checked = check_read(loaded, vessel, said, today, beside=beside)
    _record(fleet, logbook, vessel, "read", checked, form)


@click.command()
@options.fleet_argument
@options.vessel_option
@options.logbook_option
@options.today_option
@options.format_option("text", "json", "csv")
def log(fleet: Path, vessels: tuple[str, ...], logbook: str | None, today: date, form: str) -> None:
    """List the entries."""
    with open_logbook(fleet, logbook, write=False) as book:
        standing = {entry.id for entry in book.standing()}
        chosen = [e for e in book.entries() if not vessels or e.vessel in vessels]
    rows = [(entry, entry.kind == "undo" or entry.id in standing) for entry in chosen]
    if form == "json":
        options.print_json({"rows": [_entry_row(entry, stands) for entry, stands in rows]})
    elif form == "csv":
        head = ("seq", "id", "vessel", "kind", "on", "said", "stands", "recorded_at")
        options.print_csv(head, [_csv_row(entry, stands) for entry, stands in rows])
    else:
        for entry, stands in rows:
            taken = "" if stands else "  (taken back)"
            click.echo(f"{entry.id}  {entry.vessel}: {_say(entry)}{taken}")
        if not rows:
            click.echo("Nothing is recorded yet; walkround done and walkround read do it.")


def _split(name: str, vessels: tuple[str, ...], count: int, form: str) -> tuple[str, str]:
    """Part vessel and the rest; --vessel may supply the vessel."""
    parts = name.split("/")
    if len(parts) == count - 1 and len(vessels) == 1:
        return vessels[0], name
    if len(parts) != count or (vessels and parts[0] not in vessels):
        raise UpkeepError(f"{name} is not complete; write {form}")
    return parts[0], name.partition("/")[2]


def _record(
    fleet: Path, url: str | None, vessel: str, kind: str, checked: Checked, form: str
) -> None:
    if checked.facts is None:
        for fault in checked.faults:
            click.echo(_say_fault(fault), err=True)
        sys.exit(1)
    with open_logbook(fleet, url, write=True) as book:
        entry, new = book.record(vessel=vessel, kind=kind, facts=checked.facts, recorded_at=_now())
    _tell(entry, new, form)


def _say_fault(fault: Fault) -> str:
    option = f"--{str(fault.path[0]).replace('_', '-')}: " if fault.path else ""
    return f"walkround: {option}{fault.message}; {fault.fix}"


def _tell(entry: Entry, new: bool, form: str) -> None:
    if form == "json":
        options.print_json({"entry": entry.id, "new": new})
    elif form == "csv":
        options.print_csv(("entry", "new"), [(entry.id, new)])
    else:
        said = "recorded" if new else "recorded already, nothing is added"
        click.echo(f"{entry.id}: {_say(entry)}; {said}.")


def _say(entry: Entry) -> str:
    """Say an entry in a few words."""
    if entry.kind == "undo":
        return f"took back {entry.facts['entry']}"
    if entry.kind == "read":
        read_value = read_measurement(entry.facts)
        return (
            f"{read_value.component} {read_value.name} {read_value.value:g} "
            f"on {say_day(read_value.on)}"
        )
    work = read_work(entry.facts)
    found = f", found {work.wear:g}" if work.wear is not None else ""
    words = f" ({work.finding})" if work.finding else ""
    return f"{work.component}/{work.rule} done on {say_day(work.on)}{found}{words}"


def _entry_row(entry: Entry, stands: bool) -> Mapping[str, Any]:
    return {
        "seq": entry.seq,
        "id": entry.id,
        "vessel": entry.vessel,
        "kind": entry.kind,
        "facts": {k: list(v) if isinstance(v, tuple) else v for k, v in entry.facts.items()},
        "recorded_at": entry.recorded_at.isoformat(),
        "stands": stands,
    }


def _csv_row(entry: Entry, stands: bool) -> Sequence[object]:
    return (
        entry.seq, entry.id, entry.vessel, entry.kind, entry.facts.get("on", ""), _say(entry),
        stands, entry.recorded_at.isoformat(),
    )  # fmt: skip


def _now() -> datetime:
    return datetime.now(UTC)
