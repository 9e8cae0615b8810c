"""The HTML handbook and the index: every block, safe text, sound structure, own templates."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from importlib.resources import files
from itertools import pairwise
from typing import Any

import pytest

from upkeep.errors import UpkeepError
from upkeep.handbook.blocks import Chapter, Facts, Paragraph, Table, WorkCard
from upkeep.render.html import render_handbook, render_index

from .sample import PHOTOS, make_data, say

HOSTILE = (
    "<script>alert(1)</script>",
    '" onload="alert(1)',
    "</style></title><b>bold</b>",
    "{{ 7 * 7 }} {% raw %} {# gone #}",
    "&amp; &lt;b&gt; &#60;",
    "שלום עולם",
    "🚤 👨‍👩‍👧",
    "x" * 200,
    "word " * 2000,
)
VOID = ["br", "col", "hr", "img", "input", "link", "meta"]


@dataclass
class Element:
    """A tag with its attributes and the tags it stands in."""

    tag: str
    attributes: dict[str, str | None]
    inside: tuple[str, ...]
    text: list[str] = field(default_factory=list)


class Tree(HTMLParser):
    """Reads a page into a flat list of elements and checks that tags close in order."""

    def __init__(self, page: bytes) -> None:
        super().__init__()
        self.elements: list[Element] = []
        self.texts: list[str] = []
        self._open: list[Element] = []
        self.feed(page.decode())
        self.close()
        assert not self._open, f"left open: {[element.tag for element in self._open]}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        inside = tuple(element.tag for element in self._open)
        element = Element(tag, dict(attrs), inside)
        self.elements.append(element)
        if tag not in VOID:
            self._open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        inside = tuple(element.tag for element in self._open)
        self.elements.append(Element(tag, dict(attrs), inside))

    def handle_endtag(self, tag: str) -> None:
        assert self._open[-1].tag == tag, f"</{tag}> closes <{self._open[-1].tag}>"
        self._open.pop()

    def handle_data(self, data: str) -> None:
        self.texts.append(data)
        for element in self._open:
            element.text.append(data)

    def all(self, *tags: str) -> Iterator[Element]:
        return (element for element in self.elements if element.tag in tags)

    def say(self) -> str:
        return "".join(self.texts)


def render(*more: Chapter, **options: Any) -> bytes:
    return render_handbook(make_data(*more), photos=PHOTOS, **options)


def template(name: str) -> str:
    return (files("upkeep") / "templates" / name).read_text(encoding="utf-8")


def hostile_chapter(text: str) -> Chapter:
    card = WorkCard(
        anchor="hostile", also=(), title=text, subtitle=text, facts=((text, text),),
        cautions=(), steps=(), after=(),
    )  # fmt: skip
    table = Table(caption=text, head=(text, text, text), rows=((text,) * 3,), shares=(1, 2, 3))
    blocks = (Paragraph(line=say(text)), Facts(rows=((text, text),)), table, card)
    return Chapter(number=9, anchor="hostile", title=text, blocks=blocks)


def test_render_handbook_of_the_sample_reads_as_reviewed(golden: Callable[..., None]) -> None:
    page = render().decode()
    style = template("style.css")
    assert style in page
    golden("handbook-sample.html", page.replace(style, "/* style.css */\n"))


def test_render_handbook_shows_every_text_of_the_sample() -> None:
    def texts(value: Any) -> Iterator[str]:
        if isinstance(value, dict):
            hidden = (
                "is",
                "id",
                "anchor",
                "also",
                "file",
                "vessel",
                "language",
                "units",
                "alt",
                "to",
            )
            for key, inner in value.items():
                if key not in hidden:
                    yield from texts(inner)
        elif isinstance(value, list):
            for inner in value:
                yield from texts(inner)
        elif isinstance(value, str):
            yield value

    said = Tree(render()).say()
    assert [text for text in texts(make_data()) if text not in said] == []


@pytest.mark.parametrize("text", HOSTILE)
def test_render_handbook_with_hostile_text_shows_it_as_text(text: str) -> None:
    plain = Counter(element.tag for element in Tree(render(hostile_chapter("plain"))).elements)
    tree = Tree(render(hostile_chapter(text)))
    assert Counter(element.tag for element in tree.elements) == plain
    assert tree.say().count(text) >= 9
    assert not [e for e in tree.elements if any(key.startswith("on") for key in e.attributes)]


def test_render_handbook_drops_control_characters() -> None:
    chapter = Chapter(
        number=9, anchor="x", title="x", blocks=(Paragraph(line=say("a\x00b\x07c\ud800d")),)
    )
    assert b"<p>abc?d</p>" in render(chapter)


def test_render_handbook_has_one_title_and_headings_in_order() -> None:
    levels = [int(element.tag[1]) for element in Tree(render()).all("h1", "h2", "h3", "h4", "h5")]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_render_handbook_has_landmarks_language_and_a_way_past_the_contents() -> None:
    tree = Tree(render())
    (page,) = tree.all("html")
    assert page.attributes["lang"] == "en"
    tags = Counter(element.tag for element in tree.elements)
    assert tags["main"] == tags["header"] == tags["footer"] == 1
    assert all("aria-label" in nav.attributes for nav in tree.all("nav"))
    assert next(tree.all("a")).attributes["href"] == "#main"


def test_render_handbook_names_places_once_and_every_link_arrives() -> None:
    tree = Tree(render())
    names = Counter(e.attributes["id"] for e in tree.elements if "id" in e.attributes)
    assert set(names.values()) == {1}
    wanted = {e.attributes["href"] for e in tree.all("a", "use")}
    wanted |= {f"#{e.attributes['aria-labelledby']}" for e in tree.elements
               if "aria-labelledby" in e.attributes}  # fmt: skip
    assert {name for name in wanted if name} <= {f"#{name}" for name in names}
    assert "task-clean-engine-strainer" in names


def test_render_handbook_tables_have_caption_and_scoped_heads() -> None:
    tree = Tree(render())
    tables = list(tree.all("table"))
    assert len(list(tree.all("caption"))) == len(tables) == 4
    scopes = {(cell.inside[-2], cell.attributes["scope"]) for cell in tree.all("th")}
    assert scopes == {("thead", "col"), ("tbody", "row")}


def test_render_handbook_box_to_tick_is_empty_and_says_what_it_is_for() -> None:
    tree = Tree(render())
    (box,) = (e for e in tree.all("input") if "td" in e.inside)
    assert box.attributes == {"type": "checkbox", "aria-label": "Tick when off: house switch"}
    (cell,) = (e for e in tree.all("td") if e.attributes["data-head"] == "Off")
    assert cell.text == []


def test_render_handbook_leads_to_the_card_a_text_names() -> None:
    links = {e.attributes["href"]: "".join(e.text) for e in Tree(render()).all("a")}
    assert links["#task-test-breaker"] == "Test the device"
    assert links["#task-clean-engine-strainer"] == "Clean the basket"


def test_render_handbook_has_a_column_to_sign_in_for_each_person() -> None:
    tree = Tree(render())
    (signing,) = (e for e in tree.all("ul") if e.attributes.get("class") == "signatures")
    said = [" ".join(e.text).split() for e in tree.all("li") if signing.attributes and "who" in
            "".join(c.attributes.get("class") or "" for c in tree.all("span"))]  # fmt: skip
    assert ["Installer", "Ines", "Name", "Signature", "Date"] in said
    assert ["Owner", "Name", "Signature", "Date"] in said


def test_render_handbook_keeps_a_table_of_figures_a_table_on_a_phone() -> None:
    head, figures, words = ("Days", "Date", "Charge"), ("1", "1 Nov", "60 %"), ("1", "x" * 20, "")
    tables = [Table(caption="t", head=head, rows=(row,), shares=(1, 1, 1)) for row in
              (figures, words)]  # fmt: skip
    page = render(Chapter(number=9, anchor="x", title="x", blocks=tuple(tables))).decode()
    assert re.findall(r'<div class="sheet([ a-z]*)">', page)[-2:] == ["", " wide"]


def test_render_handbook_is_one_file_without_script() -> None:
    tree = Tree(render())
    assert not list(tree.all("script", "link", "iframe", "object"))
    sources = [element.attributes["src"] or "" for element in tree.all("img")]
    assert all(source.startswith("data:image/png;base64,") for source in sources)
    assert "url(" not in template("style.css")
    assert "@import" not in template("style.css")
    assert not [e for e in tree.elements if "style" in e.attributes]  # a strict CSP refuses them


def test_render_handbook_blank_says_what_it_is() -> None:
    blanks = re.findall(
        r'<dt>([^<]*)</dt><dd><span class="blank"><small>([^<]*)', render().decode()
    )
    assert blanks == [
        ("Persons, from the builder&#39;s plate", "not recorded: write it here"),
        ("Last done", "not recorded: write it here"),
    ]


def test_render_handbook_says_which_photograph_is_missing() -> None:
    assert "No photograph “missing.png” in the photos folder" in render().decode()


def test_render_handbook_does_not_trust_the_name_of_a_photograph() -> None:
    page = render_handbook(make_data(), photos={"strainer.png": b"<svg onload='x'/>"})
    assert "No photograph “strainer.png”" in page.decode()


def test_render_handbook_symbol_stands_with_every_word_but_notice() -> None:
    signals = re.findall(r'<p class="signal">(.*?)<strong>(\w+)', render().decode())
    assert {(word, "#alert" in symbol) for symbol, word in signals} == {
        ("DANGER", True),
        ("WARNING", True),
        ("CAUTION", True),
        ("NOTICE", False),
    }


def test_render_handbook_twice_gives_the_same_bytes() -> None:
    assert render() == render()


def test_render_handbook_refuses_a_block_it_does_not_know() -> None:
    data = make_data()
    data["chapters"][0]["blocks"].append({"is": "Hologram"})
    with pytest.raises(ValueError, match="Hologram"):
        render_handbook(data, photos={})


def test_render_handbook_takes_a_fleets_own_template_and_style() -> None:
    own = {"style.css": "body { color: #123456 } /* {# not a comment #} */"}
    page = render(overrides=own).decode()
    assert own["style.css"] in page
    page = render(overrides={"handbook.html": "<p>{{ book['title'] }} of {{ book['fleet'] }}"})
    assert page == b"<p>Skua of Harbour Basin Boats"


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("<p>\n{{ book['no such thing'] }}", "no such thing"),
        ("<p>\n{% if %}", "handbook.html, line 2"),
        ("{{ ''.__class__.__mro__ }}", "unsafe"),
        ("{{ 1 / 0 }}", "division by zero"),
        ("{% include 'elsewhere.html' %}", "elsewhere.html"),
    ],
)
def test_render_handbook_says_what_a_fleets_template_does_wrong(source: str, said: str) -> None:
    with pytest.raises(UpkeepError, match=f"handbook.html fails: .*{said}"):
        render(overrides={"handbook.html": source})


VESSEL = {
    "name": "Skua", "type": "motor launch", "id": "skua", "feed": "feeds/skua.ics",
    "webcal": "webcal://boats.example/feeds/skua.ics", "handbook": "handbooks/skua.html",
    "pdf": "handbooks/skua.pdf", "card": "handbooks/skua-card.pdf", "late": 3, "note": "",
    "next": [{"due": "12 July 2026", "title": "Clean the basket", "standing": "late by 3 days"}],
}  # fmt: skip
BARE = {**VESSEL, "name": "<b>Tern</b>", "id": "tern", "feed": None, "webcal": None, "pdf": None}
BARE |= {"card": None, "late": 0, "next": []}


def index(*vessels: dict[str, Any], stopped: tuple[dict[str, str], ...] = ()) -> bytes:
    data = {
        "fleet": "Harbour Basin Boats", "today": "15 July 2026", "contact": "Ines",
        "phone": "+44 1632 960 1", "email": "ines@basin.example",
    }  # fmt: skip
    return render_index({**data, "vessels": list(vessels), "stopped": list(stopped)})


def test_render_index_says_who_is_late_what_is_next_and_how_to_subscribe() -> None:
    tree = Tree(index(VESSEL, BARE))
    said = " ".join(tree.say().split())
    assert "Skua: 3 things past the last day" in said
    assert "12 July 2026" in said
    assert "add a calendar by address" in said
    links = {element.attributes["href"] for element in tree.all("a")}
    assert {VESSEL[key] for key in ("webcal", "feed", "handbook", "pdf", "card")} <= links
    assert "<b>Tern</b>" in tree.say()


def test_render_index_without_lateness_or_boats_says_so() -> None:
    assert b"Nothing is late on any boat." in index(BARE)
    assert b"There is no boat in this fleet yet." in index()
    assert b"1 thing past" in index({**VESSEL, "late": 1})


def test_render_index_names_what_was_held_back() -> None:
    said = Tree(index(stopped=({"vessel": "Gull", "file": "handbooks/gull.pdf"},))).say()
    assert "Gull: handbooks/gull.pdf" in said
