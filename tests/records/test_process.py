"""The command on the spoilt fleet, as a process of its own: exit codes, lines, JSON."""

from __future__ import annotations

import csv
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from .test_planted_faults import PLANTED, SPOILT

pytestmark = pytest.mark.slow
TODAY = ("--today", "2026-07-01")


def run(*arguments: str | Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "upkeep", *map(str, arguments)],
        capture_output=True,
        encoding="utf-8",
        check=False,
        timeout=60,
        env={**os.environ, **environment},
    )


def _read_json(*arguments: str | Path) -> Any:
    ran = run(*arguments, "--format", "json", *TODAY)
    assert ran.returncode == 1, ran.stderr
    assert "Traceback" not in ran.stderr
    return json.loads(ran.stdout)


def test_check_prints_one_line_a_fault_and_exits_1() -> None:
    ran = run("check", SPOILT, *TODAY)
    assert ran.returncode == 1
    lines = ran.stdout.splitlines()
    assert len(lines) == len(PLANTED)
    for line in lines:
        assert re.fullmatch(r"[a-z/-]+\.toml:[1-9]\d*: \S.*; \S.*", line), line
    for file, number, words in PLANTED:
        assert any(line.startswith(f"{file}:{number}: ") and words in line for line in lines), words
    assert f"1 vessel, {len(PLANTED)} problems" in ran.stderr


def test_check_prints_the_same_twice() -> None:
    first, second = (run("check", SPOILT, *TODAY, PYTHONHASHSEED=seed) for seed in ("1", "2"))
    assert first.stdout == second.stdout


def test_check_json_has_the_promised_shape() -> None:
    said = _read_json("check", SPOILT)
    assert said.keys() == {"problems", "warnings", "coverage"}
    assert len(said["problems"]) == len(PLANTED)
    for problem in said["problems"]:
        assert {key: type(value) for key, value in problem.items()} == {
            "file": str, "line": int, "message": str, "fix": str,
        }  # fmt: skip
        assert (SPOILT / problem["file"]).is_file()
    for warning in said["warnings"]:
        assert warning.keys() == {"file", "line", "vessel", "check", "message", "sources"}
        assert warning["vessel"] == "linnet"


def test_check_csv_has_a_row_a_fault() -> None:
    ran = run("check", SPOILT, "--format", "csv", *TODAY)
    rows = list(csv.DictReader(ran.stdout.splitlines()))
    assert sum(row["what"] == "problem" for row in rows) == len(PLANTED)


def test_due_goes_on_with_the_healthy_vessel_and_exits_1() -> None:
    said = _read_json("due", SPOILT)
    assert said["today"] == "2026-07-01"
    assert len(said["problems"]) == len(PLANTED)
    tasks = {task["task"] for task in said["tasks"]}
    assert "linnet/seacock/exercise" in tasks
    assert {task["vessel"] for task in said["tasks"]} == {"linnet"}


def test_due_says_on_stderr_who_is_left_out_and_why() -> None:
    ran = run("due", SPOILT, *TODAY)
    assert ran.returncode == 1
    for vessel, file in (
        ("avocet", "vessels/avocet.toml"),
        ("bittern", "vessels/bittern.toml"),
        ("curlew", "fit-outs/heating.toml"),
    ):
        assert f"{vessel} is left out until {file} is mended" in ran.stderr
    assert "Open and shut the seacock" in ran.stdout


@pytest.mark.parametrize(
    "arguments",
    [
        ("chek",),
        ("check", "--nope"),
        ("check", "--format", "xml"),
        ("check", "--today", "2026-02-30"),
        ("check", "one", "two"),
        ("due", "--within", "soon"),
        ("due", "--today", "20260701"),
    ],
    ids=" ".join,
)
def test_usage_error_exits_2(arguments: tuple[str, ...]) -> None:
    ran = run(*arguments)
    assert ran.returncode == 2
    assert not ran.stdout
    assert "Traceback" not in ran.stderr


@pytest.mark.parametrize("command", ["check", "due"])
def test_folder_that_is_no_fleet_exits_1(command: str, tmp_path: Path) -> None:
    ran = run(command, tmp_path)
    assert (ran.returncode, ran.stdout) == (1, "")
    assert "has no fleet.toml" in ran.stderr
    assert ran.stderr.count("\n") == 1
