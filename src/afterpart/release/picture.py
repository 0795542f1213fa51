"""A shaded picture of a solid, drawn from its mesh by a small z-buffer.

Parallel projection, seen from the front, from above and a little from the right; light from the upper left; edges drawn where
neighbouring pixels differ in face direction or depth.  No perspective, so sizes along one direction compare.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.release.png import png_bytes
from afterpart.solid.body import Mesh

_OVERSAMPLING = 2
_PAPER = np.array([255.0, 255.0, 255.0])
_MATERIAL = np.array([176.0, 198.0, 206.0])
_INK = np.array([38.0, 50.0, 56.0])
_LIGHT = np.array([-0.45, 0.35, 0.82])
_PIXELS_AT_ONCE = 4_000_000


def solid_picture(meshes: tuple[Mesh, ...], width_px: int = 1400, elevation_deg: float = 58.0, turn_deg: float = -12.0) -> bytes:
    """PNG of the meshes in their places.  elevation_deg: 90 looks straight down; turn_deg: about the upright axis."""
    vertices = np.vstack([m.vertices for m in meshes])
    shifts = np.cumsum([0] + [len(m.vertices) for m in meshes[:-1]])
    triangles = np.vstack([m.triangles + s for m, s in zip(meshes, shifts, strict=True)])
    seen = vertices @ _view(elevation_deg, turn_deg).T
    low, high = seen[:, :2].min(axis=0), seen[:, :2].max(axis=0)
    border = 0.04 * (high - low).max()
    px_per_mm = width_px * _OVERSAMPLING / (high[0] - low[0] + 2 * border)
    columns = width_px * _OVERSAMPLING
    rows = int(math.ceil((high[1] - low[1] + 2 * border) * px_per_mm / _OVERSAMPLING)) * _OVERSAMPLING
    screen = np.column_stack(
        [(seen[:, 0] - low[0] + border) * px_per_mm, (high[1] - seen[:, 1] + border) * px_per_mm, seen[:, 2] * px_per_mm]
    )
    depth, face = _z_buffer(screen, triangles, rows, columns)
    sides = vertices[triangles]
    normals = np.cross(sides[:, 1] - sides[:, 0], sides[:, 2] - sides[:, 0])
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-12)
    picture = _shaded(depth, face, normals)
    small = picture.reshape(rows // _OVERSAMPLING, _OVERSAMPLING, width_px, _OVERSAMPLING, 3).mean(axis=(1, 3))
    return png_bytes(np.round(small).astype(np.uint8))


def _view(elevation_deg: float, turn_deg: float) -> np.ndarray:
    """Rotation to the viewer's axes: x right, y up on the picture, z towards the eye."""
    e, t = math.radians(elevation_deg), math.radians(turn_deg)
    turn = np.array([[math.cos(t), -math.sin(t), 0], [math.sin(t), math.cos(t), 0], [0, 0, 1]])
    tilt = np.array([[1, 0, 0], [0, math.sin(e), math.cos(e)], [0, -math.cos(e), math.sin(e)]])
    return tilt @ turn


def _z_buffer(screen: np.ndarray, triangles: np.ndarray, rows: int, columns: int) -> tuple[np.ndarray, np.ndarray]:
    """Depth (rows, columns), -inf where empty, and the index of the triangle seen, -1 where empty."""
    depth = np.full(rows * columns, -np.inf)
    face = np.full(rows * columns, -1, dtype=np.int64)
    corners = screen[triangles]
    first = np.ceil(corners[:, :, 1].min(axis=1) - 0.5).astype(np.int64)
    last = np.floor(corners[:, :, 1].max(axis=1) - 0.5).astype(np.int64)
    # A sliver may cover no row's middle; the others are worked off in groups of a bounded number of (triangle, row) pairs.
    order = np.flatnonzero(last >= first)
    lengths = (last - first + 1)[order]
    group = np.cumsum(lengths * np.maximum(np.ptp(corners[order][:, :, 0], axis=1), 4)) // _PIXELS_AT_ONCE
    planes = _depth_planes(corners)
    for g in np.unique(group):
        chosen = order[group == g]
        _fill(corners, chosen, first, last, columns, planes, depth, face)
    return depth.reshape(rows, columns), face.reshape(rows, columns)


def _fill(
    corners: np.ndarray,
    chosen: np.ndarray,
    first: np.ndarray,
    last: np.ndarray,
    columns: int,
    planes: tuple[np.ndarray, np.ndarray, np.ndarray],
    depth: np.ndarray,
    face: np.ndarray,
) -> None:
    counts = last[chosen] - first[chosen] + 1
    which = np.repeat(chosen, counts)
    row = np.repeat(first[chosen] - np.concatenate([[0], np.cumsum(counts)[:-1]]), counts) + np.arange(counts.sum())
    y = row + 0.5
    left, right = np.full(len(which), np.inf), np.full(len(which), -np.inf)
    for a, b in ((0, 1), (1, 2), (2, 0)):
        p, q = corners[which, a], corners[which, b]
        crosses = (np.minimum(p[:, 1], q[:, 1]) <= y) & (y <= np.maximum(p[:, 1], q[:, 1])) & (p[:, 1] != q[:, 1])
        share = np.where(crosses, (y - p[:, 1]) / np.where(crosses, q[:, 1] - p[:, 1], 1.0), 0.0)
        x = p[:, 0] + share * (q[:, 0] - p[:, 0])
        left, right = np.where(crosses, np.minimum(left, x), left), np.where(crosses, np.maximum(right, x), right)
    start = np.ceil(left - 0.5)
    stop = np.floor(right - 0.5)
    full = np.isfinite(left) & (stop >= start)
    if not full.any():
        return
    which, row, start, stop = which[full], row[full], start[full].astype(np.int64), stop[full].astype(np.int64)
    widths = stop - start + 1
    owner = np.repeat(np.arange(len(which)), widths)
    column = start[owner] + np.arange(widths.sum()) - np.repeat(np.concatenate([[0], np.cumsum(widths)[:-1]]), widths)
    triangle = which[owner]
    slope_x, slope_y, at_zero = planes
    z = at_zero[triangle] + slope_x[triangle] * (column + 0.5) + slope_y[triangle] * (row[owner] + 0.5)
    pixel = row[owner] * columns + column
    np.maximum.at(depth, pixel, z)
    seen = depth[pixel] == z
    face[pixel[seen]] = triangle[seen]


def _depth_planes(corners: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Depth of each triangle as z = at_zero + slope_x * column + slope_y * row; triangles seen edge-on lie at their highest."""
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    normal = np.cross(u, v)
    flat = np.abs(normal[:, 2]) > 1e-9
    nz = np.where(flat, normal[:, 2], 1.0)
    slope_x, slope_y = np.where(flat, -normal[:, 0] / nz, 0.0), np.where(flat, -normal[:, 1] / nz, 0.0)
    at_zero = np.where(
        flat, corners[:, 0, 2] - slope_x * corners[:, 0, 0] - slope_y * corners[:, 0, 1], corners[:, :, 2].max(axis=1)
    )
    return slope_x, slope_y, at_zero


def _shaded(depth: np.ndarray, face: np.ndarray, normals: np.ndarray) -> np.ndarray:
    filled = face >= 0
    seen = np.where(filled[..., None], normals[np.maximum(face, 0)], 0.0)
    light = 0.42 + 0.58 * np.clip(seen @ (_LIGHT / np.linalg.norm(_LIGHT)), 0.0, 1.0)
    picture = np.where(filled[..., None], _MATERIAL * light[..., None], _PAPER)
    safe = np.where(filled, depth, depth[filled].min() - 100 if filled.any() else 0.0)
    ink = np.zeros(face.shape, dtype=bool)
    for axis in (0, 1):
        here, there = (slice(None, -1), slice(1, None))
        a = tuple(here if i == axis else slice(None) for i in (0, 1))
        b = tuple(there if i == axis else slice(None) for i in (0, 1))
        bend = (seen[a] * seen[b]).sum(axis=-1) < 0.85
        jump = np.abs(safe[a] - safe[b]) > 6.0
        ink[a] |= (bend | jump) & (filled[a] | filled[b])
    picture[ink] = _INK
    return picture
