"""The pages in a real browser, against the numbers of WCAG 2.2 (W3C recommendation, 2023)."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from upkeep.handbook.blocks import Chapter, Facts, Paragraph, Table
from upkeep.render.html import render_handbook

from .sample import PHOTOS, make_data, say

pytestmark = pytest.mark.slow
LONG = "x" * 200
TARGET_PX = 44  # 2.5.5, beyond the 24 of 2.5.8: gloves and a moving deck
BODY_RATIO, LARGE_RATIO, LARGE_PX = 4.5, 3.0, 24  # 1.4.3
TEXTS = """() => [...document.querySelectorAll('body *')].filter(element =>
  [...element.childNodes].some(node => node.nodeType === 3 && node.data.trim())
  && element.getClientRects().length && !element.closest('.skip, style')).map(element => {
    let back = element;
    const clear = at => getComputedStyle(at).backgroundColor === 'rgba(0, 0, 0, 0)';
    while (clear(back) && back.parentElement) back = back.parentElement;
    const style = getComputedStyle(element);
    return [element.className || element.tagName, style.color,
            getComputedStyle(back).backgroundColor, parseFloat(style.fontSize)];
  })"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    arguments = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=shutil.which("chromium"), args=arguments)
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    long = Table(caption=LONG, head=(LONG,) * 4, rows=((LONG,) * 4,) * 2, shares=(9, 1, 1, 1))
    blocks = (Paragraph(line=say(LONG)), Facts(rows=((LONG, LONG),)), long)
    chapter = Chapter(number=13, anchor="long", title=LONG, blocks=blocks)
    path = tmp_path_factory.mktemp("page") / "skua.html"
    path.write_bytes(render_handbook(make_data(chapter), photos=PHOTOS))
    return path


def visit(browser: Browser, file: Path, *, width: int, **options: Any) -> Page:
    page = browser.new_page(viewport={"width": width, "height": 800}, **options)
    page.goto(file.as_uri())
    return page


def find_ratio(one: str, other: str) -> float:
    """Work out the contrast of two colours, 1 to 21 (WCAG 2.2, relative luminance)."""

    def find_luminance(colour: str) -> float:
        parts = [float(part) / 255 for part in colour[4:-1].split(",")]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return sum(weight * p for weight, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))

    dark, light = sorted((find_luminance(one), find_luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_find_ratio_of_black_on_white_is_twenty_one() -> None:
    assert find_ratio("rgb(0, 0, 0)", "rgb(255, 255, 255)") == pytest.approx(21)
    assert find_ratio("rgb(118, 118, 118)", "rgb(255, 255, 255)") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("width", [320, 360, 768, 1280])
def test_page_never_scrolls_sideways(browser: Browser, file: Path, width: int) -> None:
    page = visit(browser, file, width=width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_page_text_stands_out_from_its_ground(browser: Browser, file: Path, scheme: Any) -> None:
    page = visit(browser, file, width=360, color_scheme=scheme)
    texts = page.evaluate(TEXTS)
    assert len(texts) > 100
    faint = [
        (name, ratio)
        for name, colour, ground, size_px in texts
        if (ratio := find_ratio(colour, ground))
        < (LARGE_RATIO if size_px >= LARGE_PX else BODY_RATIO)
    ]
    assert faint == []
    page.close()


def test_page_links_and_boxes_are_large_enough_for_a_thumb(browser: Browser, file: Path) -> None:
    page = visit(browser, file, width=360)
    sizes = page.eval_on_selector_all(
        "nav a, summary, .checks label, .tick",
        "all => all.map(one => one.getBoundingClientRect().height)",
    )
    assert len(sizes) > 10
    assert min(sizes) >= TARGET_PX
    page.close()


def test_page_first_key_leads_past_the_contents_and_is_seen(browser: Browser, file: Path) -> None:
    page = visit(browser, file, width=360)
    page.keyboard.press("Tab")
    box = page.evaluate("document.activeElement.getBoundingClientRect().toJSON()")
    assert page.evaluate("document.activeElement.className") == "skip"
    assert box["left"] >= 0
    page.keyboard.press("Enter")
    assert page.url.endswith("#main")
    page.close()


def test_page_asks_for_nothing_but_itself(browser: Browser, file: Path) -> None:
    page = browser.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    page.wait_for_load_state("networkidle")
    assert [url for url in asked if not url.startswith("data:")] == [file.as_uri()]
    page.close()


def test_page_with_scripts_off_shows_the_handbook(browser: Browser, file: Path) -> None:
    page = visit(browser, file, width=360, java_script_enabled=False)
    assert page.get_by_text("Rinse the basket.").is_visible()
    assert page.get_by_text("Sea water comes in").first.is_visible()
    page.close()
