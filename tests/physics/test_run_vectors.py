"""The runner of vector files: what it counts, says and survives."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[1] / "run_vectors.py"
GOOD = {
    "name": "BKT-01",
    "inputs": {"volume_l": 10, "time_s": 50},
    "expected": 12.0,
    "tolerance": 1e-9,
    "source": "arithmetic",
}


@pytest.fixture
def run(tmp_path):
    """Run the script on content and give its exit code and printed lines."""

    def run_on(content):
        path = tmp_path / "vectors.json"
        path.write_text(content if isinstance(content, str) else json.dumps(content), "utf-8")
        done = subprocess.run(
            [sys.executable, SCRIPT, path], capture_output=True, text=True, check=False
        )
        assert "Traceback" not in done.stderr
        return done.returncode, done.stdout.splitlines()

    return run_on


def test_good_vectors_agree_and_unknown_models_do_not_count(run):
    """Unknown codes are said but alone do not fail."""
    code, lines = run({"one": [GOOD], "two": [{**GOOD, "name": "ZZZ-01"}, {"name": "ZZZ-02"}]})
    assert code == 0
    assert lines == ["ZZZ: unknown model, 2 vectors not run", "1 of 1 agree"]


@pytest.mark.parametrize(
    "spoilt",
    [
        {key: value for key, value in GOOD.items() if key != missing}
        for missing in ("name", "inputs", "expected", "tolerance")
    ]
    + [
        {**GOOD, "expected": 12.1},
        {**GOOD, "expected": "12"},
        {**GOOD, "expected": None},
        {**GOOD, "expected": {"error": "time_s"}},
        {**GOOD, "expected": float("nan")},
        {**GOOD, "tolerance": "wide"},
        {**GOOD, "tolerance": -1},
        {**GOOD, "tolerance": float("inf")},
        {**GOOD, "inputs": [10, 50]},
        {**GOOD, "inputs": {**GOOD["inputs"], "colour": "red"}},
        {**GOOD, "name": 7},
        "not an object",
        None,
    ],
)
def test_spoilt_vector_is_a_mismatch(run, spoilt):
    """The good one beside it still agrees."""
    code, lines = run({"group": [spoilt, GOOD]})
    assert code == 1
    assert len(lines) == 2
    assert lines[-1] == "1 of 2 agree"


@pytest.mark.parametrize("content", ["[]", '"text"', '{"group": {"name": "BKT-01"}}'])
def test_file_of_another_shape_is_a_mismatch(run, content):
    """The shape at fault is said."""
    code, lines = run(content)
    assert code == 1
    assert lines[-1] == "0 of 1 agree"


def test_file_that_is_not_json_is_refused(run):
    """Nothing can be counted."""
    assert run("{") == (2, [])


def test_bools_and_numbers_are_not_the_same(run):
    """A flag must match as a flag."""
    drop = {
        "name": "DRP-01",
        "inputs": {"commissioning_l_per_min": 10, "flow_l_per_min": 10},
        "expected": {"drop_fraction": 0, "wear": 0, "at_limit": 0},
        "tolerance": 1,
    }
    flag = {**drop, "expected": {**drop["expected"], "at_limit": False}}
    assert run({"group": [drop, flag]})[1][-1] == "1 of 2 agree"
