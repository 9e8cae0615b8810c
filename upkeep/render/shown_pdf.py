"""The text a PDF of ours shows, in order, for the proof of cautions.

Reads what our renderer writes: a plain cross-reference table, streams packed with Flate, fonts
of two-byte codes with a ToUnicode map (ISO 32000-1: 7.5.4, 7.7.3, 9.4.3, 9.10.3). Running heads,
page numbers and repeated table heads are artifacts (14.8.2.2) and left out.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from struct import unpack
from unicodedata import bidirectional

_REFERENCE = rb"(\d+) 0 R"
_INSIDE = rb"[^\\()]*+(?:\\.[^\\()]*+)*+"
for _ in range(6):  # brackets that balance may stand in a string as they are (7.3.4.2)
    _INSIDE = rb"[^\\()]*+(?:(?:\\.|\(" + _INSIDE + rb"\))[^\\()]*+)*+"
_STRING = rb"\(" + _INSIDE + rb"\)|<[0-9A-Fa-f]*>"
_TOKEN = re.compile(
    rb"/(?P<mark>\w+)\s*(?:<<.*?>>|/\w+)?\s*B[DM]C|(?P<end>EMC)|/(?P<font>\w+)\s+[-\d.]+\s+Tf"
    rb"|\[(?P<row>(?:" + _STRING + rb"|[-\d.\s]+)*+)\]\s*TJ|(?P<one>" + _STRING + rb")\s*Tj",
    re.DOTALL,
)
_PART = re.compile(_STRING, re.DOTALL)
_SINGLE = re.compile(rb"beginbfchar(.*?)endbfchar", re.DOTALL)
_RANGE = re.compile(rb"beginbfrange(.*?)endbfrange", re.DOTALL)
_PAIR = re.compile(rb"<([0-9A-Fa-f]{4})>\s*<([0-9A-Fa-f]+)>")
_THREE = re.compile(rb"<([0-9A-Fa-f]{4})>\s*<([0-9A-Fa-f]{4})>\s*<([0-9A-Fa-f]{4})>")
_RIGHT_TO_LEFT = ("R", "AL")

_Letters = Mapping[int, str]


class UnreadableError(ValueError):
    """A PDF that is not written as ours are."""


def show_pdf(data: bytes) -> str:
    """Give the text of all pages in reading order, artifacts left out.

    Text drawn as a picture or in a form of its own is beyond it; so is its colour.
    Raises UnreadableError.
    """
    try:
        file = _File(data=data)
        return "".join(text for page in file.list_pages() for text in file.read_page(page))
    except (AttributeError, IndexError, KeyError, ValueError, zlib.error) as error:
        raise UnreadableError(f"the PDF cannot be read back: {error!r}") from error


@dataclass(frozen=True, kw_only=True)
class _File:
    data: bytes
    _letters: dict[bytes, _Letters] = field(default_factory=dict)

    @cached_property
    def _places(self) -> tuple[int, ...]:
        start = int(_find(rb"startxref\s+(\d+)\s+%%EOF\s*$", self.data[-64:]))
        count = int(_find(rb"xref\s+0 (\d+)", self.data[start : start + 32]))
        first = self.data.index(b"\n", start + 5) + 1
        last = first + 20 * count  # each entry has 20 bytes, 10 of them the place
        return tuple(int(self.data[row : row + 10]) for row in range(first, last, 20))

    def read(self, number: bytes) -> bytes:
        """Give the body of an object, unpacked if it is a stream."""
        start = self._places[int(number)]
        head = re.compile(rb"\d+ 0 obj\s(.*?)(?:\bendobj|\bstream\r?\n)", re.DOTALL)
        found = head.match(self.data, start)
        assert found
        if not found[0].endswith((b"stream\n", b"stream\r\n")):
            return found[1]
        length = int(_find(rb"/Length (\d+)", found[1]))
        packed = self.data[found.end() : found.end() + length]
        return zlib.decompress(packed) if b"/FlateDecode" in found[1] else packed

    def list_pages(self) -> Iterator[bytes]:
        """Walk the tree of pages in order and give each page's dictionary."""
        catalog = self.read(_find(rb"/Root " + _REFERENCE, self.data[-1024:]))
        waiting = [_find(rb"/Pages " + _REFERENCE, catalog)]
        while waiting:
            node = self.read(waiting.pop())
            if kids := re.search(rb"/Kids\s*\[(.*?)\]", node, re.DOTALL):
                waiting += reversed(re.findall(_REFERENCE, kids[1]))
            else:
                yield node

    def read_page(self, page: bytes) -> Iterator[str]:
        """Give the texts of one page in the order of its content stream."""
        resources = self.read(_find(rb"/Resources " + _REFERENCE, page))
        fonts = dict(re.findall(rb"/(\w+) " + _REFERENCE, _find(rb"/Font<<(.*?)>>", resources)))
        contents = self.read(_find(rb"/Contents " + _REFERENCE, page))
        yield from _read_texts(contents, {name: self._read_font(fonts[name]) for name in fonts})

    def _read_font(self, number: bytes) -> _Letters:
        if number not in self._letters:
            table = self.read(_find(rb"/ToUnicode " + _REFERENCE, self.read(number)))
            self._letters[number] = _read_letters(table)
        return self._letters[number]


def _find(pattern: bytes, data: bytes) -> bytes:
    found = re.search(pattern, data, re.DOTALL)
    if not found:
        raise UnreadableError(f"no {pattern!r}")
    return found[1]


def _read_letters(table: bytes) -> _Letters:
    """Read a ToUnicode map: code to the letters it stands for."""
    letters: dict[int, str] = {}
    for section in _SINGLE.findall(table):
        for code, text in _PAIR.findall(section):
            letters[int(code, 16)] = bytes.fromhex(text.decode()).decode("utf-16-be", "replace")
    for section in _RANGE.findall(table):
        for first, last, text in _THREE.findall(section):
            for step in range(int(last, 16) - int(first, 16) + 1):
                letters[int(first, 16) + step] = chr(int(text, 16) + step)
    return letters


def _read_texts(contents: bytes, fonts: Mapping[bytes, _Letters]) -> Iterator[str]:
    marks: list[bytes] = []
    letters: _Letters = {}
    contents = contents.replace(rb"\\", rb"\134").replace(rb"\000", b"\0")  # half of all escapes
    for token in _TOKEN.finditer(contents):
        kind, value = token.lastgroup, token[token.lastgroup or 0]
        if kind == "mark":
            marks.append(value)
        elif kind == "end":
            marks.pop()
        elif kind == "font":
            letters = fonts[value]
        elif b"Artifact" not in marks:
            codes = _read_strings(_PART.findall(value))
            pairs = unpack(f">{len(codes) // 2}H", codes)
            yield _order([letters.get(code, "") for code in pairs])


def _read_strings(strings: list[bytes]) -> bytes:
    """Undo the writing of strings, 7.3.4, and join them."""
    if any(text.startswith(b"<") for text in strings):
        return b"".join(
            bytes.fromhex(text[1:-1].decode()) if text.startswith(b"<") else _unescape(text[1:-1])
            for text in strings
        )
    return _unescape(b"".join([text[1:-1] for text in strings]))


def _unescape(text: bytes) -> bytes:
    """Undo the escapes of a string; but for brackets they are Python's too."""
    text = text.replace(rb"\(", rb"\050").replace(rb"\)", rb"\051")
    return text.decode("unicode_escape").encode("latin-1")


def _order(line: list[str]) -> str:
    """Join the letters of one run; a run from right to left is stored from its left end."""
    text = "".join(line)
    if text.isascii() or not any(bidirectional(char) in _RIGHT_TO_LEFT for char in text):
        return text
    return "".join(reversed(line))
