"""Writes TOML from plain values: the tests' own, so that nothing is checked by its own writer."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, time
from math import isinf, isnan
from typing import Any

_ESCAPES = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t"}


def write_document(data: Mapping[str, Any]) -> str:
    """Write a document: tables and lists of tables under headers, all else on one line a key."""
    lines = [
        f"{write_text(key)} = {write_value(value)}"
        for key, value in data.items()
        if not _has_header(value)
    ]
    for key, value in data.items():
        for table in [value] if isinstance(value, dict) else value if _has_header(value) else []:
            header = f"[{write_text(key)}]"
            lines += ["", header if isinstance(value, dict) else f"[{header}]"]
            lines += [f"{write_text(k)} = {write_value(v)}" for k, v in table.items()]
    return "\n".join(lines) + "\n"


def _has_header(value: object) -> bool:
    if isinstance(value, list):
        return bool(value) and all(isinstance(item, dict) for item in value)
    return isinstance(value, dict)


def write_text(text: str) -> str:
    """Write a basic string, whatever it holds."""
    characters = (
        _ESCAPES.get(c) or (c if c >= " " and c != "\x7f" else f"\\u{ord(c):04X}") for c in text
    )
    return f'"{"".join(characters)}"'


def write_value(value: object) -> str:
    """Write a value on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float) and (isnan(value) or isinf(value)):
        return "nan" if isnan(value) else "inf" if value > 0 else "-inf"
    if isinstance(value, str):
        return write_text(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, list):
        return f"[{', '.join(map(write_value, value))}]"
    if isinstance(value, dict):
        rows = (f"{write_text(key)} = {write_value(item)}" for key, item in value.items())
        return f"{{ {', '.join(rows)} }}"
    return repr(value)
