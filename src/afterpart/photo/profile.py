"""How brightness runs across the rim of a moulded face, and where that puts the material's wall.

A probe crosses the rim from material to void along t, measured in the plane of the face; t = 0 is where the vertical wall would
stand if it reached the face. Words: *slope* m, horizontal run of the sight line per mm of height (positive: the camera stands
on the void side and sees the wall); *rounding* r, radius between face and wall; *draft*, tangent of the wall's lean. What is
seen, in order: face | rounding | wall (only where m + draft > 0) | table. The rounding's shade turns from the face's to the
wall's with the normal; on the far side the rounding hides the wall and the last point of it that can be seen is the
*silhouette*. Unknown are the levels of these regions (linear, in linear light) and the place of the wall (searched), so each
place has a best least-squares cost: nothing is thresholded.

Limits: the floor beyond the rim is taken to be the table (a blind hole's floor is not told apart here); light from one side may
brighten the rounding, for which one extra term stands, and a second where the light is known from all openings together.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from afterpart.photo.rimlight import LEFT_U, RimLight

LEVELS = 7
"""face, wall top, wall fall-off, rounding glint, table, table fall-off, contact shade"""

LIT_LEVELS = LEVELS + 1
"""The same and the rounding's sheen: where the light on the openings is known."""

PEAK = (0.707, 0.707, 0.0, 1.0, 0.0, 0.0, 0.0, 0.483)
"""What the levels make of the rounding's brightness half way round."""

FACE, WALL, GLINT, TABLE, SHEEN = 0, 1, 3, 4, 7
"""Numbers of the levels that have a prior value of their own."""

SHEEN_POWER = 5
"""The sheen goes with the sine of the normal's lean and this power of its cosine: most at 24 degrees, where lamps half way up
the sky shine (judgement)."""

WALL_SHARE = 0.65
"""Usual brightness of a wall as a share of the face's; judgement."""

BRIGHTEST_ROUNDING = (1.5, 0.5, 15.0)
"""A rounding brighter than so many times the face and the table, whichever is more, is punished, the more the farther above, in
shares of the face; a glossy dark edge may shine, but not like the paper (judgement)."""

DARKEST_ROUNDING, DARK_FACE = (0.55, 40.0), 3.0
"""A part's outer rounding darker half way round than this share of the face is punished, the more the farther below, in shares of
the face and as much brightness more: half way from the face to the wall it sees most of what lights the face, so that it is
darker only where nearly all light comes from behind it (judgement)."""

BLOCK = 48
"""Steps of the patterns that are blurred at a time."""

WIDE = 2.2
"""Width of the sharpening's surround in blurs."""


@dataclass(frozen=True)
class RimShape:
    """Heights and roundings that fix what a probe can see.  height: face above table; camera_z: camera above table; bore: width
    of a hole so deep that nothing of its floor is seen, 0 for any other rim; light: what the light makes of the roundings of
    openings, None where nothing is known of it."""

    height: float
    rounding: float
    draft: float
    camera_z: float
    bore: float = 0.0
    light: RimLight | None = None

    @property
    def levels(self) -> int:
        """How many levels a probe has."""
        return LEVELS if self.light is None else LIT_LEVELS


@dataclass(frozen=True)
class Spread:
    """How camera and phone spread a point of light: a Gaussian of blur_px, less a share of a wider one (sharpening)."""

    blur_px: float = 0.95
    sharpening: float = 0.3


def spread_kernel(spread: Spread, step_px: float) -> np.ndarray:
    """The spread at steps of step_px, unit sum, odd length."""
    half = int(np.ceil(4 * spread.blur_px * (WIDE if spread.sharpening else 1.0) / step_px))
    k = np.arange(-half, half + 1) * step_px
    narrow, wide = (np.exp(-k * k / (2 * s * s)) for s in (spread.blur_px, WIDE * spread.blur_px))
    return (1 + spread.sharpening) * narrow / narrow.sum() - spread.sharpening * wide / wide.sum()


def rim_patterns(shape: RimShape, slopes: np.ndarray, feet: np.ndarray, px: float, spread: Spread, low: float, step: float,
                 count: int) -> np.ndarray:
    """The linear levels' patterns along t for several views of the rim at once, blurred.

    slopes: (g,) m; feet: (g,) where the wall meets the table, along t in mm; px: mm per picture pixel at the face; spread: how
    the picture spreads a point; low, step, count: where the patterns are wanted, in mm.
    Returns (g, shape.levels, count) float32.  Each value is the mean over one step, from the regions' integrals: an edge between
    two steps counts on both, so that a coarse step moves nothing.
    """
    kernel = spread_kernel(spread, step / px)
    half = len(kernel) // 2
    ends = low + (np.arange(-half, count + half + 1) - 0.5) * step
    areas = _region_areas(shape, slopes[:, None], feet[:, None], px, ends)
    # blurring and taking differences of the integrals are one: a band of the kernel's own differences
    weights = np.diff(kernel, prepend=0.0, append=0.0) / -step
    band = np.zeros((BLOCK + len(weights) - 1, BLOCK), np.float32)
    rows, columns = band.strides
    np.lib.stride_tricks.as_strided(band, (BLOCK, len(weights)), (rows + columns, rows))[:] = weights
    raw = areas.reshape(-1, len(ends)).astype(np.float32)
    blurred = np.empty((len(raw), count), np.float32)
    for first in range(0, count, BLOCK):
        own = min(BLOCK, count - first)
        reach = own + len(weights) - 1
        np.matmul(raw[:, first:first + reach], band[:reach, :own], out=blurred[:, first:first + own])
    return blurred.reshape(shape.levels, len(slopes), count).transpose(1, 0, 2)


def _region_areas(shape: RimShape, slope: np.ndarray, foot: np.ndarray, px: float, t: np.ndarray) -> np.ndarray:
    """Integrals of the levels' patterns up to t (k,), not blurred: (shape.levels, g, k).  slope, foot: (g, 1)."""
    r, h = max(shape.rounding, 1e-3 * px), max(shape.height, 0.0)
    # silhouette: the sight line touches the rounding where its slope equals the line's
    turn = np.where(slope + shape.draft >= 0, np.pi / 2, np.minimum(np.arctan2(1.0, -slope), np.pi / 2))
    end = -r + r * np.sin(turn) + slope * r * (1 - np.cos(turn))
    areas = np.zeros((shape.levels, len(slope), len(t)))
    areas[0] = np.minimum(t, -r)
    # the rounding's normal leans by phi where the sight line meets it: t = -r + r sin(phi) + slope r (1 - cos(phi))
    first, last = np.searchsorted(t, [-r, end.max()])
    lean = np.arctan(slope)
    sine = ((t[first:last] + r) / r - slope) / np.hypot(1.0, slope)
    phi = np.clip(lean + np.arcsin(np.clip(sine, -1.0, 1.0)), 0.0, turn)
    for columns, angle in ((slice(first, last), phi), (slice(last, None), turn)):
        s, c = np.sin(angle), np.cos(angle)
        own, cross, square = 0.5 * (angle + s * c), 0.5 * (angle - s * c), 0.5 * s * s
        areas[0, :, columns] += r * (own + slope * square)
        areas[1, :, columns] = r * (square + slope * cross)
        areas[3, :, columns] = r * (2 / 3) * (1 - c**3 + slope * s**3)
        if shape.light is not None:
            areas[SHEEN, :, columns] = r * _sheen_area(s, c, slope)
    table_from = np.maximum(foot, end)
    first = np.searchsorted(t, end.min())
    beyond = t[first:]
    wall = np.clip(beyond, end, table_from) - end
    areas[1, :, first:] += wall
    areas[2, :, first:] = wall * wall / (2 * np.maximum(table_from - end, 1e-9))
    far = np.maximum(beyond - table_from, 0.0)
    fade = max(0.25 * h, 2 * px)
    areas[4, :, first:] = far
    areas[5, :, first:] = 0.5 * far * far
    areas[6, :, first:] = -fade * np.expm1(-far / fade)
    return areas


def _sheen_area(s: np.ndarray, c: np.ndarray, slope: np.ndarray) -> np.ndarray:
    """Integral of the sheen, of largest value 1, up to the lean with this sine and cosine, along t / r."""
    n = SHEEN_POWER
    along, down = (1 - c ** (n + 2)) / (n + 2), s**3 / 3 - 2 * s**5 / 5 + s**7 / 7
    return np.asarray((along + slope * down) * (n + 1) ** (0.5 * (n + 1)) / n ** (0.5 * n))


def level_prior(face: np.ndarray, table: np.ndarray, opening: np.ndarray, lit: bool = False) -> np.ndarray:
    """Prior standard deviations (g, levels) of the levels, for faces and tables (g,) of this brightness (linear
    light); lit: the light on openings (g,) is known.

    The wall is usually darker than the face and hardly ever brighter, or the table itself would pass for a
    wall round the outside; inside an opening (g,) it may be quite dark; table shades fade by some tenths.
    Judgement, no source."""
    own = LEFT_U * face + 0.3
    wall, glint = np.where(opening, 0.45, 0.15) * face + 1, 0.15 * face + 1
    if lit:
        wall, glint = np.where(opening, own, wall), np.where(opening, own, glint)
    u = [0.03 * face + 0.3, wall, np.where(opening, 0.3, 0.15) * face + 1, glint, 0.5 * table + 20, 0.12 * table + 2,
         0.3 * table + 5]
    return np.stack([*u, np.where(opening, own, 0.15 * face + 1)] if lit else u, 1)


def given_levels(shape: RimShape, face: np.ndarray, table: np.ndarray, opening: np.ndarray,
                 normals: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What is known of the levels beforehand: (n, c) values and what they make of the levels (c, levels), of probes with this
    brightness of face and table (n,), of rims that are openings (n,) and have these normals (n, 2)."""
    gives = np.zeros((2 if shape.light is None else 5, shape.levels))
    gives[0, FACE], gives[1, TABLE] = 1.0, 1.0
    if shape.light is None:
        gives[0, WALL] = WALL_SHARE
        return np.stack([face, table], axis=1), gives
    gives[2, WALL], gives[3, GLINT], gives[4, SHEEN] = 1.0, 1.0, 1.0
    lit = np.where(opening[:, None], shape.light.levels(normals), (WALL_SHARE, 0.0, 0.0))
    return np.column_stack([face, table, lit * face[:, None]]), gives
