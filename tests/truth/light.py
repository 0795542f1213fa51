"""How much light reaches the table around bodies: open sky above them and one lamp with a soft edge.

A *light map* is a grid over the table with the share of light that arrives, 1 where nothing stands in the way.  It is made by
laying the bodies' footprint, raised step by step, against rays towards many points of the sky and of the lamp: contact shadow,
penumbra and the dark floor of narrow holes all come from the same rule.  Limits: bodies do not shade one another's faces.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
from scipy import ndimage

from tests.truth.bodies import Body
from tests.truth.field import between_nodes

CELL = 0.25
SKY_RAYS = 44
LAMP_RAYS = 20
MAX_LEAN = 2.5
REACH = 30.0
GOLDEN = math.pi * (3 - math.sqrt(5))


@dataclass(frozen=True)
class Light:
    """azimuth_deg: where the lamp stands, counter-clockwise from x; elevation_deg above the table; width_deg: half its apparent
    size; lamp_share of the light on the open table; glow: light that bounces into every corner, as a share; bleeds: smoothing
    the rays' grain takes the dark under a body along, so that the table beside its foot is shaded over some 0.3 mm as beside a
    rounded bottom edge; else only the open table is smoothed, and a body stands on a sharp edge."""

    azimuth_deg: float = 120.0
    elevation_deg: float = 50.0
    width_deg: float = 12.0
    lamp_share: float = 0.45
    glow: float = 0.05
    bleeds: bool = True

    @property
    def towards(self) -> tuple[float, float, float]:
        """Unit vector towards the lamp."""
        a, e = math.radians(self.azimuth_deg), math.radians(self.elevation_deg)
        return math.cos(e) * math.cos(a), math.cos(e) * math.sin(a), math.sin(e)


@dataclass(frozen=True)
class LightMap:
    """values[i, j] at (x0 + i cell, y0 + j cell); 1 outside."""

    x0: float
    y0: float
    values: np.ndarray

    def at(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Share of light at each point, between the grid's nodes by linear interpolation."""
        return between_nodes(self.values, (x - self.x0) / CELL, (y - self.y0) / CELL, cv2.BORDER_CONSTANT, 1.0)

    def near(self, x: np.ndarray, y: np.ndarray, reach: float) -> np.ndarray:
        """Whether each point lies within `reach` of the grid."""
        high_x, high_y = self.x0 + CELL * self.values.shape[0], self.y0 + CELL * self.values.shape[1]
        return (x > self.x0 - reach) & (x < high_x + reach) & (y > self.y0 - reach) & (y < high_y + reach)


@lru_cache(maxsize=8)
def light_map(body: Body, light: Light) -> LightMap:
    """The light on the table around one body."""
    reach = min(REACH, MAX_LEAN * body.height + 2.0)
    low, high = body.extent()
    low, high = low - reach, high + reach
    nx, ny = (np.ceil((high - low) / CELL).astype(int) + 1)
    gx, gy = np.meshgrid(low[0] + CELL * np.arange(nx), low[1] + CELL * np.arange(ny), indexing="ij")
    px, py = body.into(gx.ravel(), gy.ravel())
    depth = body.depths.rough_depth(px, py).astype(float)
    near = np.flatnonzero(np.abs(depth) < 2 * CELL)
    depth[near] = body.depths.depth(px[near], py[near])[0]
    depth = depth.reshape(nx, ny)
    solid = np.clip(depth / CELL + 0.5, 0, 1).astype(np.float32)
    total = np.zeros_like(solid)
    lamp = _lamp_rays(light)
    for rays, share in ((_sky_rays(), 1 - light.lamp_share), (lamp, light.lamp_share)):
        for lean_x, lean_y in rays:
            total += share / len(rays) * (1 - _blocked(solid, body.height, lean_x, lean_y))
    total = _smooth(total) if light.bleeds else _smoothed_outside(total, 1.0 - solid)
    edge = np.minimum.reduce([gx - low[0], high[0] - gx, gy - low[1], high[1] - gy])
    fade = np.clip(edge / 3.0, 0, 1).astype(np.float32)
    return LightMap(float(low[0]), float(low[1]), 1 - fade * (1 - light.glow) * (1 - total))


def _smooth(values: np.ndarray) -> np.ndarray:
    """Without the grain of the rays."""
    return np.asarray(ndimage.gaussian_filter(values, 1.2, mode="nearest"))


def _smoothed_outside(total: np.ndarray, outside: np.ndarray) -> np.ndarray:
    """The same over the open table alone, whose share of each cell is `outside`; elsewhere as it is."""
    return np.where(outside > 0.0, _smooth(total * outside) / np.maximum(_smooth(outside), 1e-3), total).astype(np.float32)


def _sky_rays() -> list[tuple[float, float]]:
    """Sideways travel per mm of height towards points of an even sky, equal shares of the light on a flat table."""
    rays = []
    for k in range(SKY_RAYS):
        sine = math.sqrt((k + 0.5) / SKY_RAYS)
        lean = min(MAX_LEAN, sine / math.sqrt(1 - sine * sine))
        rays.append((lean * math.cos(GOLDEN * k), lean * math.sin(GOLDEN * k)))
    return rays


def _lamp_rays(light: Light) -> list[tuple[float, float]]:
    lx, ly, lz = light.towards
    level = math.hypot(lx, ly)
    side = np.array([-ly / level, lx / level, 0.0])
    up = np.cross(side, [lx, ly, lz])
    rays = []
    for k in range(LAMP_RAYS):
        off = math.tan(math.radians(light.width_deg)) * math.sqrt((k + 0.5) / LAMP_RAYS)
        d = np.array([lx, ly, lz]) + off * (math.cos(GOLDEN * k) * side + math.sin(GOLDEN * k) * up)
        lean = math.hypot(d[0], d[1]) / max(d[2], 1e-6)
        scale = min(1.0, MAX_LEAN / lean) / max(d[2], 1e-6)
        rays.append((d[0] * scale, d[1] * scale))
    return rays


def _blocked(solid: np.ndarray, height: float, lean_x: float, lean_y: float) -> np.ndarray:
    """Where rays from the table with this lean pass through the body."""
    steps = max(2, math.ceil(height * math.hypot(lean_x, lean_y) / 0.8))
    hidden = solid.copy()
    for z in np.linspace(0, height, steps + 1)[1:]:
        i, j = round(z * lean_x / CELL), round(z * lean_y / CELL)
        here = (slice(max(0, -i), solid.shape[0] - max(0, i)), slice(max(0, -j), solid.shape[1] - max(0, j)))
        there = (slice(max(0, i), solid.shape[0] - max(0, -i)), slice(max(0, j), solid.shape[1] - max(0, -j)))
        np.maximum(hidden[here], solid[there], out=hidden[here])
    return hidden
