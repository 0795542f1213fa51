"""A picture in square tiles, and what each tile shows: most show one flat thing alone, and need no ray followed.

Words: a *tile* is SIDE x SIDE pixels; it is *plain* to a body when all its rays pass the body (PASSES; DARK where its shadow may
fall) or all end on its flat face (FLAT; PRINTED where marks may be); else the body is MET by some of them, somehow.  A body's
depth changes by at most a millimetre a millimetre, so the middle of a tile tells all of it.  Slopes of rays are so smooth that
sixteen of them tell all of a tile's, to 1e-11.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable
from functools import cached_property

import numpy as np

from tests.truth import field, light
from tests.truth.bodies import Body
from tests.truth.scenery import Sheet

SIDE = 16
PASSES, DARK, FLAT, PRINTED, MET = range(5)
OFF_SHEET, ON_SHEET, ACROSS = range(3)
_NODES = (1 - np.cos((np.arange(4) + 0.5) * math.pi / 4)) / 2 * SIDE
_CENTRES = np.arange(SIDE) + 0.5


def _between() -> np.ndarray:
    """(SIDE, 4) weights of four nodes at each pixel's centre: the cubic through them."""
    weights = np.ones((SIDE, 4))
    for k in range(4):
        for j in range(4):
            if j != k:
                weights[:, k] *= (_CENTRES - _NODES[j]) / (_NODES[k] - _NODES[j])
    return weights


_WEIGHTS = _between()
Slopes = Callable[[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]


class Tiles:
    """The tiles of a picture, row by row; the last of a row or column may reach beyond it."""

    def __init__(self, width: int, height: int, slopes: Slopes) -> None:
        self.across, self.down = -(-width // SIDE), -(-height // SIDE)
        self.count = self.across * self.down
        self._width, self._height = width, height
        row, column = np.divmod(np.arange(self.count), self.across)
        self.top, self.left = row * SIDE, column * SIDE
        u = np.broadcast_to(self.left[:, None, None] + _NODES[None, None, :], (self.count, 4, 4))
        v = np.broadcast_to(self.top[:, None, None] + _NODES[None, :, None], (self.count, 4, 4))
        self._nodes = np.stack([s.reshape(self.count, 4, 4) for s in slopes(u.ravel().copy(), v.ravel().copy())])

    def of(self, row: np.ndarray, column: np.ndarray) -> np.ndarray:
        """The tile of each pixel."""
        return (row // SIDE) * self.across + column // SIDE

    def slopes(self, tiles: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Slopes of the rays of these tiles, tile by tile and row by row, flat."""
        sx, sy = (_WEIGHTS @ nodes[tiles] @ _WEIGHTS.T for nodes in self._nodes)
        return sx.ravel(), sy.ravel()

    def picture(self, tiled: np.ndarray) -> np.ndarray:
        """(height, width) picture of values (tiles, SIDE * SIDE)."""
        whole = tiled.reshape(self.down, self.across, SIDE, SIDE).transpose(0, 2, 1, 3)
        return whole.reshape(self.down * SIDE, self.across * SIDE)[:self._height, :self._width]

    def at_height(self, camera: tuple[float, float, float], z: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """(x, y, reach) of every tile on the plane at height z: its middle, and how far its rays lie from there, mm."""
        x, y = (camera[k] + (z - camera[2]) * self._nodes[k] for k in (0, 1))
        mx, my = x.mean((1, 2)), y.mean((1, 2))
        # the nodes reach 0.96 of the way to a tile's corners
        reach = 1.1 * np.hypot(x - mx[:, None, None], y - my[:, None, None]).max((1, 2))
        return mx, my, reach

    @cached_property
    def steepest(self) -> np.ndarray:
        """(count,) largest slope of a tile's rays."""
        return np.asarray(1.01 * np.hypot(*self._nodes).max((1, 2)))


def on_sheet(tiles: Tiles, camera: tuple[float, float, float], sheet: Sheet | None) -> np.ndarray:
    """(count,) whether each tile lies beside the sheet, on it or across its edge (without a sheet: beside it)."""
    if sheet is None:
        return np.full(tiles.count, OFF_SHEET)
    x, y, reach = tiles.at_height(camera, 0.0)
    inside = sheet.inside_by(x, y)
    return np.where(inside > reach, ON_SHEET, np.where(inside < -reach, OFF_SHEET, ACROSS))


def states_of(tiles: Tiles, camera: tuple[float, float, float], body: Body, shade: light.LightMap, far: float,
              printed: float | None) -> np.ndarray:
    """(count,) what each tile is to a body; far: how far beyond its light map the body is looked at, mm; printed: from which y of
    its own frame on its face carries marks."""
    gx, gy, reach = tiles.at_height(camera, 0.0)
    low, high = np.array([shade.x0, shade.y0]), np.array([shade.x0, shade.y0]) + light.CELL * np.array(shade.values.shape)
    beside = ((gx + reach < low[0] - far) | (gx - reach > high[0] + far) | (gy + reach < low[1] - far)
              | (gy - reach > high[1] + far))
    x, y, reach = tiles.at_height(camera, body.height)
    x, y = body.into(x, y)
    lift = abs(body.bow.rise) * 2 if body.bow is not None else 0.0
    slack = field.CELL + 1.1 * reach + lift * tiles.steepest
    depth = body.depths.rough_depth(x, y)
    box = zip(body.depths.low, (x, y), body.depths.high, strict=True)
    outside = np.hypot(*(np.maximum(np.maximum(low - at, at - high), 0) for low, at, high in box))
    # rough depths end a little beyond the drawing
    depth[outside > 0] = np.minimum(depth, -outside)[outside > 0]
    lean = math.tan(math.radians(body.draft_deg))
    state = np.full(tiles.count, MET)
    flat = depth - slack > body.edge_radius
    outer = body.outer_depths.rough_depth(x, y) if body.channels else depth
    for inset, width, _ in body.channels:
        flat &= (outer + slack < inset - field.CELL) | (outer - slack > inset + width + field.CELL)
    if body.pockets:
        # shade about a pocket or a pad reaches far over the face
        flat[:] = False
    state[flat] = FLAT
    if printed is not None:
        state[flat & (y + slack > printed)] = PRINTED
    state[depth + slack < -(body.height * (tiles.steepest + max(lean, 0.0)))] = DARK
    state[beside] = PASSES
    return state
