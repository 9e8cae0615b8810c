"""walkround due: the tasks by date, as something a person likes to read."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from itertools import groupby
from pathlib import Path

import click

from upkeep.cli import options
from upkeep.cli.rows import problem_rows, task_row
from upkeep.dates import MONTH_NAMES, say_day
from upkeep.due import find_tasks
from upkeep.model import Task, Vessel

_HEAD = ("due", "opens", "standing", "task", "title", "binding", "hand", "minutes", "reason")


@click.command()
@options.fleet_argument
@click.option("--within", type=click.IntRange(min=0), help="Only what is due in so many days.")
@options.vessel_option
@options.today_option
@options.format_option("text", "json", "csv")
def due(fleet: Path, within: int | None, vessels: tuple[str, ...], today: date, form: str) -> None:
    """List tasks."""
    loaded, settled = options.open_fleet(fleet, vessels)
    found = [task for v in loaded.vessels for task in find_tasks(v, settled, today)]
    tasks = sorted(found, key=lambda task: (task.due or date.max, task.id))
    if within is not None:
        last = today + timedelta(days=min(within, 100_000))
        tasks = [task for task in tasks if task.due is not None and task.due <= last]
    if form == "json":
        problems = problem_rows(loaded.problems)
        rows = [task_row(task) for task in tasks]
        options.print_json({"today": today.isoformat(), "tasks": rows, "problems": problems})
    elif form == "csv":
        options.print_csv(_HEAD, (_csv_row(task) for task in tasks))
    else:
        names = {v.id: v.name for v in loaded.vessels}
        _print_text(tasks, loaded.vessels, names, today, within)
    if loaded.problems:
        sys.exit(1)


def _csv_row(task: Task) -> Sequence[object]:
    reason = task.reasons[0].text if task.reasons else ""
    return (
        task.due, task.opens, task.standing, task.id, task.rule.title, task.binding,
        task.rule.hand, task.rule.minutes, reason,
    )  # fmt: skip


def _print_text(
    tasks: Sequence[Task], vessels: Sequence[Vessel], names: dict[str, str], today: date,
    within: int | None,
) -> None:  # fmt: skip
    who = vessels[0].name if len(vessels) == 1 else f"{len(vessels)} vessels"
    late = sum(task.standing == "late" for task in tasks)
    now = sum(task.standing == "now" for task in tasks)
    whole = "tasks in all" if within is None else f"tasks due within {within} days"
    click.echo(f"{who}, {say_day(today)}: {late} late, {now} to do now, {len(tasks)} {whole}")
    several = len(vessels) > 1
    for title, group in _groups(tasks):
        click.echo(f"\n{options.strong(title)}")
        for line in _lines(list(group), names if several else {}, options.terminal_width()):
            click.echo(line)


def _groups(tasks: Sequence[Task]) -> Iterable[tuple[str, Iterable[Task]]]:
    late = [task for task in tasks if task.standing == "late"]
    if late:
        yield "Late", late
    dated = [task for task in tasks if task.due is not None and task.standing != "late"]
    for (year, month), group in groupby(dated, key=_month):
        yield f"{MONTH_NAMES[month - 1]} {year}", group
    undated = [task for task in tasks if task.due is None]
    if undated:
        yield "No date yet", undated


def _month(task: Task) -> tuple[int, int]:
    assert task.due is not None
    return task.due.year, task.due.month


def _lines(tasks: Sequence[Task], names: dict[str, str], width: int) -> Iterable[str]:
    """Align a group: day, boat, what and where, who. The middle gives way when narrow."""
    boats = [names.get(task.vessel, "") for task in tasks]
    boat_width = min(16, max((len(name) for name in boats), default=0))
    for task, boat in zip(tasks, boats, strict=True):
        day = _say_due(task)
        who = _say_who(task)
        left = f"  {day:<11}  " + (
            f"{_cut(boat, boat_width):<{boat_width}}  " if boat_width else ""
        )
        room = max(20, width - len(left) - len(who) - 2)
        same = [other.component.title for other in tasks if other.rule.id == task.rule.id]
        twin = same.count(task.component.title) > 1
        part = f"{task.component.title} {task.component.id}" if twin else task.component.title
        what = _name_work(task.rule.title, part, room)
        line = f"{left}{what:<{room}}".rstrip() if not who else f"{left}{what:<{room}}  "
        yield line + (options.faint(who) if who else "")


def _name_work(title: str, part: str, room: int) -> str:
    """Name work and part; when room is short the work gives way first, to half of it."""
    part = _cut(part, max(10, room - 3 - min(len(title), room // 2)))
    return f"{_cut(title, room - 3 - len(part))} ({part})"


def _say_due(task: Task) -> str:
    if task.due is None:
        return "–"
    if task.standing == "late":
        return f"{say_day(task.due, style='short')} {task.due.year}"
    return say_day(task.due, style="short") + (" now" if task.standing == "now" else "")


def _say_who(task: Task) -> str:
    words = [] if task.rule.hand == "owner" else [task.rule.hand]
    if task.binding == "required":
        words.append("required")
    if task.rule.out_of_water:
        words.append("out of water")
    return ", ".join(words)


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 1].rstrip() + "…"
