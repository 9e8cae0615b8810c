"""The documents say what the program does: reference printed, commands of the README run."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from upkeep.catalogue import load_builtin
from upkeep.catalogue.explain import print_kinds
from upkeep.records.reference import print_reference

ROOT = Path(__file__).parents[1]


def test_record_reference_is_what_the_tables_print() -> None:
    page = (ROOT / "docs" / "records.md").read_text("utf-8")
    assert page == print_reference(), "write print_reference() to docs/records.md"


def test_kinds_page_is_what_the_catalogue_prints() -> None:
    page = (ROOT / "docs" / "kinds.md").read_text("utf-8")
    fix = "walkround kinds --format markdown > docs/kinds.md"
    assert page == print_kinds(load_builtin()), fix


@pytest.mark.slow
def test_readme_commands_run_as_typed(tmp_path: Path) -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    typed = re.findall(r"^walkround .+$|`(walkround [a-z][^`]+)`", readme, re.MULTILINE)
    blocks = re.findall(r"^walkround .+$", readme, re.MULTILINE)
    commands = [*blocks, *(command for command in typed if command)]
    assert len(commands) >= 6
    for command in commands:
        run = subprocess.run(
            [sys.executable, "-m", "upkeep", *shlex.split(command)[1:]],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        assert run.returncode == 0, f"{command}: {run.stderr}"


def test_repository_names_no_folder_of_this_machine() -> None:
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    ).stdout.split()
    words = ("/wo" + "rk/", "../sha" + "red", "/ro" + "ot/")
    for name in listed:
        path = ROOT / name
        if path.suffix in {".py", ".toml", ".md", ".typ", ".html", ".css", ".json", ".csv", ""}:
            text = path.read_text("utf-8", errors="replace")
            assert not any(word in text for word in words), name
