"""Station 1 in a real browser: a photograph comes in and is measured, a broken one is refused, two points give a length."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from afterpart.model.camera import Camera
from afterpart.photo.projection import to_plane
from tests.journey.browser import PHONE, PICTURE, WORK_LIMIT_MS, Open, drop_file, serious_faults, settle, wait_for_table
from tests.journey.command import afterpart


def job_of(folder: Path) -> dict:
    return tomllib.loads((folder / "job.toml").read_text())


def test_an_empty_page_refuses_broken_photographs_and_takes_a_whole_one_to_its_outline_as_the_command_line_does(
        open_sheet: Open, small_photo: bytes) -> None:
    """No job is made for a file that cannot be measured.  The folder the page made, measured anew by the command line, gives the
    same outline.json byte for byte."""
    run = open_sheet()
    page = run.page()
    expect(page.locator("#drop-area")).to_contain_text("Drop a photograph of the part here")
    for data, said in ((b"", "is empty"), (b"this is no picture" * 99, "not a picture"),
                       (small_photo[:len(small_photo) // 2], "cut short")):
        drop_file(page, "#drop-area", "IMG_0001.jpg", data)
        fault = page.locator("#drop-area .fault").filter(has_text=said)
        expect(fault).to_be_visible(timeout=WORK_LIMIT_MS)
        expect(fault.locator(".way-out")).not_to_be_empty()
        expect(page.locator("#drop-area .fault:visible")).to_have_count(1)
        assert not list(run.start.iterdir()), "nothing is made before there is a photograph"
    drop_file(page, "#drop-area", "IMG_0412.jpg", small_photo)
    wait_for_table(page, 20)
    expect(fault).to_have_count(0)
    folder = next(path.parent for path in run.start.glob("*/job.toml"))
    assert (folder / job_of(folder)["photo"][0]["file"]).read_bytes() == small_photo
    settle(page)
    by_page = (folder / "outline.json").read_bytes()
    rows = {row["id"] for row in json.loads(by_page)["dimensions"]}
    assert {node.get_attribute("data-id") for node in page.locator(".inspection tr[data-id]").all()} == rows
    expect(page.locator("#photo .found-words")).to_contain_text("sheet")
    expect(page.locator("#photo .found-words")).to_contain_text("tilted")
    assert page.locator("#photo .found .found-outline").count() >= 20
    assert page.locator("#photo .found .reference").count() >= 1

    copy = run.start / "copy"
    shutil.copytree(folder, copy, ignore=lambda _, names: [name for name in names if name.endswith("json")])
    assert afterpart("measure", copy).returncode == 0
    assert (copy / "outline.json").read_bytes() == by_page


def test_reloading_in_the_middle_loses_nothing(open_sheet: Open, small_photo: bytes) -> None:
    run = open_sheet()
    page = run.page()
    drop_file(page, "#drop-area", "part.jpg", small_photo)
    page.locator("#drop-area .progress .runs").wait_for()
    assert "#key" not in page.url, "the key does not stay in the address"
    page.reload()
    wait_for_table(page)
    page.get_by_label("Height of the traced face").fill("9")
    page.get_by_label("Height of the traced face").press("Enter")
    expect(page.locator("#stations .stage, .stage.outdated").first).to_be_visible()
    page.reload()
    expect(page.get_by_label("Height of the traced face")).to_have_value("9")
    folder = next(path.parent for path in run.start.glob("*/job.toml"))
    assert job_of(folder)["photo"][0]["face_height"] == 9


def home_scale(page: Page) -> tuple[float, float, float]:
    """Scale and place of the whole picture in its viewer: contained, in the middle.  In page coordinates."""
    box = page.locator("#photo .viewer").bounding_box()
    assert box is not None
    width, height = box["width"] - 2, box["height"] - 2
    scale = min(width / PICTURE[0], height / PICTURE[1])
    return scale, box["x"] + 1 + (width - PICTURE[0] * scale) / 2, box["y"] + 1 + (height - PICTURE[1] * scale) / 2


def length_between(reference: dict, points: list[float]) -> float:
    """Length in mm between two pixels at the height of the example's rule (0.8 mm), as an outline's camera sees it."""
    told = reference["camera"]
    camera = Camera(*(told[name] for name in ("width_px", "height_px", "focal_px", "k1", "k2", "rotation", "position")))
    ends = to_plane(camera, np.array(points).reshape(2, 2), 0.8)
    return float(np.hypot(*(ends[1] - ends[0])))


def test_two_points_and_a_length_are_a_reference(open_sheet: Open, measured: Path) -> None:
    """Clicked in the picture, brought home by arrow keys in tenths of a pixel, used by the next measuring: alone, with the length
    that sheet and rule saw there, they give the scale that sheet and rule gave."""
    before = json.loads((measured / "outline.json").read_text())
    text = (measured / "job.toml").read_text()
    (measured / "job.toml").write_text("".join(line for line in text.splitlines(keepends=True)
                                               if not line.startswith(("sheet =", "rule ="))))
    page = open_sheet(measured).page()
    page.locator("#photo .viewer canvas").first.wait_for()
    page.get_by_role("button", name="Pick two points").click()
    page.locator("#photo .viewer").scroll_into_view_if_needed()
    page.wait_for_timeout(1000)
    scale, left, top = home_scale(page)
    for column, row in ((450.0, 500.0), (1500.0, 650.0)):
        page.mouse.click(left + column * scale, top + row * scale)
        page.wait_for_timeout(500)
    across = page.get_by_label("First point, across, pixels")
    assert abs(float(across.input_value()) - 450.0) <= 1.0 / scale
    first = float(across.input_value())
    page.get_by_label("First point: arrow keys").focus()
    for key in ("ArrowRight", "ArrowRight", "ArrowRight", "Shift+ArrowLeft"):
        page.keyboard.press(key)
    assert float(across.input_value()) == pytest.approx(first + 0.3 - 1.0, abs=1e-9)
    page.get_by_label("Length between them").fill("-")
    page.get_by_role("button", name="Use this length").click()
    expect(page.locator(".two-length .fault")).to_contain_text("not there yet")
    picked = [float(page.get_by_label(f"{which} point, {way}, pixels").input_value())
              for which in ("First", "Second") for way in ("across", "down")]
    length = round(length_between(before, picked), 2)
    page.get_by_label("Length between them").fill(str(length).replace(".", ","))
    page.get_by_role("button", name="Use this length").click()
    expect(page.locator("#photo")).to_contain_text("In the job. Measure again to use it.")
    assert job_of(measured)["photo"][0]["span"] == [*picked, length]
    page.locator("#measure-again").click()
    expect(page.locator("#photo .found-words")).to_contain_text("two points", timeout=WORK_LIMIT_MS)
    settle(page)
    after = json.loads((measured / "outline.json").read_text())["reference"]
    assert after["kind"] == "span"
    assert after["px_per_mm"] == pytest.approx(before["reference"]["px_per_mm"], rel=0.005)


def test_what_is_told_is_checked_and_the_drawing_follows_a_datum_at_once(open_sheet: Open, measured: Path) -> None:
    """The datum is two holes: the first becomes the origin, the second lies on the x axis."""
    page = open_sheet(measured).page()
    before = (measured / "job.toml").read_bytes()
    field = page.get_by_label("Sheet under the part")
    field.fill("A9x")
    field.press("Enter")
    told = page.locator("#photo .told .field", has=field)
    expect(told.locator(".fault")).to_contain_text("A9x")
    assert (measured / "job.toml").read_bytes() == before, "what cannot be used is not written"
    field.fill("letter")
    field.press("Enter")
    expect(page.locator(".stage.outdated")).to_contain_text(["Dimensions"])
    expect(told.locator(".fault")).to_be_empty()
    assert job_of(measured)["photo"][0]["sheet"] == "letter"
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("button", name="Redo")).to_be_enabled()
    expect(field).to_have_value("A4")
    assert (measured / "job.toml").read_bytes() == before

    wait_for_table(page)
    page.get_by_label("It comes from").select_option("holes")
    page.get_by_label("First hole").select_option("c5")
    page.get_by_label("Second hole").select_option("c6")
    page.get_by_role("button", name="Take this datum").click()
    expect(page.get_by_role("button", name="Undo")).to_be_enabled()
    assert job_of(measured)["datum"] == {"kind": "holes", "of": ["c5", "c6"]}
    settle(page)
    circles = {s["id"]: s["center"] for loop in json.loads((measured / "outline.json").read_text())["design"]["loops"]
               for s in loop["segments"] if s["type"] == "circle"}
    assert circles["c5"] == pytest.approx([0.0, 0.0], abs=1e-6) and circles["c6"][1] == pytest.approx(0.0, abs=1e-6)
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("button", name="Redo")).to_be_enabled()
    assert "datum" not in job_of(measured)


def test_a_damaged_place_is_marked_by_two_clicks_and_taken_back(open_sheet: Open, measured: Path) -> None:
    page = open_sheet(measured).page()
    page.locator("#photo .viewer canvas").first.wait_for()
    page.get_by_label("Their shape comes from").select_option("mirror")
    page.get_by_role("button", name="Mark a damaged place").click()
    page.locator("#photo .viewer").scroll_into_view_if_needed()
    page.wait_for_timeout(1000)
    scale, left, top = home_scale(page)
    for column in (700.0, 825.0):
        page.mouse.click(left + column * scale, top + 600.0 * scale)
        page.wait_for_timeout(500)
    expect(page.locator("#photo .damage circle")).to_have_count(1)
    row = job_of(measured)["damage"][0]
    assert row["from"] == "mirror"
    assert [*row["at"], row["radius"]] == pytest.approx([700, 600, 125], abs=2 / scale)
    page.get_by_role("button", name="Take back: at pixel").click()
    expect(page.locator("#photo .damage circle")).to_have_count(0)
    assert "damage" not in job_of(measured)

    page.locator("#photo summary").first.click()
    page.get_by_role("button", name="Pick two points").click()
    assert not serious_faults(page, "header", "#photo")


COUNTED = """{ const ask = window.requestAnimationFrame.bind(window);
    window.askedFrames = 0;
    window.requestAnimationFrame = (then) => { window.askedFrames += 1; return ask(then); }; }"""


def wait_until_it_rests(page: Page) -> None:
    """Until a whole second has passed in which the page asked for no frame."""
    for _ in range(60):
        before = page.evaluate("askedFrames")
        page.wait_for_timeout(1000)
        if page.evaluate("askedFrames") == before:
            return
    raise AssertionError("the page goes on asking for frames while nothing changes")


def test_nothing_is_drawn_while_nothing_changes(open_sheet: Open, measured: Path) -> None:
    """Both pictures rest once they are drawn; a button, a key and another size wake them, and they rest again."""
    run = open_sheet(measured)
    page = run.browser.new_context(reduced_motion="reduce").new_page()
    page.add_init_script(COUNTED)
    page.goto(run.url)
    wait_for_table(page)
    layer = page.locator("#photo .viewer .in-picture")
    layer.locator(".found-outline").first.wait_for(state="attached")
    wait_until_it_rests(page)

    def wake_by(act: Callable[[], object]) -> None:
        before = layer.get_attribute("transform") or ""
        act()
        expect(layer).not_to_have_attribute("transform", before)
        wait_until_it_rests(page)

    wake_by(page.locator("#photo").get_by_role("button", name="Nearer").first.click)
    page.locator("#photo .viewer [role=group]").first.focus()
    wake_by(lambda: page.keyboard.press("ArrowRight"))
    wake_by(page.locator("#photo").get_by_role("button", name="Whole picture").first.click)
    wake_by(lambda: page.set_viewport_size({"width": 900, "height": 700}))


def test_the_first_station_in_dark_has_no_serious_fault_of_access(open_sheet: Open, measured: Path) -> None:
    page = open_sheet(measured).page(dark=True)
    page.locator("#photo .found .found-outline").first.wait_for(state="attached")
    page.locator("#photo summary").first.click()
    page.get_by_role("button", name="Pick two points").click()
    assert not serious_faults(page, "header", "#photo")


def test_the_empty_page_fits_a_phone_held_sideways_and_computes_advice_before_shooting(open_sheet: Open) -> None:
    page = open_sheet().page(PHONE)
    assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
    assert not serious_faults(page, "header", "#photo")
    page.get_by_label("Part is wide").fill("150")
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator(".advice-answer")).to_contain_text("mm")
    near = page.locator(".advice-answer").inner_text()
    page.get_by_label("Part is wide").fill("300")
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator(".advice-answer")).not_to_have_text(near)
