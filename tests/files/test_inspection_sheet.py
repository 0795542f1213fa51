"""The inspection sheet and the paper to lay on the old part, read by others: the csv module, pypdfium2.

The values are held against the outline itself; the CSV form is that of RFC 4180.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import dataclasses
import io
import re

import cv2
import numpy as np
import pytest

from afterpart.geometry.segments import segments_box
from afterpart.model.outline import ByMate, Outline
from afterpart.model.release import PartPhoto, TitleBlock
from afterpart.release import old_part_sheet
from afterpart.release.balloons import Balloon, boxes_meet, leader, place_balloons
from afterpart.release.characteristics import Characteristic, characteristics
from afterpart.release.drawing_files import balloon_places
from afterpart.release.inspection_rows import expanded_u, inspection_csv, inspection_rows
from afterpart.release.inspection_sheet import inspection_pdf
from afterpart.release.old_part_sheet import shown_dimensions
from afterpart.release.paper import HAIRLINE
from afterpart.release.template import template_pdf
from afterpart.release.words import word
from afterpart.standards.paper import sheet_size
from tests.files.pdf_reading import image_boxes, lengths_near, read_pages, text_boxes, worst_overlap
from tests.parts.examples import NAMES, case_of, example

TITLE = TitleBlock("inspected part", "C", "2026-01-02", "afterpart test")


@pytest.fixture(scope="module")
def found() -> dict[str, tuple[Characteristic, ...]]:
    answer = {}
    for name in NAMES:
        outline, job = example(name)
        piece = next(p for p in case_of(name).build.pieces if p.kind == "cover")
        answer[name] = characteristics(piece, outline, job)
    return answer


@pytest.mark.parametrize("name", NAMES)
def test_csv_holds_every_dimension_with_what_the_outline_says(found: dict[str, tuple[Characteristic, ...]], name: str) -> None:
    outline, _ = example(name)
    data = inspection_csv(outline, found[name])
    assert data.count(b"\r\n") == data.count(b"\n")
    rows = {row["id"]: row for row in csv.DictReader(io.StringIO(data.decode("utf-8"), newline="")) if row["id"]}
    assert rows.keys() == {d.id for d in outline.dimensions}
    words = {"inferred": "inferred", "reading": "measured by hand", "maker": "fixed by you", "free": "free: as measured"}
    for d in outline.dimensions:
        row = rows[d.id]
        assert row["number"] == re.sub(r"\D", "", d.id) and row["of"].split() == list(d.of)
        assert row["kind"] == word("drawing", f"kind_{d.kind}")
        assert abs(float(row["measured"]) - d.measured) < 1e-4 and abs(float(row["design"]) - d.design) < 1e-4
        assert abs(float(row["expanded_u_95"]) - d.u95) < 1e-4 and row["how_settled"] == words[d.origin]
        assert row["your_reading"] == "" and row["ok"] == ""
        assert row["unit"] == ("deg" if d.kind == "angle" else "mm")


@pytest.mark.parametrize("name", NAMES)
def test_csv_holds_the_new_part_with_limits_about_its_size(found: dict[str, tuple[Characteristic, ...]], name: str) -> None:
    outline, _ = example(name)
    rows = list(csv.DictReader(io.StringIO(inspection_csv(outline, found[name]).decode("utf-8"), newline="")))
    made = [row for row in rows if row["new_part"]]
    assert len(made) == len(found[name]) + sum(len(c.also) for c in found[name])
    for row in (r for r in made if r["lower_limit"]):
        assert float(row["lower_limit"]) <= float(row["new_part"]) <= float(row["upper_limit"]) and row["limits_of"]
    numbers = [int(row["number"]) for row in rows]
    assert numbers == sorted(set(numbers))


def test_how_it_was_settled_is_told_in_words_for_all_five_ways() -> None:
    outline, _ = example("pump_lid")
    heard = ByMate(9.0, 0.02, 0.01, 0.8, True)
    ways = (("free", None), ("inferred", None), ("reading", None), ("maker", None), ("inferred", heard))
    changed = tuple(dataclasses.replace(d, origin=ways[i % 5][0], mate=ways[i % 5][1]) for i, d in enumerate(outline.dimensions))
    text = " ".join(page.text for page in read_pages(inspection_pdf(dataclasses.replace(outline, dimensions=changed), (), TITLE)))
    for words in ("free: as measured", "inferred", "inferred, mate too", "measured by hand", "fixed by you"):
        assert words in text


def test_without_an_expanded_uncertainty_twice_the_standard_one_is_taken() -> None:
    """k = 2 for about 95 %: JCGM 100:2008, clause 6.3.3."""
    outline, _ = example("bracket")
    d = dataclasses.replace(outline.dimensions[0], u=0.03, u95=0.0)
    assert expanded_u(d) == pytest.approx(0.06)


@pytest.mark.parametrize("name", NAMES)
def test_pdf_shows_the_part_at_true_scale_and_every_row(found: dict[str, tuple[Characteristic, ...]], name: str) -> None:
    outline, _ = example(name)
    pages = read_pages(inspection_pdf(outline, found[name], TITLE))
    box = segments_box(s for loop in outline.design for s in loop.segments)
    size = pages[0].paths[:, 2:] - pages[0].paths[:, :2] - 2 * HAIRLINE
    assert (np.abs(size - (box[2] - box[0], box[3] - box[1])).max(axis=1) < 0.02).any()
    assert len(lengths_near(pages[0], 100.0, 0.02, axis=0)) == 1
    text = "\n".join(page.text.replace("\r", "") for page in pages[1:-1])
    for row in inspection_rows(outline, found[name]):
        assert re.search(rf"^{row.number}\s+{re.escape(row.what)}", text, re.MULTILINE), row.number
        if row.old is not None:
            assert f"± {expanded_u(row.old):.2f}" in text or f"± {expanded_u(row.old):.3f}" in text
    assert "Check plate" in pages[-1].text and "[[trial]]" in pages[-1].text and "plug pulled" in pages[-1].text


@pytest.mark.parametrize("name", NAMES)
def test_balloons_of_the_old_part_keep_apart(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[tuple[Balloon, ...]] = []

    def spy(*given: object) -> tuple[Balloon, ...] | None:
        placed = place_balloons(*given)  # type: ignore[arg-type]
        if placed is not None:
            seen.append(placed)
        return placed

    monkeypatch.setattr(old_part_sheet, "place_balloons", spy)
    outline, _ = example(name)
    inspection_pdf(outline, (), TITLE)
    placed = seen[-1]  # rings farther and farther out are tried, until leaders run clear
    assert sorted(int(b.label.number) for b in placed) == [s.number for s in shown_dimensions(outline)]
    for i, a in enumerate(placed):
        start, end = (np.array(p) for p in leader(a))
        points = start + (end - start) * np.linspace(0.0, 1.0, 400)[:, None]
        for b in placed[:i] + placed[i + 1:]:
            assert not boxes_meet(a.box, b.box), (a.label, b.label)
            assert not ((points > b.box[:2]) & (points < b.box[2:])).all(axis=1).any(), (a.label, b.label)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("page", ["A4", "letter"])
def test_texts_of_the_sheet_never_overlap(found: dict[str, tuple[Characteristic, ...]], name: str, page: str) -> None:
    outline, _ = example(name)
    for k, boxes in enumerate(text_boxes(inspection_pdf(outline, found[name], TITLE, page))):
        assert len(boxes) > 10
        assert worst_overlap(boxes) < 0.1, k


def test_same_input_same_bytes(found: dict[str, tuple[Characteristic, ...]]) -> None:
    outline, _ = example("bracket")
    assert inspection_pdf(outline, found["bracket"], TITLE) == inspection_pdf(outline, found["bracket"], TITLE)
    assert inspection_csv(outline, found["bracket"]) == inspection_csv(outline, found["bracket"])


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("page", ["A4", "letter"])
def test_paper_to_lay_on_is_true_and_on_the_page_asked_for(name: str, page: str) -> None:
    outline, _ = example(name)
    (sheet,) = read_pages(template_pdf(outline, TITLE, "paper", sheet=sheet_size(page)))
    assert sorted(round(v) for v in sheet.size) == sorted(round(v) for v in sheet_size(page))
    box = segments_box(s for loop in outline.design for s in loop.segments)
    size = sheet.paths[:, 2:] - sheet.paths[:, :2] - 2 * HAIRLINE
    assert (np.abs(size - (box[2] - box[0], box[3] - box[1])).max(axis=1) < 0.02).any()
    assert len(lengths_near(sheet, 100.0, 0.05, axis=0)) == 1 and len(lengths_near(sheet, 100.0, 0.05, axis=1)) == 1


def test_paper_of_an_unknown_size_is_refused() -> None:
    outline, _ = example("bracket")
    with pytest.raises(ValueError, match="mm"):
        template_pdf(dataclasses.replace(outline, unit="px"), TITLE, "paper")


def grey_photo(outline: Outline) -> PartPhoto:
    """A plain grey picture of the part's box, seen straight down at 10 px per mm, 5 mm more all round."""
    x0, y0, x1, y1 = segments_box(s for loop in outline.design for s in loop.segments)
    width, height = round(10 * (x1 - x0 + 10)), round(10 * (y1 - y0 + 10))
    spots = tuple((name, 10 * (x - x0 + 5), height - 10 * (y - y0 + 5)) for name, (x, y) in balloon_places(outline).items())
    jpeg = cv2.imencode(".jpg", np.full((height, width, 3), 120, np.uint8))[1].tobytes()
    return PartPhoto(jpeg, width, height, spots)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("page", ["A4", "letter"])
def test_photograph_carries_the_numbers_of_the_drawing(name: str, page: str) -> None:
    """Every balloon of the drawing stands on the photograph's page too; the picture keeps its shape and covers no balloon."""
    outline, _ = example(name)
    photo = grey_photo(outline)
    data = inspection_pdf(outline, (), TITLE, page, photo=photo)
    seen = read_pages(data)[1]
    ((left, low, right, high),) = image_boxes(data, 1)
    assert abs((right - left) / (high - low) - photo.width_px / photo.height_px) < 1e-3
    assert (right - left) * (high - low) > 0.2 * seen.size[0] * seen.size[1]
    numbers = {str(s.number) for s in shown_dimensions(outline)}
    assert numbers <= set(seen.text.split()) and "not to scale" in seen.text
    boxes = text_boxes(data)[1]
    assert worst_overlap(boxes) < 0.1
    over = (boxes[:, 0] < right) & (boxes[:, 2] > left) & (boxes[:, 1] < high) & (boxes[:, 3] > low)
    assert not over.any()
    assert inspection_pdf(outline, (), TITLE, page, photo=photo) == data
