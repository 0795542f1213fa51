"""Station 3 in a real browser: the job's tables as forms, filter cuts, building; pictures where nothing is drawn in 3D."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.journey.browser import PHONE, Open, serious_faults, wait_for_script
from tests.journey.made_jobs import LONG_MS, wait_until_idle


def open_fold(page: Page, name: str) -> None:
    page.locator("#pieces .setting summary", has_text=name).first.click()


@pytest.fixture
def page(open_sheet: Open, built: Path) -> Page:
    page = open_sheet(built).page()
    page.locator("#pieces .piece-choices button").first.wait_for()
    return page


def test_a_browser_without_three_dimensions_shows_the_builds_own_pictures(page: Page) -> None:
    """It is told so, and the library that would draw is not fetched."""
    fetched: list[str] = []
    page.on("request", lambda request: fetched.append(request.url))
    page.locator("#pieces .solid-frame").scroll_into_view_if_needed()
    page.get_by_text("This browser draws no three dimensions").wait_for()
    for stem in ("assembly", "cover"):
        with page.expect_response(f"**/api/file/pieces/{stem}.png"):
            page.locator(f"#pieces .piece-choices button[data-stem={stem}]").click()
        wait_for_script(page, "() => document.querySelector('#pieces img.solid-picture').naturalWidth > 100")
    assert not [url for url in fetched if url.endswith((".glb", "pieces3d.js"))]


def test_a_value_is_refused_at_its_field_or_written_with_the_comments_kept_and_taken_back(page: Page, built: Path) -> None:
    """Typed in inches it is the same value: the job stays in mm."""
    text = (built / "job.toml").read_bytes()
    open_fold(page, "Cover")
    field = page.locator("#pieces .setting").get_by_label("Thickness").first
    field.fill("900")
    field.press("Enter")
    fault = page.locator("#pieces .setting .fault", has_text="cover.thickness")
    fault.wait_for()
    assert "at most 100" in fault.inner_text() and field.get_attribute("aria-invalid") == "true"
    assert (built / "job.toml").read_bytes() == text

    field.fill("15,2")
    field.press("Enter")
    page.locator("#pieces .hint.late").wait_for()
    changed = (built / "job.toml").read_text()
    assert tomllib.loads(changed)["cover"]["thickness"] == 15.2 and "# no thinner: it bows" in changed
    page.get_by_role("button", name="Undo").click()
    wait_for_script(page, "() => !document.querySelector('#pieces .hint.late')")
    assert (built / "job.toml").read_bytes() == text

    page.get_by_role("button", name="Show inches").click()
    field = page.locator("#pieces .setting").get_by_label("Thickness").first
    assert float(field.input_value()) == pytest.approx(14.4 / 25.4, abs=5e-5)
    field.fill("0.5")
    field.press("Enter")
    page.locator("#pieces .hint.late").wait_for()
    assert tomllib.loads((built / "job.toml").read_text())["cover"]["thickness"] == 12.7


def test_a_table_is_asked_for_and_left_out_and_a_filter_cut_chosen(page: Page, built: Path) -> None:
    """The cuts are drawn to one scale."""
    cuts = json.loads((built / "pieces" / "pieces.json").read_text())["cuts"]
    shapes = page.locator(".cut-element")
    assert shapes.count() == len(cuts)
    assert len({shape.evaluate("(node) => node.ownerSVGElement.getAttribute('viewBox')") for shape in shapes.all()}) == 1
    for shape, cut in zip(shapes.all(), cuts, strict=True):
        xs = [x for x, _ in cut["corners"]]
        assert shape.evaluate("(node) => node.getBBox().width") == pytest.approx(max(xs) - min(xs), abs=0.05)
    open_fold(page, "Coupon")
    page.get_by_role("button", name="Ask for it: coupon").click()
    page.locator("#pieces .setting[open]").get_by_label("Count").wait_for()
    assert tomllib.loads((built / "job.toml").read_text())["coupon"] == {}
    page.locator("#pieces .setting[open]").get_by_role("button", name="Leave it out").click()
    page.get_by_role("button", name="Ask for it: coupon").wait_for()
    assert "coupon" not in tomllib.loads((built / "job.toml").read_text())
    page.get_by_role("button", name="Cut the element with 2 cuts").click()
    page.locator("#pieces .hint.late").wait_for()
    assert tomllib.loads((built / "job.toml").read_text())["filter"]["cuts"] == 2


def test_building_is_stopped_without_a_trace_and_done_again_and_what_cannot_be_built_is_said(page: Page, built: Path) -> None:
    """Last, written by hand while the page is open: heads sunk deeper than the cover is thick."""
    before = {path.name: path.read_bytes() for path in (built / "pieces").iterdir()}
    page.get_by_role("button", name="Build again").click()
    page.locator("#pieces .progress").get_by_role("button", name="Stop").click()
    page.locator("#pieces .progress", has_text="Stopped").wait_for(timeout=LONG_MS)
    assert {path.name: path.read_bytes() for path in (built / "pieces").iterdir()} == before
    page.get_by_role("button", name="Build again").click()
    wait_until_idle(page, "pieces")
    assert not page.locator("#pieces .progress .fault").count()
    # the same job gives the same bytes
    assert {path.name: path.read_bytes() for path in (built / "pieces").iterdir()} == before

    text = (built / "job.toml").read_text()
    (built / "job.toml").write_text(text.replace("14.4", "4.0").replace('"M6"', '"M6"\nseat = "counterbore"'))
    page.locator("#pieces .hint.late").wait_for()
    page.get_by_role("button", name="Build again").click()
    fault = page.locator("#pieces .progress .fault", has_text="bolts.seat")
    fault.wait_for(timeout=LONG_MS)
    assert "make cover.thickness at least" in fault.inner_text()


def test_no_serious_fault_for_those_who_cannot_see(open_sheet: Open, built: Path) -> None:
    page = open_sheet(built).page(PHONE, dark=True)
    page.locator("#pieces .piece-choices button").first.wait_for()
    assert not serious_faults(page, "#pieces")
