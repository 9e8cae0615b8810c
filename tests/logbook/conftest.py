"""Logbooks on both databases: a file of their own each, and a database of their own each."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest

from tests.logbook.books import ROOT
from upkeep.logbook import FILE, Logbook, open_logbook


@dataclass(frozen=True)
class Place:
    """Where a logbook is; run changes it behind its back."""

    folder: Path | None
    url: str | None

    def open(self, *, write: bool = True) -> Logbook:
        return open_logbook(self.folder, self.url, write=write)

    def run(self, statement: str) -> list[Any]:
        """Run one statement with the driver alone."""
        if self.folder is not None:
            import sqlite3

            file = sqlite3.connect(self.folder / FILE, isolation_level=None)
            try:
                return file.execute(statement).fetchall()
            finally:
                file.close()
        import psycopg

        assert self.url is not None
        plain = self.url.replace("+psycopg", "")
        with psycopg.connect(plain, autocommit=True) as server:
            found = server.execute(statement)
            return found.fetchall() if found.description else []


@pytest.fixture(scope="session")
def postgresql() -> Iterator[str]:
    """Start a throwaway server; without one a run in CI fails, and any other skips."""
    script = ["sh", str(ROOT / "tests" / "postgres")]
    server = subprocess.Popen(script, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    with server:
        assert server.stdout is not None
        url = server.stdout.readline().strip()
        if not url:
            absent = server.wait() == 3 and os.environ.get("CI") != "true"
            (pytest.skip if absent else pytest.fail)("there is no PostgreSQL")
        yield url


@pytest.fixture
def in_postgresql(postgresql: str) -> Place:
    name = f"logbook_{uuid4().hex}"
    Place(None, postgresql).run(f"CREATE DATABASE {name}")
    return Place(None, postgresql.removesuffix("postgres") + name)


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.slow)])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Place:
    if request.param == "sqlite":
        return Place(tmp_path, None)
    found: Place = request.getfixturevalue("in_postgresql")
    return found


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty logbook's file, to be copied where many are needed."""
    folder = tmp_path_factory.mktemp("empty")
    open_logbook(folder, None, write=True).close()
    return folder / FILE


@pytest.fixture(scope="session")
def fresh(empty_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[[], Place]:
    """Make one more empty logbook."""

    def make() -> Place:
        folder = tmp_path_factory.mktemp("fresh")
        (folder / FILE).write_bytes(empty_file.read_bytes())
        return Place(folder, None)

    return make
