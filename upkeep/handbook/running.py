"""Starting up and leaving her: a checklist for each occasion, along the paths of water and power.

Each caution stands before its steps (ANSI Z535.6, ISO 3864-2).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from upkeep.handbook.blocks import Block, Chapter, Heading, Paragraph, Table
from upkeep.handbook.material import Job, Material
from upkeep.handbook.storage import build_storage
from upkeep.handbook.wording import (
    blank_if_empty,
    make_labelled,
    make_paragraph,
    make_tickable,
    open_with_capital,
    say_place,
)
from upkeep.model import EVENTS, Component, Rule

TITLES: Mapping[str, str] = {
    "start": "Starting up",
    "leaving": "Leaving her",
    "return": "Coming back to her",
    "connection": "Connecting a supply",
    "fuelling": "Taking fuel",
    "after_work": "After work on her",
}
HAND_WORDS: Mapping[str, str] = {
    "competent": "Only for a competent person. Do not do it yourself unless you are one.",
    "licensed": "Only for a licensed person. Do not do it yourself.",
}
NOTHING = "No checklist follows from what is recorded. Write your own on the last pages."


def build_running(material: Material) -> Chapter:
    """Build the checklists of each occasion, then storage."""
    blocks: list[Block] = []
    for event in EVENTS:
        jobs = order_jobs(event, material)
        if jobs:
            title = TITLES[event]
            blocks.append(Heading(level=2, text=title, anchor=f"when-{event.replace('_', '-')}"))
            blocks.extend(_build_occasion(jobs, material))
    if not blocks:
        blocks.append(make_paragraph(NOTHING))
    blocks.extend(build_storage(material))
    return Chapter(
        number=3,
        anchor="running",
        title="Starting up, leaving her, storage",
        blocks=tuple(blocks),
    )


def order_jobs(event: str, material: Material) -> tuple[Job, ...]:
    """Order the jobs of an occasion from source to end; on leaving, from end to source.

    On leaving, what runs is stopped first, then sea water and gas are shut, switches come last.
    """
    rank = {component.id: index for index, component in enumerate(material.path)}
    jobs = [job for job in material.jobs if event in job.rule.each]
    jobs.sort(key=lambda job: rank[job.component.id], reverse=event == "leaving")
    if event == "leaving":
        jobs.sort(key=lambda job: _stops_last(job.component))
    return tuple(jobs)


def _stops_last(component: Component) -> int:
    """Rank a part on leaving: 0 what runs, 1 what shuts water and gas, 2 what switches off."""
    if component.has_role("isolates"):
        return 2
    return int(component.has_role("shut-off"))


def _build_occasion(jobs: Sequence[Job], material: Material) -> Iterator[Block]:
    grouped: dict[tuple[str, str], list[Job]] = {}
    for job in jobs:
        grouped.setdefault((job.component.kind.id, job.rule.id), []).append(job)
    for same in grouped.values():
        yield from _build_checklist(same[0].rule, [job.component for job in same], material)


def _build_checklist(
    rule: Rule, components: Sequence[Component], material: Material
) -> Iterator[Block]:
    yield Heading(level=3, text=rule.title)
    if len(components) == 1:
        part = components[0]
        where = ", ".join(filter(None, (open_with_capital(part.title), say_place(part))))
        yield Paragraph(line=make_labelled("Where:", where))
    else:
        yield _list_places(components)
    if rule.hand in HAND_WORDS:
        yield make_paragraph(HAND_WORDS[rule.hand])
    yield from material.list_panels(rule.cautions)
    yield from make_tickable(material.parse(rule.steps))
    if rule.record:
        yield Paragraph(line=make_labelled("Record:", rule.record))


def _list_places(components: Sequence[Component]) -> Table:
    rows = tuple(
        (component.title, blank_if_empty(component.location), blank_if_empty(component.marked))
        for component in components
    )
    return Table(
        caption="Do it at each of these", head=("What", "Where", "Marked"), rows=rows,
        shares=(3, 5, 3),
    )  # fmt: skip
