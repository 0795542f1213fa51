"""The edge of a round part whose face is no even surface: a coin, a cast lid with lettering.

Such a face gives no level to start from, and its relief has rings steeper than its rim, while the rim's shadow side may show no
step at all.  So every steep step across the rim is a candidate, and circles are put to the vote: of all circles that enough
directions support, the largest is the rim.  On the camera's side of the rim the step is the foot of the wall.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.edgeprofile import sample
from afterpart.photo.profile import RimShape
from afterpart.photo.projection import project_plane
from afterpart.photo.rimchain import foot_places, outward_normals
from afterpart.photo.roundrim import circle_chain, robust_circle

DIRECTIONS = 180
LEAST_SUPPORT = 0.36
"""Share of directions that must show a step on the circle: a third of the rim, lit from one side."""

OUTER_SHARE = 0.8
STEEP_SHARE = 0.3
NEAR_PX = 0.8
MOST_STEPS = 12


def outermost_disc(light: np.ndarray, camera: Camera, rough: np.ndarray, shape: RimShape, px: float,
                   reach: float) -> tuple[np.ndarray, float, float] | None:
    """Centre (2,), radius and support of the largest circle of steps near a rough closed chain (n, 2) in mm of the face's plane;
    None where no circle has enough support.  reach: how far from the rough circle steps are looked for, mm."""
    centre, radius, _ = robust_circle(rough)
    chain = circle_chain(centre, radius, DIRECTIONS, False)
    normals = outward_normals(chain, 0.0)
    feet = np.maximum(foot_places(camera, chain, normals, shape, True), 0.0)
    step = 0.25 * px
    t = np.arange(-reach, reach + step, step)
    across = chain[:, None] + (t[None, :] + feet[:, None])[..., None] * normals[:, None]
    values = sample(light, project_plane(camera, across.reshape(-1, 2), shape.height).reshape(across.shape)).astype(float)
    offsets, steep = _steps(values, t, px)
    points = chain[:, None] + offsets[..., None] * normals[:, None]
    valid = steep > STEEP_SHARE * np.nanquantile(np.nanmax(steep, 1), 0.75)
    return _largest_circle(points, valid, centre, radius, reach, NEAR_PX * px)


def _steps(values: np.ndarray, t: np.ndarray, px: float) -> tuple[np.ndarray, np.ndarray]:
    """Offsets (n, MOST_STEPS) of the steepest places along each probe and their steepness; nan and 0 where there are fewer."""
    step = t[1] - t[0]
    k = np.arange(-12, 13) * step
    kernel = -k * np.exp(-k * k / (2 * px * px))
    kernel /= np.abs(kernel * k).sum() / step
    slope = np.abs(np.stack([np.convolve(row, kernel[::-1], "same") for row in values]))
    slope[:, :14] = slope[:, -14:] = 0
    peak = (slope[:, 1:-1] >= slope[:, :-2]) & (slope[:, 1:-1] > slope[:, 2:])
    height = np.where(peak, slope[:, 1:-1], 0.0)
    order = np.argsort(-height, axis=1)[:, :MOST_STEPS]
    rows = np.arange(len(values))[:, None]
    strength = height[rows, order]
    return np.where(strength > 0, t[1:-1][order], np.nan), strength


def _largest_circle(points: np.ndarray, valid: np.ndarray, centre: np.ndarray, radius: float, reach: float,
                    near: float) -> tuple[np.ndarray, float, float] | None:
    """points (n, m, 2) candidates of n directions.  Votes on a grid of centres and radii, then least squares on its voters."""
    usable = np.where(valid[..., None], points, np.nan)
    shifts = np.arange(-0.6 * reach, 0.6 * reach + near, 1.2 * near)
    radii = np.arange(radius - reach, radius + reach, 0.8 * near)
    found: list[tuple[float, np.ndarray, float]] = []
    for dx in shifts:
        for dy in shifts:
            c = centre + [dx, dy]
            away = np.hypot(usable[..., 0] - c[0], usable[..., 1] - c[1])
            place = (away - radii[0]) / (radii[1] - radii[0])
            votes = np.zeros((len(points), len(radii)), bool)
            for shift in (-1, 0, 1):
                index = np.round(place) + shift
                ok = np.isfinite(index) & (index >= 0) & (index < len(radii))
                rows = np.broadcast_to(np.arange(len(points))[:, None], index.shape)[ok]
                votes[rows, index[ok].astype(int)] = True
            support = votes.mean(0)
            best = np.flatnonzero(support > LEAST_SUPPORT)
            if len(best):
                found += [(float(radii[k]), c, float(support[k])) for k in best]
    if not found:
        return None
    # the relief's rings are complete, the rim is lit from one side: the largest circle with most of the best one's support
    enough = OUTER_SHARE * max(f[2] for f in found)
    r, c, _ = max((f for f in found if f[2] >= enough), key=lambda f: (f[0], f[2]))
    for _ in range(8):
        away = np.hypot(usable[..., 0] - c[0], usable[..., 1] - c[1]) - r
        pick = np.nanargmin(np.where(np.isfinite(away), np.abs(away), 1e9), axis=1)
        chosen = usable[np.arange(len(points)), pick]
        member = np.abs(away[np.arange(len(points)), pick]) < 1.5 * near
        if member.sum() < 0.3 * len(points):
            return None
        c, r, _ = robust_circle(chosen[member])
    return c, r, float(member.mean())
