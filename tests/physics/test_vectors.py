"""The cited vectors and worked examples, and what the models refuse."""

from __future__ import annotations

import csv
import importlib.util
import json
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
_SPEC = importlib.util.spec_from_file_location("physics_run_vectors", TESTS / "run_vectors.py")
run_vectors = importlib.util.module_from_spec(_SPEC)
sys.modules[_SPEC.name] = run_vectors
_SPEC.loader.exec_module(run_vectors)

GROUPS = json.loads((TESTS / "physics_vectors.json").read_text(encoding="utf-8"))
VECTORS = [vector for group in GROUPS.values() for vector in group]
KNOWN = [vector for vector in VECTORS if run_vectors.read_code(vector) in run_vectors.MODELS]
with (TESTS / "physics" / "worked_examples.csv").open(encoding="utf-8", newline="") as file:
    EXAMPLES = list(csv.DictReader(file))

NOT_NUMBERS = {
    "nan": float("nan"),
    "inf": float("inf"),
    "minus-inf": float("-inf"),
    "text": "12",
    "true": True,
    "list": [1.0],
    "object": {},
    "huge": 10**400,
}
MAY_BE_NULL = {"efficiency", "acceptance_per_h", "chemistry", "cell_c", "hard_limit_days"}
HAS_DEFAULT = MAY_BE_NULL | {
    "source_a",
    "temperature_factor",
    "loss_per_k",
    "cp_j_per_kg_k",
    "density_kg_per_m3",
    "session_h",
    "prior_weight_d",
    "life_months",
    "reading",
    "window_d",
    "offset_d",
    "times",
    "immersed",
    "rates",
    "default_rate",
    "wear_after_clean",
    "wear_now",
}


def name_of(vector):
    """Name a test after its vector."""
    return vector["name"]


def list_inputs():
    """List every input of every model once, with a vector that gives a result."""
    seen = set()
    for vector in KNOWN:
        code = run_vectors.read_code(vector)
        failed = isinstance(vector["expected"], dict) and "error" in vector["expected"]
        for key, value in () if failed else vector["inputs"].items():
            if (code, key) not in seen:
                seen.add((code, key))
                yield pytest.param(code, vector["inputs"], key, value, id=f"{code}-{key}")


INPUTS = list(list_inputs())
NUMBERS = [p for p in INPUTS if isinstance(p.values[3], int | float)]
OTHERS = [p for p in INPUTS if not isinstance(p.values[3], int | float)]


@pytest.mark.parametrize("vector", KNOWN, ids=name_of)
def test_model_agrees_with_cited_vector(vector):
    """Numbers within the tolerance; text, dates and null exactly."""
    actual = run_vectors.run_model(run_vectors.read_code(vector), vector["inputs"])
    assert run_vectors.agrees(vector["expected"], actual, vector["tolerance"]), actual


def test_every_model_in_the_table_has_a_vector():
    """A code without a vector would be tested by nothing."""
    assert set(run_vectors.MODELS) <= {run_vectors.read_code(vector) for vector in VECTORS}


@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: f"{row['code']}-{row['inputs'][:40]}")
def test_model_agrees_with_worked_example(row):
    """The installer's check figures among them are common practice, no source."""
    assert row["source"]
    assert row["mark"] in {"SEEN", "MEMORY", "PRACTICE"}
    pairs = (pair.split("=") for pair in row["inputs"].split())
    actual = run_vectors.run_model(row["code"], {key: json.loads(text) for key, text in pairs})
    assert run_vectors.agrees(json.loads(row["expected"]), actual, float(row["tolerance"])), actual


@pytest.mark.parametrize("bad", NOT_NUMBERS.values(), ids=NOT_NUMBERS)
@pytest.mark.parametrize(("code", "inputs", "key", "value"), NUMBERS)
def test_model_refuses_what_is_not_a_number(code, inputs, key, value, bad):
    """The key that comes back is the one at fault."""
    assert run_vectors.run_model(code, {**inputs, key: bad}) == {"error": key}


@pytest.mark.parametrize("bad", [None, float("nan"), 7, True, "soon", {}, [None, "x"], [{}]])
@pytest.mark.parametrize(("code", "inputs", "key", "value"), OTHERS)
def test_model_refuses_what_is_not_a_day_list_or_word(code, inputs, key, value, bad):
    """Dates, words and lists come back under their own key too."""
    failed = run_vectors.run_model(code, {**inputs, key: bad}) == {"error": key}
    assert failed != (bad is None and key in MAY_BE_NULL)


@pytest.mark.parametrize(("code", "inputs", "key", "value"), INPUTS)
def test_model_names_a_missing_input(code, inputs, key, value):
    """Only inputs with a documented default may be left out."""
    left = {name: given for name, given in inputs.items() if name != key}
    failed = run_vectors.run_model(code, left) == {"error": key}
    assert failed != (key in HAS_DEFAULT or (code, key) == ("RCG", "load_a"))


@pytest.mark.parametrize(("code", "inputs", "key", "value"), NUMBERS)
def test_model_refuses_null_for_a_number(code, inputs, key, value):
    """Null is an answer, never an input, but where it means "not given"."""
    failed = run_vectors.run_model(code, {**inputs, key: None}) == {"error": key}
    assert failed != (key in MAY_BE_NULL)


@pytest.mark.parametrize(
    ("code", "changed"),
    [
        ("RUN", {"capacity_ah": 0}),
        ("RUN", {"draw_a": -1}),
        ("RUN", {"usable_fraction": 0}),
        ("PEU", {"peukert_exponent": 2.01}),
        ("TMP", {"battery_c": 61}),
        ("TMP", {"battery_c": -31}),
        ("STO", {"soc_floor": 20}),
        ("STO", {"parasitic_a": -0.1}),
        ("STM", {"monthly_battery_c": [4] * 11}),
        ("STM", {"monthly_battery_c": [4] * 11 + [float("nan")]}),
        ("STM", {"start": "2026-02-29"}),
        ("RCG", {"efficiency": 98}),
        ("STR", {"static_head_m": 4}),
        ("STR", {"strainer_k_m_per_lpm2": 0}),
        ("BLK", {"drop_fraction": 10}),
        ("FRT", {"water_c": 45.1}),
        ("FRT", {"water_c": -3.1}),
        ("ANL", {"utilisation": 85}),
        ("ANG", {"diameter_now_mm": 17}),
        ("ANS", {"water": "salt"}),
        ("ANS", {"alloy": "tin"}),
        ("REG", {"observed_hours": 721}),
        ("EVD", {"t0_days": 0}),
        ("EVD", {"wear_after_clean": 30}),
        ("CHN", {"ahead_days": -1}),
        ("CHL", {"target_mg_per_l": 201}),
        ("PGN", {"lowest_c": -33.4}),
        ("RNS", {"left_fraction": 1}),
        ("FUS", {"standard_sizes_a": []}),
        ("MON", {"months": 1.5}),
        ("MON", {"months": 10**30}),
        ("EXP", {"life_months": -1}),
        ("EXP", {"life_months": 10**6}),
        ("EXP", {"reading": "middle"}),
        ("SEA", {"window_d": -1}),
        ("SEA", {"offset_d": 10**12}),
        ("EAR", {"dates": "2026-01-01"}),
    ],
    ids=str,
)
def test_model_refuses_what_is_outside_its_range(code, changed):
    """Ranges from the model's own statement; a percentage is not a fraction."""
    inputs = next(p.values[1] for p in INPUTS if p.values[0] == code)
    assert run_vectors.run_model(code, {**inputs, **changed}) == {"error": next(iter(changed))}
