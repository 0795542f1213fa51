"""Sheets told by hand, and several photographs, in a real browser.

The photographs are the example's: with the desk painted as white as the paper for a sheet that is not found, and once more as the
picture of a mate, which then must lie on the cover with every hole within chance.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest
from playwright.sync_api import Page, expect

from tests.journey.browser import PHOTO, PICTURE, WORK_LIMIT_MS, Open, serious_faults, settle, wait_for_table
from tests.journey.test_page_photo import job_of

CORNERS = ((273.6, 2571.6), (420.3, 210.4), (3754.9, 454.5), (3574.0, 2782.9))
"""Of the sheet in the example's photograph, px, as find_sheet has them.  At 3 megapixels its faint edges show no more."""
WHOLE = (4032, 3024)

AWAY = (14.0, -9.0)
"""How far beside its corner each handle is left, px."""


def hidden_sheet(folder: Path) -> Path:
    """A job whose photograph shows the paper on a desk of its own brightness, but for a line a hand's breadth can see; nothing is
    told of the rule."""
    picture = cv2.imread(str(PHOTO), cv2.IMREAD_UNCHANGED)
    desk = np.full(picture.shape[:2], 255, np.uint8)
    cv2.fillPoly(desk, [np.round(np.array(CORNERS)).astype(np.int32)], 0)
    paper = np.median(picture[600:900, 700:900].reshape(-1, 3), axis=0)
    noise = np.random.default_rng(2).normal(0.0, 2.0, picture.shape)
    picture = np.where(desk[..., None] > 0, np.clip(paper * 0.96 + noise, 0, 255), picture).astype(np.uint8)
    folder.mkdir()
    (folder / "pale.jpg").write_bytes(cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 92])[1].tobytes())
    (folder / "job.toml").write_text('name = "pale"\n\n[[photo]]\nfile = "pale.jpg"\nsheet = "A4"   # on white\n'
                                     "face_height = 9.0\nfocal_35mm = 77\n")
    return folder


def drag(page: Page, which: str, to: tuple[float, float]) -> None:
    """One handle by the mouse to a place of the picture, at the picture's scale as its neighbours show it."""
    page.locator("#photo .viewer").evaluate("(node) => node.scrollIntoView({ block: 'center' })")
    viewer = page.locator("#photo .viewer").bounding_box()
    handle = page.get_by_role("button", name=f"{which} corner of the sheet").bounding_box()
    assert viewer is not None and handle is not None
    scale = min((viewer["width"] - 2) / WHOLE[0], (viewer["height"] - 2) / WHOLE[1])
    left = viewer["x"] + 1 + (viewer["width"] - 2 - WHOLE[0] * scale) / 2
    top = viewer["y"] + 1 + (viewer["height"] - 2 - WHOLE[1] * scale) / 2
    page.mouse.move(handle["x"] + handle["width"] / 2, handle["y"] + handle["height"] / 2)
    page.mouse.down()
    page.mouse.move(left + to[0] * scale, top + to[1] * scale, steps=4)
    page.mouse.up()


def test_a_sheet_that_is_not_found_is_told_by_dragging_its_corners(open_sheet: Open, measured_small_once: Path,
                                                                    tmp_path: Path) -> None:
    """From the note that it is missing, by mouse, keys and a refusal, to the scale that the sheet gives: that of the untouched
    photograph within what paper is known to."""
    folder = hidden_sheet(tmp_path / "pale")
    page = open_sheet(folder).page()
    page.locator("#measure-again").click()
    wait_for_table(page)
    settle(page)
    assert "sheet" not in json.loads((folder / "outline.json").read_text())["reference"]["kind"]
    page.get_by_role("button", name="Drag the sheet’s corners", exact=True).click()
    page.wait_for_timeout(800)
    names = ("First", "Second", "Third", "Fourth")
    for name, (x, y) in zip(names, CORNERS[1:] + CORNERS[:1], strict=True):
        drag(page, name, (x + AWAY[0], y + AWAY[1]))
    across = page.get_by_label("First corner, across, pixels")
    before = float(across.input_value())
    assert abs(before - CORNERS[1][0] - AWAY[0]) < 12.0
    page.get_by_role("button", name="First corner of the sheet").press("ArrowLeft")
    page.get_by_role("button", name="First corner of the sheet").press("Shift+ArrowRight")
    page.get_by_label("Corner in hand: arrow keys").press("ArrowLeft")
    assert float(across.input_value()) == pytest.approx(before - 1.0 + 20.0 - 0.1, abs=1e-6)
    text = (folder / "job.toml").read_text()
    held = across.input_value()
    middle = [(CORNERS[2][k] + CORNERS[0][k]) / 2 for k in (0, 1)]
    for way, value in zip(("across", "down"), middle, strict=True):
        field = page.get_by_label(f"First corner, {way}, pixels")
        field.fill(f"{value:.1f}")
        field.press("Enter")
    page.get_by_role("button", name="Use these corners").click()
    fault = page.locator('[aria-label="Corners of the sheet"] .fault').filter(has_text="three corners on one line")
    expect(fault).to_be_visible()
    assert (folder / "job.toml").read_text() == text, "what cannot be is not written"
    assert held != across.input_value()
    drag(page, "First", (CORNERS[1][0] + AWAY[0], CORNERS[1][1] + AWAY[1]))
    assert not serious_faults(page, "#photo")
    page.get_by_role("button", name="Use these corners").click()
    expect(fault).to_have_count(0)
    assert len(job_of(folder)["photo"][0]["sheet_corners_px"]) == 8 and "# on white" in (folder / "job.toml").read_text()
    page.locator('[aria-label="Corners of the sheet"]').get_by_role("button", name="Measure again").click()
    expect(page.locator("#photo .found-words")).to_contain_text("sheet of paper", timeout=WORK_LIMIT_MS)
    settle(page)
    found = json.loads((folder / "outline.json").read_text())
    untouched = json.loads((measured_small_once / "outline.json").read_text())
    assert found["reference"]["kind"].startswith("sheet")
    scale = untouched["reference"]["px_per_mm"] * WHOLE[0] / PICTURE[0]
    assert found["reference"]["px_per_mm"] == pytest.approx(scale, rel=0.004)
    notes = {note["code"] for note in found["notes"]}
    assert "sheet_sides_by_hand" not in notes, "its edges show, faint as they are"


def test_one_more_photograph_is_the_mates_and_lies_on_the_cover(open_sheet: Open, measured: Path, small_photo: bytes,
                                                                tmp_path: Path) -> None:
    """Added, labelled, put before the part (refused), laid on the cover; flipped through on one drawing; taken out, and back."""
    page = open_sheet(measured).page()
    wait_for_table(page)
    box = page.locator(".more-photographs")
    box.get_by_label("One more photograph shows").select_option("mate")
    (tmp_path / "box.jpg").write_bytes(small_photo)
    with page.expect_file_chooser() as chosen:
        box.get_by_role("button", name="Choose one more photograph").click()
    chosen.value.set_files(tmp_path / "box.jpg")
    expect(box.locator("tr[data-file]")).to_have_count(2)
    assert job_of(measured)["photo"][1] == {"file": "box.jpg", "shows": "mate"}, "and nothing of the part's heights"
    expect(page.locator("#drop-area .progress .runs")).to_have_count(0)
    expect(box.get_by_role("button", name="Look at photograph 2, box.jpg")).to_have_attribute("aria-pressed", "true")
    before = (measured / "job.toml").read_text()
    box.get_by_role("button", name="Earlier in the order: box.jpg").click()
    expect(box.locator(".fault")).to_contain_text("Put a photo of the part before it")
    assert (measured / "job.toml").read_text() == before
    for label, value in (("Sheet under the part", "A4"), ("Height of the traced face", "9")):
        field = page.get_by_label(label)
        field.fill(value)
        field.press("Enter")
        expect(page.get_by_label(label)).to_have_value(value)
    page.get_by_role("button", name="Lay the mate on the cover").click()
    rows = page.locator(".mate-holes tbody tr")
    ended = page.locator(".mate-holes tbody tr, .mate .progress .fault").first
    expect(ended).to_be_visible(timeout=WORK_LIMIT_MS)
    expect(page.locator(".mate .progress .fault")).to_have_count(0)
    match = json.loads((measured / "mate.json").read_text())
    assert [row.get_attribute("data-hole") for row in rows.all()] == [hole["cover"] for hole in match["holes"]]
    assert len(match["holes"]) == 6 and max(np.hypot(*hole["offset"]) for hole in match["holes"]) < 0.05
    expect(page.locator(".mate-holes .verdict.passes")).to_have_count(6)
    assert page.locator(".mate-laid path").count() == len(match["loops"])
    expect(page.locator("#photo .found .found-outline").nth(5)).to_be_attached()

    pitch = next(d for d in json.loads((measured / "outline.json").read_text())["dimensions"] if d["kind"] == "distance")
    assert pitch["mate"]["used"], "and the drawing has heard it"
    row = page.locator(f"tr[data-id='{pitch['id']}']")
    row.get_by_role("button", name="why?").click()
    expect(page.locator(".causes:visible")).to_contain_text("The mate\u2019s picture measures")
    expect(page.locator(".causes:visible")).to_contain_text("the design value rests on both pictures")
    page.locator(".one-drawing summary").click()
    laid = page.locator(".one-drawing .laid image")
    expect(laid).to_have_count(1)
    page.locator(".one-drawing svg.drawing").press(".")
    expect(laid).to_have_count(2)
    expect(page.locator(".one-drawing [role=status]")).to_contain_text("2 of 2: box.jpg, what it is bolted to")
    assert laid.nth(0).get_attribute("x") == laid.nth(1).get_attribute("x"), "both lie on the same drawing"
    page.keyboard.down(" ")
    assert laid.nth(1).get_attribute("opacity") == "0", "the one before shows through for as long as the key is held"
    page.keyboard.up(" ")
    assert laid.nth(1).get_attribute("opacity") == "1"
    assert not serious_faults(page, "#photo", "#dimensions")

    (tmp_path / "better box.jpg").write_bytes(small_photo)
    told = job_of(measured)["photo"][1]
    with page.expect_file_chooser() as chosen:
        box.get_by_role("button", name="Replace this photograph: box.jpg").click()
    chosen.value.set_files(tmp_path / "better box.jpg")
    expect(box.locator(".written")).to_contain_text("Photograph 2 is now better box.jpg. box.jpg stays in the folder")
    expect(box.locator("tr[data-file='better_box.jpg']")).to_have_count(1)
    assert job_of(measured)["photo"][1] == {**told, "file": "better_box.jpg"} and (measured / "box.jpg").is_file()

    box.get_by_role("button", name="Take out of the job: better_box.jpg").click()
    expect(box.locator("tr[data-file]")).to_have_count(1)
    expect(page.locator(".mate")).to_be_hidden()
    page.get_by_role("button", name="Undo").click()
    expect(box.locator("tr[data-file]")).to_have_count(2)
