"""The printed target's layout held against the marker dictionary of the detector."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np
import pytest

from afterpart.standards import printed_target as layout

DETECTOR_DICTIONARY = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, layout.DICTIONARY))


@pytest.mark.parametrize("marker_id", layout.marker_ids())
def test_every_marker_has_the_bits_of_the_detector_dictionary(marker_id: int) -> None:
    drawn = cv2.aruco.generateImageMarker(DETECTOR_DICTIONARY, marker_id, layout.CODE_MODULES + 2) // 255
    assert np.array_equal(drawn, np.array(layout.marker_bits(marker_id)))


def test_ring_positions() -> None:
    centers = np.array([layout.marker_center(i) for i in layout.marker_ids()])
    assert len(centers) == len({tuple(c) for c in centers}) == 36
    steps = np.linalg.norm(np.diff(np.vstack([centers, centers[:1]]), axis=0), axis=1)
    assert np.allclose(steps, layout.PITCH)
    assert np.allclose(centers.mean(axis=0), 0.0)
    assert tuple(centers[0]) == (-88.0, 110.0) and tuple(centers[8]) == (88.0, 110.0)


def test_five_markers_repeat_the_bar_in_both_directions() -> None:
    assert layout.marker_corners(4)[1][0] - layout.marker_corners(0)[0][0] == layout.BAR_LENGTH
    assert layout.marker_corners(8)[0][1] - layout.marker_corners(12)[2][1] == layout.BAR_LENGTH
    assert layout.BAR[2] - layout.BAR[0] == layout.BAR_LENGTH


def test_printed_area_leaves_printer_margins_on_a4_and_letter() -> None:
    width, height = layout.RING_WIDTH, layout.RING_HEIGHT / 2 - layout.PRINTED_BOTTOM
    for paper in ((210.0, 297.0), (215.9, 279.4)):
        assert paper[0] - width >= 2 * 11.0 and paper[1] - height >= 2 * 11.0


def test_detector_finds_the_corners_where_the_layout_puts_them() -> None:
    """A raster of the layout at 10 px per mm, drawn here module by module, read by the detector."""
    scale, left, top = 10.0, 105.0, 148.5
    picture = np.full((2970, 2100), 255, np.uint8)
    for i in layout.marker_ids():
        x0, y0 = layout.marker_corners(i)[0]
        tile = np.kron(np.array(layout.marker_bits(i)), np.ones((15, 15))) * 255
        row, column = round((top - y0) * scale), round((left + x0) * scale)
        picture[row : row + 120, column : column + 120] = tile
    corners, ids, _ = cv2.aruco.ArucoDetector(DETECTOR_DICTIONARY).detectMarkers(picture)
    assert sorted(ids.ravel()) == list(layout.marker_ids())
    for found, i in zip(corners, ids.ravel(), strict=True):
        expected = np.array([((left + x) * scale, (top - y) * scale) for x, y in layout.marker_corners(int(i))])
        assert np.abs(found[0] - expected).max() <= 1.0


def test_unknown_marker_is_refused() -> None:
    with pytest.raises(KeyError, match="36"):
        layout.marker_corners(36)
