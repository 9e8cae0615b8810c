"""A spoilt fleet: each planted fault gives one line, where it stands, and nothing else does."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

from upkeep.errors import Problem
from upkeep.records import LoadedFleet, load_fleet

SPOILT = Path(__file__).parent / "spoilt"
_MARK = re.compile(r"#((?: *!! [^!]+)+)$")


def read_planted() -> list[tuple[str, int, str]]:
    """Collect (file, line, words of the problem) from the marks in the files."""
    planted = []
    for path in sorted(SPOILT.rglob("*.toml")):
        file = path.relative_to(SPOILT).as_posix()
        for line, text in enumerate(path.read_text("utf-8").split("\n"), 1):
            match = _MARK.search(text)
            for words in match[1].split("!!")[1:] if match else ():
                planted.append((file, line, words.strip()))
    return planted


PLANTED = read_planted()


@pytest.fixture(scope="module")
def loaded() -> LoadedFleet:
    return load_fleet(SPOILT)


def _find(problems: tuple[Problem, ...], file: str, line: int, words: str) -> list[Problem]:
    return [p for p in problems if (p.file, p.line) == (file, line) and words in str(p)]


def test_faults_are_planted_in_every_sort_of_file() -> None:
    files = Counter(file for file, _, _ in PLANTED)
    assert len(PLANTED) >= 60
    assert files.keys() == {
        "fleet.toml",
        "vessels/avocet.toml",
        "vessels/bittern.toml",
        "fit-outs/heating.toml",
        "fit-outs/cooling.toml",
        "catalogue/decks.toml",
    }


@pytest.mark.parametrize("planted", PLANTED, ids=lambda p: f"{p[0]}:{p[1]}: {p[2]}")
def test_planted_fault_gives_one_problem(
    planted: tuple[str, int, str], loaded: LoadedFleet
) -> None:
    assert len(_find(loaded.problems, *planted)) == 1, [
        str(p) for p in loaded.problems if p.file == planted[0]
    ]


def test_nothing_is_reported_that_was_not_planted(loaded: LoadedFleet) -> None:
    said = [p for p in loaded.problems if not any(_find((p,), *planted) for planted in PLANTED)]
    assert not said, "\n".join(map(str, said))
    assert len(loaded.problems) == len(PLANTED)


def test_a_vessel_with_problems_stops_only_herself(loaded: LoadedFleet) -> None:
    assert [vessel.id for vessel in loaded.vessels] == ["linnet"]
    assert loaded.stopped == {
        "avocet": "vessels/avocet.toml",
        "bittern": "vessels/bittern.toml",
        "curlew": "fit-outs/heating.toml",
    }


def test_every_problem_of_a_vessel_names_her(loaded: LoadedFleet) -> None:
    for problem in loaded.problems:
        file = Path(problem.file)
        assert problem.vessel == (file.stem if file.parts[0] == "vessels" else None)


def test_messages_are_one_short_line(loaded: LoadedFleet) -> None:
    for problem in loaded.problems:
        assert str(problem).isprintable()
        assert problem.message
        assert problem.fix
        assert len(problem.message) <= 120, problem
    texts = [str(problem) for problem in loaded.problems]
    assert len(set(texts)) == len(texts)


def test_text_is_kept_as_written(loaded: LoadedFleet) -> None:
    assert loaded.fleet is not None
    assert loaded.fleet.name == "Spoilt & Sons <script>alert(1)</script>"
    (linnet,) = loaded.vessels
    assert linnet.name == 'Linnet 🚤 "#let x = 1" BEGIN:VEVENT;,\\n'
    assert linnet.type == "לאונץ' lancha"
