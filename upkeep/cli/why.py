"""walkround why: one task's date, explained as a person would."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from pathlib import Path

import click

from upkeep.cli import options
from upkeep.cli.rows import task_row
from upkeep.dates import say_day
from upkeep.documents import list_documents
from upkeep.due import (
    Lapse,
    find_lapses,
    find_occasional,
    find_tasks,
    forecast_hours,
    suppose_found,
    task_inputs,
)
from upkeep.errors import UnknownNameError, UpkeepError
from upkeep.model import Fleet, Task, Vessel
from upkeep.records import LoadedFleet
from upkeep.schema import nearest

_Passed = tuple[date, float | None, bool, str]  # the day, wear found, whether it counts, in words

MARK_WORDS: Mapping[str, str] = {
    "SEEN": "the passage was read",
    "SEEN-2": "as reported by others",
    "MEMORY": "from memory, not read again",
    "PRACTICE": "common practice, no source",
}
_BINDING_WORDS = {
    "required": "Required where she is and for how she is used.",
    "advised": "Advised, not required.",
    "practice": "Common practice; change it as you wish.",
}
_PURPOSE_WORDS = {
    "restore": "It brings the part back before wear or loss reaches its limit.",
    "inspect": "It looks for the first signs of a failure.",
    "prove": "It tests something that only matters in need.",
    "renew": "It replaces a part at the end of its life.",
}
_HAND_WORDS = {
    "owner": "You can do it yourself.",
    "competent": "Have it done by a competent person.",
    "licensed": "Only a licensed person may do it.",
}


@click.command()
@click.argument("task")
@options.fleet_option
@options.vessel_option
@options.today_option
@options.format_option("text", "json", "csv")
def why(task: str, fleet: Path, vessels: tuple[str, ...], today: date, form: str) -> None:
    """Explain a task."""
    task = _name_whole(task, vessels, fleet)
    loaded, settled = options.open_fleet(fleet, [task.split("/")[0]])
    vessel, found = _find(loaded, settled, task, today)
    inputs = task_inputs(vessel, settled, found, today)
    supposed = suppose_found(vessel, settled, found, today)
    if supposed:
        inputs["if_found_today"] = [{"wear": w, "due": day.isoformat()} for w, day in supposed]
    lapses = find_lapses(vessel, settled, [found], today).get(found.local_id, ())
    history = _tell_history(vessel, found, lapses, today)
    if form == "json":
        rows = [
            {"on": on.isoformat(), "wear": wear, "counted": counted, "text": text}
            for on, wear, counted, text in history
        ]
        options.print_json({**task_row(found), "history": rows, "inputs": inputs})
        return
    if form == "csv":
        head = ("clock", "limit", "unit", "anchor", "allows", "text")
        options.print_csv(
            head, [(r.clock, r.limit, r.unit, r.anchor, r.allows, r.text) for r in found.reasons]
        )
        return
    for line in _explain(loaded, vessel, found, history, today):
        click.echo(line)
    if supposed:
        said = "; ".join(f"{_name_wear(found, wear)}, {say_day(day)}" for wear, day in supposed)
        click.echo(options.wrap(f"Done today, it would fall due next: found {said}.", 0))
    for line in forecast_hours(vessel, settled, found, today):
        click.echo(options.wrap(line, 2))


def _name_whole(task: str, vessels: tuple[str, ...], fleet: Path) -> str:
    """Give vessel/component/rule; --vessel, or a fleet of one boat, may supply the vessel."""
    parts = task.split("/")
    if len(parts) == 2 and not vessels:
        vessels = tuple(path.stem for path in list_documents(fleet, "vessels"))
    if len(parts) == 2 and len(vessels) == 1:
        return f"{vessels[0]}/{task}"
    if len(parts) != 3 or (vessels and parts[0] not in vessels):
        where = f" of {', '.join(vessels)}" if vessels else ""
        raise UpkeepError(f"{task} is not a task{where}; write vessel/component/rule")
    return task


def _find(loaded: LoadedFleet, fleet: Fleet, name: str, today: date) -> tuple[Vessel, Task]:
    if not loaded.vessels:
        raise UpkeepError(f"{name.split('/', 1)[0]} has problems; walkround check names them")
    vessel = loaded.vessels[0]
    found = (*find_tasks(vessel, fleet, today), *find_occasional(vessel, fleet, today))
    tasks = {task.id: task for task in found}
    if name not in tasks:
        component, rule = name.split("/")[1:]
        override = vessel.overrides.get((component, rule))
        if override is not None and override.dropped:
            said = f"{name} is dropped in {vessel.file}: {override.source}"
            raise UnknownNameError(said)
        own = [task.rule.id for task in found if task.component.id == component]
        if own and not nearest(rule, own):
            raise UnknownNameError(f"{component} has no task {rule}; it has {', '.join(own)}")
        near = nearest(name, tuple(tasks))
        hint = f"; did you mean {near}?" if near else "; walkround due lists them"
        raise UnknownNameError(f"{vessel.name} has no task {name}{hint}")
    return vessel, tasks[name]


def _tell_history(
    vessel: Vessel, task: Task, lapses: Iterable[Lapse], today: date
) -> list[_Passed]:
    """Tell what became of each cycle, rising by day: done, or lapsed undone."""
    passed: list[_Passed] = []
    for done in vessel.completions:
        if done.component == task.component.id and done.rule == task.rule.id:
            counted = task.component.installed <= done.on <= today
            wear = "" if done.wear is None else f", found {_say_wear(task, done.wear)}"
            text = f"Done{wear}{'' if counted else ' (not counted)'}"
            passed.append((done.on, done.wear, counted, text))
    for lapse in lapses:
        text = f"Not done: it was due on {say_day(lapse.due)}, and its season is over"
        passed.append((lapse.on, None, False, text))
    return sorted(passed, key=lambda row: (row[0], row[3]))


def _explain(
    loaded: LoadedFleet, vessel: Vessel, task: Task, history: Iterable[_Passed], today: date
) -> Iterator[str]:
    part = task.component
    yield options.strong(f"{task.rule.title}: {part.title}, {vessel.name}")
    yield options.wrap(f"{part.location[:1].upper()}{part.location[1:]}" + (
        f", marked “{part.marked}”." if part.marked else "."), 0)  # fmt: skip
    yield ""
    yield options.wrap(_say_when(task, today), 0)
    yield options.wrap(_PURPOSE_WORDS[task.rule.purpose], 0)
    yield from _say_reasons(task)
    yield from _say_history(history)
    yield ""
    hand = _HAND_WORDS[task.rule.hand]
    yield options.wrap(f"{hand} It takes about {task.rule.minutes} minutes.", 0)
    yield options.wrap(_BINDING_WORDS[task.binding], 0)
    yield "\nWho says so"
    for name in task.sources:
        source = loaded.catalogue.sources[name]
        title = ", ".join(filter(None, (source.title, source.section, source.edition)))
        words = MARK_WORDS[source.mark]
        if source.mark == "PRACTICE" and title.startswith("Common practice"):
            words = "no source"
        said = f"{title}: {words}"
        yield options.wrap(f"{said}{f'; {source.range}' if source.range else ''}.", 2, "– ")
    if task.then:
        days = [say_day(day) for day in task.then]
        yield ""
        yield options.wrap(f"After that, each time done on its day: {', '.join(days)}.", 0)


_OCCASIONS = {
    "start": "before you start up",
    "leaving": "when you leave her",
    "return": "when you come back to her",
    "connection": "when you connect a supply",
    "fuelling": "when you take fuel",
    "after_work": "after any work on it",
}


def _say_when(task: Task, today: date) -> str:
    if task.rule.each:
        occasions = " and ".join(_OCCASIONS[event] for event in task.rule.each)
        return f"It has no date: it is done each time {occasions}."
    if task.standing == "unknown":
        return (
            "No date can be told: only the maker's own book gives this limit. Copy it into a "
            "[[limit]] of her record."
        )
    if task.due is None or task.opens is None:
        return "No clock gives a date for it now; see each below."
    day = say_day(task.due)
    if task.standing == "late":
        late = (today - task.due).days
        return f"It was due on {day} and is {late} {'day' if late == 1 else 'days'} late."
    if task.standing == "now":
        return f"Do it now: it has been open since {say_day(task.opens)} and is due by {day}."
    return f"Due by {day}. It can be done from {say_day(task.opens)}."


def _say_reasons(task: Task) -> Iterator[str]:
    if not task.reasons:
        return
    yield "\nWhy then"
    moved = any(reason.clock == "place" for reason in task.reasons)
    deciding = next((r for r in task.reasons if not moved or r.clock == "place"), None)
    for reason in task.reasons:
        day = say_day(reason.allows) if reason.allows else "no date"
        sets = reason is deciding and reason.allows is not None
        mark = " (this sets the date)" if sets else ""
        yield options.wrap(f"{day}{mark}: {reason.text}.", 2, "– ")


def _say_history(history: Iterable[_Passed]) -> Iterator[str]:
    yield "\nWhat was done"
    rows = list(history)
    if not rows:
        yield "  Nothing is recorded."
    for on, _, _, text in rows:
        yield options.wrap(f"{say_day(on)}: {text[0].lower()}{text[1:]}.", 2, "– ")


def _nearest_words(task: Task, wear: float) -> str:
    """Give the words of the rule's scale that are nearest to a wear; "" without a scale."""
    near = min(task.rule.findings, key=lambda f: abs(f.wear - wear), default=None)
    return near.words if near else ""


def _name_wear(task: Task, wear: float) -> str:
    words = _nearest_words(task, wear)
    return f"“{words}”" if words else _say_share(wear)


def _say_wear(task: Task, wear: float) -> str:
    words = _nearest_words(task, wear)
    return f"{_say_share(wear)} (about: {words})" if words else _say_share(wear)


def _say_share(wear: float) -> str:
    return f"{wear * 100:.0f} % of the way to its limit"
