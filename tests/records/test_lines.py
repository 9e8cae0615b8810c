"""Lines of key paths, against a writer that counts them while it writes."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from upkeep.lines import Path, find_line, map_lines

# What is written, and the name it means.
KEYS = (
    ("a", "a"), ("b-c", "b-c"), ("1", "1"), ("_", "_"), ("true", "true"), ('"x y"', "x y"),
    ("'q\"r'", 'q"r'), ('"a.b"', "a.b"), ('"\\u00e9"', "é"), ('"\\"#"', '"#'), ('""', ""),
    ("'[c]'", "[c]"), ('"\\\\"', "\\"), ('"ü = 1"', "ü = 1"),
)  # fmt: skip
SINGLE = (
    "1", "-1_000", "0x1F", "1e-3", "inf", "true", "2026-01-01", "2026-01-01 10:00:00", "10:00:00",
    "2026-01-01T10:00:00.5+02:00", '""', "''", '"a # [b] {c} , = \\" \\\\"', "'c:\\'", '"]"', "'}'",
    '""""""', "''''''", '"""\nx\n"" [y = 1\n"""', "'''\n'' {\n\\'''", '"""\\\n   joined"""',
    '""""quoted""""', '"""a"""""', "'''a'''''", '"""\\"""\n#"""', "'''\"\"\"\n'''",
)  # fmt: skip
BLANK = ("", " ", "\t ")
COMMENT = ("", " # comment", "# [x] = \"'''", " # ]}")


class Writer:
    """Writes TOML and notes the line of each key path as it goes."""

    def __init__(self, draw: Callable[..., Any]) -> None:
        self.draw = draw
        self.parts: list[str] = []
        self.line = 1
        self.lines: dict[Path, int] = {}

    def write(self, text: str) -> None:
        self.parts.append(text)
        self.line += text.count("\n")

    def blank(self) -> None:
        self.write(self.draw(st.sampled_from(BLANK)))

    def gap(self) -> None:
        """Write room inside brackets: spaces, or a comment and new lines."""
        self.write(self.draw(st.sampled_from((*BLANK, "\n", "  # , ]\n\n"))))

    def end(self) -> None:
        self.write(self.draw(st.sampled_from(COMMENT)) + "\n")
        self.write("\n" * self.draw(st.integers(0, 2)))

    def note(self, path: Path) -> None:
        self.lines.setdefault(path, self.line)

    def keys(self, most: int) -> list[tuple[str, str]]:
        return self.draw(st.lists(st.sampled_from(KEYS), max_size=most, unique=True))

    def pair(self, prefix: Path, key: tuple[str, str], depth: int) -> None:
        path = (*prefix, key[1])
        self.note(path)
        self.write(key[0])
        for more in self.keys(2) if self.draw(st.booleans()) else []:
            self.blank()
            self.write(".")
            self.blank()
            self.write(more[0])
            path = (*path, more[1])
            self.note(path)
        self.blank()
        self.write("=")
        self.blank()
        self.value(path, depth)

    def value(self, path: Path, depth: int) -> None:
        self.note(path)
        sort = self.draw(st.sampled_from(("single", "list", "table") if depth else ("single",)))
        if sort == "single":
            self.write(self.draw(st.sampled_from(SINGLE)))
        elif sort == "list":
            self.list(path, self.draw(st.integers(0, 3)), depth - 1)
        else:
            self.table(path, depth - 1)

    def list(self, path: Path, count: int, depth: int) -> None:
        self.write("[")
        for index in range(count):
            self.gap()
            self.value((*path, index), depth)
            self.gap()
            if index < count - 1 or self.draw(st.booleans()):
                self.write(",")
        self.gap()
        self.write("]")

    def table(self, path: Path, depth: int) -> None:
        self.write("{")
        for index, key in enumerate(self.keys(3)):
            self.write("," if index else "")
            self.blank()
            self.pair(path, key, depth)
            self.blank()
        self.write("}")

    def body(self, prefix: Path) -> None:
        for key in self.keys(3):
            self.blank()
            self.pair(prefix, key, 2)
            self.end()


@st.composite
def documents(draw: Callable[..., Any]) -> tuple[str, dict[Path, int]]:
    """Write a document of pairs, tables, lists of tables and tables inside those."""
    writer = Writer(draw)
    writer.body(())
    used = {path[0] for path in writer.lines}
    for name in [f"table-{n}" for n in range(draw(st.integers(0, 4)))]:
        many, inner = draw(st.booleans()), draw(st.booleans())
        for index in range(draw(st.integers(1, 3)) if many else 1):
            path: Path = (name, index) if many else (name,)
            if many:
                writer.note((name,))
            writer.note(path)
            writer.write(f"[[ {name} ]]" if many else f"[{name}]")
            writer.end()
            writer.body((*path,))
            if inner:
                writer.note((*path, "in-side"))
                writer.note((*path, "in-side", "deep"))
                writer.write(f'[{name}."in-side" . deep]')
                writer.end()
                writer.body((*path, "in-side", "deep"))
    assert not used & {f"table-{n}" for n in range(4)}
    text = "".join(writer.parts)
    return text, writer.lines


@settings(max_examples=300, deadline=None)
@given(document=documents())
def test_every_path_stands_on_the_line_it_was_written_on(
    document: tuple[str, dict[Path, int]],
) -> None:
    text, expected = document
    data = tomllib.loads(text)
    for path in expected:
        found: Any = data
        for key in path:
            found = found[key]
    assert map_lines(text) == expected


@settings(max_examples=100, deadline=None)
@given(document=documents())
def test_lines_are_the_same_with_windows_line_ends(
    document: tuple[str, dict[Path, int]],
) -> None:
    text, expected = document
    assert map_lines(text.replace("\n", "\r\n")) == expected


def test_table_named_before_it_is_written_stands_where_it_is_written() -> None:
    text = "[a.b.c]\nx = 1\n\n[a]\ny = 2\n[a.b]\n"
    assert map_lines(text) == {
        ("a",): 4, ("a", "y"): 5, ("a", "b"): 6, ("a", "b", "c"): 1, ("a", "b", "c", "x"): 2,
    }  # fmt: skip


def test_table_that_is_never_written_stands_where_it_is_first_named() -> None:
    text = "\n[kind.seacock.rule.exercise]\ntitle = 1\n[kind.seacock.rule.look]\n"
    lines = map_lines(text)
    assert lines["kind", "seacock"] == 2
    assert lines["kind", "seacock", "rule", "look"] == 4


def test_unknown_path_falls_back_to_the_table_around_it() -> None:
    lines = map_lines("\n[vessel]\nname = 1\n\n[[component]]\n\n[[component]]\nid = 2\n")
    assert find_line(lines, ("component", 1, "location", 3)) == 7
    assert find_line(lines, ("vessel", "name", "x")) == 3
    assert find_line(lines, ("nowhere",)) == 1
    assert find_line(lines, ()) == 1
