"""The printed target drawn by another PDF reader and then read by the marker detector."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np
import pytest

from afterpart.release.target import CENTER, target_pdf
from afterpart.standards import printed_target as layout
from tests.files.pdf_reading import ink, lengths_near, read_pages

PX_PER_MM = 12.0


@pytest.fixture(scope="module")
def target() -> bytes:
    return target_pdf()


def test_bar_and_rows_of_markers_are_100_mm(target: bytes) -> None:
    (page,) = read_pages(target)
    assert tuple(round(v, 2) for v in page.size) == (210.0, 297.0)
    assert len(lengths_near(page, 100.0, 0.01, axis=0)) == 1
    squares = page.paths[(np.abs(page.paths[:, 2:] - page.paths[:, :2] - layout.MARKER_SIDE) < 0.01).all(axis=1)]
    assert len(squares) == len(layout.marker_ids())
    assert (
        abs(np.ptp(squares[:, [0, 2]]) - layout.RING_WIDTH) < 0.01 and abs(np.ptp(squares[:, [1, 3]]) - layout.RING_HEIGHT) < 0.01
    )


def test_detector_finds_every_marker_where_the_layout_says(target: bytes) -> None:
    picture = ink(target, 0, PX_PER_MM)
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, layout.DICTIONARY))
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary, parameters).detectMarkers(picture)
    assert sorted(int(i) for i in ids.ravel()) == list(layout.marker_ids())
    for found, i in zip(corners, ids.ravel(), strict=True):
        expected = np.array([(CENTER[0] + x, 297.0 - CENTER[1] - y) for x, y in layout.marker_corners(int(i))])
        # The detector counts pixel centres from 0; the reader fills whole pixels, so one pixel is what can be told.
        assert np.abs((found[0] + 0.5) / PX_PER_MM - expected).max() <= 1 / PX_PER_MM


def test_says_what_to_do(target: bytes) -> None:
    text = read_pages(target)[0].text
    assert "100 %" in text and "--target" in text
    assert b"/PrintScaling /None" in target


def test_everything_stays_within_the_printed_area(target: bytes) -> None:
    dark = ink(target, 0, 4.0) < 200
    rows, columns = np.flatnonzero(dark.any(axis=1)) / 4.0, np.flatnonzero(dark.any(axis=0)) / 4.0
    assert columns[0] >= 10.5 and columns[-1] <= 199.5
    assert 297.0 - rows[-1] >= CENTER[1] + layout.PRINTED_BOTTOM - 0.5


def test_same_bytes(target: bytes) -> None:
    assert target_pdf() == target
