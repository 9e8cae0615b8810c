"""Proof that every caution of a book stands, in what was made, before the steps it protects.

A fleet may lay out its own pages; a page that lost a caution must not be published (after
ANSI Z535.6: a safety message stands before the step it belongs to). What is proved: the signal
word, the hazard, what happens and each way to avoid it are text of the finished file, in this
order, after the name of the card or heading and before its first step. What is not: that a style
sheet, a colour or something drawn on top leaves them to be seen.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any
from unicodedata import normalize

from upkeep.render.outline import CARDS
from upkeep.render.shown_html import show_html
from upkeep.render.shown_pdf import UnreadableError, show_pdf

_WORD_REACH = 60  # letters between a signal word and its hazard, for words of a fleet's own
_ROOM = 400  # letters a fleet's own words may add to a card
_MOST_PLACES = 40  # of one name in one book
_MARKS = bytes(code for code in range(128) if not chr(code).isalnum())
_FURTHER_MARKS = re.compile(rb"\xc2.|\xe2[\x80\x81].|\xef(?:\xbb\xbf|\xb8.)", re.DOTALL)
_LEFTWARD = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc]")  # Hebrew to Arabic extended

Data = Mapping[str, Any]
_Setting = Callable[[str], bytes]  # a text of the book as it is to be found in the file at hand


@dataclass(frozen=True, kw_only=True, slots=True)
class _Caution:
    """A safety statement: its parts as letters, and what a person is told if it is missing."""

    word: bytes
    parts: tuple[bytes, ...]
    said: str


@dataclass(frozen=True, kw_only=True, slots=True)
class _Unit:
    """A card, or a heading and what follows it: its name, then cautions and steps in order.

    blocks are what it was read from.
    """

    title: str
    name: bytes
    pieces: list[_Caution | bytes] = field(default_factory=list)
    blocks: list[Data] = field(default_factory=list)


def missing_cautions_html(html: bytes, book: Data) -> list[str]:
    """List, in words, the cautions of a book that its page does not show before their steps.

    book: the JSON form of blocks.Book. Empty when every one is proved.
    """
    return _find_missing(_keep_letters(show_html(html.decode())), _list_units(book, _keep_piece))


def missing_cautions_pdf(pdf: bytes, book: Data) -> list[str]:
    """List, in words, the cautions of a book that its PDF does not show before their steps.

    For the card, give the book with its first chapter alone. The words of a sentence written
    from right to left are looked for in any order.
    """
    try:
        shown = _keep_letters(show_pdf(pdf))
    except UnreadableError as error:
        return [str(error)]
    from upkeep.render.pdf import find_names

    names = find_names(json.dumps(book, ensure_ascii=False))
    return _find_missing(shown, _list_units(book, lambda text: _keep_words(text.translate(names))))


def _keep_letters(text: str) -> bytes:
    """Drop all but letters and digits: line ends, hyphens and spacing are the layout's own.

    Letters of one look are made one, as a font may do (Unicode, annex 15, NFKC).
    """
    plain = normalize("NFKC", text).encode("utf-8", "replace").translate(None, _MARKS)
    return _FURTHER_MARKS.sub(b"", plain).lower()


@lru_cache(maxsize=8192)
def _keep_piece(text: str) -> bytes:
    """Do the same to one of the book's texts; most come back in every boat's book."""
    return _keep_letters(text)


@lru_cache(maxsize=8192)
def _keep_words(text: str) -> bytes:
    """Do the same to a text to be found; one with words from right to left keeps them apart."""
    if _LEFTWARD.search(text):
        return b" ".join(filter(None, map(_keep_letters, text.split())))
    return _keep_letters(text)


def _find_missing(shown: bytes, units: Sequence[_Unit]) -> list[str]:
    """Walk through all units in order. Each is found after the one before, or it fails.

    A caution that is gone cannot hide behind the same one elsewhere: that one is then missing
    in its own place, for no part of the text is used twice.
    """
    at = 0
    for unit in units:
        found = _walk(shown, unit, at)
        if found is None:
            return _name_missing(shown, units) or [f"{unit.title}: a caution is not in its place"]
        at = found
    return []


def _walk(shown: bytes, unit: _Unit, at: int) -> int | None:
    """Find a unit's name and pieces one after the other; give the place after the last."""
    start = end = _pass(shown, unit.name, at)
    for place, piece in enumerate(unit.pieces):
        if start is None or end is None:
            return None
        if isinstance(piece, bytes):
            end = _pass(shown, piece, end)
        else:
            met = _meet(shown, piece, end)
            if met and place == 0 and _stands_early(shown, unit, start, met[0]):
                return None
            end = met[1] if met else None
    return end


def _pass(shown: bytes, text: bytes, at: int, latest: int | None = None) -> int | None:
    """Find a text that starts by a place; give the place after it.

    Words that are kept apart may come in any order.
    """
    last = None if latest is None else latest + len(text)
    if b" " not in text:
        place = shown.find(text, at, last)
        return None if place < 0 else place + len(text)
    words = sorted(text.split(), key=len)
    place = shown.find(words[-1], at, last)
    while place >= 0:
        start = max(at, place - len(text))
        ends = [shown.find(word, start, place + len(text)) + len(word) for word in words]
        if all(end >= start + len(word) for end, word in zip(ends, words, strict=True)):
            return max(ends)
        place = shown.find(words[-1], place + 1, last)
    return None


def _meet(shown: bytes, caution: _Caution, at: int) -> tuple[int, int] | None:
    """Find a caution: its hazard, the signal word just before it, the rest after it."""
    word = shown.find(caution.word, at)
    while word >= 0:
        start = word + len(caution.word)
        end = _pass(shown, caution.parts[0], start, start + _WORD_REACH)
        for part in caution.parts[1:]:
            end = None if end is None else _pass(shown, part, end)
        if end is not None:
            return word, end
        word = shown.find(caution.word, start)
    return None


def _stands_early(shown: bytes, unit: _Unit, start: int, caution: int) -> bool:
    """Tell whether the first step is shown between the name and the first caution."""
    step = next((piece for piece in unit.pieces if isinstance(piece, bytes) and piece), b"")
    name = max(start, shown.rfind(unit.name, start, caution))
    if not step or step not in shown[name:caution]:
        return False
    return step not in _keep_letters(" ".join(_list_asides(unit.blocks)))


def _list_asides(blocks: Sequence[Data]) -> Iterator[str]:
    """Give the texts that may stand before a caution: all but steps and cautions."""
    for block in blocks:
        if block["is"] in ("Listing", "Checklist", "CautionPanel"):
            continue
        for key, value in block.items():
            if key != "steps":
                yield from _list_texts(value)


def _list_texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        yield from _list_asides([value]) if "is" in value else ()
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from _list_texts(inner)


def _name_missing(shown: bytes, units: Sequence[_Unit]) -> list[str]:
    """Say which cautions are missing: each unit is looked for within its own length."""
    missing: list[str] = []
    at = 0
    for unit in units:
        rooms = list(_list_rooms(shown, unit, at))
        ends = [end for start, room in rooms if (end := _walk(room, unit, start)) is not None]
        if ends:
            at = ends[0]
            continue
        cautions = [piece for piece in unit.pieces if not isinstance(piece, bytes)]
        lost = [one for one in cautions if not any(_meet(room, one, at) for at, room in rooms)]
        missing += [f"{unit.title}: {one.said}" for one in lost or cautions]
    return missing


def _list_rooms(shown: bytes, unit: _Unit, at: int) -> Iterator[tuple[int, bytes]]:
    """Give each place of a unit's name, and the text up to where the unit should have ended."""
    length = len(json.dumps(unit.blocks, ensure_ascii=False)) + _ROOM
    place = at
    for _ in range(_MOST_PLACES):
        end = _pass(shown, unit.name, place)
        if end is None:
            return
        yield place, shown[: end + length]
        place = max(end, place + 1)


def _list_units(book: Data, as_set: _Setting) -> list[_Unit]:
    """List what holds cautions, in the order of the book."""
    units: list[_Unit] = []
    for chapter in book["chapters"]:
        loose = _start(chapter["title"], as_set)
        units.append(loose)
        for block in chapter["blocks"]:
            if block["is"] in CARDS:
                loose = _start("", as_set)
                units += [_read_card(block, as_set), loose]
            elif block["is"] == "Heading":
                loose = _start(block["text"], as_set)
                units.append(loose)
            else:
                loose.pieces.extend(_read_block(block, as_set))
                loose.blocks.append(block)
    return [unit for unit in units if any(not isinstance(piece, bytes) for piece in unit.pieces)]


def _start(title: str, as_set: _Setting) -> _Unit:
    return _Unit(title=title, name=as_set(title))


def _read_card(card: Data, as_set: _Setting) -> _Unit:
    cautions = [_read_caution(panel, as_set) for panel in card.get("cautions", ())]
    unit = _start(card["title"], as_set)
    unit.pieces.extend(cautions)
    unit.blocks.append(card)
    for block in card.get("steps", ()):
        if block["is"] == "Paragraph":
            unit.pieces.extend(_read_line(block["line"], as_set))
        unit.pieces.extend(_read_block(block, as_set))
    for block in (*card.get("after", ()), *card.get("body", ())):
        unit.pieces.extend(_read_block(block, as_set))
    return unit


def _read_block(block: Data, as_set: _Setting) -> Iterator[_Caution | bytes]:
    """Give the caution a block is, or the steps it holds."""
    if block["is"] == "CautionPanel":
        yield _read_caution(block, as_set)
    elif block["is"] in ("Listing", "Checklist"):
        for line in block["items"]:
            yield from _read_line(line, as_set)


def _read_line(line: Sequence[Data], as_set: _Setting) -> Iterator[bytes]:
    """Give a line in one piece, or in several: on paper a page number follows a reference."""
    text = ""
    for span in line:
        text += span["text"]
        if span["to"]:
            yield as_set(text)
            text = ""
    if text:
        yield as_set(text)


def _read_caution(panel: Data, as_set: _Setting) -> _Caution:
    said = (panel["hazard"], panel["consequence"], *panel["avoid"])
    return _Caution(
        word=_keep_letters(panel["word"]),
        parts=tuple(as_set(part) for part in said),
        said=f"{panel['word']}, {panel['hazard']}",
    )
