"""What a handbook says, as blocks that know nothing of HTML or paper.

Two renderers lay them out. `to_data` gives the same tree as plain JSON values; editions are
kept in that form, so a printed book can be made again.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

FORMAT = 2  # of the JSON form; raised when a kept edition could no longer be laid out


@dataclass(frozen=True, kw_only=True, slots=True)
class Span:
    """A run of text; strong and emphasis are the only styles.

    to is the anchor of the card it names: a link on screen, a page number on paper; "" if none.
    """

    text: str
    strong: bool = False
    emphasis: bool = False
    to: str = ""


Line = tuple[Span, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Paragraph:
    """Running text."""

    line: Line


@dataclass(frozen=True, kw_only=True, slots=True)
class Heading:
    """A heading inside a chapter; level 2 or 3. anchor names it for links, "" if never."""

    level: int
    text: str
    anchor: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Listing:
    """A list, numbered or not."""

    ordered: bool
    items: tuple[Line, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Checklist:
    """Things to tick off with a pen, in order."""

    items: tuple[Line, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class CautionPanel:
    """A safety statement: signal word, hazard, what happens, how to avoid it."""

    id: str
    word: str
    hazard: str
    consequence: str
    avoid: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Facts:
    """Labelled values. None is an honest blank to fill in by pen."""

    rows: tuple[tuple[str, str | None], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class TickBox:
    """An empty box to tick; alt says what a tick means, to those who cannot see it."""

    alt: str


Cell = str | Line | TickBox | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Table:
    """A table with a head. A None cell is a blank to fill in; shares are relative widths."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    shares: tuple[int, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Photo:
    """A photograph from the fleet's photos/ folder."""

    file: str
    alt: str


@dataclass(frozen=True, kw_only=True, slots=True)
class WorkCard:
    """One task: who, when and why, then cautions, then steps, then what to write down.

    also holds the anchors of the same task on further parts, where one card serves them all.
    """

    anchor: str
    also: tuple[str, ...]
    title: str
    subtitle: str
    facts: tuple[tuple[str, str | None], ...]
    cautions: tuple[CautionPanel, ...]
    steps: tuple[Block, ...]
    after: tuple[Block, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class PartCard:
    """One component on the walk round: where, printed words, photograph, what healthy is."""

    anchor: str
    title: str
    location: str
    marked: str
    photo: Photo | None
    body: tuple[Block, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class EmergencySheet:
    """One first-minutes page: cautions, steps, and the shut-offs with their places."""

    anchor: str
    title: str
    cautions: tuple[CautionPanel, ...]
    steps: tuple[Block, ...]
    lists: tuple[Table, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Signatures:
    """A column to sign in for each person: what they sign as, and their name where known."""

    signers: tuple[tuple[str, str | None], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class WritingLines:
    """Empty ruled lines to write on."""

    count: int


Block = (
    Paragraph | Heading | Listing | Checklist | CautionPanel | Facts | Table | Photo | WorkCard
    | PartCard | EmergencySheet | Signatures | WritingLines
)  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class Chapter:
    """A chapter; number 0 is the first minutes."""

    number: int
    anchor: str
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Book:
    """A whole handbook. edition is "Edition 1, 12 June 2026, signed by Ines", or a draft line."""

    format: int
    vessel: str
    title: str
    subtitle: str
    edition: str
    fleet: str
    contact: tuple[tuple[str, str], ...]
    language: str
    units: str
    signal_words: tuple[tuple[str, str], ...]
    chapters: tuple[Chapter, ...]


def to_data(value: Any) -> Any:
    """Turn blocks into JSON values; each table names its block in "is"."""
    kind = type(value)
    if kind is str or value is None or kind is bool or kind is int:
        return value
    if kind is tuple:
        return [to_data(item) for item in value]
    names = _NAMES.get(kind)
    if names is None:
        names = _NAMES[kind] = tuple(row.name for row in fields(value))
    return {"is": kind.__name__, **{name: to_data(getattr(value, name)) for name in names}}


_NAMES: dict[type, tuple[str, ...]] = {}
