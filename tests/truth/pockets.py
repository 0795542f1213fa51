"""Pockets sunk into the face and pads raised on it: where rays meet them, and how light falls there.

Words: a *pocket* is a loop of its own and a depth; the face within it lies so much lower, or higher where the depth is negative
(a *pad*); its wall is upright with a sharp top edge.  The floor of a pocket, and the face at the foot of a pad, see the sky
over the nearest stretch of wall as over an endless straight one; the lamp is hidden where the wall stands in its way, with a
penumbra as wide as the lamp.  Limits: no light from wall to floor beyond the scene's glow; inner corners are lit as straight
runs are; no opening inside a pocket.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from tests.truth.bodies import CHANNEL_FLOOR, CHANNEL_WALL, FACE, PAD, Body, Hits
from tests.truth.field import DepthField, depths_of
from tests.truth.light import Light

ON_THE_WAY = 6
"""Places on the way to the lamp at which a pad may hide it."""

REACH = 12.0
"""A pad's shade reaches so many of its heights."""


def sink(body: Body, hits: Hits, x: np.ndarray, y: np.ndarray, sx: np.ndarray, sy: np.ndarray) -> None:
    """Rays (n,) that cross the plane of the face at x, y go on into pockets, or end on pads before it; sx, sy: travel for each
    mm upwards.  Written to hits."""
    for loop, deep in body.pockets:
        field = depths_of((loop,))
        if deep > 0:
            _into(field, deep, body.height, hits, x, y, sx, sy)
        else:
            _onto(field, -deep, body.height, hits, x, y, sx, sy)


def _into(field: DepthField, deep: float, height: float, hits: Hits, x: np.ndarray, y: np.ndarray, sx: np.ndarray,
          sy: np.ndarray) -> None:
    at = np.flatnonzero((hits.kind == FACE) & (field.rough_depth(x, y) > -0.3))
    at = at[field.depth(x[at], y[at])[0] > 0]
    if not at.size:
        return
    x, y, sx, sy = x[at], y[at], sx[at], sy[at]
    floor, _, _ = field.depth(x - deep * sx, y - deep * sy)
    on_wall = floor < 0
    down = np.where(on_wall, _crossing(field, x, y, -sx, -sy, deep), deep)
    _, gx, gy = field.depth(x - down * sx, y - down * sy)
    _write(hits, at, on_wall, CHANNEL_FLOOR, height - down, gx, gy)


def _onto(field: DepthField, tall: float, height: float, hits: Hits, x: np.ndarray, y: np.ndarray, sx: np.ndarray,
          sy: np.ndarray) -> None:
    reach = tall * float(np.hypot(sx, sy).max()) + 0.3
    at = np.flatnonzero((hits.kind == FACE) & (field.rough_depth(x, y) > -reach))
    if not at.size:
        return
    x, y, sx, sy = x[at], y[at], sx[at], sy[at]
    top, _, _ = field.depth(x + tall * sx, y + tall * sy)
    foot, _, _ = field.depth(x, y)
    met = (top > 0) | (foot > 0)
    at, x, y, sx, sy, on_wall = at[met], x[met], y[met], sx[met], sy[met], (top <= 0)[met]
    if not at.size:
        return
    up = np.full(at.size, tall)
    up[on_wall] = _crossing(field, x[on_wall], y[on_wall], sx[on_wall], sy[on_wall], tall)
    _, gx, gy = field.depth(x + up * sx, y + up * sy)
    _write(hits, at, on_wall, PAD, height + up, -gx, -gy)


def _crossing(field: DepthField, x: np.ndarray, y: np.ndarray, dx: np.ndarray, dy: np.ndarray, far: float) -> np.ndarray:
    """How far (n,) along (dx, dy) from (x, y), inside the loop, the loop is crossed before `far`."""
    low, high = np.zeros(len(x)), np.full(len(x), far)
    for _ in range(14):
        middle = 0.5 * (low + high)
        inside = field.depth(x + middle * dx, y + middle * dy)[0] > 0
        low, high = np.where(inside, middle, low), np.where(inside, high, middle)
    return 0.5 * (low + high)


def _write(hits: Hits, at: np.ndarray, on_wall: np.ndarray, flat: int, z: np.ndarray, nx: np.ndarray, ny: np.ndarray) -> None:
    hits.kind[at], hits.z[at] = np.where(on_wall, CHANNEL_WALL, flat), z
    hits.nx[at], hits.ny[at] = np.where(on_wall, nx, 0.0), np.where(on_wall, ny, 0.0)
    hits.nz[at] = np.where(on_wall, 0.0, 1.0)


def shade_pockets(body: Body, lamp: Light, kind: np.ndarray, z: np.ndarray, x: np.ndarray, y: np.ndarray, nx: np.ndarray,
                  ny: np.ndarray, light: np.ndarray) -> None:
    """Writes into light (n,) what the hits on floors and walls of pockets and pads, and on the face about a pad, send back, 1
    for an open flat face of albedo 1.  x, y: of the hits, drawing frame; nx, ny: normals of walls, drawing frame."""
    lx, ly = (float(v[0]) for v in body.turn_in(*(np.array([v]) for v in lamp.towards[:2])))
    lz = lamp.towards[2]
    wide = math.tan(math.radians(lamp.width_deg))
    for loop, deep in body.pockets:
        field, tall = depths_of((loop,)), abs(deep)
        inside = field.rough_depth(x, y)
        near = np.abs(inside) < 0.4
        wall = np.flatnonzero((kind == CHANNEL_WALL) & near)
        facing = np.maximum(lx * nx[wall] + ly * ny[wall], 0.0) / lz
        light[wall] = _sum(lamp, np.full(len(wall), 0.5), facing)
        if deep > 0:
            at = np.flatnonzero((kind == CHANNEL_FLOOR) & (inside > -0.4))
            away = np.maximum(field.depth(x[at], y[at])[0], 0.0)
            edge = field.depth(x[at] + tall * lx / lz, y[at] + tall * ly / lz)[0]
            seen = np.clip(edge / (2 * tall * wide) + 0.5, 0, 1)
        else:
            at = np.flatnonzero((kind == FACE) & (inside > -REACH * tall))
            away = np.maximum(-field.depth(x[at], y[at])[0], 0.0)
            seen = np.ones(len(at))
            for up in tall * (np.arange(ON_THE_WAY) + 1) / ON_THE_WAY:
                beside = -field.depth(x[at] + up * lx / lz, y[at] + up * ly / lz)[0]
                seen = np.minimum(seen, np.clip(beside / (2 * up * wide) + 0.5, 0, 1))
        light[at] = _sum(lamp, 0.5 * (1 + away / np.hypot(away, tall)), seen)


def _sum(lamp: Light, sky: np.ndarray, facing: np.ndarray) -> np.ndarray:
    return ((1 - lamp.lamp_share) * sky + lamp.lamp_share * facing) * (1 - lamp.glow) + lamp.glow
