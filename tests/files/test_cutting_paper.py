"""The cutting template read by another PDF reader: true scale, the chosen cuts, their order, the table beside them."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np
import pypdfium2
import pypdfium2.raw as raw
import pytest

from afterpart.model.feature import CutRow, Seat
from afterpart.model.outline import Point
from afterpart.model.release import TitleBlock
from afterpart.model.wishes import FilterWish
from afterpart.parts.filter_element import chosen_row, cut_table
from afterpart.release.cutting_paper import CUT_WIDTH, cutting_paper_pdf
from tests.files.pdf_reading import MM_PER_POINT, ink, read_pages
from tests.parts.filter_seats import box_with_bosses

TITLE = TitleBlock("gauge lid", "B", "2026-01-02", "afterpart test")
SCALE = 0.01
"""mm: how true the paper must be."""


@pytest.fixture(scope="module")
def seat() -> Seat:
    return box_with_bosses(4)


@pytest.fixture(scope="module")
def rows(seat: Seat) -> tuple[CutRow, ...]:
    return cut_table(seat, FilterWish(cuts=4, flow_m3_per_h=30.0))


@pytest.fixture(scope="module")
def data(seat: Seat, rows: tuple[CutRow, ...]) -> bytes:
    return cutting_paper_pdf(rows, seat, TITLE)


def strong_polygons(data: bytes, page: int, width: float) -> list[np.ndarray]:
    """Points in mm of every path stroked with this width, as the reader reports its segments through the path's own matrix."""
    found = []
    for item in pypdfium2.PdfDocument(data)[page].get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        matrix = item.get_matrix().get()
        if abs(stroke_width(item) * math.hypot(matrix[0], matrix[1]) * MM_PER_POINT - width) > 1e-3:
            continue
        points = []
        for i in range(raw.FPDFPath_CountSegments(item.raw)):
            x, y = raw.c_float(), raw.c_float()
            raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(item.raw, i), x, y)
            points.append((matrix[0] * x.value + matrix[2] * y.value + matrix[4], matrix[1] * x.value + matrix[3] * y.value
                           + matrix[5]))
        found.append(np.array(points) * MM_PER_POINT)
    return found


def stroke_width(item: pypdfium2.PdfObject) -> float:
    width = raw.c_float()
    raw.FPDFPageObj_GetStrokeWidth(item.raw, width)
    return float(width.value)


def sides(points: Sequence[Point] | np.ndarray) -> np.ndarray:
    ring = np.asarray(points, dtype=float)
    gap = np.roll(ring, -1, axis=0) - ring
    length = np.hypot(gap[:, 0], gap[:, 1])
    return length[length > 1e-6]


def test_one_page_for_the_template_and_one_for_the_table(data: bytes) -> None:
    template, table = read_pages(data)
    assert {round(v, 1) for v in (*template.size, *table.size)} == {210.0, 297.0}


def test_the_bars_are_100_mm(data: bytes) -> None:
    boxes = read_pages(data)[0].paths
    size = np.column_stack([boxes[:, 2] - boxes[:, 0], boxes[:, 3] - boxes[:, 1]])
    for axis in (0, 1):
        assert np.count_nonzero(np.abs(size[:, axis] - 100.0) <= SCALE) >= 1


def test_the_cut_lines_are_the_chosen_polygon_at_true_scale(data: bytes, rows: tuple[CutRow, ...]) -> None:
    polygon, = strong_polygons(data, 0, CUT_WIDTH)
    corners = np.array(chosen_row(rows).corners)
    assert np.abs(sides(polygon) - sides(corners)).max() <= SCALE
    shift = polygon[0] - corners[0]
    assert np.abs(polygon[: len(corners)] - corners - shift).max() <= SCALE, "neither turned nor mirrored"


def test_every_cut_has_its_number_and_the_table_every_row(data: bytes, rows: tuple[CutRow, ...]) -> None:
    template, table = read_pages(data)
    words = template.text.split()
    assert [str(n) for n in range(1, 9) if str(n) not in words] == []
    text = " ".join(table.text.split())
    for row in rows:
        assert f"{row.area / 100:.1f} cm2" in text and f"{row.face_velocity_m_per_s:.2f} m/s" in text
    assert text.count("chosen") == 2, "once in the table, once under its shape"


def test_shapes_stand_side_by_side_at_one_scale(data: bytes, rows: tuple[CutRow, ...]) -> None:
    shapes = [p for p in strong_polygons(data, 1, 0.35) if len(p) > 2]
    assert len(shapes) == len(rows)
    scales = [sides(shape)[0] / sides(row.corners)[0] for shape, row in zip(shapes, rows, strict=True)]
    assert max(scales) - min(scales) < 1e-3
    for i, one in enumerate(shapes):
        assert all((one.max(axis=0) < other.min(axis=0)).any() or (one.min(axis=0) > other.max(axis=0)).any()
                   for other in shapes[:i]), "no two lie over each other"


def test_nothing_reaches_the_edge_of_either_page(data: bytes) -> None:
    for page in (0, 1):
        grey = ink(data, page, 4.0)
        edge = np.concatenate([grey[:20].ravel(), grey[-20:].ravel(), grey[:, :20].ravel(), grey[:, -20:].ravel()])
        assert edge.min() == 255


def test_a_large_element_is_tiled_and_keeps_its_scale() -> None:
    large = box_with_bosses(0)
    big = tuple((4.0 * x, 4.0 * y) for x, y in large.region)
    corners: tuple[Point, ...] = ((0.0, 0.0), (400.0, 0.0), (400.0, 240.0), (0.0, 240.0))
    row = CutRow(0, corners, 96000.0, 0.0, 0.0, 1.0, chosen=True, open_area=90000.0)
    data = cutting_paper_pdf((row,), dataclasses.replace(large, region=big), TITLE)
    *tiles, _ = read_pages(data)
    assert len(tiles) > 1 and all("tile" in t.text for t in tiles)
    polygon, *_ = strong_polygons(data, 0, CUT_WIDTH)
    assert np.abs(sides(polygon) - sides(corners)).max() <= SCALE


def test_the_same_rows_give_the_same_bytes(seat: Seat, rows: tuple[CutRow, ...], data: bytes) -> None:
    assert cutting_paper_pdf(rows, seat, TITLE) == data


def test_without_one_chosen_row_or_room_there_is_no_paper(seat: Seat, rows: tuple[CutRow, ...]) -> None:
    with pytest.raises(ValueError, match="unpack"):
        cutting_paper_pdf(tuple(dataclasses.replace(r, chosen=False) for r in rows), seat, TITLE)
    with pytest.raises(ValueError, match="180 x 250"):
        cutting_paper_pdf(rows, seat, TITLE, page=(100.0, 297.0))
