"""The PDF handbook and card, read back with an independent library."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any

import pytest
from pypdf import PdfReader

from upkeep.errors import UpkeepError
from upkeep.handbook.blocks import (
    Chapter,
    Checklist,
    EmergencySheet,
    Facts,
    Paragraph,
    Photo,
    Span,
    Table,
    WorkCard,
)
from upkeep.render.pdf import KNOWN, render_card, render_pdf

from .sample import COVER, FLOODING, PHOTOS, SHOCK, make_data, make_png, say, steps

pytestmark = pytest.mark.slow
DAY = date(2026, 6, 12)
HOSTILE = (
    "#let x = 1 #panic()",
    "$ a^2 $ *b* _c_ `d` @e <f> = g",
    "[x] #[y] {z} \\ \\u{41} // no /* no */",
    "<script>alert(1)</script>",
    "-- --- ... ~ 'q' \"q\"",
    "+ one / two: three",
)
A4_PT, LETTER_PT = (595, 842), (612, 792)  # ISO 216; ANSI/ASME Y14.1


def render(*more: Chapter, **options: Any) -> bytes:
    settings: dict[str, Any] = {"photos": PHOTOS, "paper": "a4", "created": DAY, **options}
    return render_pdf(make_data(*more), **settings)


@cache
def sample() -> bytes:
    return render()


def read(made: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(made)).pages]


def squeeze(text: str) -> str:
    return "".join(text.split())


def test_render_pdf_shows_the_sample_block_by_block() -> None:
    said = squeeze("".join(read(sample())))
    for text in (
        "Handbook of the motor launch", "Edition 1, 12 June 2026, signed by Ines",
        "Openings below the waterline", "Start every bilge pump.", "Call Ines first.",
        "What the signal words mean", "words on it: SEA 1", "Let the engine cool.",
        "shown for a bank of 460 Ah", "every 30 warm days, usually May to September",
        "Rinse the basket.", "Write down how full the basket was.", "Signature",
        "No photograph “missing.png” in the photos folder", "not recorded: write it here",
    ):  # fmt: skip
        assert squeeze(text) in said, text


def test_render_pdf_is_tagged_titled_and_in_a_language() -> None:
    reader = PdfReader(io.BytesIO(sample()))
    catalog: Any = reader.root_object
    assert catalog["/MarkInfo"]["/Marked"]
    assert catalog["/Lang"] == "en"
    assert catalog["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None
    assert reader.metadata.title == "Skua: Handbook of the motor launch"
    assert reader.metadata.creation_date_raw == "D:20260612000000Z"
    assert b"pdfuaid:part>1<" in catalog["/Metadata"].get_data()


def test_render_pdf_bookmarks_follow_the_chapters() -> None:
    outline = PdfReader(io.BytesIO(sample())).outline
    titles = [squeeze(item.title) for item in outline if not isinstance(item, list)]
    assert titles[:3] == ["Contents", "0Firstminutes", "1Thisboat"]


def test_render_pdf_pictures_have_words_for_those_who_cannot_see_them() -> None:
    reader = PdfReader(io.BytesIO(sample()))
    alternatives = [
        item["/Alt"]
        for number in range(1, len(reader.xref[0]) + 1)
        if isinstance(item := reader.get_object(number), dict) and "/Alt" in item
    ]
    assert "The strainer with its clear cover" in alternatives
    assert sum(len(page.images) for page in reader.pages) == 1


def test_render_pdf_box_to_tick_is_drawn_and_has_words() -> None:
    reader = PdfReader(io.BytesIO(sample()))
    figures = [
        item
        for number in range(1, len(reader.xref[0]) + 1)
        if isinstance(item := reader.get_object(number), dict) and item.get("/S") == "/Figure"
    ]
    assert "Tick when off: house switch" in [item.get("/Alt") for item in figures]
    (page,) = (page for page in reader.pages if "1. house switch" in page.extract_text())
    contents = page.get_contents()
    assert contents is not None
    found = re.search(
        rb"/Alt\(Tick when off: house switch\)>>BDC(.*?)EMC", contents.get_data(), re.S
    )
    assert found
    assert re.search(rb"\bre\b|\bl\nh\b", found[1])  # a closed path: ISO 32000-1, 8.5.2
    assert b"\nS\n" in found[1]  # stroked, not filled: 8.5.3
    assert b"\nf\n" not in found[1]


def test_render_pdf_says_the_page_of_the_card_a_text_names() -> None:
    pages = read(sample())
    said = re.findall(r"(Test the device|Clean the basket),\s+page\s+(\d+)", "\n".join(pages))
    titles = {
        "Test the device": "Test the residual current device",
        "Clean the basket": "Clean the strainer basket",
    }
    assert {text for text, _ in said} == set(titles)
    for text, number in said:
        assert squeeze(titles[text]) in squeeze(pages[int(number) - 1]), text


def test_render_pdf_reference_to_nothing_is_plain_text() -> None:
    line = (Span(text="See the lost card", to="nowhere"),)
    chapter = Chapter(number=9, anchor="x", title="x", blocks=(Paragraph(line=line),))
    assert "See the lost card\n" in read(render(chapter))[-1]


def test_render_pdf_signatures_stand_side_by_side() -> None:
    (page,) = (p for p in PdfReader(io.BytesIO(sample())).pages if "Signature" in p.extract_text())
    at: dict[str, list[tuple[float, float]]] = {}
    page.extract_text(
        visitor_text=lambda text, place, *_: at.setdefault(text.strip(), []).append(
            (round(place[4]), round(place[5]))
        )
    )
    for label in ("Name", "Signature", "Date"):
        (left, right) = at[label]
        assert left[0] < right[0]
        assert left[1] == right[1]
    assert [at[label][0][0] for label in ("Installer", "Name", "Date")] == [
        at["Installer"][0][0]
    ] * 3


@pytest.mark.parametrize(("paper", "size"), [("a4", A4_PT), ("letter", LETTER_PT)])
def test_render_pdf_takes_the_paper_asked_for(paper: str, size: tuple[int, int]) -> None:
    box = PdfReader(io.BytesIO(render(paper=paper))).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size


def test_render_pdf_refuses_another_paper() -> None:
    with pytest.raises(ValueError, match="a5"):
        render(paper="a5")


def test_render_pdf_twice_gives_the_same_bytes() -> None:
    assert render() == sample()


@pytest.mark.parametrize("text", HOSTILE)
def test_render_pdf_with_hostile_text_shows_it_as_text(text: str) -> None:
    card = WorkCard(
        anchor="w", also=(), title=text, subtitle=text, facts=((text, text),), cautions=(COVER,),
        steps=(steps(text),), after=(Checklist(items=(say(text),)),),
    )  # fmt: skip
    table = Table(caption=text, head=(text, "b"), rows=((text, text),), shares=(1, 1))
    blocks = (Paragraph(line=say(text)), Facts(rows=((text, text),)), table, card)
    chapter = Chapter(number=9, anchor=text, title=text, blocks=blocks)
    said = squeeze("".join(read(render(chapter))))
    assert said.count(squeeze(text)) >= 13


def test_render_pdf_with_long_text_keeps_it_on_the_page_and_whole() -> None:
    unbroken, long = "Q" * 200, "Ж" * 10_000
    table = Table(
        caption="",
        head=("a", "b", "c", "d"),
        rows=((unbroken, None, long, "z"),),
        shares=(1, 1, 1, 1),
    )
    chapter = Chapter(number=9, anchor="x", title="x", blocks=(Paragraph(line=say(long)), table))
    pages = PdfReader(io.BytesIO(render(chapter))).pages
    right = []
    for page in pages:
        page.extract_text(
            visitor_text=lambda text, place, *_, width=float(page.mediabox.width):
            right.append((place[4], width)) if {"Q", "Ж"} & set(text) else None
        )  # fmt: skip
    assert all(0 <= x <= width - 50 for x, width in right)
    said = "".join(page.extract_text() for page in pages)
    assert said.count("Q") == 200
    assert said.count("Ж") == 20_000


def test_render_pdf_emergency_sheet_of_many_steps_stays_on_one_page() -> None:
    many = [f"Step number {number}: do this." for number in range(1, 41)]
    sheet = EmergencySheet(
        anchor="long",
        title="A long sheet",
        cautions=(COVER, COVER),
        steps=(steps(*many),),
        lists=(),
    )
    pages = read(render(Chapter(number=9, anchor="x", title="Nine", blocks=(sheet,))))
    holding = [page for page in pages if "do this." in page]
    assert len(holding) == 1
    assert all(f"number {number}:" in holding[0] for number in range(1, 41))


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_render_pdf_emergency_sheet_of_two_cautions_and_forty_parts_stays_on_one_page(
    paper: str,
) -> None:
    rows = tuple((f"breaker {number}", "saloon, main panel", None) for number in range(20))
    lists = tuple(
        Table(caption=caption, head=("What", "Where", "Marked"), rows=rows, shares=(4, 5, 3))
        for caption in ("Breakers", "Fuses")
    )
    sheet = EmergencySheet(
        anchor="many",
        title="Many parts",
        cautions=(SHOCK, FLOODING),
        steps=(steps(*(f"Step number {number}: do this." for number in range(12))),),
        lists=lists,
    )
    book = make_data(Chapter(number=9, anchor="x", title="Nine", blocks=(sheet,)))
    made = render_pdf(book, photos=PHOTOS, paper=paper, created=DAY)  # type: ignore[arg-type]
    alone = {**book, "chapters": book["chapters"][-1:]}
    card = render_card(alone, paper=paper, created=DAY)  # type: ignore[arg-type]
    for pages in (read(made), read(card)):
        (page,) = (page for page in pages if "breaker 19" in page)
        assert page.count("breaker 19") == 2
        assert "Step number 0:" in page


def test_known_signs_are_all_in_the_bundled_fonts() -> None:
    known = re.compile(f"[{KNOWN}]")
    signs = [sign for sign in map(chr, range(0x3000)) if known.match(sign)]
    assert len(signs) > 450
    chapter = Chapter(
        number=9, anchor="x", title="x", blocks=(Paragraph(line=say(" ".join(signs))),)
    )
    render(chapter)  # PDF/UA-1 forbids a sign without a picture: this would raise


def test_render_pdf_names_a_sign_that_no_font_has() -> None:
    private = "\U0010fffd"  # private use: no font gives it a look
    chapter = Chapter(
        number=9, anchor="x", title="x", blocks=(Paragraph(line=say(f"a {private} b")),)
    )
    assert "a [u+10fffd] b" in " ".join("".join(read(render(chapter))).split())


def test_render_pdf_sets_right_to_left_text_and_drops_controls() -> None:
    line = Paragraph(line=say("a\x00\x07b \\u0007 שלום \ud800"))
    said = squeeze("".join(read(render(Chapter(number=9, anchor="x", title="x", blocks=(line,))))))
    assert "ab\\u0007" in said
    assert set("שלום") <= set(said)


def test_render_pdf_sets_a_caution_that_is_a_hazard_alone() -> None:
    bare = replace(COVER, hazard="Nothing but a hazard.", consequence="", avoid=())
    sheet = EmergencySheet(anchor="s", title="Bare", cautions=(bare,), steps=(), lists=())
    said = "".join(read(render(Chapter(number=9, anchor="x", title="x", blocks=(bare, sheet)))))
    assert said.count("Nothing but a hazard.") == 2


def test_render_pdf_with_a_broken_photograph_says_so_and_keeps_the_others() -> None:
    photo = Photo(file="torn.png", alt="Torn")
    chapter = Chapter(number=9, anchor="x", title="x", blocks=(photo,))
    made = render(chapter, photos={**PHOTOS, "torn.png": make_png()[:20]})
    assert "No photograph “torn.png”" in " ".join("".join(read(made)).split())
    assert sum(len(page.images) for page in PdfReader(io.BytesIO(made)).pages) == 1


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("#nonsense()", "unknown variable: nonsense"),
        ('#import "@local/thing:1.0.0"', "asks for a package"),
        ('#read("/etc/hosts")', "not found"),
        ('#read("../secret")', "escape"),
    ],
)
def test_render_pdf_says_what_a_fleets_template_does_wrong(source: str, said: str) -> None:
    with pytest.raises(UpkeepError, match=said):
        render(overrides={"handbook.typ": source})


def test_render_pdf_takes_a_fleets_own_template() -> None:
    own = '#let data = json("data.json")\n#set document(title: "Own")\n#data.book.fleet'
    assert read(render(overrides={"handbook.typ": own})) == ["Harbour Basin Boats"]


def test_render_card_is_one_page_a_sheet_in_type_no_smaller_than_the_book() -> None:
    pages = PdfReader(io.BytesIO(render_card(make_data(), paper="a4", created=DAY))).pages
    assert len(pages) == 2
    largest: list[float] = []
    pages[0].extract_text(
        visitor_text=lambda text, _, __, ___, size: (
            largest.append(size) if "bilge" in text else None
        )
    )
    assert min(largest) >= 18
    assert "Water is coming in" in pages[0].extract_text()
    assert "Somebody has had a shock" in pages[1].extract_text()
    assert all("Skua" in page.extract_text() for page in pages)
