"""Files of a fleet folder: read with every fault named, written in one step."""

from __future__ import annotations

import os
import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from uuid import uuid4

from upkeep.errors import Problem, UpkeepError, Warning
from upkeep.lines import find_line, map_lines
from upkeep.schema import Fault

LARGEST_BYTES = 2_000_000  # a boat of 60 components takes 20 kB
_AT_LINE = re.compile(r" \(at line (\d+), column \d+\)$")


@dataclass(frozen=True, kw_only=True, slots=True)
class Document:
    """One parsed TOML file; file is its name inside the fleet, as people are shown it."""

    file: str
    text: str
    data: dict[str, Any]
    _lines: dict[tuple[str | int, ...], int] = field(default_factory=dict, repr=False)

    def line(self, path: tuple[str | int, ...]) -> int:
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
        path: tuple[str | int, ...],
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


def read_document(folder: Path, path: Path, vessel: str | None = None) -> Document | Problem:
    """Read one TOML file inside a folder, or say what is wrong with it."""
    file = path.relative_to(folder).as_posix()

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


def _parse(file: str, text: str, refuse: Any) -> Document | Problem:
    try:
        return Document(file=file, text=text, data=tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        match = _AT_LINE.search(message)
        line = int(match[1]) if match else text.count("\n") + 1
        said = _AT_LINE.sub("", message).removesuffix(" (at end of document)")
        said = said[:1].lower() + "".join(c if c.isprintable() else "�" for c in said[1:])
        problem: Problem = refuse(f"is not valid TOML: {said}", "mend this line", line)
        return problem
    except (RecursionError, ValueError, OverflowError):
        problem = refuse("is nested too deeply or holds an impossible value", "write it flat")
        return problem


def is_inside(folder: Path, path: Path) -> bool:
    """Tell whether a path, links followed, stays inside a folder."""
    return path.resolve().is_relative_to(folder.resolve())


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
        new.unlink(missing_ok=True)
