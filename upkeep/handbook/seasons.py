"""Lay-up and launch: the season's tasks in their order, as checklists."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from upkeep.handbook.blocks import Block, Chapter, Checklist, Heading, Line
from upkeep.handbook.looks import refer_to_storage
from upkeep.handbook.material import Job, Material
from upkeep.handbook.rhythm import is_storage, say_rhythm
from upkeep.handbook.wording import make_line, make_paragraph, make_reference
from upkeep.handbook.year import say_short_who
from upkeep.model import SEASON_LIMITS, Reason

TITLES = (
    ("before_lay_up_days", "Before lay-up"),
    ("after_lay_up_days", "When she is laid up"),
    ("charge_to", "While she lies"),
    ("before_launch_days", "Before launch"),
    ("after_launch_days", "After launch"),
)
READ_FIRST = "Read the card of each task first: it has the cautions and the steps."
NO_SEASON = "No season is recorded: she is afloat all year, so no task hangs on lay-up or launch."
NOTHING = "No task of hers hangs on lay-up or launch."


def build_seasons(material: Material) -> Chapter:
    """Build a checklist before and after lay-up, in storage, before and after launch."""
    groups = {clock: order_jobs(clock, material) for clock, _ in TITLES}
    blocks: list[Block] = []
    if not any(groups.values()):
        blocks.append(make_paragraph(NO_SEASON if material.vessel.season is None else NOTHING))
    else:
        blocks.append(make_paragraph(READ_FIRST))
    for clock, title in TITLES:
        blocks.extend(_build_group(clock, title, groups[clock], material))
    return Chapter(number=10, anchor="seasons", title="Lay-up and launch", blocks=tuple(blocks))


def order_jobs(clock: str, material: Material) -> tuple[Job, ...]:
    """Order the jobs of one clock by day; on one day from source to end, at lay-up reversed."""
    jobs = [job for job in material.jobs if _find_reason(job, clock) is not None]
    rank = {component.id: index for index, component in enumerate(material.path)}
    way = -1 if "lay_up" in clock else 1
    early = -1 if clock.startswith("before") else 1
    jobs.sort(key=lambda job: (early * _days(job, clock), way * rank[job.component.id]))
    return tuple(jobs)


def _find_reason(job: Job, clock: str) -> Reason | None:
    if job.task is None or (clock == "charge_to" and not is_storage(job)):
        return None
    return next((reason for reason in job.task.reasons if reason.clock == clock), None)


def _days(job: Job, clock: str) -> float:
    reason = _find_reason(job, clock)
    limit = reason.limit if reason is not None and clock in SEASON_LIMITS else None
    return float(limit) if isinstance(limit, int | float) else 0.0


def _build_group(
    clock: str, title: str, jobs: Sequence[Job], material: Material
) -> Iterator[Block]:
    if not jobs:
        return
    yield Heading(level=2, text=title, anchor=f"season-{clock.replace('_', '-')}")
    if clock == "charge_to":
        yield refer_to_storage()
    yield Checklist(items=tuple(_say_item(job, material) for job in jobs))


def _say_item(job: Job, material: Material) -> Line:
    place = f", {job.component.location}" if job.component.location else ""
    who = say_short_who(job, material)
    rhythm = say_rhythm(job, material)
    detail = f": {job.component.title}{place}; {rhythm}; by {who}."
    return (*make_reference(job.rule.title, job.anchor, strong=True), *make_line(detail))
