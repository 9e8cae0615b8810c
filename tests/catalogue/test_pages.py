"""First-minutes pages: which cautions they carry, and what is wrong with a page without."""

from __future__ import annotations

from pathlib import Path

import pytest

from upkeep.catalogue.load import load_builtin, load_catalogue

PAGE = """
[page.adrift]
order = 6
title = "Adrift"
{cautions}
steps = "1. Call for help."
"""


@pytest.mark.parametrize(
    ("page", "cautions"),
    [
        ("gas-or-co", {"gas-escape", "carbon-monoxide"}),  # either alarm leads to this page
        ("electric-shock", {"shock-mains", "shock-in-water"}),  # at a dock people fall in
        ("no-power", {"shock-mains", "short-circuit"}),  # looks at plugs, breakers and banks
    ],
)
def test_page_of_two_dangers_carries_both_cautions(page: str, cautions: set[str]) -> None:
    (found,) = (one for one in load_builtin().pages if one.id == page)
    assert set(found.cautions) == cautions


def read(tmp_path: Path, cautions: str) -> list[str]:
    folder = tmp_path / "catalogue"
    folder.mkdir()
    (folder / "own.toml").write_text(PAGE.format(cautions=cautions), encoding="utf-8")
    catalogue, problems = load_catalogue(tmp_path)
    assert any(page.id == "adrift" for page in catalogue.pages) is not bool(problems)
    return [f"{problem.message}; {problem.fix}" for problem in problems]


def test_own_page_may_carry_several_cautions(tmp_path: Path) -> None:
    assert read(tmp_path, 'cautions = ["flooding", "fire"]') == []


@pytest.mark.parametrize(
    ("cautions", "said"),
    [
        ("", "page has no cautions; write a list of ids"),
        ("cautions = []", "page has no cautions; name a row of cautions"),
        ('cautions = ["flooding", "floding"]', "caution floding is not known"),
        ('caution = "flooding"\ncautions = ["fire"]', "unknown key caution"),
    ],
)
def test_own_page_with_faulty_cautions_is_reported(
    tmp_path: Path, cautions: str, said: str
) -> None:
    problems = read(tmp_path, cautions)
    assert len(problems) == 1
    assert said in problems[0]
