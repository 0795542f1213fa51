"""The drawing read by another PDF reader: page sizes, true lengths (a stroke's width taken off), words, order of pages."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses

import numpy as np
import pypdfium2
import pytest

from afterpart.model.release import TitleBlock
from afterpart.release.drawing import drawing_pdf
from afterpart.release.paper import HAIRLINE
from tests.files.pdf_reading import PdfPage, ink, lengths_near, read_pages
from tests.parts import drawings

TITLE = TitleBlock("gauge lid", "B", "2026-01-02", "afterpart test")


def has_box(page: PdfPage, width: float, height: float, tolerance: float = 0.02) -> bool:
    """A stroked path of this size stands on the page; the reader adds a stroke's width all round."""
    size = page.paths[:, 2:] - page.paths[:, :2] - 2 * HAIRLINE
    return bool((np.abs(size - (width, height)).max(axis=1) <= tolerance).any())


@pytest.fixture(scope="module")
def lid() -> bytes:
    return drawing_pdf(drawings.gauge_lid(), TITLE)


def test_two_pages_of_a4(lid: bytes) -> None:
    pages = read_pages(lid)
    assert [tuple(round(v, 2) for v in p.size) for p in pages] == [(210.0, 297.0), (210.0, 297.0)]


def test_bars_are_100_mm_on_every_page(lid: bytes) -> None:
    drawing, template = read_pages(lid)
    assert len(lengths_near(drawing, 100.0, 0.05, axis=0)) >= 1
    assert len(lengths_near(template, 100.0, 0.05, axis=0)) == 1
    assert len(lengths_near(template, 100.0, 0.05, axis=1)) == 1


def test_bar_in_ink_is_100_mm(lid: bytes) -> None:
    """At 20 px per mm the longest dark run of the bar's row is 2000 px, one pixel either way."""
    picture = ink(lid, 1, 20.0)
    dark = picture < 128
    row = int(np.argmax(dark.sum(axis=1)))
    columns = np.flatnonzero(dark[row])
    runs = np.split(columns, np.flatnonzero(np.diff(columns) > 1) + 1)
    assert abs(max(len(r) for r in runs) - 2000) <= 1


def test_outline_is_true_to_scale_on_both_pages(lid: bytes) -> None:
    for page in read_pages(lid):
        assert has_box(page, 120.0, 80.0)


def test_table_says_what_was_measured(lid: bytes) -> None:
    text = read_pages(lid)[0].text
    for words in (
        "120.030 ± 0.080",
        "free, no nominal",
        "by reading",
        "given by maker",
        "71 %",
        "Ø6.6",
        "(R8)",
        "19.90 ± 0.60°",
        "Print at 100 %",
    ):
        assert words in text, words


def test_viewer_is_told_not_to_scale(lid: bytes) -> None:
    assert b"/PrintScaling /None" in lid


def test_same_input_same_bytes(lid: bytes) -> None:
    assert drawing_pdf(drawings.gauge_lid(), TITLE) == lid


def test_long_part_is_drawn_on_a3_and_its_template_tiled() -> None:
    pages = read_pages(drawing_pdf(drawings.long_rail(), TITLE))
    assert tuple(round(v) for v in pages[0].size) == (420, 297)
    assert has_box(pages[0], 300.0, 60.0)
    assert len(pages) == 3 and all(tuple(round(v) for v in p.size) == (210, 297) for p in pages[1:])
    assert "tile A1 of 1 x 2" in pages[1].text and "tile A2 of 1 x 2" in pages[2].text


def test_tiles_meet_at_their_registration_marks() -> None:
    """Seen from the part's first hole, drawn on both pages (though clipped on one), the shared marks stand at the same places."""
    first, second = read_pages(drawing_pdf(drawings.long_rail(), TITLE))[1:]
    seen = []
    for page in (first, second):
        size = page.paths[:, 2:] - page.paths[:, :2]
        middle = (page.paths[:, 2:] + page.paths[:, :2]) / 2
        holes = middle[np.abs(size - 5.5 - 2 * HAIRLINE).max(axis=1) < 0.02]
        marks = middle[(np.abs(size[:, 0] - 8.4) < 0.05) & (size[:, 1] < 0.5)]
        assert len(marks) == 3
        assert len(holes) == 10
        seen.append(np.array(sorted((marks - holes[0]).tolist())))
    assert np.abs(seen[0] - seen[1]).max() < 0.01


def test_larger_than_a3_is_tiled_and_has_no_lost_rows() -> None:
    outline = dataclasses.replace(drawings.wide_panel(), dimensions=drawings.gauge_lid().dimensions)
    pages = read_pages(drawing_pdf(outline, TITLE))
    assert sum("drawing, 1:1" in p.text for p in pages) == 6 and sum("lay on the part" in p.text for p in pages) == 4
    assert sum("free, no nominal" in p.text for p in pages) == 1


def test_long_table_runs_over_pages() -> None:
    lid = drawings.gauge_lid()
    many = tuple(dataclasses.replace(lid.dimensions[2], id=f"d{i}") for i in range(1, 131))
    text = "\n".join(p.text for p in read_pages(drawing_pdf(dataclasses.replace(lid, dimensions=many), TITLE)))
    assert all(f"d{i} diameter" in text.replace("\r", "") for i in (1, 64, 130))


def test_unknown_size_has_no_bar_and_no_template() -> None:
    (page,) = read_pages(drawing_pdf(dataclasses.replace(drawings.gauge_lid(), unit="px"), TITLE))
    assert "SIZE UNKNOWN" in page.text and "100 mm" not in page.text
    assert len(lengths_near(page, 100.0, 0.05, axis=0)) == 0


def test_names_in_any_script_are_no_error() -> None:
    data = drawing_pdf(drawings.gauge_lid(), TitleBlock("Крышка 蓋 größe ő", "Ж", "2026", "x"))
    page = read_pages(data)[0]
    assert "größe" in page.text and "?" in page.text
    assert "蓋" in pypdfium2.PdfDocument(data).get_metadata_dict()["Title"]


def test_free_segments_are_explained_and_listed(lid: bytes) -> None:
    free = tuple(s.id for s in drawings.gauge_lid().design[0].segments[:2])
    page = read_pages(drawing_pdf(dataclasses.replace(drawings.gauge_lid(), free=free), TITLE))[0]
    words = " ".join(page.text.split())
    assert "measured shape, settled by no relation or number (line type 12, ISO 128-2)" in words
    assert ", ".join(free) in words
    assert "ISO 128-2" not in read_pages(lid)[0].text
