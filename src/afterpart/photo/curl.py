"""A sheet that does not lie flat: how far its sides rise above the table, told from the picture together with the camera.

Words: a side's *lift* is its height above the plane in which the part lies, at KNOTS places along it, linear between them.
Paper is pushed up by what lies under it and never sinks below the table, so a lift is never negative; it bends softly, and two
sides share the lift of their corner.  Seen from the camera, a point lifted by z appears displaced on the table by z / (height
of the camera) of its way from the camera's foot, so a side's wave tells its lift, the more so the more the camera is tilted.
What it does not know: from straight above, a whole side that is lifted evenly looks like a larger sheet, and a bowl-shaped one
like a distorting lens.  There a flat sheet fitted robustly errs less than lifts that cannot be told, so lifts are solved for
only where the camera is tilted by LEAST_TILT_DEG.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.adjust import Adjustment, FocalPrior, Observations, adjust_camera
from afterpart.photo.projection import to_plane

KNOTS = 5
"""Places along a side at which its lift is solved for; judgement: office paper waves two or three times along a side."""

LIFT_U, BEND_U = 4.0, 4.0
"""Standard uncertainty in mm of a lift, and of the change of its slope from knot to knot, of a sheet known not to lie flat;
judgement."""

SINK_U, CORNER_U = 0.15, 0.3
"""How firmly a lift is held above the table, and two sides to the same corner, mm."""

STRAY, INDEPENDENT = 0.07, 10.0
"""What is left of a side's wave between the knots before the first fit tells, mm; how many points of a side err independently,
judgement."""

STRAY_QUANTILE, LEAST_STRAY, LEAST_STRAY_U = 0.8, 0.05, 2.5
"""A sheet does not lie flat when this quantile of its sides' distances from straight exceeds so many mm, and so many times
their scatter from point to point.  Flat sheets have 0.01 mm and 1.3 times (tests/truth)."""

STRAYING_SIDES = 3
"""So many sides must wave: a thing that lies across one side is no curl."""

LEAST_TILT_DEG = 20.0
"""On invented sheets lifted by some millimetres, lifts halve the errors of distances at 28 degrees and double them at 3."""

LEAST_LEFT = 0.02
ROUNDS = 3


@dataclass(frozen=True)
class CurlFit:
    """adjusted: camera and unknowns (width and height of the sheet beyond its size, then the lifts); observations: as adjusted;
    lifts (4, KNOTS): mm, of the sides bottom and top from left to right, right and left from below; in the order bottom, right,
    top, left; stray: what is left of the sides' waves, mm."""

    adjusted: Adjustment
    observations: Observations
    lifts: np.ndarray
    stray: float


def lifts_show(off: np.ndarray, which: np.ndarray, u: float, tilt_deg: float) -> bool:
    """Whether a sheet's sides, fitted as flat, wave more than edges of paper that lies flat, and are seen enough aslant to tell
    their lifts.  off: distances from straight of points (n,) of the sides which (n,); u: their scatter, mm."""
    limit = max(LEAST_STRAY, LEAST_STRAY_U * u)
    waving = sum(bool(np.quantile(np.abs(off[which == side]), STRAY_QUANTILE) > limit) for side in np.unique(which))
    return tilt_deg >= LEAST_TILT_DEG and waving >= STRAYING_SIDES


def fit_curl(camera: Camera, px: np.ndarray, which: np.ndarray, size: tuple[float, float], size_u: float,
             focal: FocalPrior) -> CurlFit:
    """Camera and lifts, from points px (n, 2) of the sides which (n,) (0 bottom, 1 right, 2 top, 3 left) of a sheet (w, h) mm;
    all four sides must be seen.  camera: of the sheet taken as flat."""
    stray, found = STRAY, None
    for _ in range(ROUNDS):
        observations = _observations(camera, px, which, size, size_u, stray)
        fitted = adjust_camera(camera, [observations], focal, from_afar=True)
        camera = fitted.camera
        off = observations.residual(to_plane(camera, px, 0.0), fitted.unknowns[0])[: len(px)]
        stray = max(1.4826 * float(np.median(np.abs(off))), LEAST_LEFT)
        found = CurlFit(fitted, observations, np.maximum(fitted.unknowns[0][2:].reshape(4, KNOTS), 0.0), stray)
    assert found is not None
    return found


def _observations(camera: Camera, px: np.ndarray, which: np.ndarray, size: tuple[float, float], size_u: float,
                  stray: float) -> Observations:
    """Sides with lifts.  The way a lifted point is displaced is taken from this camera: it changes little from round to round."""
    xy = to_plane(camera, px, 0.0)
    level = which % 2 == 0
    outward = np.array([-1.0, 1.0, 1.0, -1.0])[which]
    along = np.where(level, xy[:, 0] / (size[0] / 2), xy[:, 1] / (size[1] / 2))
    away = np.where(level, xy[:, 1] - camera.position[1], xy[:, 0] - camera.position[0]) / camera.position[2]
    lever = _hats(np.clip(along, -1, 1)) * (outward * away)[:, None]
    columns = which[:, None] * KNOTS + np.arange(KNOTS)

    def residual(at: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        w, h = size[0] + unknown[0], size[1] + unknown[1]
        flat = outward * np.where(level, at[:, 1], at[:, 0]) - np.where(level, h / 2, w / 2)
        # measured on the sheet itself: in plain mm a smaller sheet would seem to fit better
        flat /= np.mean([w / size[0], h / size[1]])
        lift = unknown[2:]
        sides = lift.reshape(4, KNOTS)
        bend = np.diff(sides, 2, axis=1)
        corners = np.array([sides[0, -1] - sides[1, 0], sides[1, -1] - sides[2, -1], sides[2, 0] - sides[3, -1],
                            sides[3, 0] - sides[0, 0]])
        return np.concatenate([flat - (lift[columns] * lever).sum(1), np.minimum(lift, 0.0),
                               bend.ravel(), corners])

    count = np.bincount(which, minlength=4)[which]
    u = np.concatenate([stray * np.sqrt(np.maximum(count / INDEPENDENT, 1.0)), np.full(4 * KNOTS, SINK_U),
                        np.full(4 * (KNOTS - 2), BEND_U), np.full(4, CORNER_U)])
    return Observations("sheet", 0.0, px, (0.0,) * (2 + 4 * KNOTS), (size_u, size_u, *[LIFT_U] * (4 * KNOTS)), residual, u)


def _hats(along: np.ndarray) -> np.ndarray:
    """Weights (n, KNOTS) of linear interpolation at places -1 to 1 along a side."""
    return np.maximum(0.0, 1 - np.abs(along[:, None] - np.linspace(-1, 1, KNOTS)) * (KNOTS - 1) / 2)
