"""How the photographs of a part belong together: where the part lies in each, and between which of them nothing was moved.

Words: a *laying* is a set of photographs between which neither part nor sheet (or target) was moved: only the camera went round.
The sheet looks the same from its opposite sides, so the frame it gives is known but for quarter turns; the part settles which.
A *motion* (x, y, angle) says where the drawing's frame lies in a photograph's world.
What is compared are rough contours of the face, to a pixel or two, at a height that is only guessed: enough to start with.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from afterpart.model.camera import Camera
from afterpart.photo.projection import to_plane
from afterpart.photo.rimchain import resample_closed, signed_area
from afterpart.photo.together import into_drawing, turned, turned_camera

TRIED_ANGLES = 48
SAMPLES = 240
ALIKE_SHARE = 0.85
"""This share of the contours must lie close; the rest may be shade, or seen in one picture only."""

SAME_PART_SHARE = 0.02
"""Rough contours of one part agree within this share of its size."""

NOT_MOVED_SHARE = 0.006
"""Contours that agree within this share of the part's size as they lie need no search for a turn."""

LAYING_MM, LAYING_SHARE = 1.5, 0.012
"""Rough places of openings agree this well, in mm or as a share of the part's size, between views of one laying: shade and wall
draw a rough contour aside.  What was moved by less shows once the rims are traced (contradicting.py)."""

ANOTHER_TURN, NEARLY_AS_WELL = np.radians(5.0), 1.5
"""Turns so far apart are two, and one whose distances are so many times the best's may be the right one all the same."""

HIGHEST = 120.0
"""No face is higher above the table than this when its height is looked for, mm."""


@dataclass(frozen=True)
class Rough:
    """What is known of a part in a picture before its rims are traced.

    camera: in its own world; outer, openings: contours (n, 2) in px, of the face; frame: kind of reference whose frame the world
    is ("sheet", "target"), "" when the world is not the same from another direction; height: of the face, told or guessed, mm;
    told: whether it was told."""

    camera: Camera
    outer: np.ndarray
    openings: tuple[np.ndarray, ...]
    frame: str
    height: float
    told: bool


@dataclass(frozen=True)
class Placed:
    """turns: quarter turns from the picture's own world to its laying's; laying: number; motion: of the drawing in that world;
    misfit: how far rough contours stand apart, mm."""

    turns: int
    laying: int
    motion: tuple[float, float, float]
    misfit: float


def centroid(points: np.ndarray) -> np.ndarray:
    """Centroid (2,) of the area within a closed polyline (n, 2)."""
    x, y = (points - points[0]).T
    cross = x * np.roll(y, -1) - np.roll(x, -1) * y
    area = 3 * cross.sum()
    if abs(area) < 1e-12:
        return np.asarray(points.mean(0))
    return points[0] + np.array([((x + np.roll(x, -1)) * cross).sum(), ((y + np.roll(y, -1)) * cross).sum()]) / area


def rough_cloud(rough: Rough, height: float) -> np.ndarray:
    """Points (m, 2) along all contours laid on the plane of the face."""
    chains = []
    for contour in (rough.outer, *rough.openings):
        chain = to_plane(rough.camera, contour, height)
        length = float(np.hypot(*(np.roll(chain, -1, 0) - chain).T).sum())
        chains.append(resample_closed(chain, max(length / SAMPLES, 1e-3)))
    return np.concatenate(chains)


def register(moving: np.ndarray, fixed: np.ndarray, near: float | None = None) -> tuple[np.ndarray, np.ndarray, float]:
    """Rotation (2, 2) and shift (2,) that lay one cloud on another (no mirror), and the rms of the better part of the distances.

    near: a turn in rad to start from; None: all turns are tried."""
    return registrations(moving, fixed, near)[0]


def registrations(moving: np.ndarray, fixed: np.ndarray, near: float | None = None,
                  most: int = 1) -> list[tuple[np.ndarray, np.ndarray, float]]:
    """The same, up to `most` of them: the best, and turns that lay them nearly as well, where a part looks alike turned."""
    tree = cKDTree(fixed)
    thin = moving[:: max(1, len(moving) // 300)]
    starts = [near] if near is not None else np.linspace(0, 2 * np.pi, TRIED_ANGLES, endpoint=False).tolist()
    tried = []
    for angle in starts:
        c, s = np.cos(angle), np.sin(angle)
        rotation = np.array([[c, -s], [s, c]])
        shift = fixed.mean(0) - rotation @ thin.mean(0)
        error = np.inf
        for _ in range(12):
            rotation, shift, error = _closer(thin, fixed, tree, rotation, shift)
        tried.append((error, rotation, shift))
    kept: list[tuple[float, np.ndarray, np.ndarray]] = []
    for one in sorted(tried, key=lambda one: one[0]):
        is_other = all(np.trace(one[1].T @ other[1]) < 2.0 * np.cos(ANOTHER_TURN) for other in kept)
        if not kept or (len(kept) < most and is_other and one[0] <= NEARLY_AS_WELL * kept[0][0]):
            kept.append(one)
    return [_brought(moving, fixed, tree, rotation, shift) for _, rotation, shift in kept]


def _brought(moving: np.ndarray, fixed: np.ndarray, tree: cKDTree, rotation: np.ndarray,
             shift: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    error = np.inf
    for _ in range(20):
        rotation, shift, error = _closer(moving, fixed, tree, rotation, shift)
    return rotation, shift, error


def _closer(moving: np.ndarray, fixed: np.ndarray, tree: cKDTree, rotation: np.ndarray,
            shift: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """One step towards the nearest points, the farthest left out."""
    placed = moving @ rotation.T + shift
    distance, nearest = tree.query(placed)
    kept = distance <= np.quantile(distance, ALIKE_SHARE)
    a, b = moving[kept], fixed[nearest[kept]]
    u, _, vt = np.linalg.svd((a - a.mean(0)).T @ (b - b.mean(0)))
    turn = np.diag([1.0, np.sign(np.linalg.det(vt.T @ u.T))])
    new = vt.T @ turn @ u.T
    return new, b.mean(0) - new @ a.mean(0), float(np.sqrt(np.mean(distance[kept] ** 2)))


def place_all(roughs: Sequence[Rough]) -> list[Placed]:
    """Where the part lies in each picture of one face, the drawing's frame being the first picture's world.  Heights as
    guessed."""
    first = rough_cloud(roughs[0], roughs[0].height)
    size = float(np.ptp(first, axis=0).max())
    placed = [Placed(0, 0, (0.0, 0.0, 0.0), 0.0)]
    for number, rough in enumerate(roughs[1:], start=1):
        cloud = rough_cloud(rough, rough.height)
        same = rough.frame and rough.frame == roughs[0].frame
        rotation, shift, misfit = register(cloud, first, 0.0) if same else (np.eye(2), np.zeros(2), np.inf)
        if misfit > NOT_MOVED_SHARE * size:
            rotation, shift, misfit = register(cloud, first)
        # drawing = rotation world + shift, so the drawing lies in the world at the inverse of it
        at = -(shift @ rotation)
        own = Placed(0, number, (float(at[0]), float(at[1]), -float(np.arctan2(rotation[1, 0], rotation[0, 0]))), misfit)
        placed.append(_joined(roughs, placed, own, number, size))
    return placed


def _joined(roughs: Sequence[Rough], placed: Sequence[Placed], own: Placed, number: int, size: float) -> Placed:
    """The picture in the laying of an earlier one, where nothing was moved between them; else in a laying of its own."""
    rough = roughs[number]
    for k in range(number):
        other = roughs[k]
        if not rough.frame or other.frame != rough.frame:
            continue
        for turns in range(4) if rough.frame == "sheet" else (0,):
            apart = common_height(other, rough, turns, placed[k], own)
            if apart is not None and apart[1] < max(LAYING_MM, LAYING_SHARE * size):
                return Placed(turns + placed[k].turns, placed[k].laying, placed[k].motion, own.misfit)
    return own


def common_height(one: Rough, two: Rough, turns: int, at_one: Placed, at_two: Placed) -> tuple[float, float] | None:
    """Height of the face at which the places of its openings (and its middle) agree between two pictures if nothing was moved,
    and how far they then stand apart (median, mm); None where no height will do.

    turns: quarter turns from the second's world to the first's; at_one, at_two: where the part lies in each."""
    pairs = _pairs(one, two, at_one, at_two)
    if not pairs:
        return None
    camera = turned_camera(two.camera, turns)
    a = np.array([to_plane(one.camera, p[None], 0.0)[0] for p, _ in pairs])
    b = np.array([to_plane(camera, q[None], 0.0)[0] for _, q in pairs])
    # seen on the plane at height h a place moves from its place on the table towards the camera's foot by h over the camera's
    # height
    run_a, run_b = ((np.array(c.position[:2]) - p) / c.position[2] for c, p in ((one.camera, a), (camera, b)))
    rate, gap = (run_a - run_b).ravel(), (b - a).ravel()
    if float(rate @ rate) < 1e-12:
        return None
    # a height that was told, or is the same whatever the view, needs no base line: the prior is as wide as any part is high
    if one.told:
        height = one.height
    else:
        weight = float(len(pairs)) / 30.0**2
        height = float((rate @ gap + weight * one.height) / (rate @ rate + weight))
    left = (gap - height * rate).reshape(-1, 2)
    if not -2.0 < height < HIGHEST:
        return None
    return height, float(np.median(np.hypot(*left.T)))


def _pairs(one: Rough, two: Rough, at_one: Placed, at_two: Placed) -> list[tuple[np.ndarray, np.ndarray]]:
    """Middles in px of the openings seen in both pictures, and of the outer contours."""
    def middles(rough: Rough) -> list[np.ndarray]:
        return [_middle_px(rough, contour) for contour in rough.openings]

    def drawn(rough: Rough, px: Sequence[np.ndarray], at: Placed) -> np.ndarray:
        xy = to_plane(rough.camera, np.array(px).reshape(-1, 2), rough.height)
        return into_drawing(turned(xy, at.turns), at.motion)

    a, b = middles(one), middles(two)
    out = [(_middle_px(one, one.outer), _middle_px(two, two.outer))]
    if a and b:
        da, db = drawn(one, a, at_one), drawn(two, b, at_two)
        apart = np.hypot(*(da[:, None] - db[None]).transpose(2, 0, 1))
        for i in range(len(a)):
            j = int(apart[i].argmin())
            if int(apart[:, j].argmin()) == i and apart[i, j] < 0.06 * float(np.ptp(da, axis=0).max() + 20.0):
                out.append((a[i], b[j]))
    return out[1:] or out


def _middle_px(rough: Rough, contour: np.ndarray) -> np.ndarray:
    """Where the centroid of the region on the face is seen, (2,) px: the middle of the picture of it is not the same."""
    chain = to_plane(rough.camera, contour, rough.height)
    if abs(signed_area(chain)) < 1e-9:
        return np.asarray(contour.mean(0))
    # to first order the way back to the picture is affine near the middle
    near = np.c_[chain, np.ones(len(chain))]
    fit = np.linalg.lstsq(near, contour, rcond=None)[0]
    middle = centroid(chain)
    return np.array([middle[0], middle[1], 1.0]) @ fit
