"""Lens correction on real chequerboard photographs: straight rows, equal squares.

Source of the pictures: Debian package opencv-doc 4.6.0+dfsg-12, examples/data/left01.jpg .. left14.jpg (13 pictures of one
board of 9 x 6 inner corners through one camera, 640 x 480), and of the figures: left_intrinsics.yml beside them (focal length
535.92 px, radial terms -0.2664, -0.0386, 0.2384, principal point 342.28, 235.57).  Corners are found by OpenCV, not by our code;
the independent lens is OpenCV's own bundle adjustment over all pictures.  Without the package, its first picture is taken from
shared/real.
Limit: our camera keeps the principal point in the picture's middle, here 23 px away from it, which costs about 0.1 px.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest

from afterpart.model.camera import Camera
from afterpart.photo.adjust import FocalPrior, Observations, adjust_camera, pose_from_plane
from afterpart.photo.projection import half_diagonal_px, to_plane, undistort_px

PACKAGE = Path("/usr/share/doc/opencv-doc/examples/data")
SHARED = Path(__file__).parents[3] / "shared" / "real" / "chequer_640.jpg"
COLUMNS, ROWS, SQUARE = 9, 6, 25.0
PUBLISHED_FOCAL_PX = 535.92
PUBLISHED_RADIAL = (-0.2664, -0.0386, 0.2384)

GRID = (np.mgrid[0:COLUMNS, 0:ROWS].T.reshape(-1, 2) * [1.0, -1.0]) * SQUARE + [-100.0, 62.5]


def _pictures() -> list[Path]:
    found = sorted(PACKAGE.glob("left[01][0-9].jpg"))
    return found or ([SHARED] if SHARED.exists() else [])


PICTURES = _pictures()
need_one = pytest.mark.skipif(not PICTURES, reason="neither the opencv-doc package nor shared/real/chequer_640.jpg is here")
need_all = pytest.mark.skipif(len(PICTURES) < 13, reason="the opencv-doc package (13 chequer photographs) is not installed")


def _corners(path: Path) -> np.ndarray:
    """(54, 2) inner corners in our pixel frame (centres at .5), row by row."""
    grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    ok, corners = cv2.findChessboardCorners(grey, (COLUMNS, ROWS))
    assert ok, f"{path.name}: no board found"
    corners = cv2.cornerSubPix(grey, corners.astype(np.float32), (5, 5), (-1, -1), (3, 60, 1e-4))
    return corners.reshape(-1, 2).astype(float) + 0.5


def _camera(px: np.ndarray) -> Camera:
    start = pose_from_plane((480, 640), 560.0, px, GRID)
    board = Observations("board", 0.0, px, (), (), lambda xy, _: (xy - GRID).ravel(), 0.05)
    return adjust_camera(start, [board], FocalPrior(560.0, 0.1)).camera


def _bend(px: np.ndarray) -> np.ndarray:
    """Distance of every corner from the straight line through its row and its column, px."""
    board = px.reshape(ROWS, COLUMNS, 2)
    out = []
    for line in [*board, *board.transpose(1, 0, 2)]:
        centred = line - line.mean(0)
        out.append(centred @ np.linalg.svd(centred)[2][1])
    return np.concatenate(out)


def _rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


@need_one
@pytest.mark.parametrize("path", PICTURES, ids=lambda p: p.stem)
def test_rows_become_straight(path):
    px = _corners(path)
    before, after = _bend(px), _bend(undistort_px(_camera(px), px))
    assert _rms(before) > 0.35, "the picture must be bent to prove anything"
    assert _rms(after) < 0.30
    assert _rms(after) < 0.5 * _rms(before)


@need_one
@pytest.mark.parametrize("path", PICTURES, ids=lambda p: p.stem)
def test_squares_become_equal(path):
    """Sides of the 93 squares' edges on the board: within 2 % of one another, 0.6 % rms (0.15 mm of 25)."""
    px = _corners(path)
    board = to_plane(_camera(px), px, 0.0).reshape(ROWS, COLUMNS, 2)
    sides = np.r_[np.linalg.norm(np.diff(board, axis=0), axis=2).ravel(), np.linalg.norm(np.diff(board, axis=1), axis=2).ravel()]
    assert abs(sides.mean() - SQUARE) < 0.05
    assert sides.std() < 0.16
    assert np.abs(sides - sides.mean()).max() < 0.5


@need_all
def test_lens_agrees_with_the_calibration_published_beside_the_pictures():
    """Shift of a point 100, 150 and 200 px from the middle, ours in the median picture against the published terms, in px."""
    cameras = [_camera(_corners(path)) for path in PICTURES]
    for radius in (100.0, 150.0, 200.0):
        r2 = (radius / PUBLISHED_FOCAL_PX) ** 2
        a, b, c = PUBLISHED_RADIAL
        published = radius * (a * r2 + b * r2 ** 2 + c * r2 ** 3)
        q = (radius / half_diagonal_px(cameras[0])) ** 2
        ours = float(np.median([radius * (k.k1 * q + k.k2 * q * q) for k in cameras]))
        assert ours == pytest.approx(published, abs=0.35), f"at {radius} px"
    assert np.median([k.focal_px for k in cameras]) == pytest.approx(PUBLISHED_FOCAL_PX, rel=0.02)


@need_all
def test_straightness_is_near_that_of_a_full_bundle_adjustment():
    """OpenCV's adjustment of all 13 pictures with a free principal point and five terms, against ours from each picture alone."""
    found = [_corners(path) for path in PICTURES]
    board = np.c_[GRID, np.zeros(len(GRID))].astype(np.float32)
    seen = [(c - 0.5).astype(np.float32) for c in found]
    _, k, distortion, _, _ = cv2.calibrateCamera([board] * len(found), seen, (640, 480), None, None)
    theirs = [_rms(_bend(cv2.undistortPoints(c - 0.5, k, distortion, P=k).reshape(-1, 2))) for c in found]
    ours = [_rms(_bend(undistort_px(_camera(c), c))) for c in found]
    assert np.median(ours) < np.median(theirs) + 0.08


@need_all
def test_the_lens_of_one_picture_straightens_the_others():
    """Lens terms found on one well filled picture, used on all the others: no row bends by more than a pixel."""
    found = [_corners(path) for path in PICTURES]
    widest = max(found, key=lambda c: float(np.prod(np.ptp(c, axis=0))))
    lens = _camera(widest)
    after = np.concatenate([_bend(undistort_px(lens, c)) for c in found])
    before = np.concatenate([_bend(c) for c in found])
    assert _rms(after) < 0.4 * _rms(before)
    assert np.abs(after).max() < 1.0
