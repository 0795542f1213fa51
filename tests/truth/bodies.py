"""Upright bodies on the table and where rays from above first meet them.

Words: a *body* is a flat drawing given a height, its top rim rounded, its walls leaning outwards downwards by the draft angle;
the *face* is its top.  Rays come down; a ray is told by where it crosses the plane of the face and by its slope, the sideways
travel for each millimetre of height.  The drawing's own size is the one at the height of the face, rounding left out.
Hits are exact: rounding by a quadratic on the local distance, repeated; walls by stepping never farther than the distance allows.
Limits: a rim much tighter than the rounding's radius is shaded roughly.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from tests.truth.field import DepthField, depths_of, walk

FACE, ROUND, WALL, CHANNEL_FLOOR, CHANNEL_WALL, PAD = 1, 2, 3, 4, 5, 6
NEAR_ENOUGH = 2e-4
SETTLED = 1e-6
MAX_STEPS = 60


@dataclass(frozen=True)
class Bow:
    """How far a body that is not flat lifts off the table: a shallow second-degree surface, 0 to `rise` mm within `reach` of the
    middle (x, y) of its drawing.

    kind: "dome" (highest in the middle), "bowl" (lowest there), "saddle" (up along angle_deg, down across it), "slope" (flat,
    but lifted on the side of angle_deg, as by a burr).
    """

    kind: str
    rise: float
    reach: float
    x: float = 0.0
    y: float = 0.0
    angle_deg: float = 0.0

    def lift(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Lift at each point of the drawing's frame, mm."""
        c, s = math.cos(math.radians(self.angle_deg)), math.sin(math.radians(self.angle_deg))
        dx, dy = (x - self.x) / self.reach, (y - self.y) / self.reach
        if self.kind == "slope":
            return self.rise * (1 + c * dx + s * dy) / 2
        along, across = (c * dx + s * dy) ** 2, (c * dy - s * dx) ** 2
        if self.kind == "saddle":
            return self.rise * (1 + along - across) / 2
        return self.rise * (1 - along - across if self.kind == "dome" else along + across)


@dataclass(frozen=True)
class Body:
    """One upright solid.

    loops: the drawing in its own frame; x, y, angle_deg: where that frame lies on the table; albedo: red, green, blue, 0 to 1;
    bow: None for a flat one.  A bowed body is the flat one with every upright column lifted by the bow at its foot: plan sizes
    stay (the slope of a bow changes them by less than a ten-thousandth), heights change by place.
    """

    loops: tuple[tuple, ...]
    height: float
    edge_radius: float = 0.4
    draft_deg: float = 0.0
    x: float = 0.0
    y: float = 0.0
    angle_deg: float = 0.0
    albedo: tuple[float, float, float] = (0.08, 0.08, 0.085)
    channels: tuple[tuple[float, float, float], ...] = ()
    pockets: tuple[tuple[tuple, float], ...] = ()
    mottle: float = 0.015
    bow: Bow | None = None

    @cached_property
    def depths(self) -> DepthField:
        return depths_of(self.loops)

    @cached_property
    def outer_depths(self) -> DepthField:
        return depths_of(self.loops[:1])

    def own_extent(self) -> tuple[np.ndarray, np.ndarray]:
        """Lowest and highest coordinates of the drawing in its own frame."""
        outer = walk(list(self.loops[0]))
        return outer.min(0), outer.max(0)

    def extent(self) -> tuple[np.ndarray, np.ndarray]:
        """Lowest and highest table coordinates of a box round the drawing, turned as it lies."""
        low, high = self.own_extent()
        corners = np.array([self.out(x, y) for x in (low[0], high[0]) for y in (low[1], high[1])])
        return corners.min(0), corners.max(0)

    def into(self, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Table coordinates to the drawing's."""
        return self.turn_in(x - self.x, y - self.y)

    def turn_in(self, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """A direction on the table, told in the drawing's frame."""
        c, s = math.cos(math.radians(self.angle_deg)), math.sin(math.radians(self.angle_deg))
        return c * x + s * y, c * y - s * x

    def turn_out(self, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """A direction in the drawing's frame, told on the table."""
        c, s = math.cos(math.radians(self.angle_deg)), math.sin(math.radians(self.angle_deg))
        return c * x - s * y, s * x + c * y

    def out(self, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Drawing coordinates to the table's."""
        tx, ty = self.turn_out(x, y)
        return tx + self.x, ty + self.y


@dataclass
class Hits:
    """One entry a ray.

    kind: 0 missed or one of the words above; z: height of the hit; nx, ny, nz: outward normal (drawing frame).
    In a channel also: aside, distance from its outer wall; wide, its width; inward_x, inward_y, unit vector from the outer wall
    to the inner one (drawing frame).
    """

    kind: np.ndarray
    z: np.ndarray
    nx: np.ndarray
    ny: np.ndarray
    nz: np.ndarray = field(default_factory=lambda: np.empty(0))
    aside: np.ndarray = field(default_factory=lambda: np.empty(0))
    wide: np.ndarray = field(default_factory=lambda: np.empty(0))
    inward_x: np.ndarray = field(default_factory=lambda: np.empty(0))
    inward_y: np.ndarray = field(default_factory=lambda: np.empty(0))


def meet(body: Body, x: np.ndarray, y: np.ndarray, slope_x: np.ndarray, slope_y: np.ndarray) -> Hits:
    """Where each ray first meets the body.

    x, y: (n,) crossing of the face plane, drawing frame; slope_x, slope_y: (n,) travel for each mm upwards.
    """
    n, h, r = len(x), body.height, body.edge_radius
    hits = Hits(np.zeros(n, np.uint8), np.zeros(n), np.zeros(n), np.zeros(n), np.ones(n))
    if n == 0:
        return hits
    lean = math.tan(math.radians(body.draft_deg))
    steep = float(np.hypot(slope_x, slope_y).max())
    rough = body.depths.rough_depth(x, y)
    slack = 0.75 * 0.25
    sure = rough > r + slack
    hits.kind[sure] = FACE
    hits.z[sure] = h
    near = np.flatnonzero(~sure & (rough > -(h * (steep + max(lean, 0.0)) + slack)))
    if near.size:
        _meet_rim(body, hits, near, x[near], y[near], slope_x[near], slope_y[near], lean)
    if body.channels:
        hits.aside, hits.wide, hits.inward_x, hits.inward_y = np.zeros((4, n))
    for channel in body.channels:
        _meet_channel(body, channel, hits, x, y, slope_x, slope_y)
    return hits


def _meet_rim(body: Body, hits: Hits, at: np.ndarray, x: np.ndarray, y: np.ndarray, sx: np.ndarray, sy: np.ndarray,
              lean: float) -> None:
    h, r = body.height, body.edge_radius
    depth, _, _ = body.depths.depth(x, y)
    on_face = depth >= r
    hits.kind[at[on_face]], hits.z[at[on_face]] = FACE, h
    left = np.flatnonzero(~on_face)
    at, x, y, sx, sy = at[left], x[left], y[left], sx[left], sy[left]
    if r > 0:
        done = _meet_rounding(body, hits, at, x, y, sx, sy, lean)
        left = np.flatnonzero(~done)
        at, x, y, sx, sy = at[left], x[left], y[left], sx[left], sy[left]
    z = np.full(len(at), h - r)
    rate = np.hypot(sx, sy) + abs(lean)
    alive = np.arange(len(at))
    for _ in range(MAX_STEPS):
        if alive.size == 0:
            break
        za = z[alive]
        depth, gx, gy = body.depths.depth(x[alive] + (za - h) * sx[alive], y[alive] + (za - h) * sy[alive])
        outside = -(depth + (h - za) * lean)
        touch = outside < NEAR_ENOUGH
        k = alive[touch]
        hits.kind[at[k]], hits.z[at[k]] = WALL, z[k]
        tilt = math.sqrt(1 + lean * lean)
        hits.nx[at[k]], hits.ny[at[k]], hits.nz[at[k]] = -gx[touch] / tilt, -gy[touch] / tilt, lean / tilt
        go = ~touch
        k = alive[go]
        z[k] -= np.maximum(outside[go], NEAR_ENOUGH) / np.maximum(rate[k], 1e-9)
        alive = k[z[k] > 0]


def _meet_rounding(body: Body, hits: Hits, at: np.ndarray, x: np.ndarray, y: np.ndarray, sx: np.ndarray, sy: np.ndarray,
                   lean: float) -> np.ndarray:
    """Rays that end on the rounded rim, written to hits; returns which."""
    h, r = body.height, body.edge_radius
    s = np.full(len(at), r / 2)
    for _ in range(4):
        z = h - r + s
        depth, gx, gy = body.depths.depth(x + (z - h) * sx, y + (z - h) * sy)
        k = gx * sx + gy * sy - lean
        base = r - (depth + (h - z) * lean - k * s)
        # (base - k s)^2 + s^2 = r^2: the circle of the rounding, met by the ray as seen across the rim
        inside = k * k * base * base - (1 + k * k) * (base * base - r * r)
        root = (k * base + np.sqrt(np.maximum(inside, 0))) / (1 + k * k)
        before, s = s, np.clip(root, 0, r)
        if s.size == 0 or np.abs(s - before).max() < SETTLED:
            break
    met = (inside >= 0) & (root > 0) & (root <= r * (1 + 1e-6))
    j = at[met]
    hits.kind[j], hits.z[j] = ROUND, h - r + s[met]
    up = s[met] / r
    flat = np.sqrt(np.maximum(1 - up * up, 0))
    hits.nx[j], hits.ny[j], hits.nz[j] = -gx[met] * flat, -gy[met] * flat, up
    return met


def _meet_channel(body: Body, channel: tuple[float, float, float], hits: Hits, x: np.ndarray, y: np.ndarray, sx: np.ndarray,
                  sy: np.ndarray) -> None:
    """Rays that enter a channel of the face go on to its floor or its walls."""
    inset, width, deep = channel
    rough = body.outer_depths.rough_depth(x, y)
    at = np.flatnonzero((hits.kind == FACE) & (rough > inset - 0.2) & (rough < inset + width + 0.2))
    if at.size == 0:
        return
    depth, gx, gy = body.outer_depths.depth(x[at], y[at])
    keep = (depth > inset) & (depth < inset + width)
    at, depth, gx, gy = at[keep], depth[keep], gx[keep], gy[keep]
    k = gx * sx[at] + gy * sy[at]
    down = np.full(at.size, deep)
    for _ in range(3):
        px, py = x[at] - down * sx[at], y[at] - down * sy[at]
        here, gx, gy = body.outer_depths.depth(px, py)
        k = gx * sx[at] + gy * sy[at]
        top = here + k * down
        to_wall = np.where(k > 0, top - inset, inset + width - top) / np.maximum(np.abs(k), 1e-9)
        down = np.clip(to_wall, 0, deep)
    on_wall = to_wall < deep
    hits.z[at] = body.height - down
    hits.kind[at] = np.where(on_wall, CHANNEL_WALL, CHANNEL_FLOOR)
    side = np.where(k > 0, 1.0, -1.0)
    hits.nx[at], hits.ny[at] = np.where(on_wall, side * gx, 0.0), np.where(on_wall, side * gy, 0.0)
    hits.nz[at] = np.where(on_wall, 0.0, 1.0)
    hits.aside[at], hits.wide[at] = np.clip(top - k * down - inset, 0, width), width
    hits.inward_x[at], hits.inward_y[at] = gx, gy
