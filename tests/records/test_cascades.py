"""Every value of a right fleet made wrong, one at a time: one fault is one problem, no more."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from copy import deepcopy
from datetime import time
from pathlib import Path
from typing import Any

import pytest

from upkeep.errors import Problem
from upkeep.records import load_fleet

from .test_mutations import RIGHT
from .toml_text import write_document

Place = tuple[str | int, ...]
# Names that others refer to, or that are the writer's own to choose: another name is no slip.
CHOSEN = {
    ("fleet.toml", ("water", "bay")),
    ("fit-outs/heating.toml", ("needs", "sea")),
    ("fit-outs/heating.toml", ("needs", "supply")),
    ("vessels/one.toml", ("component", 6, "parts", "a")),
    ("catalogue/own.toml", ("source", "habit")),
    ("catalogue/own.toml", ("kind", "cork-deck")),
    ("catalogue/own.toml", ("kind", "cork-deck", "rule", "look-over")),
}
# What others refer to by a name written inside it: without it each of them leads nowhere.
REFERRED = {
    ("fleet.toml", ("water",)),
    ("fleet.toml", ("water", "bay")),
    ("vessels/one.toml", ("component",)),
    ("fit-outs/heating.toml", ("needs",)),
    ("fit-outs/heating.toml", ("needs", "sea")),
    ("fit-outs/heating.toml", ("needs", "supply")),
    *((file, ("component", n)) for file in RIGHT for n in range(9) if "own" not in file),
}


def list_paths(data: object, path: Place = ()) -> Iterator[Place]:
    """List the path of everything inside a document."""
    pairs: Any = ()
    if isinstance(data, dict):
        pairs = data.items()
    elif isinstance(data, list):
        pairs = enumerate(data)
    for key, value in pairs:
        yield (*path, key)
        yield from list_paths(value, (*path, key))


PLACES = [(file, path) for file, data in RIGHT.items() for path in list_paths(data)]
Change = Callable[[Any, Any], None]


def _say(file: str, path: Place, change: Change, folder: Path) -> list[Problem]:
    data = deepcopy(RIGHT[file])
    container: Any = data
    for key in path[:-1]:
        container = container[key]
    change(container, path[-1])
    (folder / file).write_text(write_document(data), "utf-8")
    return list(load_fleet(folder).problems)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, data in RIGHT.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(write_document(data), "utf-8")
    return tmp_path


def _set_time(container: Any, key: Any) -> None:
    container[key] = time(12)  # no key of ours is a time of day


def _misspell(container: Any, key: Any) -> None:
    rows = {f"{old}x" if old == key else old: value for old, value in container.items()}
    container.clear()
    container.update(rows)


def _drop(container: Any, key: Any) -> None:
    del container[key]


def _list(problems: list[Problem]) -> str:
    return "\n".join(map(str, problems))


@pytest.mark.parametrize("file", RIGHT)
def test_wrong_value_is_one_problem(file: str, folder: Path) -> None:
    for path in (path for name, path in PLACES if name == file):
        problems = _say(file, path, _set_time, folder)
        assert len(problems) == 1, f"{path}:\n{_list(problems)}"
        assert problems[0].file == file


@pytest.mark.parametrize("file", RIGHT)
def test_misspelt_key_is_one_problem(file: str, folder: Path) -> None:
    for name, path in PLACES:
        if name != file or isinstance(path[-1], int) or (file, path) in CHOSEN:
            continue
        problems = _say(file, path, _misspell, folder)
        assert len(problems) == 1, f"{path}:\n{_list(problems)}"
        if path[-2:-1] not in (("set",), ("bind",)):
            assert problems[0].message == f"unknown key {path[-1]}x"
        assert f"did you mean {path[-1]}?" in problems[0].fix


@pytest.mark.parametrize("file", RIGHT)
def test_missing_value_is_at_most_one_problem(file: str, folder: Path) -> None:
    for path in (path for name, path in PLACES if name == file):
        problems = _say(file, path, _drop, folder)
        if (file, path) not in REFERRED:
            assert len(problems) <= 1, f"{path}:\n{_list(problems)}"
