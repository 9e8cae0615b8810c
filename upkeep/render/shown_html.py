"""The text a page shows, in order, for the proof of cautions.

Reads tags by the tokenization rules of the HTML Living Standard, 13.2.5, as far as pages that
parse without an error need them.
"""

from __future__ import annotations

import re
from html import unescape
from html.parser import HTMLParser

_QUOTED = r"""[^"'>]*+(?:"[^"]*+"[^"'>]*+|'[^']*+'[^"'>]*+)*+"""
_SKIPPED = re.compile(
    r"<(?:(script|style|template|title|noscript|textarea)\b.*?</\1\s*>|!--.*?-->"
    rf"|[a-zA-Z/!?]{_QUOTED}>)",
    re.DOTALL | re.IGNORECASE,
)
_HIDING = re.compile(r"<[a-z][^>]*?\s(?:hidden\b|style\s*=)", re.IGNORECASE)
_NO_DISPLAY = re.compile(r"display\s*:\s*none|visibility\s*:\s*hidden", re.IGNORECASE)
_UNSEEN = ("script", "style", "template", "title", "noscript", "textarea")
_VOID = frozenset(  # 13.1.2
    {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track"}
    | {"wbr"}
)


def show_html(page: str) -> str:
    """Give the text of a page without tags, scripts, comments and hidden elements.

    What a style sheet hides or a script adds is beyond it.
    """
    if _HIDING.search(page):
        reader = _Reader()
        reader.feed(page)
        reader.close()
        return " ".join(reader.texts)
    return unescape(_SKIPPED.sub(" ", page))


class _Reader(HTMLParser):
    """The slower, careful way, for pages of which some element may be hidden."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self._hidden: list[str] = []  # open elements from the outermost hidden one inwards

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Go into an element, or deeper into a hidden one."""
        if tag in _VOID:
            return
        values = dict(attrs)
        styled = _NO_DISPLAY.search(values.get("style") or "")
        if self._hidden or tag in _UNSEEN or "hidden" in values or styled:
            self._hidden.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Leave an element; those left open inside it end too."""
        if tag in self._hidden:
            while self._hidden.pop() != tag:
                pass

    def handle_data(self, data: str) -> None:
        """Keep text outside hidden elements."""
        if not self._hidden:
            self.texts.append(data)
