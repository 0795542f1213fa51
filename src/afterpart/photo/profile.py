"""How brightness runs across the rim of a moulded face, and where that puts the material's wall.

A probe crosses the rim from material to void along t, measured in the plane of the face; t = 0 is where the vertical wall would
stand if it reached the face. Words: *slope* m, horizontal run of the sight line per mm of height (positive: the camera stands
on the void side and sees the wall); *rounding* r, radius between face and wall; *draft*, tangent of the wall's lean. What is
seen, in order: face | rounding | wall (only where m + draft > 0) | table. The rounding's shade turns from the face's to the
wall's with the normal; on the far side the rounding hides the wall and the last point of it that can be seen is the
*silhouette*. Unknown are the levels of these regions (linear, in linear light) and the place of the wall (searched), so each
place has a best least-squares cost: nothing is thresholded.

Limits: the floor beyond the rim is taken to be the table (a blind hole's floor is not told apart here); light from one side may
brighten the rounding, for which one extra term stands.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

LEVELS = 7
"""face, wall top, wall fall-off, rounding glint, table, table fall-off, contact shade"""

WALL_SHARE = 0.65
"""Usual brightness of a wall as a share of the face's; judgement."""

BRIGHTEST_ROUNDING = (1.5, 0.5)
"""A rounding brighter than so many times the face and the table, whichever is more, is punished; a glossy dark edge may shine,
but not like the paper (judgement)."""

FINE_PX = 0.2
"""Step of the tabulated model in pixels."""


@dataclass(frozen=True)
class RimShape:
    """Heights and roundings that fix what a probe can see.  height: face above table; camera_z: camera above table."""

    height: float
    rounding: float
    draft: float
    camera_z: float


@dataclass(frozen=True)
class Spread:
    """How camera and phone spread a point of light: a Gaussian of blur_px, less a share of a wider one (sharpening)."""

    blur_px: float = 0.95
    sharpening: float = 0.3


def spread_kernel(spread: Spread) -> np.ndarray:
    """The spread at FINE_PX steps, unit sum, odd length."""
    half = int(np.ceil(4 * spread.blur_px * (2.2 if spread.sharpening else 1.0) / FINE_PX))
    k = np.arange(-half, half + 1) * FINE_PX
    narrow, wide = (np.exp(-k * k / (2 * s * s)) for s in (spread.blur_px, 2.2 * spread.blur_px))
    return (1 + spread.sharpening) * narrow / narrow.sum() - spread.sharpening * wide / wide.sum()


@lru_cache(maxsize=4096)
def visible_model(shape: RimShape, slope: float, foot: float, px: float, spread: Spread, low: float,
                  high: float) -> tuple[np.ndarray, np.ndarray]:
    """The linear levels' patterns along t, blurred.

    slope: m; foot: where the wall meets the table, along t; px: mm per picture pixel at the face; spread: how the picture spreads
    a point; low, high: range of t in mm.
    Returns t (k,) and patterns (k, LEVELS), read-only: probes of one kind share them.
    """
    step = FINE_PX * px
    pad = 5 * spread.blur_px * px
    t = np.arange(low - pad, high + pad + step, step)
    r, h = max(shape.rounding, 1e-3 * px), max(shape.height, 0.0)
    # silhouette: the sight line touches the rounding where its slope equals the line's
    turn = np.pi / 2 if slope + shape.draft >= 0 else min(np.arctan2(1.0, -slope), np.pi / 2)
    phi = np.linspace(0, turn, 64)
    seen = -r + r * np.sin(phi) + slope * r * (1 - np.cos(phi))
    seen = np.maximum.accumulate(seen + np.arange(64) * 1e-12)
    angle = np.interp(t, seen, phi)
    end = seen[-1]
    wall_seen = foot > end + 1e-9
    table_from = foot if wall_seen else end
    on_face = t < seen[0]
    on_round = ~on_face & (t < end)
    on_wall = (t >= end) & (t < table_from)
    on_table = t >= table_from
    depth = np.clip((t - end) / max(table_from - end, 1e-9), 0, 1)
    far = np.maximum(t - table_from, 0.0)
    pattern = np.zeros((len(t), LEVELS))
    pattern[:, 0] = on_face + on_round * np.cos(angle)
    pattern[:, 1] = on_wall + on_round * np.sin(angle)
    pattern[:, 2] = on_wall * depth
    pattern[:, 3] = on_round * np.sin(2 * angle)
    pattern[:, 4] = on_table
    pattern[:, 5] = on_table * far
    pattern[:, 6] = on_table * np.exp(-far / max(0.25 * h, 2 * px))
    kernel = spread_kernel(spread)
    half = len(kernel) // 2
    padded = np.pad(pattern, ((half, half), (0, 0)), "edge")
    pattern = np.stack([np.convolve(c, kernel, "valid") for c in padded.T], 1)
    t.flags.writeable = pattern.flags.writeable = False
    return t, pattern


def level_prior(face: float, table: float, opening: bool) -> tuple[np.ndarray, np.ndarray]:
    """Prior means and standard deviations (LEVELS,) of the levels, for a face and a table of this brightness (linear light).

    The wall is usually darker than the face and hardly ever brighter, or the table itself would pass for a
    wall round the outside; inside an opening it may be quite dark; table shades fade by some tenths.  Judgement, no source."""
    wall_u = 0.45 if opening else 0.15
    mean = np.array([face, WALL_SHARE * face, 0.0, 0.0, table, 0.0, 0.0])
    u = np.array([0.03 * face + 0.3, wall_u * face + 1, (0.3 if opening else 0.15) * face + 1, 0.15 * face + 1,
                  0.5 * table + 20, 0.12 * table + 2, 0.3 * table + 5])
    return mean, u


def place_costs(values: np.ndarray, t: np.ndarray, model: tuple[np.ndarray, np.ndarray], places: np.ndarray, mean: np.ndarray,
                prior_u: np.ndarray, noise: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Least-squares cost of every place of the wall for every probe.

    values: (n, k) brightness along the probes at t (k,), evenly spaced; places: (d,) candidate places in mm; mean: (n, LEVELS)
    prior means of the levels, prior_u: (LEVELS,) their standard deviations; noise: (k,) standard deviation of the values.
    Returns costs (n, d) in units of noise variance, and the levels at each probe's best place (n, LEVELS).
    """
    table_t, pattern = model
    # the tabulated model, shifted to each place by linear interpolation
    at = (t[None, :] - places[:, None] - table_t[0]) / (table_t[1] - table_t[0])
    low = np.clip(at.astype(int), 0, len(table_t) - 2)
    share = np.clip(at - low, 0, 1)[..., None]
    basis = pattern[low] * (1 - share) + pattern[low + 1] * share
    basis = basis / noise[:, None]
    values = values / noise
    ridge = 1 / prior_u**2
    gram = basis.transpose(0, 2, 1) @ basis + np.diag(ridge)
    right = values[None] @ basis + (mean * ridge)[None]
    levels = np.linalg.solve(gram, right.transpose(0, 2, 1)).transpose(0, 2, 1)
    total = (values * values).sum(1) + (mean * mean * ridge).sum(1)
    costs = total[:, None] - (levels * right).sum(2).T
    # least squares would let a bright rounding stand for the table beyond the true edge: what is that bright is table
    face = np.maximum(mean[:, :1], 1e-3)
    peak = 0.707 * (levels[:, :, 0] + levels[:, :, 1]).T + levels[:, :, 3].T
    bound = np.maximum(BRIGHTEST_ROUNDING[0] * face, BRIGHTEST_ROUNDING[1] * mean[:, 4:5])
    costs = costs + np.maximum((peak - bound) / (0.1 * face), 0.0) ** 2
    best = costs.argmin(1)
    return costs, levels[best, np.arange(len(values))]
