"""How likely the values of one part lie on the lattices of a family of profiles, for every scale that is tried, all at once.

Words: a *family* is the profiles that count in the same steps; nominals.py has the likelihood of one value and one step, this the
product of the mixtures over all values.  An *anchor* is a value whose lattice the others of its axis are asked about; it is in
error itself, so its lattice is tried at several offsets from it.
No part of solving an outline takes longer, hence the form: the bells of all steps stand in one table, the profiles' shares are
applied to it by one product of matrices, and one logarithm is taken of many factors.
Single precision serves where no last digit matters (frame.py); it errs by less than 0.01 in the log evidence (tests).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.outline.nominals import COARSE, WIDE_FACTOR, WIDE_SHARE

ANCHORS = 6
"""So many of the surest values of an axis are anchors."""

ANCHOR_OFFSETS, ANCHOR_WEIGHTS = (-1.2, 0.0, 1.2), (0.25, 0.5, 0.25)
"""Offsets of the lattice from its anchor, in the anchor's u, and their weights."""

AT_A_TIME = 24
"""Likelihoods multiplied before their logarithm is taken: far from the ends of the number range."""

AT_ONCE = 30_000
"""About so many likelihoods are reckoned with at once, then the next, in the same memory: what lies in the processor's own memory
is quicker to reach, and new memory for all of them would cost more than the sums."""

FARTHEST = {np.dtype(np.float64): 28.0, np.dtype(np.float32): 3.4}
"""A fiftieth of the squared distance (in u) that counts as the farthest: what is left of the narrow bell, its 25th power, can
still be told from nothing, and smaller numbers are slow to reckon with.  The wide bell is then 1e-49 or 1e-6 of its height."""


@dataclass(frozen=True)
class Values:
    """Values that may lie on the lattice: coordinates in the part's direction (mm, unscaled) and sizes, with their u; known:
    (measured, u, design value) of sizes whose design value the maker fixes; either: (size, u, other size, u) of which one was
    drawn and the other follows, as the pitch circle and the side of four holes in a square."""

    x: np.ndarray
    x_u: np.ndarray
    y: np.ndarray
    y_u: np.ndarray
    sizes: np.ndarray
    sizes_u: np.ndarray
    known: tuple[tuple[float, float, float], ...] = ()
    either: tuple[tuple[float, float, float, float], ...] = ()


def family_evidence(values: Values, scales: np.ndarray, steps: tuple[float, ...], shares: np.ndarray, free: float,
                    kind: type[np.floating]) -> np.ndarray:
    """(profiles, scales) log evidence of profiles with shares (profiles, steps); free: share of values without a nominal; kind:
    float64, or float32 where a family has only to be told to be far behind another."""
    total = _mixed(values.sizes[None], values.sizes_u[None], scales, steps, shares, free, kind)[:, 0]
    for size, u, other, other_u in values.either:
        one, two = (_mixed(np.array([[place]]), np.array([[spread]]), scales, steps, shares, free, kind)[:, 0]
                    for place, spread in ((size, u), (other, other_u)))
        total = total + np.logaddexp(one, two) - math.log(2.0)
    return total + _axis(values.x, values.x_u, scales, steps, shares, free, kind) + _axis(
        values.y, values.y_u, scales, steps, shares, free, kind)


def _axis(values: np.ndarray, u: np.ndarray, scales: np.ndarray, steps: tuple[float, ...], shares: np.ndarray, free: float,
          kind: type[np.floating]) -> np.ndarray | float:
    """(profiles, scales) log evidence of the coordinates along one axis, averaged over the anchors and their offsets."""
    if len(values) < 2:
        return 0.0
    anchors = np.argsort(u, kind="stable")[:ANCHORS]
    others = np.array([np.delete(np.arange(len(values)), anchor) for anchor in anchors])
    origins = values[anchors][:, None] + np.array(ANCHOR_OFFSETS) * u[anchors][:, None]
    gaps = values[others][:, None] - origins[:, :, None]
    each_u = np.repeat(u[others], len(ANCHOR_OFFSETS), axis=0)
    every = _mixed(gaps.reshape(each_u.shape), each_u, scales, steps, shares, free, kind)
    every += np.log(len(ANCHOR_WEIGHTS) * np.tile(ANCHOR_WEIGHTS, len(anchors)))[:, None]
    top = every.max(axis=1)
    return top + np.log(np.exp(every - top[:, None]).mean(axis=1))


def _mixed(places: np.ndarray, u: np.ndarray, scales: np.ndarray, steps: tuple[float, ...], shares: np.ndarray, free: float,
           kind: type[np.floating]) -> np.ndarray:
    """(profiles, lattices, scales) log likelihood ratio against "anywhere" of all values of a lattice.

    places, u (lattices, values): unscaled, from the lattice's origin."""
    height = shares * np.array(steps) / math.sqrt(2.0 * math.pi)
    weights = np.concatenate((height * (1.0 - WIDE_SHARE), height * (WIDE_SHARE / WIDE_FACTOR)), axis=1).astype(kind)
    lattices, count = places.shape
    logs, scales = np.zeros((len(shares), lattices, len(scales))), scales.astype(kind)
    some = min(max(AT_ONCE // max(min(count, AT_A_TIME) * len(scales), 1), 1), lattices)
    table = np.empty((2 * len(steps) + len(shares)) * some * min(count, AT_A_TIME) * len(scales), kind)
    for k in range(0, count, AT_A_TIME):
        for first in range(0, lattices, some):
            own, own_u = (each[first : first + some, k : k + AT_A_TIME] for each in (places, u))
            size = own.size * len(scales)
            bells, mixed = table[: 2 * len(steps) * size], table[-len(shares) * size :].reshape(len(shares), size)
            shaped = bells.reshape(2, len(steps), *own.shape, len(scales))
            for at, step in enumerate(steps):
                _bells(own / step, own_u / step, scales, shaped[:, at])
            np.matmul(weights, bells.reshape(2 * len(steps), size), out=mixed)
            mixed = mixed.reshape(len(shares), *own.shape, len(scales))
            mixed *= (1.0 / own_u).astype(kind)[..., None]
            mixed += kind(free)
            logs[:, first : first + some] += np.log(mixed.prod(axis=2, dtype=float))
    return logs


def _bells(places: np.ndarray, u: np.ndarray, scales: np.ndarray, out: np.ndarray) -> None:
    """The narrow and the wide bell, each of height 1, at the distance of scaled places (lattices, values) from the nearest whole
    number, into out (2, lattices, values, scales); u (lattices, values).  A value whose u is coarse tells nothing: ratio 1 in the
    end.

    One exponential for both: they are the 25th and the 4th power of exp(-square / 50)."""
    narrow, wide = out
    np.multiply(places.astype(out.dtype)[..., None], scales, out=narrow)
    np.rint(narrow, out=wide)
    narrow -= wide
    np.multiply(narrow, narrow, out=narrow)
    narrow *= (-0.02 * u**-2).astype(out.dtype)[..., None]
    farthest = FARTHEST[out.dtype]
    if 0.02 * 0.25 > farthest * float(u.min(initial=math.inf)) ** 2:
        np.maximum(narrow, out.dtype.type(-farthest), out=narrow)
    np.exp(narrow, out=narrow)
    np.multiply(narrow, narrow, out=wide)
    np.multiply(wide, wide, out=wide)
    narrow *= wide  # the 5th power
    fifth = narrow.copy()
    np.multiply(narrow, narrow, out=narrow)
    np.multiply(narrow, narrow, out=narrow)
    narrow *= fifth
    coarse = u > COARSE
    if coarse.any():
        narrow[coarse] = 0.0
        wide[coarse] = (u[coarse] * (math.sqrt(2.0 * math.pi) * WIDE_FACTOR / WIDE_SHARE)).astype(out.dtype)[:, None]
