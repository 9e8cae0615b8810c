"""Faults as values, and the two exceptions that may cross a floor."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

KeyPath = tuple[str | int, ...]


class Fault(NamedTuple):
    """A fault at a key path of one document, before its line is known."""

    path: KeyPath
    message: str
    fix: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Problem:
    """One thing a person wrote that cannot be used, and what would be right.

    file is relative to the fleet folder with forward slashes; line counts from 1,
    0 when the fault belongs to the whole file. vessel is None for the fleet's own files.
    """

    file: str
    line: int
    message: str
    fix: str
    vessel: str | None = None

    def __str__(self) -> str:
        """Say it on one line, as compilers do."""
        return f"{self.file}:{self.line}: {self.message}; {self.fix}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Warning:
    """Something recorded that is usable but looks wrong as installed, or is missing.

    check names the test that found it; sources are rows of the catalogue's sources.
    """

    file: str
    line: int
    vessel: str | None
    check: str
    message: str
    sources: tuple[str, ...] = ()

    def __str__(self) -> str:
        """Say it on one line, as compilers do."""
        return f"{self.file}:{self.line}: {self.message} [{self.check}]"


class UpkeepError(Exception):
    """Something a person can put right: disk, folder, argument."""

    exit_code = 1
    status = 422


class UnknownNameError(UpkeepError):
    """A vessel, task or kind that the fleet does not have."""

    status = 404


class QuantityError(ValueError):
    """A number, date or word outside the range a model is valid in; key says which."""

    def __init__(self, key: str, message: str) -> None:
        """Name the offending key and what would be right."""
        super().__init__(f"{key}: {message}")
        self.key = key
