"""Steps of a long row, taken carrier by carrier, against the whole system solved at once.

Source of the checks: the equations' own definition, written out as one matrix and solved by numpy's general solver and its
Moore-Penrose inverse."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.outline.equations import LONG_ROW, RANK, Equations


def drawn(count: int, bound: np.ndarray, seed: int) -> Equations:
    """Equations of random carriers, those of `bound` tied to the next."""
    rng = np.random.default_rng([53, seed])
    root = rng.normal(size=(count, 3, 3)) + 2.0 * np.eye(3)
    hessian = root @ root.transpose(0, 2, 1)
    return Equations(hessian, rng.normal(size=(count, 3)), bound, rng.normal(size=len(bound)), rng.normal(size=(len(bound), 3)),
                     rng.normal(size=(len(bound), 3)))


def whole(equations: Equations) -> np.ndarray:
    """The equations as one matrix, entry by entry."""
    count, conditions = len(equations.hessian), len(equations.bound)
    matrix = np.zeros((3 * count + conditions, 3 * count + conditions))
    for k in range(count):
        matrix[3 * k:3 * k + 3, 3 * k:3 * k + 3] = equations.hessian[k]
    for c, k in enumerate(equations.bound):
        for carrier, slope in ((k, equations.before[c]), ((k + 1) % count, equations.after[c])):
            matrix[3 * count + c, 3 * carrier:3 * carrier + 3] += slope
            matrix[3 * carrier:3 * carrier + 3, 3 * count + c] += slope
    return matrix


COUNT = LONG_ROW + 13
TIED = {"none": np.arange(0), "some": np.array([0, 1, 5, 20, 21, 22, COUNT - 2, COUNT - 1]), "all": np.arange(COUNT)}


@pytest.mark.parametrize("how", TIED)
def test_a_step_carrier_by_carrier_solves_the_whole(how: str) -> None:
    equations = drawn(COUNT, TIED[how], 1)
    matrix, size = whole(equations), 3 * COUNT
    step = equations.step(0.0)
    matrix[np.arange(size), np.arange(size)] += 1e-6  # what every step is held back by
    right = -np.concatenate((equations.gradient.ravel(), equations.gap))
    assert np.allclose(step.ravel(), np.linalg.solve(matrix, right)[:size], rtol=0, atol=1e-8)
    ends = (equations.before * step[equations.bound]).sum(1) + (equations.after * step[(equations.bound + 1) % COUNT]).sum(1)
    assert np.allclose(ends, -equations.gap, rtol=0, atol=1e-8)


@pytest.mark.parametrize("how", TIED)
def test_the_inverse_run_by_run_is_that_of_the_whole(how: str) -> None:
    equations = drawn(COUNT, TIED[how], 2)
    size = 3 * COUNT
    inverse = np.linalg.pinv(whole(equations), rcond=RANK, hermitian=True)
    covariance, saving = equations.solved()
    assert np.allclose(covariance, inverse[:size, :size], rtol=0, atol=1e-7)
    multiplier = -(inverse[size:] @ np.concatenate((equations.gradient.ravel(), equations.gap)))
    expected = np.zeros(COUNT)
    expected[equations.bound] = multiplier**2 / -np.diag(inverse)[size:]
    assert np.allclose(saving, expected, rtol=1e-6, atol=1e-9)
    free = np.setdiff1d(np.arange(COUNT), equations.bound)
    assert not saving[free].any()


def test_a_short_row_gives_what_a_long_one_would() -> None:
    bound = np.array([0, 1, 2, 7])
    short = drawn(12, bound, 3)
    damped = short._step_by_carrier(1e-3)
    assert np.allclose(short.step(1e-3), damped, rtol=0, atol=1e-8)
