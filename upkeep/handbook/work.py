"""Each task on a card: when, why, who, cautions before the steps, findings, who says so.

A message stands before the step it protects (ANSI Z535.6); which skill an act needs is said
(IEC/IEEE 82079-1, MEMORY).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from upkeep.dates import say_day
from upkeep.handbook.authority import list_sources, say_binding
from upkeep.handbook.blocks import Block, Chapter, Heading, Paragraph, Table, WorkCard
from upkeep.handbook.looks import say_granted
from upkeep.handbook.material import Job, Material
from upkeep.handbook.rhythm import (
    PURPOSE_WORDS,
    find_months,
    is_often,
    is_storage,
    say_first,
    say_rhythm,
)
from upkeep.handbook.wording import (
    make_labelled,
    make_listing,
    make_paragraph,
    open_with_capital,
    say_all,
    say_count,
    say_months,
    say_percent,
    say_place,
)
from upkeep.model import Component, Finding, Rule

WHO: Mapping[str, str] = {
    "owner": "You, the owner",
    "competent": "A competent person",
    "licensed": "A licensed person",
}
PLACES: Mapping[str, str] = {
    "afloat": "afloat",
    "ashore": "ashore",
    "any": "afloat or ashore",
}
NOTHING = "No task follows from what is recorded."


def build_work(material: Material) -> Chapter:
    """Build a card for each task, by area of the boat, along the paths of water and power."""
    blocks: list[Block] = [
        make_paragraph("Read the whole card before you begin. The cautions come first."),
    ]
    for area, jobs in group_by_area(material).items():
        blocks.append(Heading(level=2, text=open_with_capital(area), anchor=_anchor(area)))
        blocks.extend(build_card(alike, material) for alike in group_alike(jobs, material))
    if not material.jobs:
        blocks = [make_paragraph(NOTHING)]
    return Chapter(number=9, anchor="work", title="Each task", blocks=tuple(blocks))


def group_alike(jobs: Sequence[Job], material: Material) -> list[list[Job]]:
    """Put together the jobs that one card can serve: same work, rhythm, binding and hand."""
    groups: dict[tuple[str, ...], list[Job]] = {}
    for job in jobs:
        rule = job.rule
        words = (say_rhythm(job, material), say_binding(job, material), say_who(job, material))
        groups.setdefault((rule.kind, rule.id, *words), []).append(job)
    return list(groups.values())


def group_by_area(material: Material) -> dict[str, list[Job]]:
    """Group jobs by area, both in the order of her paths; on one part the dated ones first."""
    by_part: dict[str, list[Job]] = {}
    for job in material.jobs:
        by_part.setdefault(job.component.id, []).append(job)
    groups: dict[str, list[Job]] = {}
    for component in material.path:
        if component.id in by_part:
            groups.setdefault(component.kind.area, []).extend(by_part[component.id])
    return groups


def _anchor(area: str) -> str:
    kept = "".join(char if char.isascii() and char.isalnum() else "-" for char in area.lower())
    return f"area-{kept}"


def build_card(jobs: Sequence[Job], material: Material) -> WorkCard:
    """Build the card of one job, or of the same job on several parts."""
    job, rule = jobs[0], jobs[0].rule
    several = len(jobs) > 1
    return WorkCard(
        anchor=job.anchor,
        also=tuple(other.anchor for other in jobs[1:]),
        title=rule.title,
        subtitle=f"on {len(jobs)} parts" if several else _say_part(job.component),
        facts=tuple(_list_facts(jobs, material)),
        cautions=material.list_panels(rule.cautions),
        steps=material.parse(rule.steps),
        after=tuple(_build_after(job, material)),
    )


def _say_part(component: Component) -> str:
    return ", ".join(filter(None, (component.title, say_place(component))))


def _list_facts(jobs: Sequence[Job], material: Material) -> Iterator[tuple[str, str | None]]:
    job, rule = jobs[0], jobs[0].rule
    yield "When", open_with_capital(say_rhythm(job, material))
    if len(jobs) == 1:
        yield from _list_dates(job, material)
    else:
        for other in jobs:
            first = say_first(other, material.as_of)
            date = f"; first date {first}" if first is not None else ""
            yield open_with_capital(other.component.title), f"{say_place(other.component)}{date}"
    yield "Why", PURPOSE_WORDS[rule.purpose]
    yield "Binding", say_binding(job, material)
    yield "Who", f"{say_who(job, material)}; {say_count(rule.minutes, 'minutes')}"
    if rule.out_of_water or rule.place != "any":
        yield "Where she is", "out of the water" if rule.out_of_water else PLACES[rule.place]
    if rule.skills:
        yield "Skills", say_all(rule.skills)
    if rule.tools:
        yield "Tools", say_all(rule.tools)
    if rule.parts:
        yield "Parts", say_all([_say_spare(part, job) for part in rule.parts])


def _list_dates(job: Job, material: Material) -> Iterator[tuple[str, str | None]]:
    task = job.task
    if task is None:
        return
    first = say_first(job, material.as_of)
    if first is not None:
        yield "First date", first
        months = find_months(job)
        if len(months) > 1 and not is_often(job):
            yield "Usual months", say_months(months)
    if task.done:
        yield "Last done", say_day(task.anchor)
    if task.reasons:
        texts = [open_with_capital(reason.text) for reason in task.reasons]
        yield "Reckoned from", f"{'. '.join(texts)}."
    if is_storage(job):
        yield "Taken for granted", say_granted(job, material)


def _say_spare(part: str, job: Job) -> str:
    known = job.component.parts.get(part)
    return f"{part} ({known})" if known else part


def say_who(job: Job, material: Material) -> str:
    """Say who may do a job, which licence it needs, and whether the yard does it."""
    rule = job.rule
    who = WHO[rule.hand]
    if rule.licence:
        who = f"{who} (licence: {rule.licence})"
    if material.is_for_yard(job):
        return f"{who}; {material.fleet.contact.name} arranges it"
    return who


def _build_after(job: Job, material: Material) -> Iterator[Block]:
    rule = job.rule
    if rule.record:
        yield Paragraph(line=make_labelled("Record:", rule.record))
    if rule.findings:
        yield _list_findings(rule)
    yield Paragraph(line=make_labelled("Who says so:", "the source, and how well it was read."))
    yield make_listing(list_sources(job, material))


def _list_findings(rule: Rule) -> Table:
    return Table(
        caption="What you found",
        head=("You see", "Wear to record", "It means"),
        rows=tuple(
            (open_with_capital(found.words), f"{found.wear:g}", say_wear(found))
            for found in rule.findings
        ),
        shares=(6, 2, 3),
    )


def say_wear(found: Finding) -> str:
    """Say a wear in words: 0 is as new, 1 at the limit, above it past the limit."""
    if found.wear <= 0:
        return "as new"
    if found.wear > 1:
        return "past the limit"
    return "at the limit" if found.wear == 1 else f"{say_percent(found.wear)} of the way"
