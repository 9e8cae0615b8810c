"""Where each key of a TOML document stands: key path to line. Built only to report a fault.

Reads text that a TOML parser (TOML 1.0.0) has already accepted, so it need not judge it.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right

Path = tuple[str | int, ...]
_SPACE = re.compile(r"(?:[ \t\r\n]|#[^\n]*)+")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BARE_VALUE = re.compile(r"[^,\]}\n#]+")
_STRINGS = (
    re.compile(r'"""(?:[^\\]|\\.)*?"{3,5}', re.DOTALL),
    re.compile(r"'''.*?'{3,5}", re.DOTALL),
    re.compile(r'"(?:[^"\\\n]|\\.)*"'),
    re.compile(r"'[^'\n]*'"),
)


def map_lines(text: str) -> dict[Path, int]:
    """Map every key path of a valid document to the line it is written on, from 1."""
    return _Scanner(text).scan()


def find_line(lines: dict[Path, int], path: Path) -> int:
    """Find the line of a path, or of the nearest table around it; 1 at worst."""
    for length in range(len(path), 0, -1):
        line = lines.get(path[:length])
        if line is not None:
            return line
    return 1


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}
        self.implied: set[Path] = set()  # tables named only on the way to another
        self.breaks = [index for index, character in enumerate(text) if character == "\n"]

    def scan(self) -> dict[Path, int]:
        prefix: Path = ()
        self.skip()
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                prefix = self.header()
            else:
                self.pair(prefix)
            self.skip()
        return self.lines

    def note(self, path: Path) -> None:
        self.lines.setdefault(path, bisect_right(self.breaks, self.at - 1) + 1)

    def skip(self) -> None:
        match = _SPACE.match(self.text, self.at)
        if match:
            self.at = match.end()

    def header(self) -> Path:
        many = self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        self.skip()
        keys = self.key()
        path: Path = ()
        for key in keys[:-1]:
            path = self.enter((*path, key))
            if path not in self.lines:
                self.note(path)
                self.implied.add(path)
        path = (*path, keys[-1])
        if path in self.implied:
            self.implied.remove(path)
            del self.lines[path]
        if many:
            self.note(path)
            self.counts[path] = self.counts.get(path, -1) + 1
        path = self.enter(path)
        self.note(path)
        self.skip()
        self.at += 2 if many else 1
        return path

    def enter(self, path: Path) -> Path:
        """Step into the last element where a path names an array of tables."""
        return (*path, self.counts[path]) if path in self.counts else path

    def pair(self, prefix: Path) -> None:
        start = self.at
        keys = self.key()
        path = prefix
        for key in keys:
            path = (*path, key)
            here, self.at = self.at, start
            self.note(path)
            self.at = here
        self.skip()
        self.at += 1  # the equals sign
        self.skip()
        self.value(path)

    def key(self) -> list[str]:
        keys = []
        while True:
            match = _BARE_KEY.match(self.text, self.at)
            if match:
                keys.append(match[0])
                self.at = match.end()
            else:
                keys.append(_unquote(self.string()))
            self.skip()
            if not self.text.startswith(".", self.at):
                return keys
            self.at += 1
            self.skip()

    def string(self) -> str:
        for pattern in _STRINGS:
            match = pattern.match(self.text, self.at)
            if match:
                self.at = match.end()
                return match[0]
        self.at += 1
        return "??"

    def value(self, path: Path) -> None:
        self.note(path)
        character = self.text[self.at : self.at + 1]
        if character == "[":
            self.array(path)
        elif character == "{":
            self.inline(path)
        elif character in ('"', "'"):
            self.string()
        else:
            match = _BARE_VALUE.match(self.text, self.at)
            self.at = match.end() if match else self.at + 1

    def array(self, path: Path) -> None:
        self.at += 1
        self.skip()
        index = 0
        while self.at < len(self.text) and self.text[self.at] != "]":
            self.value((*path, index))
            index += 1
            self.separator()
        self.at += 1

    def inline(self, path: Path) -> None:
        self.at += 1
        self.skip()
        while self.at < len(self.text) and self.text[self.at] != "}":
            self.pair(path)
            self.separator()
        self.at += 1

    def separator(self) -> None:
        self.skip()
        if self.text.startswith(",", self.at):
            self.at += 1
        self.skip()


def _unquote(text: str) -> str:
    if text.startswith('"') and "\\" in text:
        key: str = tomllib.loads(f"key = {text}")["key"]
        return key
    return text[1:-1]
