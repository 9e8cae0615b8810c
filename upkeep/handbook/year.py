"""Her year: what falls due in which month, how often, and the first date as of the edition."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from upkeep.dates import MONTH_NAMES, say_day
from upkeep.handbook.authority import say_binding
from upkeep.handbook.blocks import Block, Cell, Chapter, Heading, Table
from upkeep.handbook.looks import refer_to_storage
from upkeep.handbook.material import Job, Material
from upkeep.handbook.rhythm import find_months, is_often, is_storage, say_first, say_rhythm
from upkeep.handbook.wording import make_line, make_paragraph, make_reference, say_all

HAND_NAMES: Mapping[str, str] = {
    "owner": "you",
    "competent": "a competent person",
    "licensed": "a licensed person",
}
NOTHING = "No task follows from what is recorded."
MOST_NAMED = 3  # parts in one cell; more make a column nobody reads


def build_year(material: Material) -> Chapter:
    """Build a table of what comes often, one for each month, one of what has no date."""
    dated = [job for job in material.jobs if job.task is not None]
    blocks: list[Block] = list(_build_opening(material))
    often = [job for job in dated if is_often(job)]
    seldom = [job for job in dated if not is_often(job)]
    blocks += _build_group("Often", "often", often, material)
    months = {job.anchor: find_months(job) for job in seldom}
    for month, name in enumerate(MONTH_NAMES, start=1):
        jobs = [job for job in seldom if month in months[job.anchor]]
        blocks += _build_group(name, f"month-{month}", jobs, material)
    undated = [job for job in seldom if not months[job.anchor]]
    blocks += _build_group("Without a date", "without-date", undated, material)
    if not dated:
        blocks.append(make_paragraph(NOTHING))
    return Chapter(number=8, anchor="year", title="Her year", blocks=tuple(blocks))


def _build_opening(material: Material) -> Iterator[Block]:
    if material.as_of is not None:
        yield make_paragraph(
            f"First dates are as of {say_day(material.as_of)}. Later dates move with what you "
            "find and record: follow the calendar."
        )
    if any(map(is_storage, material.jobs)):
        yield refer_to_storage()
    yield make_paragraph(
        "Warm days count growth: cold water counts less than a day, warm water more. "
        "The chapter of numbers shows how much."
    )


def _build_group(
    title: str, anchor: str, jobs: Iterable[Job], material: Material
) -> Iterator[Block]:
    rows = tuple(_say_rows(jobs, material))
    if not rows:
        return
    yield Heading(level=2, text=title, anchor=f"year-{anchor}")
    yield Table(
        caption=title,
        head=("Task", "Part", "How often", "First date", "Who"),
        rows=rows,
        shares=(5, 4, 6, 3, 3),
    )


def _say_rows(jobs: Iterable[Job], material: Material) -> Iterator[tuple[Cell, ...]]:
    """Say each job; the same one on several parts at the same time is one row."""
    parts: dict[tuple[str, ...], list[Job]] = {}
    for job in jobs:
        binding = f" {say_binding(job, material)}" if job.binding == "required" else ""
        first = say_first(job, material.as_of) or "no date yet"
        who = say_short_who(job, material)
        key = (job.rule.title, binding, say_rhythm(job, material), first, who)
        parts.setdefault(key, []).append(job)
    for (title, binding, rhythm, first, who), same in parts.items():
        names = [material.call(job.component) for job in same]
        said = say_all(names) if len(names) <= MOST_NAMED else f"{len(names)} parts: see its card"
        task = make_reference(title, same[0].anchor)
        yield (*task, *make_line(f".{binding}")) if binding else task, said, rhythm, first, who


def say_short_who(job: Job, material: Material) -> str:
    """Say who does a job in a word or two."""
    return "the yard" if material.is_for_yard(job) else HAND_NAMES[job.rule.hand]
