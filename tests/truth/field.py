"""Signed distance to the boundary of a flat drawing, exact, for many points at once.

Words: a *segment* is ("line", p, q), ("arc", p, q, centre, ccw) or ("circle", centre, radius), as in the photographs' truth
files; a *loop* is a list of segments; *depth* is the signed distance to the nearest boundary, positive inside the material.
A coarse grid remembers which segments can be nearest in each of its cells; the distance itself is computed from those
segments, so it is exact to rounding.  Limits: segments shorter than about 0.2 mm may be passed over beside longer ones.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from functools import lru_cache

import cv2
import numpy as np

Segment = tuple
CELL = 0.25
MARGIN = 4.0
CANDIDATES = 4
ROW = 256


def between_nodes(grid: np.ndarray, i: np.ndarray, j: np.ndarray, border: int, outside: float = 0.0) -> np.ndarray:
    """(n,) values of a grid at places (i, j) of it, between its nodes by linear interpolation; border: as OpenCV names it."""
    n = len(i)
    places = np.zeros((2, -(-n // ROW) * ROW), np.float32)
    places[0, :n], places[1, :n] = j, i
    across, down = places.reshape(2, -1, ROW)
    return cv2.remap(grid, across, down, cv2.INTER_LINEAR, borderMode=border, borderValue=outside).ravel()[:n]


def arc_span(p: tuple, q: tuple, centre: tuple, ccw: bool) -> tuple[float, float]:
    """(start angle, signed sweep) of an arc, radians; counter-clockwise positive."""
    start = math.atan2(p[1] - centre[1], p[0] - centre[0])
    end = math.atan2(q[1] - centre[1], q[0] - centre[0])
    sweep = (end - start) % (2 * math.pi)
    return start, sweep if ccw else sweep - 2 * math.pi


def walk(loop: list[Segment], step: float = 0.2) -> np.ndarray:
    """(n, 2) points along a loop, about `step` mm apart, every segment's start among them."""
    parts = []
    for segment in loop:
        if segment[0] == "line":
            a, b = np.array(segment[1], float), np.array(segment[2], float)
            n = max(1, math.ceil(math.dist(a, b) / step))
            parts.append(a + (np.arange(n) / n)[:, None] * (b - a))
            continue
        if segment[0] == "circle":
            centre, radius, start, sweep = segment[1], segment[2], 0.0, 2 * math.pi
        else:
            centre, radius = segment[3], math.dist(segment[1], segment[3])
            start, sweep = arc_span(*segment[1:])
        n = max(6, math.ceil(abs(sweep) * radius / step))
        t = start + sweep * np.arange(n) / n
        parts.append(np.c_[centre[0] + radius * np.cos(t), centre[1] + radius * np.sin(t)])
    return np.concatenate(parts)


def signed_area(loop: list[Segment]) -> float:
    """Area inside a loop, positive when it runs counter-clockwise, mm2 (from points 0.05 mm apart)."""
    x, y = walk(loop, 0.05).T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def reverse(loop: list[Segment]) -> list[Segment]:
    """The same loop walked the other way (a circle stays as it is)."""
    turned = []
    for segment in reversed(loop):
        if segment[0] == "line":
            turned.append(("line", segment[2], segment[1]))
        elif segment[0] == "arc":
            turned.append(("arc", segment[2], segment[1], segment[3], not segment[4]))
        else:
            turned.append(segment)
    return turned


class DepthField:
    """Depth below the boundary of a drawing: the first loop is the outer one, the others are openings."""

    def __init__(self, loops: list[list[Segment]]) -> None:
        rows = []
        for k, loop in enumerate(loops):
            if loop[0][0] == "circle":
                rows.append(_circle_row(loop[0], material_inside=k == 0))
                continue
            if (signed_area(loop) > 0) != (k == 0):
                loop = reverse(loop)
            rows.extend(_chain_rows(loop))
        table = np.array(rows)
        (self._arc, self._ax, self._ay, self._bx, self._by, self._ux, self._uy, self._length, self._cx, self._cy, self._radius,
         self._sense, self._mid_x, self._mid_y, self._cos_half, self._nax, self._nay, self._nbx, self._nby) = table.T.copy()
        points = np.concatenate([walk(loop) for loop in loops])
        self.low, self.high = points.min(0), points.max(0)
        self._origin = self.low - MARGIN
        shape = np.ceil((self.high - self.low + 2 * MARGIN) / CELL).astype(int)
        gx, gy = np.meshgrid(*(self._origin[k] + (np.arange(shape[k]) + 0.5) * CELL for k in (0, 1)), indexing="ij")
        cells = np.zeros(gx.size, np.intp)
        everywhere = np.stack([self._depth_to(np.full_like(cells, i), gx.ravel(), gy.ravel())[0] for i in range(len(rows))])
        count = min(CANDIDATES, len(rows))
        order = np.argsort(np.abs(everywhere), axis=0, kind="stable")[:count]
        distance = np.take_along_axis(np.abs(everywhere), order, axis=0)
        self._nearest = order.astype(np.intp)
        self._possible = (distance <= distance[0] + CELL * math.sqrt(2) + 1e-9)
        self._shape = tuple(int(n) for n in shape)
        self.rough = np.take_along_axis(everywhere, order[:1], axis=0)[0].reshape(self._shape).astype(np.float32)

    def cell_of(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Flat index of the grid cell of each point (points outside go to the nearest cell)."""
        i, j = ((x - self._origin[0]) * (1 / CELL)).astype(np.intp), ((y - self._origin[1]) * (1 / CELL)).astype(np.intp)
        for index, count in ((i, self._shape[0]), (j, self._shape[1])):
            np.maximum(index, 0, out=index)
            np.minimum(index, count - 1, out=index)
        i *= self._shape[1]
        i += j
        return i

    def rough_depth(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Depth at the centre of each point's cell: right to 0.18 mm within the grid."""
        return self.rough.ravel().take(self.cell_of(x, y))

    def depth(self, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """(depth, its gradient in x, in y) at each point; the gradient is a unit vector towards the material."""
        cell = self.cell_of(x, y)
        best, gx, gy = self._depth_to(self._nearest[0].take(cell), x, y)
        for k in range(1, len(self._nearest)):
            some = np.flatnonzero(self._possible[k].take(cell))
            if some.size == 0:
                break
            other, ox, oy = self._depth_to(self._nearest[k].take(cell.take(some)), x.take(some), y.take(some))
            nearer = np.flatnonzero(np.abs(other) < np.abs(best.take(some)))
            at = some[nearer]
            best[at], gx[at], gy[at] = other[nearer], ox[nearer], oy[nearer]
        return best, gx, gy

    def _depth_to(self, i: np.ndarray, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Depth and gradient as if segment i[k] were the only one near point k."""
        depth, gx, gy = np.empty_like(x), np.empty_like(x), np.empty_like(x)
        on_arc = self._arc.take(i) > 0.5
        k = np.flatnonzero(~on_arc)
        if k.size == len(i):
            ux, uy, dx, dy = self._ux.take(i), self._uy.take(i), x - self._ax.take(i), y - self._ay.take(i)
            along, depth, gx, gy = ux * dx + uy * dy, ux * dy - uy * dx, -uy, ux
            self._ends(np.flatnonzero(along < 0), i, x, y, depth, gx, gy, first=True)
            self._ends(np.flatnonzero(along > self._length.take(i)), i, x, y, depth, gx, gy, first=False)
            return depth, gx, gy
        if k.size:
            s = i.take(k)
            ux, uy, dx, dy = self._ux.take(s), self._uy.take(s), x.take(k) - self._ax.take(s), y.take(k) - self._ay.take(s)
            along = ux * dx + uy * dy
            depth[k], gx[k], gy[k] = ux * dy - uy * dx, -uy, ux
            self._ends(k[along < 0], i, x, y, depth, gx, gy, first=True)
            self._ends(k[along > self._length.take(s)], i, x, y, depth, gx, gy, first=False)
        k = np.flatnonzero(on_arc)
        if k.size:
            s = i.take(k)
            dx, dy = x.take(k) - self._cx.take(s), y.take(k) - self._cy.take(s)
            r = np.hypot(dx, dy)
            sense = self._sense.take(s)
            depth[k] = sense * (self._radius.take(s) - r)
            safe = np.maximum(r, 1e-12)
            gx[k], gy[k] = -sense * dx / safe, -sense * dy / safe
            out = dx * self._mid_x.take(s) + dy * self._mid_y.take(s) < self._cos_half.take(s) * r - 1e-12
            k, s = k[out], s[out]
            px, py = x.take(k), y.take(k)
            to_a = (np.hypot(px - self._ax.take(s), py - self._ay.take(s))
                    <= np.hypot(px - self._bx.take(s), py - self._by.take(s)))
            self._ends(k[to_a], i, x, y, depth, gx, gy, first=True)
            self._ends(k[~to_a], i, x, y, depth, gx, gy, first=False)
        return depth, gx, gy

    def _ends(self, k: np.ndarray, i: np.ndarray, x: np.ndarray, y: np.ndarray, depth: np.ndarray, gx: np.ndarray,
              gy: np.ndarray, first: bool) -> None:
        """Depth of the points k whose nearest point is an end of their segment; the vertex normal tells the side."""
        if k.size == 0:
            return
        s = i.take(k)
        ex, ey, nx, ny = ((self._ax, self._ay, self._nax, self._nay) if first else (self._bx, self._by, self._nbx, self._nby))
        dx, dy = x.take(k) - ex.take(s), y.take(k) - ey.take(s)
        r = np.maximum(np.hypot(dx, dy), 1e-12)
        side = np.where(dx * nx.take(s) + dy * ny.take(s) >= 0, 1.0, -1.0)
        depth[k], gx[k], gy[k] = side * r, side * dx / r, side * dy / r


@lru_cache(maxsize=32)
def depths_of(loops: tuple[tuple, ...]) -> DepthField:
    """Depths of a drawing's loops, laid out once however often it is photographed and compared."""
    return DepthField([list(loop) for loop in loops])


def _circle_row(segment: Segment, material_inside: bool) -> list[float]:
    (cx, cy), radius = segment[1], segment[2]
    sense = 1.0 if material_inside else -1.0
    return [1, cx + radius, cy, cx + radius, cy, 0, 1, 0, cx, cy, radius, sense, 1, 0, -1.0, 0, 0, 0, 0]


def _tangent(segment: Segment, at_end: bool) -> np.ndarray:
    """Unit direction of travel at a segment's start or end."""
    if segment[0] == "line":
        d = np.subtract(segment[2], segment[1])
    else:
        r = np.subtract(segment[2] if at_end else segment[1], segment[3])
        d = np.array([-r[1], r[0]]) * (1.0 if segment[4] else -1.0)
    return d / np.hypot(*d)


def _chain_rows(loop: list[Segment]) -> list[list[float]]:
    """Table rows of a chain of lines and arcs with the material on its left."""
    rows = []
    for k, segment in enumerate(loop):
        before, after = loop[k - 1], loop[(k + 1) % len(loop)]
        na = _tangent(before, True) + _tangent(segment, False)
        nb = _tangent(segment, True) + _tangent(after, False)
        normals = [-na[1], na[0], -nb[1], nb[0]]
        a, b = segment[1], segment[2]
        if segment[0] == "line":
            u = _tangent(segment, False)
            rows.append([0, *a, *b, *u, math.dist(a, b), 0, 0, 0, 0, 0, 0, 0, *normals])
            continue
        c, ccw = segment[3], segment[4]
        start, sweep = arc_span(*segment[1:])
        middle = start + sweep / 2
        rows.append([1, *a, *b, 0, 0, 0, *c, math.dist(a, c), 1.0 if ccw else -1.0, math.cos(middle), math.sin(middle),
                     math.cos(abs(sweep) / 2), *normals])
    return rows
