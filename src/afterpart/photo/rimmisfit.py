"""How badly a rounding, a lean and a spread explain the rims of a part, told with care: what photo/rounding.py weighs.

Some things would let a wrong rounding win, and are kept out.  Looked for at a coarse row of places, the rounding fits best that
has its wall on one of them: places lie close here, and the least cost is read between them.  The edge of a dark part on bright
paper tells the shape of the picture's spread to a thousandth, of which a Gaussian knows a hundredth (*fault*): no value counts
for more than that, and a misfit within it is no word on the rounding.  And the wider the rounding, the more its levels are free
to follow what is there: what this freedom takes off the cost by itself is put back (*freedom*).
Limits: levels of neighbouring probes are alike; their freedom is counted as if they were not.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np

from afterpart.geometry.robust import median
from afterpart.photo.profile import RimShape, Spread, rim_patterns
from afterpart.photo.rimprobe import Course, Grain, ProbeBlock
from afterpart.photo.rims import judge_rims
from afterpart.photo.roundrim import round_moves
from afterpart.photo.shape import Judged

CLOSE = Grain(0.3, 4)
"""Places this close; values as far apart as in MEDIUM."""

SPREAD_FAULT = 0.01
"""What the picture's spread of a point is misjudged by, as a share of the step from face to table (photo booth: what is left at
the true place, with sharpening and compression, is a hundredth or two)."""

FREEDOM = 2.0
"""How much freedom counts.  By itself 1; the noise of values is alike over more of them than a block's correlation says, so that
costs are too large beside it (photo booth: with it roundings of 0.2, 0.4 and 0.6 mm come out nearly without bias)."""


def with_faults(block: ProbeBlock) -> ProbeBlock:
    """The block with values that count for no more than the spread's fault allows."""
    return replace(block, weights=block.weights / (1.0 + _faults(block)[:, None] * block.weights))


def _faults(block: ProbeBlock) -> np.ndarray:
    """Variance of the spread's fault by kind (g,)."""
    step = np.add.reduceat(block.table - block.face, block.kinds[:-1]) / np.diff(block.kinds)
    return np.asarray((SPREAD_FAULT * step) ** 2)


def _of_rims(block: ProbeBlock, own: np.ndarray) -> np.ndarray:
    """Mean over each rim's probes (rims,) of what their kinds have (g,)."""
    rims = len(block.starts) - 1
    return np.bincount(block.rim, own[block.kind], rims) / np.bincount(block.rim, minlength=rims)


def expected_faults(block: ProbeBlock) -> np.ndarray:
    """For each rim (rims,) what faults are expected to add to a probe's cost, in a block that counts with them: a misfit smaller
    than that is luck, and no word on the rounding."""
    return _of_rims(block, _faults(block) * block.weights.sum(axis=1)) / block.correlation


def judge_courses(block: ProbeBlock, courses: list[Course], shape: RimShape, spread: Spread) -> Judged:
    """Mean logarithm of the rims' mean costs, long rims weighing more: each rim has a misfit of its own, and only relative gains
    say anything.  And where each rim stands."""
    logs, weights, offsets = [], [], []
    rims = judge_rims(block, shape, spread, chained=False)
    spare = level_freedom(block, shape, spread) + expected_faults(block)
    moved = iter(round_moves([rim for course, rim in zip(courses, rims, strict=True) if course.normal_smooth == 0]))
    for number, (course, rim) in enumerate(zip(courses, rims, strict=True)):
        if course.normal_smooth == 0:
            cost, grown = next(moved)
            offsets.append(grown)
        else:
            cost = least_costs(rim.costs)
            offsets.append(median(((rim.points - rim.base) * rim.normals).sum(axis=1)))
        logs.append(float(np.log(np.mean(np.minimum(cost, 6 * median(cost))) + spare[number])))
        weights.append(float(np.hypot(*np.diff(course.chain, axis=0, append=course.chain[:1]).T).sum() / block.px) ** 0.5)
    return Judged(np.array(logs), np.array(weights), np.array(offsets))


def least_costs(costs: np.ndarray) -> np.ndarray:
    """The least cost of each row of costs (n, d), between the places by a parabola: (n,)."""
    rows, index = np.arange(len(costs)), np.clip(costs.argmin(1), 1, costs.shape[1] - 2)
    a, b, c = costs[rows, index - 1], costs[rows, index], costs[rows, index + 1]
    dip = (a - c) ** 2 / (8 * np.maximum(a - 2 * b + c, 1e-9))
    # at the row's ends there is no parabola to go by
    return np.asarray(np.where((b <= a) & (b <= c), b - np.minimum(dip, 0.5 * b), costs.min(1)))


def level_freedom(block: ProbeBlock, shape: RimShape, spread: Spread) -> np.ndarray:
    """For each rim (rims,) what its levels' freedom takes off a probe's cost by itself: the logarithm of how much narrower the
    values leave the levels than their priors were (Occam's factor), as far as noise and not faults is what levels can follow."""
    patterns = rim_patterns(shape, block.slope, block.foot, block.px, spread, block.t0, block.step,
                            block.values.shape[1]).astype(float)
    told = np.einsum("gak,gk,gbk->gab", patterns, block.weights, patterns, optimize=True)
    narrowed = told * block.prior_u[:, :, None] * block.prior_u[:, None, :] + np.eye(shape.levels)
    noise = 1.0 - _faults(block) * block.weights.sum(axis=1) / (block.weights > 0).sum(axis=1)
    return FREEDOM * _of_rims(block, np.linalg.slogdet(narrowed)[1] * noise)
