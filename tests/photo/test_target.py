"""Marker corners of the printed target, painted through a known homography or rastered from its PDF, come back in place."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest

from afterpart.model.references import TargetMarkers
from afterpart.photo.target import find_target
from afterpart.release.target import target_pdf
from afterpart.standards.printed_target import (
    COLUMNS,
    MARKER_SIDE,
    MODULE,
    PITCH,
    ROWS,
    marker_bits,
    marker_center,
    marker_corners,
    marker_ids,
)
from tests.photo.rule_painting import homography, plane_points, project


def encoded(light: np.ndarray) -> np.ndarray:
    """Share of light -> stored grey level 0..255 (curve of IEC 61966-2-1)."""
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.power(np.maximum(light, 1e-9), 1 / 2.4) - 0.055) * 255


def painted_target(size: tuple[int, int], h: np.ndarray, covered: np.ndarray | None = None) -> np.ndarray:
    """The target in sRGB grey levels; h takes (x right, y down) mm to px.  covered: (x0, y0, x1, y1) mm under a dark part."""
    x, down = plane_points(h, size)
    y = -down
    first_x, first_y = marker_center(0)
    across, up = np.rint((x - first_x) / PITCH).astype(np.int32), np.rint((first_y - y) / PITCH).astype(np.int32)
    bits = np.ones((ROWS, COLUMNS, 8, 8), np.float32)  # white where there is no marker
    for number in marker_ids():
        cx, cy = marker_center(number)
        bits[round((first_y - cy) / PITCH), round((cx - first_x) / PITCH)] = np.array(marker_bits(number))
    column = np.floor((x - first_x - across * PITCH + MARKER_SIDE / 2) / MODULE).astype(np.int32)
    row = np.floor((first_y - up * PITCH + MARKER_SIDE / 2 - y) / MODULE).astype(np.int32)
    own = (
        (across >= 0)
        & (across < COLUMNS)
        & (up >= 0)
        & (up < ROWS)
        & (np.minimum(row, column) >= 0)
        & (np.maximum(row, column) < 8)
    )
    light = np.full(x.shape, 0.75, np.float32)
    light[own] = 0.03 + 0.72 * bits[up[own], across[own], row[own], column[own]]
    if covered is not None:
        light[(x > covered[0]) & (y > covered[1]) & (x < covered[2]) & (y < covered[3])] = 0.06
    picture = cv2.GaussianBlur(cv2.resize(light, size, interpolation=cv2.INTER_AREA), (0, 0), 0.7)
    stored = encoded(picture)
    return np.clip(np.rint(stored + np.random.default_rng(1).normal(0, 1.5, stored.shape)), 0, 255).astype(np.float32)


def corner_errors(target: TargetMarkers, h: np.ndarray) -> np.ndarray:
    """(n, 4, 2) px: found less true."""
    true = np.array([[(x, -y) for x, y in marker_corners(int(number))] for number in target.ids])
    return target.corners - project(h, true.reshape(-1, 2)).reshape(-1, 4, 2)


@pytest.mark.parametrize(("angle_deg", "tilt_deg"), [(3, 0), (40, 8), (100, 20), (200, 28), (275, 5)])
def test_corners_of_a_painted_target(angle_deg: int, tilt_deg: int) -> None:
    size = (1600, 1400)
    h = homography(size, 4.6, angle_deg, tilt_deg, (0, 0))
    target = find_target(painted_target(size, h))
    assert target is not None
    places = project(h, np.array([(x, -y) for k in marker_ids() for x, y in marker_corners(k)])).reshape(-1, 4, 2)
    in_sight = int(((places > 14) & (places < np.array(size) - 14)).all(axis=(1, 2)).sum())
    error = corner_errors(target, h)
    assert len(target.ids) >= in_sight - 1
    assert np.sqrt(np.mean(error**2)) < 0.04 and np.abs(error).max() < 0.25
    assert np.abs(error.mean(axis=(0, 1))).max() < 0.01  # no half-pixel anywhere
    assert target.u_px.shape == (len(target.ids), 4) and 0.3 < np.sqrt(np.mean(error**2)) / np.median(target.u_px) < 3


def test_markers_do_not_grow_in_stored_grey_values() -> None:
    """Edges are found in linear light: a marker's diagonal comes out right to 0.02 px."""
    size = (1600, 1400)
    h = homography(size, 4.6, 20, 0, (0, 0))
    target = find_target(painted_target(size, h))
    assert target is not None
    error = corner_errors(target, h)
    diagonal = (target.corners[:, 0] - target.corners[:, 2]) / np.hypot(*(target.corners[:, 0] - target.corners[:, 2]).T)[:, None]
    assert abs(float(np.mean(((error[:, 0] - error[:, 2]) * diagonal).sum(axis=1)))) < 0.02


def test_a_part_over_some_markers() -> None:
    size = (1600, 1400)
    h = homography(size, 4.6, 20, 5, (0, 0))
    target = find_target(painted_target(size, h, np.array([-20, 60, 40, 140])))
    assert target is not None
    assert len(target.ids) >= 20 and np.abs(corner_errors(target, h)).max() < 0.25


def test_quad_surrounds_the_markers() -> None:
    size = (1600, 1400)
    target = find_target(painted_target(size, homography(size, 4.6, 33, 5, (0, 0))))
    assert target is not None
    for corner in target.corners.reshape(-1, 2):
        assert cv2.pointPolygonTest(target.quad.astype(np.float32), (float(corner[0]), float(corner[1])), True) > -1.0


def test_target_as_printed_from_its_pdf() -> None:
    """The page rastered at 24 px/mm, seen at 8: ids are the drawn ones, corners those of the layout, in mm.

    The raster rounds each box out to whole pixels, up to 1/24 mm a side: corners to 0.05 mm, marker middles to 0.025."""
    page = pypdfium2.PdfDocument(target_pdf())[0]
    fine = page.render(scale=24 * 25.4 / 72, grayscale=True).to_numpy().squeeze()
    light = cv2.resize(fine.astype(np.float32) / 255, None, fx=1 / 3, fy=1 / 3, interpolation=cv2.INTER_AREA)
    target = find_target(encoded(light).astype(np.float32))
    assert target is not None
    assert list(target.ids) == list(marker_ids())
    drawn = np.array([marker_corners(int(k)) for k in target.ids]) * [1, -1]
    offset = target.corners / 8.0 - drawn
    offset -= offset.mean(axis=(0, 1))
    assert np.abs(offset).max() < 0.05
    assert np.abs(offset.mean(axis=1)).max() < 0.025


def test_no_target_elsewhere(shared: Path) -> None:
    for name in ("photos/dev_cover_b_sheet", "real/chequer_640", "real/mm_paper"):
        assert find_target(cv2.imread(str(shared / f"{name}.jpg"), cv2.IMREAD_GRAYSCALE).astype(np.float32)) is None
    assert find_target(np.full((400, 600), 128, np.float32)) is None
