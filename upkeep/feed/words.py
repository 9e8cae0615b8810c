"""Plain words for a calendar: text from records made safe, Markdown steps made plain lines.

Control characters: RFC 5545, 3.1 (CONTROL is not allowed in a value).
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from upkeep.handbook.blocks import Block, Line, Listing, Paragraph
from upkeep.markup import parse_markdown

ELLIPSIS = "\N{HORIZONTAL ELLIPSIS}"
_NOT_ALLOWED = ("Cc", "Cs")  # controls, halves of a pair
_JOINER = "\N{ZERO WIDTH JOINER}"


@lru_cache(maxsize=4096)
def clean_line(text: str) -> str:
    """Make one line of a recorded text: no controls, single spaces. Other marks stay."""
    return " ".join(_clean(text).split())


def shorten(text: str, longest: int) -> str:
    """Cut a line to at most so many characters, between words or at least between signs."""
    if len(text) <= longest:
        return text
    end = longest - 1
    space = text.rfind(" ", 0, end + 1)
    if space > end // 2:
        return text[:space].rstrip(" ,;:") + ELLIPSIS
    while end > 1 and _belongs_to_last(text, end):
        end -= 1
    return text[:end].rstrip() + ELLIPSIS


def end_sentence(text: str) -> str:
    """Close a line with a full stop unless it is closed already; an empty one stays empty."""
    return text if not text or text[-1] in ".!?" + ELLIPSIS else f"{text}."


@lru_cache(maxsize=1024)
def list_steps(markdown: str) -> tuple[str, ...]:
    """Make plain numbered lines of a Markdown text, numbered from 1; emphasis is left out."""
    lines = [line for block in parse_markdown(_clean(markdown)) for line in _list_lines(block)]
    texts = filter(None, (clean_line("".join(span.text for span in line)) for line in lines))
    return tuple(f"{number}. {text}" for number, text in enumerate(texts, start=1))


def _list_lines(block: Block) -> tuple[Line, ...]:
    if isinstance(block, Listing):
        return block.items
    return (block.line,) if isinstance(block, Paragraph) else ()


def _clean(text: str) -> str:
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        char for char in text if char.isspace() or unicodedata.category(char) not in _NOT_ALLOWED
    )


def _belongs_to_last(text: str, at: int) -> bool:
    """Tell whether the character at a place forms one sign with the one before it."""
    return (
        unicodedata.category(text[at]) in ("Mn", "Me", "Mc", "Sk")
        or text[at] == _JOINER
        or text[at - 1] == _JOINER
    )
