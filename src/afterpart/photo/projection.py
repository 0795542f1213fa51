"""Where a point of the world falls in the picture, and back.

Conventions as in model/camera.py.  All functions take and return arrays of shape (n, 2) or (n, 3), float64.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

from afterpart.model.camera import Camera


def centre_px(camera: Camera) -> np.ndarray:
    """Middle of the picture (2,) in px: the lens's axis is taken to go through it."""
    return np.array([camera.width_px / 2, camera.height_px / 2])


def half_diagonal_px(camera: Camera) -> float:
    """Half the picture's diagonal in px, the unit of the lens terms."""
    return float(np.hypot(camera.width_px, camera.height_px)) / 2


def distort(camera: Camera, ideal: np.ndarray) -> np.ndarray:
    """Ideal pinhole pixels (n, 2) -> pixels as the lens draws them (n, 2)."""
    d = ideal - centre_px(camera)
    q = (d * d).sum(-1, keepdims=True) / half_diagonal_px(camera) ** 2
    return centre_px(camera) + d * (1 + camera.k1 * q + camera.k2 * q * q)


def undistort_px(camera: Camera, px: np.ndarray) -> np.ndarray:
    """Pixels of the picture (n, 2) -> ideal pinhole pixels (n, 2): Newton's method on the radius, to 1e-7 px."""
    if camera.k1 == 0 and camera.k2 == 0:
        return np.asarray(px, float)
    half = half_diagonal_px(camera)
    d = (np.asarray(px, float) - centre_px(camera)) / half
    target = np.sqrt((d * d).sum(-1, keepdims=True))
    r = target.copy()
    for _ in range(12):
        q = r * r
        step = (r * (1 + camera.k1 * q + camera.k2 * q * q) - target) / (1 + 3 * camera.k1 * q + 5 * camera.k2 * q * q)
        r = r - step
        if np.abs(step).max(initial=0.0) < 1e-10:
            break
    return centre_px(camera) + d * half * np.where(target > 0, r / np.where(target > 0, target, 1), 1)


def project(camera: Camera, world: np.ndarray) -> np.ndarray:
    """World points (n, 3) in mm -> pixels (n, 2)."""
    p = (np.asarray(world, float) - np.array(camera.position)) @ np.array(camera.rotation).T
    return distort(camera, centre_px(camera) + camera.focal_px * p[..., :2] / p[..., 2:])


def project_plane(camera: Camera, xy: np.ndarray, z: float) -> np.ndarray:
    """Points (n, 2) of the plane at height z -> pixels (n, 2)."""
    xy = np.asarray(xy, float)
    return project(camera, np.concatenate([xy, np.full(xy.shape[:-1] + (1,), float(z))], -1))


def to_plane(camera: Camera, px: np.ndarray, z: float | np.ndarray) -> np.ndarray:
    """Pixels (n, 2) -> points (n, 2) where their rays meet the plane at height z, or each its own plane (n, 1)."""
    return straight_to_plane(camera, undistort_px(camera, px), z)


def straight_to_plane(camera: Camera, ideal: np.ndarray, z: float | np.ndarray) -> np.ndarray:
    """Ideal pinhole pixels (n, 2) -> points (n, 2) as `to_plane`, for callers that undo the lens once for many poses."""
    d = (ideal - centre_px(camera)) / camera.focal_px
    rays = np.concatenate([d, np.ones(d.shape[:-1] + (1,))], -1) @ np.array(camera.rotation)
    c = np.array(camera.position)
    t = (z - c[2]) / rays[..., 2:]
    return c[:2] + t * rays[..., :2]
