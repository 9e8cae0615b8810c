"""A page that lost a caution, or shows it too late, is found out before it is published."""

from __future__ import annotations

from datetime import date
from importlib.resources import files
from typing import Any

import pytest

from upkeep.handbook.blocks import CautionPanel, Chapter, Checklist, EmergencySheet, Paragraph, Span
from upkeep.render.html import render_handbook
from upkeep.render.pdf import render_card, render_pdf
from upkeep.render.prove import missing_cautions_html, missing_cautions_pdf

from .sample import COVER, PHOTOS, make_data, say

DAY = date(2026, 6, 12)
# What a fleet's template may do to ours: the file, the text it changes, what it puts there.
HTML_LOSSES = {
    "no panel": ("{%- macro caution(block) -%}", "{%- macro caution(block) -%}{%- endmacro -%}"
                 "{%- macro old(block) -%}"),
    "no word": ('<strong>{{ block["word"] }}</strong>', ""),
    "no hazard": ('{{ block["hazard"] }}', ""),
    "no consequence": ('{{ block["consequence"] }}', ""),
    "only the first way out": ('{% for act in block["avoid"] %}',
                               '{% for act in block["avoid"][:1] %}'),
    "hidden": ('<div class="said">', '<div class="said" hidden>'),
    "not displayed": ('<div class="said">', '<div class="said" style="display: none">'),
    "in a comment": ('<p class="hazard">{{ block["hazard"] }}</p>',
                     '<!-- {{ block["hazard"] }} -->'),
    "in an attribute": ('<p class="hazard">{{ block["hazard"] }}</p>',
                        '<p title="> {{ block["hazard"] }}"></p>'),
    "in a script": ('<p class="hazard">{{ block["hazard"] }}</p>',
                    '<script>"{{ block["hazard"] }}"</script>'),
}  # fmt: skip
TYPST_HAZARD = "strong(say(it.hazard))\n      if"
TYPST_LOSSES = {
    "no panel": (
        "#let draw-caution-across(it, sticky: true) = {",
        "#let draw-caution-across(it, sticky: true) = if false {",
    ),
    "no word": ("text(0.82em, signal-word(it.word))", "[]"),
    "no hazard": (TYPST_HAZARD, "if"),
    "no consequence": ("(it.consequence, ..it.avoid)", "it.avoid"),
    "only the first way out": ("..it.avoid).filter", "it.avoid.first()).filter"),
    "as an artifact": (TYPST_HAZARD, "pdf.artifact(say(it.hazard))\n      if"),
}


def change(name: str, old: str, new: str) -> dict[str, str]:
    source = (files("upkeep") / "templates" / name).read_text(encoding="utf-8")
    assert old in source
    return {name: source.replace(old, new)}


def check_html(book: dict[str, Any], overrides: dict[str, str] | None = None) -> list[str]:
    page = render_handbook(book, photos=PHOTOS, overrides=overrides or {})
    return missing_cautions_html(page, book)


def check_pdf(book: dict[str, Any], overrides: dict[str, str] | None = None) -> list[str]:
    made = render_pdf(book, photos=PHOTOS, paper="a4", created=DAY, overrides=overrides or {})
    return missing_cautions_pdf(made, book)


def test_html_of_our_own_template_is_proved() -> None:
    assert check_html(make_data()) == []


@pytest.mark.parametrize("loss", HTML_LOSSES)
def test_html_that_lost_part_of_a_caution_is_found_out(loss: str) -> None:
    missing = check_html(make_data(), change("blocks.html", *HTML_LOSSES[loss]))
    assert any("Clean the strainer basket: WARNING, Sea water comes in" in one for one in missing)


def test_html_with_steps_before_the_cautions_is_found_out() -> None:
    overrides = change(
        "blocks.html", '{{ fact_list(card["facts"]) }}', '{{ draw_blocks(card["steps"]) }}'
    )
    missing = check_html(make_data(), overrides)
    assert [one.split(":")[0] for one in missing] == [
        "Clean the strainer basket",
        "Clean the strainer basket",
        "Test the residual current device",
    ]


@pytest.mark.parametrize(
    ("kind", "place"),
    [
        ('elif kind == "EmergencySheet" -%}{{ emergency_sheet(block) }}', "Water is coming in"),
        (
            'elif kind == "CautionPanel" -%}{{ caution(block) }}',
            "Starting up, leaving her, storage",
        ),
    ],
)
def test_html_that_lost_whole_blocks_names_their_place(kind: str, place: str) -> None:
    emptied = kind.split("{{", maxsplit=1)[0]
    missing = check_html(make_data(), change("blocks.html", kind, emptied))
    assert any(one.startswith(place) for one in missing)


def test_html_that_lost_one_of_two_equal_cautions_is_found_out() -> None:
    page = render_handbook(make_data(), photos=PHOTOS).decode()
    first = "Sea water comes in when a hose below the waterline is open."
    assert page.count(first) == 2
    for place in (page.index(first), page.rindex(first)):
        spoilt = page[:place] + page[place + len(first) :]
        assert missing_cautions_html(spoilt.encode(), make_data())


def test_html_of_an_owners_own_layout_is_proved() -> None:
    old = '<p class="hazard">{{ block["hazard"] }}</p>'
    new = '<p>Mind this, please:</p><p class="hazard"><em>{{ block["hazard"] }}</em></p>'
    assert check_html(make_data(), change("blocks.html", old, new)) == []


@pytest.mark.slow
def test_pdf_of_our_own_template_is_proved() -> None:
    assert check_pdf(make_data()) == []


@pytest.mark.slow
@pytest.mark.parametrize("loss", TYPST_LOSSES)
def test_pdf_that_lost_part_of_a_caution_is_found_out(loss: str) -> None:
    missing = check_pdf(make_data(), change("book.typ", *TYPST_LOSSES[loss]))
    assert any("Clean the strainer basket: WARNING, Sea water comes in" in one for one in missing)


@pytest.mark.slow
def test_pdf_with_steps_before_the_cautions_is_found_out() -> None:
    overrides = change("book.typ", "draw-subtitle(card.subtitle)", "draw(card.steps)")
    missing = check_pdf(make_data(), overrides)
    assert any(one.startswith("Clean the strainer basket") for one in missing)


@pytest.mark.slow
def test_pdf_with_signs_no_font_has_and_brackets_and_two_scripts_is_proved() -> None:
    panel = CautionPanel(
        id="odd",
        word="DANGER",
        hazard="((a)(b)) \\( 🚤 efficient flow — שלום עולם " + "z" * 120,
        consequence="5 °C [so] <b> #let x = 1",
        avoid=("مرحبا بالعالم", "Never (ever) do it.)"),
    )
    sheet = EmergencySheet(anchor="odd", title="Odd 🚤", cautions=(panel,), steps=(), lists=())
    line = Paragraph(line=say("end"))
    book = make_data(Chapter(number=13, anchor="odd", title="Odd", blocks=(panel, line, sheet)))
    assert check_pdf(book) == []


def test_html_that_lost_a_card_names_its_cautions() -> None:
    page = render_handbook(make_data(), photos=PHOTOS)
    lost = page.replace(b"Test the residual current device", b"")
    assert missing_cautions_html(lost, make_data()) == [
        "Test the residual current device: DANGER, Electric shock from shore power or an inverter."
    ]


@pytest.mark.slow
def test_card_is_proved_against_the_first_chapter() -> None:
    book = make_data()
    alone = {**book, "chapters": book["chapters"][:1]}
    card = render_card(book, paper="letter", created=DAY)
    assert missing_cautions_pdf(card, alone) == []
    assert missing_cautions_pdf(card, book)


def test_html_sheet_that_lost_one_of_its_cautions_is_found_out() -> None:
    overrides = change(
        "blocks.html",
        '{% for one in sheet["cautions"] %}',
        '{% for one in sheet["cautions"][:1] %}',
    )
    missing = check_html(make_data(), overrides)
    assert any(one.startswith("Somebody has had a shock: DANGER, Current in") for one in missing)


@pytest.mark.slow
def test_pdf_and_card_sheet_that_lost_one_of_its_cautions_is_found_out() -> None:
    overrides = change(
        "book.typ", "for one in sheet.cautions {", "for one in sheet.cautions.slice(0, 1) {"
    )
    missing = check_pdf(make_data(), overrides)
    assert any(one.startswith("Somebody has had a shock: DANGER, Current in") for one in missing)
    book = make_data()
    card = render_card(book, paper="a4", created=DAY, overrides=overrides)
    assert missing_cautions_pdf(card, {**book, "chapters": book["chapters"][:1]})


@pytest.mark.slow
def test_pdf_with_a_page_number_after_each_reference_is_proved() -> None:
    line = (Span(text="Do ", to=""), Span(text="this task", to="task-test-breaker"), *say(" now."))
    blocks = (COVER, Checklist(items=(line, line)))
    book = make_data(Chapter(number=13, anchor="refer", title="Refer", blocks=blocks))
    assert check_pdf(book) == []
    assert check_html(book) == []


def test_pdf_that_cannot_be_read_back_is_not_proved() -> None:
    (said,) = missing_cautions_pdf(b"%PDF-1.7 torn", make_data())
    assert said.startswith("the PDF cannot be read back")
