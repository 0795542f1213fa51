"""Cost of every place of the wall for every probe of a block.

For one place the levels of the regions that a probe sees are linear unknowns with priors; their least-squares cost says how well
the place explains the probe.  All probes and places of a block are solved together: one small system for each kind and place,
factored once and used for all probes of the kind.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

from afterpart.photo.profile import BRIGHTEST_ROUNDING, LEVELS, RimShape, Spread, rim_patterns
from afterpart.photo.rimprobe import ProbeBlock

CHUNK = 300_000
"""Numbers worked on at a time: more would not stay in the processor's cache."""

FEW = 5
"""Probes of one kind, on the average of a block, below which each probe is laid out for itself."""


def place_costs(block: ProbeBlock, shape: RimShape, spread: Spread) -> tuple[np.ndarray, np.ndarray]:
    """Least-squares cost of every place for every probe, (n, d) in units of noise variance, and the levels at each probe's best
    place (n, LEVELS), in the block's order."""
    values, places = block.values.shape[1], len(block.places)
    place = block.step / block.stride
    length = block.stride * (values - 1) + places
    patterns = rim_patterns(shape, block.slope, block.foot, block.px, spread, block.t0 - block.places[-1], place, length)
    n = len(block.values)
    costs, levels = np.empty((n, places)), np.empty((n, LEVELS))
    at_once = max(1, CHUNK // ((LEVELS * values + length) * places))
    for first in range(0, len(block.slope), at_once):
        kinds = slice(first, min(first + at_once, len(block.slope)))
        own = slice(block.kinds[kinds.start], block.kinds[kinds.stop])
        costs[own], levels[own] = _solve(block, patterns[kinds], kinds, own)
    return costs, levels


def _solve(block: ProbeBlock, patterns: np.ndarray, kinds: slice, own: slice) -> tuple[np.ndarray, np.ndarray]:
    """place_costs of some kinds and their probes."""
    places, values = len(block.places), block.values.shape[1]
    weights, ridge = block.weights[kinds], 1 / block.prior_u[kinds] ** 2
    count, n = len(weights), own.stop - own.start
    right = _projections(block, patterns, kinds, own)
    # products of patterns, summed with the weights laid along them
    products = np.empty((count, LEVELS * (LEVELS + 1) // 2, patterns.shape[2]))
    at = 0
    for p in range(LEVELS):
        np.multiply(patterns[:, p:p + 1], patterns[:, :p + 1], out=products[:, at:at + p + 1])
        at += p + 1
    grams = products @ _laid_out(weights, places, block.stride)
    gram = np.empty((LEVELS, LEVELS, count, places))
    at = 0
    for p in range(LEVELS):
        gram[p, :p + 1] = gram[:p + 1, p] = grams[:, at:at + p + 1].transpose(1, 0, 2)
        at += p + 1
    gram[np.arange(LEVELS), np.arange(LEVELS)] += ridge.T[:, :, None]
    kind = block.kind[own] - kinds.start
    mean = block.means[own]
    pull = mean * ridge[kind]
    right = right.transpose(1, 0, 2) + pull.T[:, :, None]
    explained, level = _cholesky_solve(gram, right, kind)
    costs = (block.total[own] + (mean * pull).sum(1))[:, None] - explained
    # least squares would let a bright rounding stand for the table beyond the true edge: what is that bright is table
    face = np.maximum(mean[:, :1], 1e-3)
    peak = 0.707 * (level[0] + level[1]) + level[3]
    bound = np.maximum(BRIGHTEST_ROUNDING[0] * face, BRIGHTEST_ROUNDING[1] * mean[:, 4:5])
    costs += np.maximum((peak - bound) / (0.1 * face), 0.0) ** 2
    return costs, level[:, np.arange(n), costs.argmin(1)].T


def _projections(block: ProbeBlock, patterns: np.ndarray, kinds: slice, own: slice) -> np.ndarray:
    """Weighted products of every probe's values with the patterns as seen from every place, (n, LEVELS, d)."""
    places, values, n = len(block.places), block.values.shape[1], own.stop - own.start
    count = kinds.stop - kinds.start
    if n < FEW * count:
        laid = _laid_out(block.weighted[own], places, block.stride)
        return (patterns[block.kind[own] - kinds.start] if n > count else patterns) @ laid
    # the patterns as the values see them from each place: a place further on sees them one step earlier
    a, b, c = patterns.strides
    seen = np.lib.stride_tricks.as_strided(patterns[:, :, places - 1:], (count, LEVELS, places, values),
                                           (a, b, -c, block.stride * c))
    basis = seen * block.weights[kinds, None, None, :]
    right = np.empty((n, LEVELS * places))
    bounds = block.kinds[kinds.start:kinds.stop + 1] - own.start
    for k, start, stop in zip(range(count), bounds[:-1], bounds[1:], strict=True):
        np.dot(block.values[own][start:stop], basis[k].reshape(-1, values).T, out=right[start:stop])
    return right.reshape(n, LEVELS, places)


def _laid_out(rows: np.ndarray, places: int, stride: int) -> np.ndarray:
    """Rows (m, k) laid along the patterns' steps once for every place: (m, stride * (k - 1) + places, places)."""
    count, values = rows.shape
    band = np.zeros((count, stride * (values - 1) + places, places))
    a, b, c = band.strides
    laid = np.lib.stride_tricks.as_strided(band[:, places - 1:], (count, places, values), (a, c - b, stride * b))
    laid[:] = rows[:, None, :]
    return band


def _cholesky_solve(gram: np.ndarray, right: np.ndarray, kind: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What the levels explain, (n, d), and the levels (LEVELS, n, d).  gram (LEVELS, LEVELS, g, d), used up; right
    (LEVELS, n, d), used up; kind (n,): which system is a probe's.

    Cholesky's method for all systems at once, a column of all of them at a time."""
    columns, explained = [], np.zeros(right.shape[1:])
    for j in range(LEVELS):
        scale = 1 / np.sqrt(gram[j, j])
        column = gram[j:, j] * scale
        gram[j + 1:, j + 1:] -= column[1:, None] * column[None, 1:]
        own = np.concatenate([scale[None], column[1:]])[:, kind]
        columns.append(own)
        right[j] *= own[0]
        explained += right[j] ** 2
        right[j + 1:] -= own[1:] * right[j]
    for j in range(LEVELS - 1, -1, -1):
        right[j] -= (columns[j][1:] * right[j + 1:]).sum(0)
        right[j] *= columns[j][0]
    return explained, right
