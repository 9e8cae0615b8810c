"""Markdown into blocks. Owns the Markdown library; raw HTML stays text."""

from __future__ import annotations

import re
from functools import lru_cache
from xml.etree.ElementTree import Element

from upkeep.handbook.blocks import Block, Line, Listing, Paragraph, Span


@lru_cache(maxsize=4096)
def parse_markdown(text: str) -> tuple[Block, ...]:
    """Read paragraphs, lists, strong and emphasis; everything else is shown as plain text."""
    from markdown import Markdown

    parser = Markdown()
    parser.preprocessors.deregister("html_block")
    for name in ("html", "link", "image_link", "reference", "image_reference", "autolink",
                 "automail", "short_reference", "short_image_ref"):  # fmt: skip
        parser.inlinePatterns.deregister(name)
    for name in ("code", "hashheader", "setextheader", "hr", "quote"):
        parser.parser.blockprocessors.deregister(name)
    lines = text.splitlines()
    for preprocessor in parser.preprocessors:
        lines = preprocessor.run(lines)
    root = parser.parser.parseDocument(lines).getroot()
    assert root is not None
    parser.treeprocessors["inline"].run(root)
    return tuple(_block(element) for element in root)


def _block(element: Element) -> Block:
    if element.tag in ("ol", "ul"):
        items = tuple(_line(item) for item in element)
        return Listing(ordered=element.tag == "ol", items=items)
    return Paragraph(line=_line(element))


def _line(element: Element, *, strong: bool = False, emphasis: bool = False) -> Line:
    strong = strong or element.tag == "strong"
    emphasis = emphasis or element.tag == "em"
    spans: list[Span] = []
    if element.text:
        spans.append(Span(text=_clean(element.text), strong=strong, emphasis=emphasis))
    for child in element:
        spans += _line(child, strong=strong, emphasis=emphasis)
        if child.tail:
            spans.append(Span(text=_clean(child.tail), strong=strong, emphasis=emphasis))
    kept = [span for span in spans if span.text.strip() or span.text == " "]
    return tuple(kept)


def _clean(text: str) -> str:
    """Undo the library's own marks for escaped characters and fold line breaks."""
    text = text.replace("\x02amp\x03", "&")
    text = re.sub("\x02(\\d+)\x03", lambda match: chr(int(match[1])), text)
    return " ".join(text.split("\n"))
