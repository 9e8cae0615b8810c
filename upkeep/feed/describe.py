"""What an event says: a title that fits a watch, and a text with the cautions before the steps.

Signal words: ANSI Z535.6 (a caution stands before the step it protects). Length of a text:
common practice, no source; longer ones are cut by calendar programs, unseen.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from urllib.parse import quote

from upkeep.dates import say_day
from upkeep.feed.events import Heading
from upkeep.feed.words import ELLIPSIS, clean_line, end_sentence, list_steps, shorten
from upkeep.model import SIGNAL_WORDS, Caution, Component, Fleet, Task, Vessel

LONGEST = 1999  # characters of a description
LONGEST_TITLE = 200
LONGEST_WHY = 160
BOOK, DONE, NOT_DONE = "Book: ", "Done: ", "Not done: "
FORECAST = "A forecast: the date is fixed once the one before it is done."
MORE = f"{ELLIPSIS} the rest is in the handbook"
_DASH = " \N{EN DASH} "
_WHO = {"competent": "Who: a competent person.", "licensed": "Who: a licensed person."}


@dataclass(frozen=True, kw_only=True, slots=True)
class Page:
    """The parts of one description, in reading order; steps and signs may go, others not."""

    why: str
    place: tuple[str, ...]
    cautions: tuple[str, ...]
    steps: tuple[str, ...]
    signs: tuple[str, ...]
    ending: tuple[str, ...]


def find_twins(vessel: Vessel) -> frozenset[str]:
    """Find the component titles that several components share; they need their place named."""
    counts = Counter(item.title.casefold() for item in vessel.components.values())
    return frozenset(title for title, count in counts.items() if count > 1)


def say_summary(task: Task, twins: frozenset[str] = frozenset()) -> str:
    """Name a task on one line: its title, and the component where the title does not say it.

    Begins "Book: " when the work is not for the owner's hand. At most 200 characters.
    """
    title, name = clean_line(task.rule.title), clean_line(task.component.title)
    parts = [] if _mentions(title, name) else [name]
    if task.component.title.casefold() in twins:
        parts.append(clean_line(task.component.location))
    tail = ", ".join(part for part in parts if part)
    book = BOOK if task.rule.hand != "owner" else ""
    return shorten(f"{book}{title}{_DASH}{tail}" if tail else f"{book}{title}", LONGEST_TITLE)


def name_calendar(vessel: Vessel) -> str:
    """Name a vessel's calendar as a reader's list of calendars shows it."""
    return f"{shorten(clean_line(vessel.name), 100)} upkeep"


def head_feed(fleet: Fleet, vessel: Vessel) -> Heading:
    """Name a vessel's feed and where it lives, if the fleet has a public address."""
    address = fleet.address.rstrip("/")
    source = address and f"{address}/feeds/{vessel.id}.ics"
    return Heading(name=name_calendar(vessel), source=source)


def link_task(fleet: Fleet, vessel: Vessel, task: Task) -> str:
    """Give the address of a task in the handbook; empty without a public address."""
    page = link_handbook(fleet, vessel)
    return page and f"{page}#task-{task.component.id}-{task.rule.id}"


def link_handbook(fleet: Fleet, vessel: Vessel) -> str:
    """Give the address of a vessel's handbook; empty without a public address."""
    return fleet.address and f"{fleet.address.rstrip('/')}/handbooks/{vessel.id}.html"


def describe_task(
    fleet: Fleet,
    vessel: Vessel,
    task: Task,
    cautions: Mapping[str, Caution],
    *,
    why: str = "",
    closing: str = "",
) -> str:
    """Write an event's text: why now, where, cautions, steps, what is healthy, what to record.

    why replaces the task's first reason; closing is a last line. Under 2,000 characters:
    steps go from the end, then what to record and what is healthy; a caution never goes, so
    only cautions that are longer than that by themselves can make it longer.
    Raises KeyError for a caution that is not among cautions.
    """
    page = Page(
        why=shorten(_begin(end_sentence(clean_line(why or _say_why(task)))), LONGEST_WHY),
        place=_say_place(task),
        cautions=tuple(map(say_caution, _rank(task.rule.cautions, cautions))),
        steps=list_steps(task.rule.steps),
        signs=_say_signs(task),
        ending=tuple(filter(None, (_say_ending(fleet, vessel, task), closing))),
    )
    return _fit(page)


def say_caution(caution: Caution) -> str:
    """Say a safety statement on one line: signal word, hazard, what happens, how to avoid it."""
    parts = (caution.hazard, caution.consequence, *caution.avoid)
    sentences = (end_sentence(clean_line(part)) for part in parts)
    return f"{caution.word}: " + " ".join(filter(None, sentences))


def describe_waiting(vessel: Vessel, late: Sequence[tuple[str, date]]) -> str:
    """List late tasks, each a summary and the day it was due. Under 2,000 characters."""
    first = f"Late, and can be done where {shorten(clean_line(vessel.name), 60)} is now:"
    lines = [f"- {summary} (due {say_day(due)})" for summary, due in late]
    for shown in range(len(lines), -1, -1):
        rest = [f"{ELLIPSIS} and {len(lines) - shown} more"] if shown < len(lines) else []
        text = "\n".join([first, *lines[:shown], *rest])
        if len(text) <= LONGEST:
            break
    return text


def _begin(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


def _mentions(title: str, name: str) -> bool:
    words = {word.strip(".,;:()") for word in title.casefold().split()}
    return all(word.strip(".,;:()") in words for word in name.casefold().split())


def _say_why(task: Task) -> str:
    if task.reasons:
        return task.reasons[0].text
    return f"Due on {say_day(task.due)}" if task.due else task.rule.title


def _say_place(task: Task) -> tuple[str, ...]:
    component = task.component
    lines = [f"Where: {end_sentence(_say_location(component))}", _WHO.get(task.rule.hand, "")]
    if task.rule.out_of_water:
        lines.append("She must be out of the water for it.")
    return tuple(filter(None, lines))


def _say_location(component: Component) -> str:
    place = shorten(clean_line(component.location), 200)
    marked = shorten(clean_line(component.marked), 100)
    return f'{place}, marked "{marked}"' if marked else place


def _rank(names: Sequence[str], cautions: Mapping[str, Caution]) -> list[Caution]:
    """Look cautions up, the gravest first."""
    return sorted((cautions[name] for name in names), key=lambda c: SIGNAL_WORDS.index(c.word))


def _say_signs(task: Task) -> tuple[str, ...]:
    healthy = task.component.kind.healthy[:1]
    texts = [f"Healthy: {end_sentence(shorten(clean_line(sign), 240))}" for sign in healthy]
    record = end_sentence(shorten(clean_line(task.rule.record), 240))
    return (*texts, record) if record else tuple(texts)


def _say_ending(fleet: Fleet, vessel: Vessel, task: Task) -> str:
    """Say where to read more and how to report it done: a letter made ready, or whom to tell."""
    more = f"More: {link_task(fleet, vessel, task)}\n" if fleet.address else ""
    return more + _say_report(fleet, vessel, task)


def _say_report(fleet: Fleet, vessel: Vessel, task: Task) -> str:
    contact = fleet.contact
    if contact.email:
        boat = shorten(clean_line(vessel.name), 40)
        subject = f"{boat}: {shorten(clean_line(task.rule.title), 60)}, done ({task.id})"
        address = f"{quote(contact.email, safe='@')}?subject={quote(subject, safe='')}"
        return f"To mark it done: mailto:{address}"
    whom = shorten(clean_line(f"{contact.name} {contact.phone}"), 200)
    return f"Tell {whom} when it is done."


def _fit(page: Page) -> str:
    """Leave out as little as the length asks for, in the order a reader misses it least."""
    text = ""
    for steps in range(len(page.steps), -1, -1):
        text = _join(page, steps, len(page.signs))
        if len(text) <= LONGEST:
            return text
    for signs in range(len(page.signs) - 1, -1, -1):
        text = _join(page, 0, signs)
        if len(text) <= LONGEST:
            break
    return text


def _join(page: Page, steps: int, signs: int) -> str:
    shown = [*page.steps[:steps], *([MORE] if steps < len(page.steps) else [])]
    blocks = ((page.why,), page.place, page.cautions, shown, page.signs[:signs], page.ending)
    return "\n\n".join("\n".join(block) for block in blocks if block)
