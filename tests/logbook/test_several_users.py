"""The commands with a logbook on a server: what one records, another's dates follow."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from .boats import SKUA
from .conftest import ROOT, Place

TASK = "skua/strainer/clean-basket"


@pytest.mark.slow
def test_two_people_share_a_logbook_on_a_server(
    in_postgresql: Place, fleet_folder: Callable[..., Path], tmp_path: Path
) -> None:
    assert in_postgresql.url is not None
    fleet = fleet_folder(vessels__skua=SKUA)
    shared = {**os.environ, "PYTHONPATH": str(ROOT), "WALKROUND_LOGBOOK": in_postgresql.url}

    def run(*arguments: str) -> str:
        made = subprocess.run(
            [sys.executable, "-m", "upkeep", *arguments],
            capture_output=True, text=True, check=False, env=shared,
        )  # fmt: skip
        assert made.returncode == 0, made.stderr
        return made.stdout

    def due() -> str:
        rows = json.loads(run("due", str(fleet), "--today", "2026-07-01", "--format", "json"))
        found: str = next(row["due"] for row in rows["tasks"] if row["task"] == TASK)
        return found

    before = due()
    said = ("done", TASK, "--on", "2026-06-29", "--wear", "0.2", "--today", "2026-07-01")
    entry = json.loads(run(*said, "--fleet", str(fleet), "--format", "json"))
    assert entry["new"] is True
    assert not (fleet / "logbook.sqlite").exists()
    assert due() > before
    assert entry["entry"] in run("log", str(fleet))
    run("check", str(fleet), "--today", "2026-07-01")
    run("publish", str(fleet), "--to", str(tmp_path), "--no-pdf", "--jobs", "2")
    run("done", "--undo", entry["entry"], "--fleet", str(fleet))
    assert due() == before
