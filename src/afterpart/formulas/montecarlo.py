"""Chance by many draws: inputs with their distributions, a function of them, the same answer for the same seed.

Words: a *trial* is one draw of every input; the *share* is how often something holds, with its standard error.
Conventions: a model takes an array (inputs, trials) and gives an array with one entry a trial; units are the caller's.
Limits: inputs are independent; what hangs together belongs into the model.  Draws are made in blocks, so that a million
trials of many inputs need little memory.
Source: JCGM 101:2008, propagation of distributions (from memory; its example 9.2 is held in tests/published).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from afterpart.geometry.uncertainty import Spread, propagate_samples

Model = Callable[[np.ndarray], np.ndarray]

BLOCK = 16_384
"""Trials drawn at once: few enough that a block of some twenty inputs stays near the processor."""


@dataclass(frozen=True)
class Normal:
    """Normal distribution with this mean and standard deviation u."""

    mean: float
    u: float


@dataclass(frozen=True)
class Rectangular:
    """Anything from low to high alike."""

    low: float
    high: float


@dataclass(frozen=True)
class Triangular:
    """From low to high, most often in the middle."""

    low: float
    high: float


Input = Normal | Rectangular | Triangular


@dataclass(frozen=True)
class Share:
    """How often something held among the trials, and the standard error of that share."""

    share: float
    standard_error: float
    trials: int


def draws(inputs: Sequence[Input], trials: int, seed: int) -> Iterator[np.ndarray]:
    """Blocks (inputs, up to BLOCK) that make up the trials; the same seed gives the same blocks.

    Raises ValueError for no trials, a negative u or a low end above the high one.
    """
    if trials < 1:
        raise ValueError(f"at least one trial is needed, found {trials}")
    rng = np.random.default_rng(seed)
    for first in range(0, trials, BLOCK):
        block = np.empty((len(inputs), min(BLOCK, trials - first)))
        for row, item in zip(block, inputs, strict=True):
            _draw(item, row, rng)
        yield block


def share_of(holds: Model, inputs: Sequence[Input], trials: int, seed: int) -> Share:
    """Share of trials in which `holds` gives True, with its standard error sqrt(p (1 - p) / N)."""
    held = sum(int(np.count_nonzero(holds(block))) for block in draws(inputs, trials, seed))
    p = held / trials
    return Share(p, math.sqrt(p * (1.0 - p) / trials), trials)


def spread_of(model: Model, inputs: Sequence[Input], trials: int, seed: int, probability: float = 0.95) -> Spread:
    """Mean, standard deviation and interval of one number's distribution (geometry.uncertainty.propagate_samples)."""
    values = np.concatenate([np.asarray(model(block), float) for block in draws(inputs, trials, seed)])
    return propagate_samples(lambda x: x[0], values[:, None], probability)


def _draw(item: Input, row: np.ndarray, rng: np.random.Generator) -> None:
    """Fills the row with draws of the input, in place."""
    if isinstance(item, Normal):
        if item.u < 0.0:
            raise ValueError(f"a standard deviation must be 0 or more, found {item.u!r}")
        rng.standard_normal(out=row)
        row *= item.u
        row += item.mean
        return
    if item.low > item.high:
        raise ValueError(f"the low end must not exceed the high one, found {item.low!r} and {item.high!r}")
    rng.random(out=row)
    if isinstance(item, Triangular):
        row += rng.random(len(row))
        row *= 0.5
    row *= item.high - item.low
    row += item.low
