"""Which nominal a value has: candidates on lattices and in lists, weighed by Bayes against *no nominal*.

A *lattice* is all multiples of a step.  Prior: a share w of all values lies on the lattice of step h, evenly over it, so each of
its candidates carries w h per mm of range; the share `free` lies anywhere.  With a normal likelihood of standard uncertainty u
a candidate v of several lattices has the posterior weight
    sum(w h) N(m; v, u)        against        free * 1
where N has a share of wider errors mixed in (edges in shadow are not normally distributed).
A *profile* is the shares of one part: its unit system and how fine its designer counted.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from afterpart.units import MM_PER_INCH


@dataclass(frozen=True)
class Profile:
    """name; system: metric | inch; steps in mm (coarse to fine) and their shares; prior log weight of the profile itself."""

    name: str
    system: str
    steps: tuple[float, ...]
    shares: tuple[float, ...]
    log_prior: float


def _inch(*parts: float) -> tuple[float, ...]:
    return tuple(MM_PER_INCH * p for p in parts)


PROFILES = (
    Profile("whole mm", "metric", (1.0, 0.5, 0.25, 0.1), (0.80, 0.10, 0.01, 0.03), math.log(0.42)),
    Profile("half mm", "metric", (1.0, 0.5, 0.25, 0.1), (0.42, 0.42, 0.02, 0.08), math.log(0.26)),
    Profile("quarter mm", "metric", (1.0, 0.5, 0.25, 0.1), (0.30, 0.20, 0.40, 0.04), math.log(0.05)),
    Profile("tenth mm", "metric", (1.0, 0.5, 0.25, 0.1), (0.20, 0.15, 0.02, 0.57), math.log(0.14)),
    Profile("eighth inch", "inch", _inch(1 / 8, 1 / 16, 1 / 32, 1 / 64), (0.70, 0.16, 0.05, 0.03), math.log(0.04)),
    Profile("sixteenth inch", "inch", _inch(1 / 8, 1 / 16, 1 / 32, 1 / 64), (0.35, 0.45, 0.09, 0.05), math.log(0.03)),
    Profile("thirty-second inch", "inch", _inch(1 / 8, 1 / 16, 1 / 32, 1 / 64), (0.20, 0.24, 0.40, 0.10), math.log(0.02)),
    Profile("tenth inch", "inch", _inch(0.1, 0.05, 0.025, 0.01), (0.62, 0.22, 0.06, 0.04), math.log(0.02)),
)


@dataclass(frozen=True)
class Choice:
    """value: the most probable nominal or None; probability of it; runner_up: the next candidate or None."""

    value: float | None
    probability: float
    runner_up: float | None


def candidate_weights(
    m: float, u: float, lattices: Sequence[tuple[float, float, float]], listed: Sequence[tuple[float, float]] = ()
) -> dict[float, float]:
    """Prior weight per mm of each candidate within 5 u of m.

    lattices: (step, share, phase); listed: (value, weight per mm), added to what the lattices give.
    """
    reach = 5.0 * u
    found: dict[float, float] = {}
    places: dict[int, float] = {}

    def add(value: float, weight: float) -> None:
        # values of two lattices that are one: their places, in millionths, are the same or neighbours
        at = math.floor(value * 1e6)
        for place in (at, at - 1, at + 1):
            key = places.get(place)
            if key is not None and abs(key - value) < 1e-7:
                found[key] += weight
                return
        found[value] = weight
        places.setdefault(at, value)

    for step, share, phase in lattices:
        low, high = math.ceil((m - reach - phase) / step), math.floor((m + reach - phase) / step)
        if high - low > 60:
            continue
        for k in range(low, high + 1):
            add(round(phase + k * step, 9), share * step)
    for value, weight in listed:
        if abs(value - m) <= reach:
            add(value, weight)
    return found


SHARES_WORTH = 3.0
"""What is known beforehand of the steps radii are counted in is worth so many radii of the part itself (judgement)."""

def as_the_part_counts(
    lattices: Sequence[tuple[float, float, float]], known: Iterable[float]
) -> list[tuple[float, float, float]]:
    """The lattices with the shares that this part's own radii speak for: a designer who wrote 8, 14 and 18 counts in twos.

    Each radius counts once, however often it is drawn, and speaks for each lattice it lies on as that explains it; the shares
    stand for SHARES_WORTH radii seen before (one step of expectation and maximisation)."""
    spoken = [0.0] * len(lattices)
    for radius in known:
        worth = [share * step if abs(math.remainder(radius - phase, step)) < 1e-6 else 0.0 for step, share, phase in lattices]
        for k, one in enumerate(worth):
            spoken[k] += one / sum(worth) if one else 0.0
    whole = sum(share for _, share, _ in lattices)
    told = sum(spoken)
    return [(step, (SHARES_WORTH * share + whole * own) / (SHARES_WORTH + told), phase)
            for (step, share, phase), own in zip(lattices, spoken, strict=True)]


WIDE_SHARE, WIDE_FACTOR = 0.12, 2.5
"""Share and factor of the wider part of the error distribution (judgement)."""


def likelihood(off: float, u: float) -> float:
    """Density at `off` of an error with standard uncertainty u, a share of it wider."""
    z = off / u
    return ((1.0 - WIDE_SHARE) * math.exp(-0.5 * z * z) + WIDE_SHARE / WIDE_FACTOR * math.exp(-0.5 * (z / WIDE_FACTOR) ** 2)) / (
        u * math.sqrt(2.0 * math.pi)
    )


def choose(
    m: float, u: float, lattices: Sequence[tuple[float, float, float]], free: float, listed: Sequence[tuple[float, float]] = ()
) -> Choice:
    """The most probable nominal of a value m with standard uncertainty u, and how probable it is."""
    weights = candidate_weights(m, u, lattices, listed)
    if not weights:
        return Choice(None, 0.0, None)
    posterior = {v: w * likelihood(m - v, u) for v, w in weights.items()}
    total = free + sum(posterior.values())
    ranked = sorted(posterior, key=lambda v: -posterior[v])
    runner = ranked[1] if len(ranked) > 1 and posterior[ranked[1]] / total > 1e-6 else None
    return Choice(ranked[0], posterior[ranked[0]] / total, runner)


COARSE = 0.4
"""A value whose u exceeds this share of a step tells nothing about it."""


def lattice_evidence(m: np.ndarray, u: np.ndarray, steps: np.ndarray) -> np.ndarray:
    """(..., h) likelihood ratio of "on the lattice of this step" against "anywhere": step * N(distance to the nearest
    multiple; u).

    m, u: arrays of the same shape, or u of one that spreads to it; a value whose u exceeds COARSE of the step tells nothing:
    ratio 1.  evidence.py has the same for very many values.
    """
    table = np.empty((*np.broadcast_shapes(m.shape, u.shape), len(steps)))
    for k, step in enumerate(steps.tolist()):
        table[..., k] = step_evidence(m, u, step)
    return table


def step_evidence(m: np.ndarray, u: np.ndarray, step: float) -> np.ndarray:
    """The same for one step, in an array of its own."""
    # in place: this is asked for every scale that is tried, and new arrays would cost more than the sums
    ratio = m / step
    np.rint(ratio, out=ratio)
    ratio *= step
    np.subtract(m, ratio, out=ratio)
    ratio /= u
    np.multiply(ratio, ratio, out=ratio)
    narrow, wide = _two_bells(ratio)
    narrow *= 1.0 - WIDE_SHARE
    wide *= WIDE_SHARE / WIDE_FACTOR
    narrow += wide
    narrow *= step / (u * math.sqrt(2.0 * math.pi))
    coarse = u > COARSE * step
    if coarse.any():
        np.copyto(narrow, 1.0, where=coarse)
    return narrow


FARTHEST = 1400.0
"""Squares beyond it count as it: what is left of a bell there is 1e-304, and smaller numbers are slow to reckon with."""


def _two_bells(square: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """exp(-square / 2) and exp(-square / 2 / WIDE_FACTOR**2) by one exponential: they are the 25th and the 4th power of
    exp(-square / 50).  The squares are used up."""
    np.minimum(square, FARTHEST, out=square)
    square *= -0.02
    root = np.exp(square, out=square)
    wide = root * root
    np.multiply(wide, wide, out=wide)
    narrow = wide * wide
    eighth = narrow.copy()
    np.multiply(narrow, narrow, out=narrow)
    narrow *= eighth
    narrow *= root
    return narrow, wide
