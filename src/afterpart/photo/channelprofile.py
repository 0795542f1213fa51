"""How brightness runs from the face across the top edge of a channel's wall, and on over the floor.

Words as in profile.py, with the channel's floor where the table is there: face | wall (only where the camera sees it) | floor.
A channel is shallow, so its wall is a strip of a few pixels, its floor lies in the shade of both walls, and no part of either
need be darker than another: the floor is a chain of straight pieces that bends wherever light and shade want it to, and the step
down from the face is what places the edge.  A wall as bright as the face would hide its top edge and let the foot pass for
it: such walls are rare (they look away from the sky) and the priors say so.
Limits: sharp top edges; walls upright.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

from afterpart.geometry.robust import median
from afterpart.photo.profile import RimShape, Spread, spread_kernel
from afterpart.photo.rimprobe import ProbeBlock

BEND_PX = 2.5
"""The floor's brightness may bend this often."""

BENDS = 5
LEVELS = 5 + BENDS
"""face, wall top, wall fall-off, floor, floor slope, bends of the floor"""

WALL_LEVEL, WALL_U = 0.55, 0.22
"""Usual brightness of a channel's wall as a share of the face's, and how much walls differ; judgement."""

FLOOR_LEVEL, FLOOR_U = 0.7, 0.35
"""The same of the floor."""

UNSEEN_STEP, UNSEEN_PRICE = 0.08, 30.0
"""A step at the edge of less than this share of the face's brightness is hardly seen; price of such an edge (judgement)."""

MISFIT = 0.04
"""What sharpening and tone curve leave unexplained at an edge, as a share of its drop in brightness."""

SLOPE_U, BEND_U = 0.06, 0.03
"""Usual slope of the floor's brightness, and usual change of it at a bend, as shares of the face's per pixel."""


def channel_costs(block: ProbeBlock, shape: RimShape, spread: Spread) -> tuple[np.ndarray, np.ndarray]:
    """Least-squares cost of every place of the wall for every probe, (n, d), and the levels at each probe's best place
    (n, LEVELS), in the block's order: what placecost.place_costs is for the rims of a part.  shape: only its height counts, which
    stands in the block's feet already."""
    values, places = block.values.shape[1], len(block.places)
    step = block.step / block.stride
    patterns = channel_patterns(block.foot, block.px, spread, block.t0 - block.places[-1], step,
                                block.stride * (values - 1) + places)
    # a place further on sees the patterns one step earlier
    seen = (places - 1 - np.arange(places))[:, None] + block.stride * np.arange(values)
    costs, levels = np.empty((len(block.values), places)), np.empty((len(block.values), LEVELS))
    for k in range(len(block.foot)):
        own = slice(block.kinds[k], block.kinds[k + 1])
        costs[own], levels[own] = _solve(block.values[own], patterns[k][:, seen], block.weights[k], block.means[own, 0],
                                          block.foot[k] > 0)
    return costs, levels


def _solve(values: np.ndarray, patterns: np.ndarray, weights: np.ndarray, face: np.ndarray,
           wall_seen: bool) -> tuple[np.ndarray, np.ndarray]:
    """values (m, k) of probes of one kind; patterns (LEVELS, d, k); weights (k,); face (m,) brightness beside the edge;
    wall_seen: the wall comes before the floor."""
    usual = median(face)
    mean, ridge = level_means(face, usual)
    drop = usual - float(values.mean(0).min())
    weights = weights / (1 + weights * (MISFIT * drop) ** 2)
    basis = patterns.transpose(1, 0, 2)
    gram = (basis * weights) @ basis.transpose(0, 2, 1) + np.diag(ridge)
    right = (basis * weights) @ values.T + (mean * ridge).T
    level = np.linalg.solve(gram, right)
    total = (values * values * weights).sum(1) + (mean * mean * ridge).sum(1)
    costs = (total - (level * right).sum(1)).T
    # sharpening and tone leave a misfit that a wall just like the face would take up: an edge is where something is seen
    step = (level[:, 0] - level[:, 1 if wall_seen else 3]).T / np.maximum(face, 1e-3)[:, None]
    costs += UNSEEN_PRICE * np.exp(-0.5 * (step / UNSEEN_STEP) ** 2)
    return costs, level[costs.argmin(1), :, np.arange(len(values))]


def channel_patterns(feet: np.ndarray, px: float, spread: Spread, low: float, step: float, count: int) -> np.ndarray:
    """Blurred patterns (g, LEVELS, count) for walls whose feet are seen at feet (g,) mm, from `low` on by `step`."""
    kernel = spread_kernel(spread, step / px)
    half = len(kernel) // 2
    ends = low + (np.arange(-half, count + half + 1) - 0.5) * step
    # blurring and taking differences of the integrals are one, as in profile.rim_patterns
    weights = np.diff(kernel, prepend=0.0, append=0.0) / -step
    out = np.empty((len(feet), LEVELS, count))
    for k, foot in enumerate(feet):
        for level, area in enumerate(_areas(max(float(foot), 0.0), px, ends)):
            out[k, level] = np.correlate(area, weights, "valid")
    return out


def _areas(foot: float, px: float, t: np.ndarray) -> list[np.ndarray]:
    """Integrals of the levels' patterns up to t (k,), not blurred."""
    wall = np.clip(t, 0.0, foot)
    far = np.maximum(t - foot, 0.0)
    bends = [np.maximum(far - (k + 1) * BEND_PX * px, 0.0) ** 2 / (2 * px) for k in range(BENDS)]
    return [np.minimum(t, 0.0), wall, wall * wall / max(2 * foot, 1e-9), far, far * far / (2 * px), *bends]


def level_means(face: np.ndarray, usual: float) -> tuple[np.ndarray, np.ndarray]:
    """Prior means (m, LEVELS) of probes with this face brightness (m,), and 1 / variance (LEVELS,) of all of them, whose
    usual brightness is given."""
    mean = np.zeros((len(face), LEVELS))
    mean[:, 0], mean[:, 1], mean[:, 3] = face, WALL_LEVEL * face, FLOOR_LEVEL * face
    usual = max(usual, 1e-3)
    u = np.array([0.03 * usual + 0.3, WALL_U * usual + 0.3, 0.1 * usual + 0.3, FLOOR_U * usual + 0.5, SLOPE_U * usual,
                  *[BEND_U * usual] * BENDS])
    return mean, 1 / u**2
