"""Files of a fleet folder: read with every fault named, written in one step."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any
from uuid import uuid4

from upkeep.errors import Fault, KeyPath, Problem, UpkeepError, Warning
from upkeep.lines import find_line, map_lines
from upkeep.naming import show_line

LARGEST_BYTES = 2_000_000  # a boat of 60 components takes 20 kB
DEEPEST = 16  # tables and lists inside one another; our own files need eight
_AT_LINE = re.compile(r" \(at line (\d+), column \d+\)$")
# A key of thousands of parts keeps tomllib busy for hours; ours have three or four.
_LONG_KEY = re.compile(r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){40}""")
_QUOTED = re.compile(r"'([^']*)'")
_LONG_NUMBER = re.compile(r"\d[\d_]{1000}")
# What tomllib says, the same in a user's words, and what would be right.
_SAID = (
    ("Cannot declare", "[{0}] stands twice", "keep one, or write [[{0}]] for several"),
    ("Cannot overwrite", "a key stands twice", "keep one of the two"),
    ("Duplicate inline", "a key stands twice", "keep one of the two"),
    ("Illegal character '\\n'", "a text does not end on its line", 'close it with "'),
    ("Invalid date", "there is no such day or time", "write a day of the calendar, YYYY-MM-DD"),
    ("Invalid value", "", "put text in quotes, write days YYYY-MM-DD, yes and no true and false"),
    ("Invalid statement", "", "write key = value, [table] or [[table]]"),
    ("Expected '='", "a key without a value", "write key = value"),
    ("Expected newline", "the line goes on after its value", "mend the value, or begin a new line"),
    ("Expected \"'''\"", "a text in ''' does not end", "close it with '''"),
    ("Unterminated", 'a text in """ does not end', 'close it with """'),
    ("Unclosed", "", "close the bracket"),
    ("Unescaped", "a backslash stands in a text", "write it twice, or use single quotes"),
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Document:
    """One parsed TOML file; file is its name inside the fleet, as people are shown it."""

    file: str
    text: str
    data: dict[str, Any]
    _lines: dict[KeyPath, int] = field(default_factory=dict, repr=False)

    def line(self, path: KeyPath) -> int:
        """Find the line of a key path; the map is made at the first question."""
        if not self._lines:
            self._lines.update(map_lines(self.text))
        return find_line(self._lines, path)

    def problem(self, fault: Fault, vessel: str | None = None) -> Problem:
        """Place a fault on its line."""
        return Problem(
            file=self.file,
            line=self.line(fault.path),
            message=fault.message,
            fix=fault.fix,
            vessel=vessel,
        )

    def warning(
        self,
        path: KeyPath,
        *,
        vessel: str | None,
        check: str,
        message: str,
        sources: tuple[str, ...] = (),
    ) -> Warning:
        """Place a warning on its line."""
        return Warning(
            file=self.file,
            line=self.line(path),
            vessel=vessel,
            check=check,
            message=message,
            sources=sources,
        )


def list_documents(folder: Path, name: str) -> list[Path]:
    """List the TOML files of one folder of a fleet in order; hidden files are none of ours."""
    paths = (folder / name).glob("*.toml")
    return sorted(path for path in paths if not path.name.startswith("."))


def read_document(folder: Path, path: Path, vessel: str | None = None) -> Document | Problem:
    """Read one TOML file inside a folder, or say what is wrong with it."""
    file = show_line(path.relative_to(folder).as_posix())

    def refuse(message: str, fix: str, line: int = 1) -> Problem:
        return Problem(file=file, line=line, message=message, fix=fix, vessel=vessel)

    try:
        if not is_inside(folder, path):
            return refuse("is a link out of the fleet folder", "put the file itself here")
        if not path.is_file():
            return refuse("is not an ordinary file", "put a TOML file here")
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            most = LARGEST_BYTES // 1_000_000
            return refuse(f"is {size / 1e6:.1f} MB", f"a record is smaller than {most} MB")
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        return refuse("is not UTF-8 text", "save the file as UTF-8", line)
    except OSError as error:
        return refuse(f"cannot be read ({error.strerror})", "check the file's permissions")
    return _parse(file, text, refuse)


def _parse(file: str, text: str, refuse: Callable[[str, str, int], Problem]) -> Document | Problem:
    long_key = _LONG_KEY.search(text)
    if long_key:
        return refuse("holds a key of many parts", "write it flat", _line_at(text, long_key))
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        return _refuse_toml(str(error), text, refuse)
    except RecursionError:
        return refuse("is nested too deeply", "write it flat", _deep_line(text))
    except ValueError:  # int() refuses over 4300 digits
        line = _line_at(text, _LONG_NUMBER.search(text))
        return refuse("holds a number beyond all bounds", "write a shorter one", line)
    if _is_deep(data):
        return refuse("is nested too deeply", "write it flat", _deep_line(text))
    return Document(file=file, text=text, data=data)


def _refuse_toml(said: str, text: str, refuse: Callable[[str, str, int], Problem]) -> Problem:
    match = _AT_LINE.search(said)
    line = int(match[1]) if match else text.rstrip().count("\n") + 1
    said = show_line(_AT_LINE.sub("", said).removesuffix(" (at end of document)"))
    words, fix = said[:1].lower() + said[1:], "mend this line"
    for start, ours, right in _SAID:
        if said.startswith(start):
            name = ".".join(_QUOTED.findall(said))
            words, fix = (ours or words).replace("{0}", name), right.replace("{0}", name)
    return refuse(f"is not valid TOML: {words}", fix, line)


def _line_at(text: str, match: re.Match[str] | None) -> int:
    return text.count("\n", 0, match.start()) + 1 if match else 1


def _is_deep(data: object) -> bool:
    level: list[Any] = [data]
    for _ in range(DEEPEST):
        inside = (row.values() if isinstance(row, dict) else row for row in level)
        level = [value for row in inside for value in row if isinstance(value, dict | list)]
        if not level:
            return False
    return True


def _deep_line(text: str) -> int:
    """Find the line on which brackets first stand too deep, strings taken for brackets too."""
    depth = 0
    for line, written in enumerate(text.split("\n"), 1):
        depth += sum(written.count(mark) for mark in "[{")
        if depth > DEEPEST:
            return line
        depth -= sum(written.count(mark) for mark in "]}")
    return 1


def is_inside(folder: Path, path: Path) -> bool:
    """Tell whether a path, links followed, stays inside a folder; a link in a circle does not."""
    try:
        whole, base = os.path.realpath(path), _follow(os.path.abspath(folder))
    except (OSError, ValueError):
        return False
    if os.path.islink(whole):  # it leads back to itself
        return False
    return whole == base or whole.startswith(base.rstrip(os.sep) + os.sep)


@lru_cache(maxsize=16)
def _follow(folder: str) -> str:
    """Follow the links of a fleet's folder once for all its files."""
    return os.path.realpath(folder)


def write_atomic(path: Path, data: bytes) -> None:
    """Replace a file in one step: readers see the old bytes or the new.

    Raises UpkeepError when the disk or the folder refuses.
    """
    new = path.with_name(f".{path.name}.{uuid4().hex}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with new.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        new.replace(path)
    except OSError as error:
        raise UpkeepError(f"cannot write {path}: {error.strerror}") from error
    finally:
        with suppress(OSError):  # gone already, or its folder could not be made
            new.unlink()
