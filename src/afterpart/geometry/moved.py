"""Which places of one face stand off their partners on another: how probable it is of each that it was moved.

Words: a *place* is a hole's middle; it *was moved* when it is off by more than measuring and making explain (drilled out, drilled
by hand).  Offsets are those of pairs that lie nearly on each other; the motion that lays one face on the other is unknown, and
is taken in with its own uncertainty (shift and turn open, growth as told).
    p(moved) by Bayes over the hypotheses "none", "this one", "these two":  each is a normal density of all offsets together,
    covariance C + B V B' + MOVED_BY^2 in x and y of the moved ones,  B = d offset / d (shift x, shift y, turn, growth)
Conventions: mm, radians.
Limits: two moved places at most are thought of; among two or three places a moved one is seen, but not told from the others.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

MOVED_SHARE = 0.03
"""Share of holes that were moved on a machine (judgement: a drilled-out thread now and then)."""

MOVED_BY = 0.5
"""Standard deviation of how far a moved one is off in x and in y, mm (judgement)."""

OPEN_SHIFT, OPEN_TURN = 3.0, 0.05
"""Of the motion that lays one face on the other, mm and radians: open."""

MOST = 2


@dataclass(frozen=True)
class Moved:
    """probability (n,): that a place was moved; kept (n,): those that were not, by the likeliest hypothesis."""

    probability: np.ndarray
    kept: np.ndarray


def motion_slopes(places: np.ndarray) -> np.ndarray:
    """(2 n, 4): how x, y of each place (n, 2) in turn move with shift x, shift y, turn and growth about their middle."""
    arm = places - places.mean(axis=0)
    x, y = arm.T
    one, none = np.ones(len(arm)), np.zeros(len(arm))
    return np.stack([np.stack([one, none, -y, x], 1), np.stack([none, one, x, y], 1)], axis=1).reshape(-1, 4)


def open_motion(places: np.ndarray, growth_u: float) -> np.ndarray:
    """(2 n, 4) root of what the unknown motion adds to the offsets' covariance."""
    return np.asarray(motion_slopes(places) * np.array([OPEN_SHIFT, OPEN_SHIFT, OPEN_TURN, growth_u]))


def moved_places(places: np.ndarray, off: np.ndarray, covariance: np.ndarray, growth_u: float) -> Moved:
    """places (n, 2); off (n, 2): the other face's less these, laid nearly on them; covariance (2 n, 2 n) of the offsets, x and y
    in turn, without the motion's; growth_u: standard uncertainty of the two faces' sizes to each other."""
    n = len(places)
    root = open_motion(places, growth_u)
    whole = covariance + root @ root.T
    hypotheses = [subset for size in range(min(MOST, n) + 1) for subset in itertools.combinations(range(n), size)]
    logs = np.empty(len(hypotheses))
    for k, subset in enumerate(hypotheses):
        own = whole.copy()
        at = [2 * i + axis for i in subset for axis in (0, 1)]
        own[at, at] += MOVED_BY**2
        lower = np.linalg.cholesky(own)
        z = np.linalg.solve(lower, off.ravel())
        prior = len(subset) * np.log(MOVED_SHARE) + (n - len(subset)) * np.log(1.0 - MOVED_SHARE)
        logs[k] = prior - np.log(np.diag(lower)).sum() - 0.5 * float(z @ z)
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    probability = np.array([sum(w for w, subset in zip(weight, hypotheses, strict=True) if i in subset) for i in range(n)])
    likeliest = hypotheses[int(np.argmax(weight))]
    return Moved(probability, np.array([i not in likeliest and probability[i] < 0.5 for i in range(n)]))
