"""Which triangle is seen at each pixel, by a small z-buffer worked off in arrays.

Words: a *span* is the stretch of one picture row that one triangle covers; a *fragment* is one pixel of a span.  Each fragment
bids for its pixel with a number made of its depth and its triangle, and the highest bid stays.
Conventions: screen coordinates in px, x right, y down, z towards the eye; pixel (row, column) has its middle at .5.
Limits: meshes are closed, so a face that looks away is never seen and not drawn; depths are told apart to about 1/1000 px.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

_FRAGMENTS_AT_ONCE = 200_000
"""As many as a processor's own memory holds; what is seen does not depend on it."""
_FLATTEST = 1e-9
"""Twice the least area on the screen, px2, of a triangle that is drawn."""
_BID = np.dtype([("face", "<i4"), ("near", "<f4")])
"""A bid as it lies in memory: depth in its upper half, so that the nearer one is the higher number."""
_NOBODY = 0xFFFFFFFF
"""Below every bid: no triangle, at no depth."""


def seen_triangles(screen: np.ndarray, triangles: np.ndarray, rows: int, columns: int) -> tuple[np.ndarray, np.ndarray, float]:
    """(face, near, behind).  face: index (rows, columns) of the triangle seen, -1 where empty; near: how far it lies before the
    depth `behind` there, px, 0 where empty.

    screen: (n, 3) in px; triangles: (m, 3), counter-clockwise seen from outside in a frame with y up.
    """
    bids = np.full(rows * columns, _NOBODY, dtype="<u8")
    corners = screen[triangles]
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    front = np.flatnonzero(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0] < -_FLATTEST)
    nearest = float(screen[:, 2].min()) - 1.0
    if len(front):
        _bid(_spans(corners[front], nearest, rows, columns), front, columns, bids)
    seen = bids.view(_BID).reshape(rows, columns)
    return np.ascontiguousarray(seen["face"]), seen["near"], nearest


def _spans(corners: np.ndarray, nearest: float, rows: int, columns: int) -> tuple[np.ndarray, ...]:
    """Every span: its triangle (of those given), first pixel, width, depth at its first pixel and growth of depth a pixel."""
    triangle, first, counts, (one_at, one_rise, other_at, other_rise) = _halves(corners, rows)
    row = np.arange(int(counts.sum())) + np.repeat(first - (np.cumsum(counts) - counts), counts)
    middle = row + 0.5
    start = np.repeat(one_at, counts) + np.repeat(one_rise, counts) * middle
    stop = np.repeat(other_at, counts) + np.repeat(other_rise, counts) * middle
    start = np.maximum(np.ceil(start - 0.5), 0).astype(np.int64)
    stop = np.minimum(np.floor(stop - 0.5), columns - 1).astype(np.int64)
    full = np.flatnonzero(stop >= start)
    owner, row, start, stop = np.repeat(triangle, counts)[full], row[full], start[full], stop[full]
    at_zero, slope_x, slope_y = _depth_planes(corners)
    depth = at_zero[owner] - nearest + slope_y[owner] * (row + 0.5) + slope_x[owner] * (start + 0.5)
    return owner, row * columns + start, stop - start + 1, depth, slope_x[owner]


def _halves(corners: np.ndarray, rows: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, tuple[np.ndarray, ...]]:
    """Each triangle cut level with its middle corner: triangle, first row, how many rows, and x at row 0 and its growth a row
    of the left side and of the right side.  A half that covers no row's middle is left out."""
    order = np.argsort(corners[:, :, 1], axis=1)
    x = np.take_along_axis(corners[:, :, 0], order, axis=1)
    y = np.take_along_axis(corners[:, :, 1], order, axis=1)
    ends = np.clip(np.ceil(y - 0.5), 0, rows).astype(np.int64)
    rise = [_slope(x[:, a], y[:, a], x[:, b], y[:, b]) for a, b in ((0, 2), (0, 1), (1, 2))]
    long_at = x[:, 0] - rise[0] * y[:, 0]
    is_long_left = long_at + rise[0] * y[:, 1] <= x[:, 1]
    found = []
    for half in (0, 1):
        counts = ends[:, half + 1] - ends[:, half]
        short_rise, short_at = rise[half + 1], x[:, 1] - rise[half + 1] * y[:, 1]
        sides = (np.where(is_long_left, long_at, short_at), np.where(is_long_left, rise[0], short_rise),
                 np.where(is_long_left, short_at, long_at), np.where(is_long_left, short_rise, rise[0]))
        some = np.flatnonzero(counts > 0)
        found.append((some, ends[some, half], counts[some], *(side[some] for side in sides)))
    triangle, first, counts, *sides = (np.concatenate(pair) for pair in zip(*found, strict=True))
    return triangle, first, counts, tuple(sides)


def _slope(x0: np.ndarray, y0: np.ndarray, x1: np.ndarray, y1: np.ndarray) -> np.ndarray:
    return np.where(y1 > y0, (x1 - x0) / np.where(y1 > y0, y1 - y0, 1.0), 0.0)


def _depth_planes(corners: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Depth of each triangle as at_zero + slope_x * x + slope_y * y."""
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    slope_x, slope_y = -normal[:, 0] / normal[:, 2], -normal[:, 1] / normal[:, 2]
    return corners[:, 0, 2] - slope_x * corners[:, 0, 0] - slope_y * corners[:, 0, 1], slope_x, slope_y


def _bid(spans: tuple[np.ndarray, ...], names: np.ndarray, columns: int, bids: np.ndarray) -> None:
    owner, pixel, width, depth, slope = spans
    ends = np.cumsum(width)
    cuts = np.searchsorted(ends, np.arange(_FRAGMENTS_AT_ONCE, ends[-1] if len(ends) else 0, _FRAGMENTS_AT_ONCE))
    for part in np.split(np.arange(len(owner)), np.unique(cuts)):
        if not len(part):
            continue
        w = width[part]
        along = np.arange(int(w.sum()), dtype=np.int64) - np.repeat(np.cumsum(w) - w, w)
        z = np.repeat(depth[part].astype(np.float32), w) + np.repeat(slope[part].astype(np.float32), w) * along.astype(np.float32)
        # Positive floats sort as their bits do.  A steep sliver's plane may shoot past its corners: no depth is below 0.
        bid = np.maximum(z, np.float32(1e-3)).view(np.uint32).astype(np.uint64) << np.uint64(32)
        bid |= np.repeat(names[owner[part]].astype(np.uint64), w)
        np.maximum.at(bids, np.repeat(pixel[part], w) + along, bid)
