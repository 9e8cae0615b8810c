"""What a folder of outputs is asked for, what was put there, and writing only what changed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import Any, Literal

from upkeep.documents import write_atomic
from upkeep.errors import UpkeepError

MANIFEST = ".walkround.json"


@dataclass(frozen=True, kw_only=True, slots=True)
class Order:
    """What to write and where. paper None follows the fleet's units.

    whole False leaves the index page as it stands, if there is one: only some boats were read.
    """

    to: Path
    today: date
    pdf: bool = True
    whole: bool = True
    paper: Literal["a4", "letter"] | None = None
    logbook: str | None = None  # its PostgreSQL address; None: the file in the fleet's folder


@dataclass(frozen=True, kw_only=True, slots=True)
class Made:
    """What a vessel's handbook was made from (key), the bytes it came to, and notes to tell.

    files: SHA-256 of each file by its name in the folder. Empty when nothing is known.
    """

    key: str = ""
    files: Mapping[str, str]
    notes: tuple[str, ...] = ()

    def stands(self, to: Path, key: str, names: Iterable[str]) -> bool:
        """Tell whether files made from this key stand in the folder as they were written."""
        return key == self.key and all(
            name in self.files and hash_file(to / name) == self.files[name] for name in names
        )


NOTHING = Made(files={})


def read_manifest(folder: Path) -> dict[str, Made]:
    """Read what a folder remembers of each vessel's handbook; what cannot be read is made again."""
    try:
        data = json.loads((folder / MANIFEST).read_bytes())
    except (OSError, ValueError, RecursionError):
        return {}
    rows = data.items() if isinstance(data, dict) else ()
    return {name: made for name, row in rows if (made := _read_made(row))}


def _read_made(row: Any) -> Made | None:
    if not isinstance(row, dict):
        return None
    key, files, notes = row.get("key"), row.get("files"), row.get("notes")
    if not isinstance(key, str) or not isinstance(files, dict) or not isinstance(notes, list):
        return None
    if not all(isinstance(text, str) for text in (*files.values(), *notes)):
        return None
    return Made(key=key, files=files, notes=tuple(notes))


def write_manifest(folder: Path, made: Mapping[str, Made]) -> None:
    """Remember what each vessel's handbook was made from."""
    rows = {name: asdict(row) for name, row in made.items() if row.key}
    write_changed(folder / MANIFEST, json.dumps(rows, indent=1, sort_keys=True).encode())


def hash_file(path: Path) -> str:
    """Hash a file's bytes; "" when there is no such file."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""


def hash_bytes(data: bytes) -> str:
    """Hash bytes as hash_file does."""
    return hashlib.sha256(data).hexdigest()


def write_changed(path: Path, data: bytes) -> bool:
    """Write a file if its bytes differ from what stands there."""
    try:
        if path.is_file() and path.read_bytes() == data:
            return False
    except OSError as error:
        raise UpkeepError(f"cannot read {path}: {error.strerror}") from error
    write_atomic(path, data)
    return True
