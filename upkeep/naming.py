"""How messages name keys and values, and what would be right in their place."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from difflib import get_close_matches

from upkeep.errors import KeyPath
from upkeep.model import Field

LINE_LENGTH, NOTE_LENGTH = 200, 4000  # a label must fit a page (practice, no source)
LARGEST_WHOLE = 2**63 - 1  # TOML 1.0.0, Integer
ID = r"[a-z0-9]+(?:-[a-z0-9]+)*"
# Marks that reorder their neighbours on screen; the ordinary right-to-left mark is allowed.
REORDERING = re.compile("[\u202a-\u202e\u2066-\u2069]")


def nearest(word: str, known: Sequence[str], cutoff: float = 0.6) -> str:
    """Find the known word nearest to a mistyped one, capitals or not; "" if none is near.

    cutoff: how alike they must be, 0 not at all, 1 the same.
    """
    folded = {other.casefold(): other for other in known}
    found = get_close_matches(word[:LINE_LENGTH].casefold(), folded, n=1, cutoff=cutoff)
    return folded[found[0]] if found else ""


def suggest(word: str, known: Sequence[str], otherwise: str) -> str:
    """Say what would be right for an unknown word: the nearest known one, else something else."""
    near = nearest(word, known)
    return f"did you mean {near}?" if near else otherwise


def is_id(name: str) -> bool:
    """Tell whether a name is lower-case letters, digits and single hyphens."""
    return len(name) <= LINE_LENGTH and re.fullmatch(ID, name) is not None


def show(value: object) -> str:
    """Show a value in a message: short, on one line, no control characters."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict | list):
        return "a table" if isinstance(value, dict) else "a list"
    if isinstance(value, int) and abs(value) > LARGEST_WHOLE:
        return "a number beyond all bounds"  # str() refuses the longest of them
    text = show_line(value if isinstance(value, str) else str(value))
    return text if len(text) <= 40 else text[:37] + "…"


def show_line(text: str) -> str:
    """Replace whatever would break a line or reorder it."""
    return "".join(c if c.isprintable() and not REORDERING.match(c) else "�" for c in text)


def name_value(value: object) -> str:
    """Name a value of any TOML type in a message."""
    return f'"{show(value)}"' if isinstance(value, str) else show(value)


def name_key(path: KeyPath) -> str:
    """Name a key in a message; of a list, which item, counted from 1."""
    if not path:
        return "the file"
    last = path[-1]
    return f"{name_key(path[:-1])} item {last + 1}" if isinstance(last, int) else show(last)


def describe(row: Field) -> str:
    """Say what would be right for a row: "write a number of A, 0 to 400"."""
    if row.type in ("number", "whole", "draw", "output"):
        return _describe_number(row)
    if row.type in ("choice", "choices"):
        return "write " + ("a list of " if row.type == "choices" else "") + say_choices(row.choices)
    return "write " + _WORDS[row.type]


def say_choices(choices: Sequence[str]) -> str:
    """List the words a key may hold: "a", "b" or "c"."""
    words = [f'"{word}"' for word in choices]
    return " or ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _describe_number(row: Field) -> str:
    kind = "a whole number" if row.type == "whole" else "a number"
    if row.unit == "0-1":
        text = "write a fraction"
    else:
        text = f"write {kind}" + (f" of {row.unit}" if row.unit else "")
    if row.low is not None and row.high is not None:
        text += f", {row.low:g} to {row.high:g}"
    elif row.low is not None:
        text += f", {row.low:g} or more"
    elif row.high is not None:
        text += f", {row.high:g} or less"
    if row.type == "draw":
        text += ", or { low = …, usual = …, full = … }"
    if row.type == "output":
        text += ", or { idle = …, cruise = … }"
    return text


_WORDS: Mapping[str, str] = {
    "text": f"text on one line, at most {LINE_LENGTH} characters",
    "note": f"text, at most {NOTE_LENGTH} characters",
    "id": "lower-case letters, digits and hyphens",
    "reference": "the id of a component",
    "task": '"component/rule"',
    "fleet task": '"vessel/component/rule"',
    "photo": "the name of a .jpg or .png file in photos/",
    "email": "an e-mail address",
    "address": 'the public address, "https://…"',
    "language": 'a language code such as "en"',
    "flag": 'the two lower-case letters of the flag state, such as "gb"',
    "key": "lower-case letters, digits and underscores",
    "uuid": "a UUID, 8-4-4-4-12 hexadecimal digits",
    "yes-no": "true or false",
    "day": "a day without quotes, YYYY-MM-DD",
    "stamp": 'the date as printed, "YYYY", "YYYY-MM" or YYYY-MM-DD',
    "month-day": '"MM-DD"',
    "month-list": "twelve numbers, January first",
    "ids": "a list of ids",
    "flags": "a list of flag states",
    "references": "a list of component ids",
    "fleet tasks": 'a list of "vessel/component/rule"',
    "texts": "a list of texts",
    "names": "a table of names",
    "bindings": "a table of component ids",
    "anything": "a table",
    "table": "a table of keys",
    "tables": "a list of tables",
}
