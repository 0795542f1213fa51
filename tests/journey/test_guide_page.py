"""The released guide in a real browser, wide as a laptop and narrow as a phone: nothing beyond the edge, nothing on another,
every table's cell beside its heading, and no finding of the accessibility rules of axe-core (WCAG 2 A and AA among them)."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from afterpart.model.release import TitleBlock
from afterpart.release.guide_html import guide_html
from afterpart.release.guide_steps import guide_of
from afterpart.release.step_pictures import step_pictures
from tests.files.plain_bodies import blocks, volumes
from tests.parts.examples import case_of, report_on

WIDTHS = {"laptop": (1366, 768), "phone": (390, 844)}
BEYOND = """() => [...document.querySelectorAll('body *')].filter(e => {
    const box = e.getBoundingClientRect(); const style = getComputedStyle(e);
    return box.width > 1 && style.clipPath === 'none' && !e.closest('thead') && (box.right > innerWidth + 0.5 || box.left < -0.5);
}).map(e => e.outerHTML.slice(0, 80))"""
CUT = """() => [...document.querySelectorAll('p, li, td, th, h1, h2, h3, figcaption')].filter(
    e => !e.closest('thead') && e.scrollWidth > e.clientWidth + 1).map(e => e.outerHTML.slice(0, 80))"""


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    case = case_of("compressor_cover")
    job, build = case.job, case.build
    guide = guide_of(build, job, report_on("compressor_cover"), blocks(build), volumes(build))
    path = tmp_path_factory.mktemp("guide") / "guide.html"
    path.write_bytes(guide_html(guide, step_pictures(build, blocks(build), guide.name, guide.orders),
                                TitleBlock(job.name, "A", "2026-01-02", "afterpart test")))
    return path


@pytest.fixture(params=WIDTHS)
def page(request: pytest.FixtureRequest, chromium: Browser, page_file: Path) -> Iterator[Page]:
    width, height = WIDTHS[request.param]
    opened = chromium.new_page(viewport={"width": width, "height": height})
    opened.goto(page_file.as_uri())
    yield opened
    opened.close()


def test_nothing_reaches_beyond_the_edge_or_is_cut_off(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.evaluate(BEYOND) == [] and page.evaluate(CUT) == []


def test_the_accessibility_rules_find_nothing(page: Page) -> None:
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_every_line_can_be_ticked_with_the_keyboard_alone(page: Page) -> None:
    box = page.locator("ul.do input").first
    box.focus()
    page.keyboard.press("Space")
    assert box.is_checked()
    assert page.evaluate("[...document.querySelectorAll('ul.do label')].every(e => e.getBoundingClientRect().height >= 44)")


def test_a_cell_says_which_column_it_is_in(page: Page) -> None:
    cell = page.locator("td").nth(1)
    shown = page.evaluate("e => getComputedStyle(e, '::before').content", cell.element_handle())
    heading = page.locator("th").nth(1)
    if page.viewport_size is not None and page.viewport_size["width"] < 600:
        assert shown == f'"{heading.inner_text()}"'
    else:
        assert shown == "none" and heading.is_visible()
