"""What a sheet's sides tell the adjustment.

World frame of a sheet: origin in its middle, x along the side that runs most nearly to the picture's right, z towards the camera.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

from afterpart.photo.adjust import Adjustment, FocalPrior, Observations, adjust_camera, pose_from_plane
from afterpart.photo.projection import project_plane
from afterpart.photo.sheet import SheetSides

SHEET_U = 0.5
"""Standard uncertainty of a sheet's side in mm.  ISO 216 allows 1.5 mm (to 150 mm) and 2 mm (to 600 mm) either way; cut office paper
stays well inside that (experience, no source)."""


def sheet_observations(sides: SheetSides, size: tuple[float, float], order: int, px_per_mm: float) -> Observations:
    """Side points on the four lines of a sheet of this size (w, h).  order: which of the four sides is the one at the bottom (y = -h/2);
    the sides run bottom, right, top, left in the world frame or the other way round, as the corners' orientation says."""
    label = _labels(order)
    # neighbouring points are correlated, and a hundred a side already outweigh every prior
    thin = [side[:: max(1, len(side) // 120)] for side in sides.sides]
    px = np.concatenate(thin)
    which = np.concatenate([np.full(len(side), label[i]) for i, side in enumerate(thin)])
    u = max(sides.u_px, 0.05) / px_per_mm

    def residual(xy: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        w, h = size[0] + unknown[0], size[1] + unknown[1]
        along = np.where(which % 2 == 0, xy[:, 1], xy[:, 0])
        target = np.choose(which, [-h / 2, w / 2, h / 2, -w / 2])
        # measured on the sheet itself: in plain mm a smaller sheet would seem to fit better
        return (along - target) * 2 / (w / size[0] + h / size[1])

    return Observations("sheet", 0.0, px, (0.0, 0.0), (SHEET_U, SHEET_U), residual, u)


def _labels(order: int) -> np.ndarray:
    """World side (0 bottom, 1 right, 2 top, 3 left) of image side i.  Sides come sorted by image angle (y down, so clockwise as seen),
    which is bottom, left, top, right."""
    return np.array([(0, 3, 2, 1)[(i - order) % 4] for i in range(4)])


def corners_of(size: tuple[float, float], order: int) -> np.ndarray:
    """World places (4, 2) of the image corners i (between image side i - 1 and i)."""
    label = _labels(order)
    w, h = size
    value = {0: -h / 2, 1: w / 2, 2: h / 2, 3: -w / 2}
    out = []
    for i in range(4):
        pair = {int(label[i - 1]), int(label[i])}
        out.append([value[(pair & {1, 3}).pop()], value[(pair & {0, 2}).pop()]])
    return np.array(out)


def fit_sheet(shape: tuple[int, int], sides: SheetSides, size: tuple[float, float], focals: list[FocalPrior],
              extra: tuple[Observations, ...] = ()) -> tuple[Adjustment, Observations, FocalPrior]:
    """Best of both ways the sheet can lie and of all readings of the focal length."""
    best: tuple[float, Adjustment, Observations, FocalPrior] | None = None
    angle = [np.arctan2(*(s.mean(0) - sides.corners.mean(0))[::-1]) for s in sides.sides]
    down = int(np.argmin(np.abs(np.angle(np.exp(1j * (np.array(angle) - np.pi / 2))))))
    rough = float(np.hypot(*(sides.corners[1] - sides.corners[0]))) + float(np.hypot(*(sides.corners[2] - sides.corners[1])))
    px_per_mm = rough / (size[0] + size[1])
    starts = [(pose_from_plane(shape, focals[0].focal_px, sides.corners, corners_of(dims, down)), dims) for dims in (size, size[::-1])]
    misfit = [np.abs(project_plane(start, corners_of(dims, down), 0.0) - sides.corners).max() for start, dims in starts]
    start, dims = starts[int(np.argmin(misfit))]
    obs = sheet_observations(sides, dims, down, px_per_mm)
    for focal in focals:
        trial = adjust_camera(start, (obs, *extra), focal)
        start = trial.camera
        score = trial.cost - 2 * focal.log_odds
        if best is None or score < best[0]:
            best = (score, trial, obs, focal)
    assert best is not None
    return best[1], best[2], best[3]

