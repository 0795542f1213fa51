"""Station 2 in a real browser: readings and design values typed, drawing corrected, contradictions seen, two tabs, undo."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.journey.browser import PHONE, WORK_LIMIT_MS, Open, serious_faults, settle, wait_for_script, wait_for_table
from tests.journey.command import afterpart


def outline_of(folder: Path) -> dict:
    return json.loads((folder / "outline.json").read_text())


def job_of(folder: Path) -> dict:
    return tomllib.loads((folder / "job.toml").read_text())


def dimension(folder: Path, kind: str, of: str) -> dict:
    """The dimension of this kind of one segment."""
    return next(d for d in outline_of(folder)["dimensions"] if d["kind"] == kind and d["of"] == [of])


def row_of(page: Page, id: str):
    return page.locator(f'.inspection tr[data-id="{id}"]')


def type_into(page: Page, id: str, kind: str, text: str) -> None:
    """Type into a row's field ("reading" or "fixed") and press Enter."""
    field = row_of(page, id).locator(f'input[data-kind="{kind}"]')
    field.fill(text)
    field.press("Enter")


def test_a_wrong_design_value_is_set_right_and_taken_back(open_sheet: Open, measured: Path) -> None:
    """Afterwards the command line gives the same outline.json, byte for byte."""
    page = open_sheet(measured).page()
    wait_for_table(page)
    text = (measured / "job.toml").read_bytes()
    hole = dimension(measured, "diameter", "c1")
    type_into(page, hole["id"], "fixed", "six")
    expect(page.locator(".inspection .under .fault").filter(has_text="six")).to_be_visible()
    assert (measured / "job.toml").read_bytes() == text
    type_into(page, hole["id"], "fixed", "6,5")
    expect(row_of(page, hole["id"]).locator(".c-state")).to_contain_text("fixed by you")
    expect(row_of(page, hole["id"]).locator(".c-design")).to_contain_text("6.5")
    expect(row_of(page, hole["id"]).locator(".moved")).to_contain_text("6.6 before, 6.5 now")
    expect(page.locator(".moved-line")).to_contain_text("from 6.6 to 6.5")
    assert job_of(measured)["fixed"] == [{"id": hole["id"], "value": 6.5}]
    settle(page)
    by_page = (measured / "outline.json").read_bytes()
    assert dimension(measured, "diameter", "c1")["design"] == 6.5 and dimension(measured, "diameter", "c1")["origin"] == "maker"
    assert afterpart("measure", measured).returncode == 0
    assert (measured / "outline.json").read_bytes() == by_page

    page.locator("#unit-switch").focus()
    page.keyboard.press("Control+z")
    expect(row_of(page, hole["id"]).locator(".c-state")).to_contain_text("inferred")
    assert (measured / "job.toml").read_bytes() == text
    page.keyboard.press("Control+Shift+z")
    expect(row_of(page, hole["id"]).locator(".c-state")).to_contain_text("fixed by you")


def test_readings_narrow_their_rows_and_a_conflicting_one_is_named_and_not_used(open_sheet: Open, measured: Path) -> None:
    """Typed in inches it is the same reading: display alone has another unit."""
    page = open_sheet(measured).page()
    wait_for_table(page)
    hole = dimension(measured, "diameter", "c2")
    type_into(page, hole["id"], "reading", "7.9")
    note = page.locator('#dimensions .note[data-code="reading_conflict"]')
    expect(note).to_be_visible()
    expect(note).to_contain_text(hole["id"])
    expect(note).to_contain_text("not used")
    expect(row_of(page, hole["id"]).locator(".c-design")).to_contain_text("6.6")
    type_into(page, hole["id"], "reading", "")
    expect(note).to_have_count(0)
    assert "reading" not in job_of(measured)

    before = dimension(measured, "diameter", "c3")
    type_into(page, before["id"], "reading", "6.60 +-0.01")
    expect(row_of(page, before["id"]).locator(".c-state")).to_contain_text("measured by hand")
    settle(page)
    after = dimension(measured, "diameter", "c3")
    assert after["u"] < before["u"] and after["origin"] == "reading"
    assert job_of(measured)["reading"] == [{"id": before["id"], "value": 6.6, "u": 0.01}]
    page.locator("#unit-switch").click()
    expect(row_of(page, before["id"]).locator('input[data-kind="reading"]')).to_have_value("0.2598 ±0.0004")
    other = dimension(measured, "diameter", "c5")
    type_into(page, other["id"], "reading", "0.26")
    expect(row_of(page, other["id"]).locator(".c-state")).to_contain_text("measured by hand")
    assert job_of(measured)["reading"][1]["value"] == pytest.approx(0.26 * 25.4, abs=1e-9)


def pixel_on_screen(page: Page, dimension_id: str) -> tuple[float, float]:
    """Where the middle of a hole's stroke lies on the screen, in the photograph of station 2."""
    box = page.locator(f'#dimensions .over .segment[data-id="{dimension_id}"] .stroke').bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_an_opening_is_dropped_and_a_missed_hole_added_by_a_click(open_sheet: Open, measured: Path) -> None:
    """Added again at its place, it comes out where and as large as before, within its own uncertainty."""
    page = open_sheet(measured).page()
    wait_for_table(page)
    page.get_by_label("Balloons").select_option("chosen")
    before = dimension(measured, "diameter", "c6")
    circle = next(s for loop in outline_of(measured)["measured"]["loops"] for s in loop["segments"] if s["id"] == "c6")
    page.locator("#dimensions .pictures").scroll_into_view_if_needed()
    page.wait_for_timeout(800)
    at = pixel_on_screen(page, "c6")
    page.get_by_label("Segment").select_option("c6")
    page.get_by_role("button", name="No hole: drop it").click()
    expect(page.locator(".corrections li")).to_contain_text("c6 is no hole: dropped")
    wait_for_script(page, "() => !document.querySelector('#dimensions .drawing .segment[data-id=c6]')")
    page.locator("#dimensions .pictures").scroll_into_view_if_needed()
    again = page.locator("#dimensions .viewer").first.bounding_box()
    assert again is not None
    page.get_by_role("button", name="Add a missed hole").click()
    page.locator("#dimensions .pictures").scroll_into_view_if_needed()
    page.mouse.click(*at)
    expect(page.locator(".corrections li")).to_have_count(2, timeout=WORK_LIMIT_MS)
    wait_for_table(page)
    settle(page, "outline")
    found = [s for loop in outline_of(measured)["measured"]["loops"] for s in loop["segments"] if s["type"] == "circle"
             and abs(s["center"][0] - circle["center"][0]) < 0.3 and abs(s["center"][1] - circle["center"][1]) < 0.3]
    assert len(found) == 1
    after = dimension(measured, "diameter", found[0]["id"])
    assert abs(after["measured"] - before["measured"]) < 2 * before["u"] and after["design"] == before["design"]
    page.locator(".corrections li button").last.click()
    expect(page.locator(".corrections li")).to_have_count(1, timeout=WORK_LIMIT_MS)


def test_two_tabs_never_overwrite_one_another_silently(open_sheet: Open, measured: Path) -> None:
    run = open_sheet(measured)
    first, second = run.page(), run.page()
    for page in (first, second):
        wait_for_table(page)
    hole, other = dimension(measured, "diameter", "c1"), dimension(measured, "diameter", "c2")
    type_into(first, hole["id"], "reading", "6.61")
    expect(row_of(second, hole["id"]).locator('input[data-kind="reading"]')).to_have_value("6.61")
    # one that had heard no events still could not write over what it has not seen
    second.evaluate("""() => { const ask = window.fetch; window.fetch = async (path, how) => {
        if (how.method === "POST" && !window.late) {
            window.late = true;
            how = { ...how, body: how.body.replace(/"stamp":"[0-9a-f]+"/, '"stamp":"' + "0".repeat(64) + '"') };
        }
        return ask(path, how); }; }""")
    type_into(second, other["id"], "reading", "6.59")
    expect(second.locator(".inspection .under .fault").filter(has_text="changed elsewhere")).to_be_visible()
    assert [row["id"] for row in job_of(measured)["reading"]] == [hole["id"]]
    field = row_of(second, other["id"]).locator('input[data-kind="reading"]')
    expect(field).to_have_value("6.59")
    field.press("Enter")
    expect(row_of(first, other["id"]).locator('input[data-kind="reading"]')).to_have_value("6.59")
    assert {row["id"]: row["value"] for row in job_of(measured)["reading"]} == {hole["id"]: 6.61, other["id"]: 6.59}


def test_choosing_in_one_place_shows_in_all_and_measure_this_next_leads_to_its_field(open_sheet: Open, measured: Path) -> None:
    page = open_sheet(measured).page()
    wait_for_table(page)
    hole = dimension(measured, "diameter", "c4")
    row_of(page, hole["id"]).locator(".balloon-button").click()
    for picture in (".over", ".drawing"):
        expect(page.locator(f'#dimensions {picture} .balloon.chosen[data-id="{hole["id"]}"]')).to_have_count(1)
        expect(page.locator(f'#dimensions {picture} .segment.meant[data-id="c4"]')).to_have_count(1)
        balloon = page.locator(f'#dimensions {picture} .balloon.chosen[data-id="{hole["id"]}"]').bounding_box()
        stroke = page.locator(f'#dimensions {picture} .segment.meant[data-id="c4"] .stroke').bounding_box()
        assert balloon and stroke
        apart = [abs(balloon[a] + balloon[s] / 2 - stroke[a] - stroke[s] / 2) for a, s in (("x", "width"), ("y", "height"))]
        assert max(apart) < 80, "the balloon stands by its hole"
    # s2 is a straight edge along x: its middle lies on it
    page.locator('#dimensions .drawing .segment[data-id="s2"] .reach').click(force=True)
    expect(page.get_by_label("Segment")).to_have_value("s2")
    expect(page.locator('#dimensions .over .segment.picked[data-id="s2"]')).to_have_count(1)
    row_of(page, hole["id"]).get_by_role("button", name="why?").click()
    expect(page.locator(".causes:visible")).to_contain_text("edge noise")

    best = outline_of(measured)["next_readings"][0]
    expect(page.locator(".next-list li").first).to_contain_text(best["how"])
    page.locator(".next-list button").first.click()
    expect(row_of(page, best["id"]).locator('input[data-kind="reading"]')).to_be_focused()

    assert not serious_faults(page, "#dimensions")
    assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")


def test_heights_are_written_and_a_job_file_edited_by_hand_shows_as_text(open_sheet: Open, measured: Path) -> None:
    page = open_sheet(measured).page()
    wait_for_table(page)
    expect(page.get_by_label("5 room above")).to_have_value("22")
    field = page.get_by_label("3 lip")
    field.fill("1.5")
    field.press("Enter")
    expect(page.get_by_role("button", name="Undo")).to_be_enabled()
    levels = {row["level"]: row["value"] for row in job_of(measured)["height"]}
    assert levels == {"room above": 22.0, "room below": 60.0, "lip": 1.5}

    path = measured / "job.toml"
    good = path.read_text()
    path.write_text(good.replace('name = "inlet cover"', 'name = "<b onclick=alert(1)>cover</b>"'))
    expect(page.locator(".cells")).to_contain_text("<b onclick=alert(1)>cover</b>")
    path.write_text(good.replace("face_height = 9.0", "face_height = -9.0"))
    expect(page.locator(".sheet-state")).to_contain_text("face_height")
    wait_for_table(page)
    path.write_text(good)
    expect(page.locator(".sheet-state")).to_be_empty()


def test_the_second_station_in_dark_has_no_serious_fault_of_access(open_sheet: Open, measured: Path) -> None:
    page = open_sheet(measured).page(PHONE, dark=True)
    wait_for_table(page)
    page.locator("#dimensions .balloon-button").first.click()
    assert not serious_faults(page, "#dimensions")
    assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
