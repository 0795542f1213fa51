"""Closed chains of points round a part: even spacing, smoothing, normals, and where the foot of the wall is seen.

A chain is (n, 2) in mm of the face's plane, in order, not repeated at the end, with the material on its left.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np

from afterpart.errors import PhotoError
from afterpart.geometry.robust import median
from afterpart.model.camera import Camera
from afterpart.photo.profile import RimShape
from afterpart.photo.projection import to_plane

SPACING_PX = 3.0
MOST_PROBES = 20000


def resample_closed(points: np.ndarray, spacing: float) -> np.ndarray:
    """A closed polyline (n, 2) at even spacing.  Raises PhotoError when that would take more probes than any rim has."""
    closed = np.vstack([points, points[:1]])
    length = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(12, int(round(length[-1] / spacing)))
    if count > MOST_PROBES:
        raise PhotoError(f"A rim came out {count} probes long, expected at most {MOST_PROBES}: the camera's place cannot be "
                         "right. Check what was told about the reference and its height.")
    at = np.linspace(0, length[-1], count, endpoint=False)
    return np.stack([np.interp(at, length, closed[:, k]) for k in (0, 1)], 1)


def smooth_closed(values: np.ndarray, sigma: float) -> np.ndarray:
    """Gaussian smoothing along axis 0 of a closed chain; sigma in samples."""
    if sigma <= 0:
        return values
    half = min(int(np.ceil(3 * sigma)), (len(values) - 1) // 2)
    k = np.arange(-half, half + 1)
    kernel = np.exp(-k * k / (2 * sigma * sigma))
    kernel /= kernel.sum()
    ring = np.concatenate([values[-half:], values, values[:half]]) if half else values
    flat = ring.reshape(len(ring), -1)
    out = cv2.filter2D(flat.astype(np.float64, copy=False), cv2.CV_64F, kernel[:, None], borderType=cv2.BORDER_REFLECT)
    return out[half:half + len(values)].reshape(values.shape) if half else values


def signed_area(points: np.ndarray) -> float:
    """Area within a closed polyline (n, 2), mm2; negative where it runs clockwise."""
    x, y = points.T
    return 0.5 * float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())


def start_chain(camera: Camera, contour_px: np.ndarray, height: float, opening: bool, px: float, smooth_mm: float) -> np.ndarray:
    """Rough contour in px -> smooth even chain in mm with the material on its left."""
    chain = to_plane(camera, contour_px, height)
    if (signed_area(chain) < 0) != opening:
        chain = chain[::-1]
    chain = resample_closed(chain, 0.5 * SPACING_PX * px)
    chain = smooth_closed(chain, smooth_mm / (0.5 * SPACING_PX * px))
    return resample_closed(chain, SPACING_PX * px)


def outward_normals(chain: np.ndarray, smooth: float) -> np.ndarray:
    """Unit normals from material (left) to void (right) of a closed chain."""
    ring = np.concatenate([chain[-1:], chain, chain[:1]])
    tangent = smooth_closed(ring[2:] - ring[:-2], smooth)
    tangent /= np.hypot(*tangent.T)[:, None] + 1e-12
    return np.stack([tangent[:, 1], -tangent[:, 0]], 1)


def view_slopes(camera: Camera, chain: np.ndarray, normals: np.ndarray, height: float) -> np.ndarray:
    """Slope of the sight line across each probe, (n,): horizontal run per mm of height, positive where the wall is seen.

    chain, normals: (n, 2), points in mm and unit normals towards the void; height: of the face, mm."""
    toward = np.array(camera.position[:2]) - chain
    return (toward * normals).sum(1) / (camera.position[2] - height)


def foot_places(camera: Camera, chain: np.ndarray, normals: np.ndarray, shape: RimShape, exact: bool) -> np.ndarray:
    """Where each probe meets the seen foot of the wall, (n,) mm along the probe in the face's plane.

    The foot is the chain itself at the table, drawn towards the camera by parallax.  On curved walls it does not move along the
    probe: at the sides of a hole the sight line slides along the wall, so the crossing is found, not assumed.
    exact: the chain is a known curve; a measured one is smoothed first: its wobble, shifted along the rim by the parallax, would
    come back from each pass multiplied by shift / wavelength, which smoothing by as much as the shift keeps below one."""
    top = np.array(camera.position)
    if not exact:
        spacing = median(np.hypot(*np.diff(chain, axis=0).T))
        shift = (top[:2] - chain) * (shape.height / top[2])
        slide = np.abs(shift[:, 0] * normals[:, 1] - shift[:, 1] * normals[:, 0])
        chain = smooth_closed(chain, float(np.clip(np.quantile(slide, 0.95) / spacing, 2.0, 12.0)))
    base = chain + max(shape.height - shape.rounding, 0.0) * shape.draft * normals
    foot = base + (top[:2] - base) * (shape.height / top[2])
    straight = ((foot - chain) * normals).sum(1)
    tangent = np.stack([-normals[:, 1], normals[:, 0]], 1)
    spacing = median(np.hypot(*np.diff(chain, axis=0).T))
    reach = int(min(np.ceil(np.abs(((foot - chain) * tangent).sum(1)).max() / spacing) + 3, len(chain) // 2 - 1))
    index = (np.arange(len(chain))[:, None] + np.arange(-reach, reach + 1)) % len(chain)
    right, up = foot[:, 0][index] - chain[:, :1], foot[:, 1][index] - chain[:, 1:]
    along = right * tangent[:, :1] + up * tangent[:, 1:]
    across = right * normals[:, :1] + up * normals[:, 1:]
    crossing = along[:, :-1] * along[:, 1:] <= 0
    run = along[:, :-1] - along[:, 1:]
    share = along[:, :-1] / np.where(run == 0, 1, run)
    value = across[:, :-1] + share * (across[:, 1:] - across[:, :-1])
    # where the foot crosses a probe several times (sharp corners), the one nearest to the straight answer counts
    off = np.where(crossing, np.abs(value - straight[:, None]), np.inf)
    best = off.argmin(1)
    rows = np.arange(len(chain))
    return np.where(np.isfinite(off[rows, best]), value[rows, best], straight)
