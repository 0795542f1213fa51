"""Which holes were moved: against the densities themselves (scipy.stats), and by trials."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from afterpart.geometry.moved import MOVED_BY, MOVED_SHARE, motion_slopes, moved_places, open_motion

PLACES = np.array([(-50.0, -22.0), (0.0, -24.0), (52.0, -20.0), (50.0, 21.0), (5.0, 24.0), (-48.0, 22.0)])
U, GROWTH_U = 0.03, 4e-4


def seen(rng: np.random.Generator, moved: dict[int, tuple[float, float]]) -> np.ndarray:
    """Offsets of the other face's places: a motion, a growth, noise, and what was moved."""
    off = rng.normal(0.0, U, PLACES.shape)
    off += (motion_slopes(PLACES) @ (rng.normal(size=4) * [0.5, 0.5, 0.005, GROWTH_U])).reshape(-1, 2)
    for k, by in moved.items():
        off[k] += by
    return off


def test_slopes_are_those_of_a_small_motion() -> None:
    shift, turn, growth = np.array([0.01, -0.02]), 1e-5, 2e-5
    amid = PLACES.mean(axis=0)
    c, s = np.cos(turn), np.sin(turn)
    laid = (1 + growth) * (PLACES - amid) @ np.array([[c, s], [-s, c]]) + amid + shift
    assert motion_slopes(PLACES) @ [*shift, turn, growth] == pytest.approx((laid - PLACES).ravel(), abs=1e-7)


def test_probabilities_are_bayes_over_all_hypotheses() -> None:
    rng = np.random.default_rng(4)
    places, off = PLACES[:4], seen(rng, {2: (0.1, 0.05)})[:4]
    root = open_motion(places, GROWTH_U)
    whole = U**2 * np.eye(8) + root @ root.T
    weights: dict[tuple[int, ...], float] = {}
    for subset in [s for n in (0, 1, 2) for s in itertools.combinations(range(4), n)]:
        extra = np.zeros(8)
        for k in subset:
            extra[[2 * k, 2 * k + 1]] = MOVED_BY**2
        prior = MOVED_SHARE ** len(subset) * (1 - MOVED_SHARE) ** (4 - len(subset))
        weights[subset] = prior * float(multivariate_normal(np.zeros(8), whole + np.diag(extra)).pdf(off.ravel()))
    expected = [sum(w for s, w in weights.items() if k in s) / sum(weights.values()) for k in range(4)]
    found = moved_places(places, off, U**2 * np.eye(8), GROWTH_U)
    assert found.probability == pytest.approx(expected, rel=1e-6)


def test_a_hole_moved_by_a_third_of_a_millimetre_is_told_from_the_others() -> None:
    rng = np.random.default_rng(5)
    for _ in range(40):
        k = int(rng.integers(6))
        found = moved_places(PLACES, seen(rng, {k: (0.3, 0.2)}), U**2 * np.eye(12), GROWTH_U)
        assert found.probability[k] > 0.99 and found.kept.sum() == 5 and not found.kept[k]


def test_honest_holes_are_believed() -> None:
    """Of 600 honest holes as many are doubted as their probabilities say, and hardly one is left out."""
    rng = np.random.default_rng(6)
    found = [moved_places(PLACES, seen(rng, {}), U**2 * np.eye(12), GROWTH_U) for _ in range(100)]
    assert sum((~one.kept).sum() for one in found) <= 3
    assert np.mean([one.probability for one in found]) < MOVED_SHARE


def test_of_two_holes_nobody_can_say_which_was_moved() -> None:
    found = moved_places(PLACES[:2], np.array([[-0.2, 0.0], [0.2, 0.0]]), U**2 * np.eye(4), GROWTH_U)
    assert found.probability[0] == pytest.approx(found.probability[1], rel=1e-6)
    assert 0.4 < found.probability[0] < 0.75
