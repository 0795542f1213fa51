"""What a sheet's sides tell the adjustment.

World frame of a sheet: origin in its middle, x along the side that runs most nearly to the picture's right, z towards the camera.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.adjust import (
    Adjustment,
    FocalPrior,
    Observations,
    adjust_camera,
    camera_above,
    ground_px_per_mm,
    pose_from_plane,
    tilt_deg,
)
from afterpart.photo.curl import fit_curl, lifts_show
from afterpart.photo.projection import project_plane, to_plane
from afterpart.photo.sheet import SheetSides

SHEET_U = 0.7
"""Standard uncertainty of a sheet's side in mm.  ISO 216 allows 1.5 mm (to 150 mm) and 2 mm (to 600 mm) either way; cut office
paper stays well inside that (experience, no source)."""

ALIKE = 12.0
"""So many neighbouring points of a side err alike (curl of the paper): between readings of the focal length they count as one;
judgement."""

STIFF_U = 1e-4
"""Standard uncertainty that holds focal length and lens while a first pose is found."""

ROUGH_U = 1.0
"""Standard uncertainty of a side's points in mm while a first pose is found (judgement)."""


def sheet_observations(sides: SheetSides, size: tuple[float, float], order: int, px_per_mm: float,
                       most: int = 120) -> Observations:
    """Side points on the four lines of a sheet of this size (w, h).  order: which of the four sides is the one at the bottom (y
    = -h/2); the sides run bottom, right, top, left in the world frame or the other way round, as the corners' orientation
    says; most: points a side, about."""
    # neighbouring points are correlated, and a hundred a side already outweigh every prior
    px, which = _thinned(sides, order, most)
    u: float | np.ndarray = max(sides.u_px, 0.05) / px_per_mm
    if sides.by_hand:
        u = np.where(np.isin(which, _labels(order)[list(sides.by_hand)]), sides.hand_u_px / px_per_mm, u)
    # the dimensions of which both ends are seen: the other one is free and must not serve as a yardstick
    spans = [k for k, ends in enumerate(((1, 3), (0, 2))) if set(ends) <= set(which.tolist())]
    level = which % 2 == 0

    def residual(xy: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        w, h = size[0] + unknown[0], size[1] + unknown[1]
        along = np.where(level, xy[:, 1], xy[:, 0])
        target = np.array([-h / 2, w / 2, h / 2, -w / 2])[which]
        # measured on the sheet itself: in plain mm a smaller sheet would seem to fit better
        return (along - target) / (sum((w / size[0], h / size[1])[k] for k in spans) / len(spans))

    return Observations("sheet", 0.0, px, (0.0, 0.0), (SHEET_U, SHEET_U), residual, u)


def _thinned(sides: SheetSides, order: int, most: int) -> tuple[np.ndarray, np.ndarray]:
    """Some `most` points a side (n, 2) px and the world side (n,) each lies on."""
    label = _labels(order)
    thin = [side[:: max(1, len(side) // most)] for side in sides.sides]
    return np.concatenate(thin), np.concatenate([np.full(len(side), label[i]) for i, side in enumerate(thin)])


def _labels(order: int) -> np.ndarray:
    """World side (0 bottom, 1 right, 2 top, 3 left) of image side i.  Sides come sorted by image angle (y down, so clockwise as
    seen), which is bottom, left, top, right."""
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


@dataclass(frozen=True)
class SheetFit:
    """The camera over a sheet.  size: (w, h) as it lies; stretch: how far its sides had to give
    (mm); cost: of the adjustment; assumed: True when the sides seen would also fit the sheet lying the other way; lifts: of a
    sheet that does not lie flat, as in curl.py, else empty."""

    camera: Camera
    observations: tuple[Observations, ...]
    focal: FocalPrior
    size: tuple[float, float]
    stretch: tuple[float, float]
    rms_mm: float
    cost: float
    assumed: bool
    lifts: np.ndarray = field(default_factory=lambda: np.empty((0, 0)))


def fit_sheet(shape: tuple[int, int], sides: SheetSides, size: tuple[float, float], focals: list[FocalPrior],
              tilt_u_deg: float = np.inf) -> SheetFit:
    """Best of both ways the sheet can lie and of all readings of the focal length.  size: (w, h) mm, either way round."""
    down, assumed = _lowest(sides), False
    if len(sides.seen) == 4:
        starts = [(pose_from_plane(shape, focals[0].focal_px, sides.corners, corners_of(dims, down)), dims)
                  for dims in (size, size[::-1])]
        misfit = [np.abs(project_plane(start, corners_of(dims, down), 0.0) - sides.corners).max() for start, dims in starts]
        start, dims = starts[int(np.argmin(misfit))]
    else:
        start, dims, assumed = _start_from_some(shape, sides, size, down, focals[0].focal_px)
    observations = [sheet_observations(sides, dims, down, ground_px_per_mm(start, sides.corners.mean(0), 0.0))]
    if len(sides.seen) == 2:
        middle = np.concatenate(sides.sides).mean(0)
        observations.append(_tie(middle, to_plane(start, middle[None], 0.0)[0]))
    if len(sides.seen) < 4:
        # a start without perspective is far off: first the pose alone, every residual at full weight, and none so sure that lens
        # and sheet could give way to it
        loose = [replace(o, u=np.maximum(o.u, ROUGH_U)) for o in observations]
        start = adjust_camera(start, loose, replace(focals[0], relative_u=STIFF_U), robust=False,
                              lens_u=(STIFF_U, STIFF_U), tilt_u_deg=tilt_u_deg).camera
    best: tuple[float, Adjustment, FocalPrior] | None = None
    for focal in focals:
        trial = adjust_camera(start, observations, focal, tilt_u_deg=tilt_u_deg, from_afar=True)
        start = trial.camera
        score = trial.cost / ALIKE - 2 * focal.log_odds
        if best is None or score < best[0]:
            best = (score, trial, focal)
    assert best is not None
    return SheetFit(best[1].camera, tuple(observations), best[2], dims, tuple(best[1].unknowns[0].tolist()),
                    # type: ignore[arg-type]
                    best[1].rms_mm[0], best[0], assumed)


def fit_lifted(fit: SheetFit, sides: SheetSides, focals: list[FocalPrior]) -> SheetFit:
    """The same sheet with lifted sides where a tilted camera shows them wave; else, or with a side unseen or put by hand, as it
    was."""
    if len(sides.seen) < 4 or sides.by_hand:
        return fit
    px, which = _thinned(sides, _lowest(sides), 60)
    flat = sheet_observations(sides, fit.size, _lowest(sides), 1.0, 60)
    off = flat.residual(to_plane(fit.camera, px, 0.0), np.array(fit.stretch))
    u = sides.u_px / ground_px_per_mm(fit.camera, sides.corners.mean(0), 0.0)
    if not lifts_show(off, which, u, tilt_deg(fit.camera)):
        return fit
    trials = [(fit_curl(fit.camera, px, which, fit.size, SHEET_U, focal), focal) for focal in focals]
    best, focal = min(trials, key=lambda t: t[0].adjusted.cost - 2 * t[1].log_odds)
    width, height = best.adjusted.unknowns[0][:2].tolist()
    return replace(fit, camera=best.adjusted.camera, observations=(best.observations,), focal=focal, stretch=(width, height),
                   rms_mm=best.stray, cost=best.adjusted.cost, lifts=best.lifts)


def _lowest(sides: SheetSides) -> int:
    """Which side lies at the picture's foot."""
    middles = (sides.corners + np.roll(sides.corners, -1, 0)) / 2 - sides.corners.mean(0)
    return int(np.argmin(np.abs(np.angle(np.exp(1j * (np.arctan2(middles[:, 1], middles[:, 0]) - np.pi / 2))))))


def _start_from_some(shape: tuple[int, int], sides: SheetSides, size: tuple[float, float], down: int,
                     focal_px: float) -> tuple[Camera, tuple[float, float], bool]:
    """First camera, the sheet's size as it lies, and whether that is an assumption, when one or two opposite sides are out of
    the picture."""
    first = 0 if {0, 2} <= set(sides.seen) else 1
    a, b = sides.sides[first], sides.sides[first + 2]
    run = np.linalg.svd(a - a.mean(0), full_matrices=False)[2][0]
    # along the pair, from the side before it to the side after it
    run *= np.sign((sides.corners[(first + 1) % 4] - sides.corners[first]) @ run)
    across = np.array([-run[1], run[0]])
    apart = abs(float((b.mean(0) - a.mean(0)) @ across))
    visible = float(np.ptp(np.concatenate([a, b]) @ run))
    lengths = {pair: along for pair, along in (size, size[::-1])}
    fits = [pair for pair in lengths if visible / apart < 1.04 * lengths[pair] / pair]
    # of two ways to lie, the one of which more is seen
    pair = max(fits) if fits else min(lengths)
    px_per_mm = apart / pair
    after, before = sides.sides[(first + 1) % 4], sides.sides[(first + 3) % 4]
    length = lengths[pair] * px_per_mm
    if len(after):
        stop = float(after.mean(0) @ run)
    elif len(before):
        stop = float(before.mean(0) @ run) + length
    else:
        stop = float(np.concatenate([a, b]).mean(0) @ run) + length / 2
    ends = {first: (stop - length, a), (first + 1) % 4: (stop, a), (first + 2) % 4: (stop, b),
            (first + 3) % 4: (stop - length, b)}
    corners = np.array([along * run + float(side.mean(0) @ across) * across for along, side in (ends[i] for i in range(4))])
    lies_along_y = (down - first) % 2 == 0
    # the pair lies at the bottom and the top when one of it is the side nearest to the picture's foot
    dims = (lengths[pair], pair) if lies_along_y else (pair, lengths[pair])
    return camera_above(shape, focal_px, corners, corners_of(dims, down)), dims, len(fits) > 1 and size[0] != size[1]


def _tie(px: np.ndarray, xy: np.ndarray) -> Observations:
    """Two parallel lines say nothing along themselves: one pixel is tied to a place, loosely."""
    def residual(at: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        return (at - xy).ravel()
    return Observations("gauge", 0.0, px.reshape(1, 2), (), (), residual, 1.0, ties=True)
