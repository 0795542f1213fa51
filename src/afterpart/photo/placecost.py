"""Cost of every place of the wall for every probe of a block.

For one place the levels of the regions that a probe sees are linear unknowns with priors; their least-squares cost says how well
the place explains the probe.  One small system for each kind and place is factored, all of them at once, and serves all probes of
the kind.  Places lie closer than values, by the block's *stride*: every so manieth place sees the patterns at the same steps, one
value later, so places are kept by *phase* (the remainder of their number) until the costs are done.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from afterpart.photo.profile import BRIGHTEST_ROUNDING, DARK_FACE, DARKEST_ROUNDING, PEAK, RimShape, Spread, rim_patterns
from afterpart.photo.rimprobe import ProbeBlock

CHUNK = 300_000
"""Numbers worked on at a time: more would not stay in the processor's cache."""

FEW = 10
"""Probes of one kind, on the average, below which each probe is laid out for itself."""


@dataclass(frozen=True)
class _Piece:
    """Some kinds of a block with their probes: weights (g, k), patterns (g, levels, stride, k + phased - 1) by phase, ridge
    (g, levels) 1 / variance of the levels' priors; values (n, k); given (n, c), gives (c, levels): as in ProbeBlock; kind (n,),
    bounds (g + 1,);
    phased: places of one phase."""

    weights: np.ndarray
    patterns: np.ndarray
    ridge: np.ndarray
    values: np.ndarray
    given: np.ndarray
    gives: np.ndarray
    kind: np.ndarray
    bounds: np.ndarray
    phased: int


def place_costs(block: ProbeBlock, shape: RimShape, spread: Spread) -> tuple[np.ndarray, np.ndarray]:
    """Least-squares cost of every place for every probe, (n, d) in units of noise variance, and the brightness its rounding would
    have there (n, d), in the block's order."""
    values, places = block.values.shape[1], len(block.places)
    place = block.step / block.stride
    phased = -(-places // block.stride)
    length = values + phased - 1
    patterns = rim_patterns(shape, block.slope, block.foot, block.px, spread, block.t0 - block.places[-1], place,
                            block.stride * length)
    by_phase = patterns.reshape(-1, shape.levels, length, block.stride).transpose(0, 1, 3, 2)
    patterns = np.ascontiguousarray(by_phase, np.float64)
    ridge = 1 / block.prior_u**2
    explained, peak = np.empty((2, len(block.values), block.stride * phased))
    at_once = max(1, CHUNK // (shape.levels * values * phased))
    for start in range(0, len(block.slope), at_once):
        kinds = slice(start, min(start + at_once, len(block.slope)))
        own = slice(block.kinds[kinds.start], block.kinds[kinds.stop])
        # kinds stand in the order of their feet: what lies beyond the farthest of these counts for none of them
        columns = slice(0, int(np.flatnonzero(block.weights[kinds].any(0))[-1]) + 1)
        piece = _Piece(block.weights[kinds, columns], patterns[kinds, ..., :columns.stop + phased - 1], ridge[kinds],
                       block.values[own, columns], block.given[own], block.gives, block.kind[own] - kinds.start,
                       block.kinds[kinds.start:kinds.stop + 1] - own.start, phased)
        few = own.stop - own.start < FEW * (kinds.stop - kinds.start)
        explained[own], peak[own] = _solve_probes(piece) if few else _solve_kinds(piece)
    known = block.total + (ridge[block.kind] * (block.given @ block.gives) ** 2).sum(1)
    costs = known[:, None] - explained
    # least squares would let a bright rounding stand for the table beyond the true edge: what is that bright is table
    bright = np.maximum(block.face, 1e-3)
    bound = np.maximum(BRIGHTEST_ROUNDING[0] * bright, BRIGHTEST_ROUNDING[1] * block.table)
    costs += (np.maximum(peak - bound[:, None], 0.0) * (BRIGHTEST_ROUNDING[2] / bright[:, None])) ** 2
    # nor may a dark rounding stand for the wall round the outside: the true edge would lie where the wall begins
    bound = np.where(block.inside[block.rim], 0.0, DARKEST_ROUNDING[0] * block.face)
    grain = DARKEST_ROUNDING[1] / (block.face + DARK_FACE)
    costs += np.where(bound > 0.0, grain, 0.0)[:, None] ** 2 * np.maximum(bound[:, None] - peak, 0.0) ** 2
    return _by_place(costs, block.stride, places), _by_place(peak, block.stride, places)


def _by_place(values: np.ndarray, stride: int, places: int) -> np.ndarray:
    """Values (n, stride * phased) kept by phase, in the order of the places: the patterns' steps were counted from the last."""
    return values.reshape(len(values), stride, -1).transpose(0, 2, 1).reshape(len(values), -1)[:, :places][:, ::-1]


def _solve_probes(piece: _Piece) -> tuple[np.ndarray, np.ndarray]:
    """What the levels explain and the brightness of the rounding, (n, d) each, probe by probe."""
    factors = _factored(_gram(piece))
    count, levels, stride, length = piece.patterns.shape
    laid = _laid_out(piece.values * piece.weights[piece.kind], piece.phased)
    right = piece.patterns.reshape(count, levels * stride, length)[piece.kind] @ laid
    right = right.reshape(len(laid), levels, -1).transpose(1, 0, 2)
    right = right + (piece.ridge[piece.kind] * (piece.given @ piece.gives)).T[:, :, None]
    peak = (_peak_rows(factors)[:, piece.kind] * right).sum(0)
    explained = np.zeros(right.shape[1:])
    for j, column in enumerate(factors):
        own = column[:, piece.kind]
        right[j] *= own[0]
        explained += right[j] ** 2
        right[j + 1:] -= own[1:] * right[j]
    return explained, peak


def _solve_kinds(piece: _Piece) -> tuple[np.ndarray, np.ndarray]:
    """The same by one matrix for each kind, which all its probes share.  What is given beforehand stands for some more values."""
    factors = _factored(_gram(piece))
    count, values = piece.weights.shape
    _, levels, stride, _ = piece.patterns.shape
    more = len(piece.gives)
    # the patterns as the values see them from each place
    seen = np.lib.stride_tricks.sliding_window_view(piece.patterns, values, axis=3)
    rows = np.empty((count, levels + 1, stride, piece.phased, values + more))
    np.multiply(seen, piece.weights[:, None, None, None, :], out=rows[:, :-1, ..., :values])
    rows = rows.reshape(count, levels + 1, stride * piece.phased, values + more)
    rows[:, :-1, :, values:] = (piece.ridge[:, :, None] * piece.gives.T)[:, :, None, :]
    rows[:, -1] = np.einsum("pgd,gpdk->gdk", _peak_rows(factors), rows[:, :-1])
    for j, column in enumerate(factors):
        rows[:, j] *= column[0][..., None]
        rows[:, j + 1:levels] -= column[1:].transpose(1, 0, 2)[..., None] * rows[:, j:j + 1]
    data = np.column_stack([piece.values, piece.given])
    seen_as = np.empty((len(data), levels + 1, stride * piece.phased))
    for k, start, stop in zip(range(count), piece.bounds[:-1], piece.bounds[1:], strict=True):
        np.dot(data[start:stop], rows[k].reshape(-1, values + more).T, out=seen_as[start:stop].reshape(stop - start, -1))
    return np.einsum("npd,npd->nd", seen_as[:, :-1], seen_as[:, :-1]), seen_as[:, -1]


def _gram(piece: _Piece) -> np.ndarray:
    """The systems' matrices (levels, levels, g, d): products of patterns, summed with the weights laid along them."""
    count, levels, stride, length = piece.patterns.shape
    products = np.empty((count, levels * (levels + 1) // 2, stride, length))
    at = 0
    for p in range(levels):
        np.multiply(piece.patterns[:, p:p + 1], piece.patterns[:, :p + 1], out=products[:, at:at + p + 1])
        at += p + 1
    sums = products.reshape(count, -1, length) @ _laid_out(piece.weights, piece.phased)
    sums = sums.reshape(count, at, -1).transpose(1, 0, 2)
    gram = np.empty((levels, levels, count, stride * piece.phased))
    at = 0
    for p in range(levels):
        gram[p, :p + 1] = gram[:p + 1, p] = sums[at:at + p + 1]
        gram[p, p] += piece.ridge[:, p, None]
        at += p + 1
    return gram


def _laid_out(rows: np.ndarray, phased: int) -> np.ndarray:
    """Rows (m, k) laid along the patterns once for every place of one phase: (m, k + phased - 1, phased)."""
    count, values = rows.shape
    band = np.zeros((count, values + phased - 1, phased))
    a, b, c = band.strides
    laid = np.lib.stride_tricks.as_strided(band, (count, phased, values), (a, c + b, b))
    laid[:] = rows[:, None, :]
    return band


def _factored(gram: np.ndarray) -> list[np.ndarray]:
    """Cholesky's factors of all matrices (levels, levels, g, d), which are used up: column j (levels - j, g, d) from its diagonal
    down, the diagonal inverted."""
    columns = []
    for j in range(len(gram)):
        scale = 1 / np.sqrt(gram[j, j])
        column = gram[j:, j] * scale
        gram[j + 1:, j + 1:] -= column[1:, None] * column[None, 1:]
        column[0] = scale
        columns.append(column)
    return columns


def _peak_rows(factors: list[np.ndarray]) -> np.ndarray:
    """What turns the right sides of the systems into the brightness of the rounding, (levels, g, d)."""
    rows = np.empty((len(factors), *factors[0].shape[1:]))
    rows[:] = np.array(PEAK[:len(factors)])[:, None, None]
    for j, column in enumerate(factors):
        rows[j] *= column[0]
        rows[j + 1:] -= column[1:] * rows[j]
    for j in range(len(factors) - 1, -1, -1):
        rows[j] -= (factors[j][1:] * rows[j + 1:]).sum(0)
        rows[j] *= factors[j][0]
    return rows
