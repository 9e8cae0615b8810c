"""The printed reference: limits in words, examples that pass the check, nothing left out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from upkeep.catalogue import load_builtin
from upkeep.catalogue.explain import explain_kind, print_kinds, say_limits, write_example
from upkeep.model import Expiry, ReadingLimit
from upkeep.records import load_fleet

BOAT = """
[vessel]
id = "tern"
name = "Tern"
type = "launch"
length_m = 8.2
water = "bay"
flag = "gb"
use = "private"

{}
"""
LOW_VOLTS = ReadingLimit(name="rest_v", above=None, below=12.4, of_commissioning=False)
OFF = "Off until asked for: write [[limit]] with this task and drop = false."
LINKS = ("# fed_by", "# water_from", "# driven_by")  # they name other parts
KINDS = sorted(load_builtin().kinds)


@pytest.mark.parametrize(
    ("limits", "each", "said"),
    [
        ({"months": 12}, (), "every 12 months"),
        ({"weeks": 1}, (), "every week"),
        ({"before_lay_up_days": 14}, (), "14 days before lay-up"),
        ({"after_launch_days": 0}, (), "at launch"),
        ({"anode_used": 0.5}, (), "when 50 % of it is gone"),
        (
            {"run_hours": 250, "months": 12},
            (),
            "every 250 hours run or every 12 months, whichever comes first",
        ),
        (
            {"expiry": Expiry(field="made", life_months=120, life_field="")},
            (),
            "10 years after the date in made",
        ),
        (
            {"expiry": Expiry(field="expires", life_months=0, life_field="")},
            (),
            "by the date printed on it (expires)",
        ),
        (
            {"reading": LOW_VOLTS},
            (),
            "at once when rest_v is below 12.4",
        ),
        ({}, ("start", "return"), "each time before starting up and each time somebody comes back "
         "to her"),
        ({}, (), "as the maker's own book says; no date until it is recorded"),
    ],
)  # fmt: skip
def test_limits_are_said_in_words(limits: dict, each: tuple[str, ...], said: str) -> None:
    assert say_limits(limits, each) == said


@pytest.mark.parametrize("whole", [False, True], ids=["needed", "all"])
def test_every_example_passes_the_check(fleet_folder: Callable[..., Path], whole: bool) -> None:
    blocks = []
    for kind in load_builtin().kinds.values():
        lines = write_example(kind)
        if whole:
            lines = tuple(line.removeprefix("# ") for line in lines if not line.startswith(LINKS))
        blocks.append("\n".join(lines))
    loaded = load_fleet(fleet_folder(vessels__tern=BOAT.format("\n\n".join(blocks))))
    assert [str(problem) for problem in loaded.problems] == []
    assert sorted(c.kind.id for c in loaded.vessels[0].components.values()) == KINDS


def test_the_page_holds_every_rule_step_caution_and_source() -> None:
    catalogue = load_builtin()
    page = print_kinds(catalogue).replace("\\_", "_").replace("\\*", "*").replace("&lt;", "<")
    for kind in catalogue.kinds.values():
        for rule in kind.rules:
            assert f"#### {rule.id}: {rule.title}" in page
            for step in rule.steps.strip().splitlines():
                assert step.partition(". ")[2] in page, (kind.id, rule.id)
            for name in rule.cautions:
                assert catalogue.cautions[name].consequence in page
            for name in rule.sources:
                assert catalogue.sources[name].title in page


def test_what_is_off_and_what_is_bound_to_a_field_is_said() -> None:
    catalogue = load_builtin()
    lines = explain_kind(catalogue, catalogue.kinds["fire-extinguisher"])
    texts = [line.text for line in lines]
    assert any(text.startswith("Only where") for text in texts)
    asked = [r for k in catalogue.kinds.values() for r in k.rules if r.on_request]
    for rule in asked:
        kind = catalogue.kinds[rule.kind]
        assert OFF in [line.text for line in explain_kind(catalogue, kind)]
