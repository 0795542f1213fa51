"""The nearest state at which quantities have their values.

Sources: the closed form of least squares with exact linear equations (Lagrange's multipliers), written out here as one system;
two values for one number leave half their difference each."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.outline import solve
from afterpart.outline.quantities import Held, Quantity, Together
from afterpart.outline.solve import close


def measured_lines(count: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """is_arc, state and covariance of lines that err partly alike."""
    rng = np.random.default_rng([61, count])
    state = np.column_stack((rng.normal(0.0, 1.5, count), rng.normal(0.0, 40.0, count), np.zeros(count)))
    root = rng.normal(0.0, 0.01, (3 * count, 3 * count))
    own = np.tile([1e-8, 1e-4, 1e-4], count)
    return np.zeros(count, bool), state, root @ root.T / (3 * count) + np.diag(own)


def closest(state: np.ndarray, covariance: np.ndarray, rows: np.ndarray, values: np.ndarray) -> np.ndarray:
    """The state nearest to `state` in this covariance with state[rows] = values, by multipliers."""
    size, count = state.size, len(rows)
    system = np.zeros((size + count, size + count))
    system[:size, :size] = np.linalg.inv(covariance)
    system[np.arange(size, size + count), rows] = system[rows, np.arange(size, size + count)] = 1.0
    right = np.concatenate((system[:size, :size] @ state.ravel(), values))
    return np.linalg.solve(system, right)[:size].reshape(state.shape)


def test_the_state_is_the_nearest_one() -> None:
    is_arc, state, covariance = measured_lines(6)
    held = [Held(Quantity("offset", (row,)), round(float(state[row, 1]))) for row in range(5)]
    held += [Held(Quantity("direction", (row,)), float(state[row, 0]) + 1e-3) for row in (1, 4)]
    found, gap = close(is_arc, state, covariance, held)
    rows = np.array([3 * h.quantity.rows[0] + (h.quantity.kind == "offset") for h in held])
    expected = closest(state, covariance, rows, np.array([h.value for h in held]))
    assert gap < 1e-11
    assert np.allclose(found, expected, rtol=0, atol=1e-9)


def test_what_contradicts_itself_is_told_and_soon() -> None:
    is_arc, state, covariance = measured_lines(4)
    held = [Held(Quantity("offset", (2,)), 10.0), Held(Quantity("offset", (2,)), 10.5), Held(Quantity("offset", (0,)), 3.0)]
    found, gap = close(is_arc, state, covariance, held)
    assert gap == pytest.approx(0.25, abs=1e-9)
    assert found[2, 1] == pytest.approx(10.25, abs=1e-9) and found[0, 1] == pytest.approx(3.0, abs=1e-9)


@pytest.mark.parametrize("fits", [True, False])
def test_many_values_take_few_turns(fits: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """A long row of edges: every turn costs the cube of their number, so rounding alone must not keep it going, nor what can
    never be met."""
    count = 60
    is_arc, state, covariance = measured_lines(count)
    state[:, 0] = np.where(np.arange(count) % 2, 0.5 * np.pi, 0.0) + 1e-3 * np.sin(np.arange(count))
    held = [Held(Quantity("direction", (row,)), 0.5 * np.pi * (row % 2)) for row in range(count)]
    held += [Held(Quantity("offset", (row,)), round(float(state[row, 1]))) for row in range(0, count, 2)]
    held += [Held(Quantity("vertex_x", (row - 1, row)), round(float(-state[row, 1]))) for row in range(1, count, 2)]
    held += [] if fits else [Held(Quantity("offset", (count - 1,)), float(state[count - 1, 1]) + 2.0)]
    turns: list[np.ndarray] = []
    read = Together.read
    monkeypatch.setattr(Together, "read", lambda self, now: turns.append(now) or read(self, now))
    _, gap = close(is_arc, state, covariance, held)
    assert (gap < 1e-9) == fits
    assert 1 < len(turns) < (12 if fits else 18)


def test_sparse_and_dense_slopes_close_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    is_arc, state, covariance = measured_lines(20)
    held = [Held(Quantity("offset", (row,)), round(float(state[row, 1]))) for row in range(20)]
    held += [Held(Quantity("same_direction", (row, row + 1)), 0.0) for row in range(0, 20, 2)]
    found = []
    for many in (0, math.inf):
        monkeypatch.setattr(solve, "MANY", many)
        found.append(close(is_arc, state, covariance, held)[0])
    assert np.allclose(*found, rtol=0, atol=1e-11)


def test_an_inverse_knows_what_it_does_not_know() -> None:
    """Well known systems have their plain inverse; of one whose second and third row say the same, what they say is shared."""
    rng = np.random.default_rng(5)
    rows = rng.normal(size=(6, 9))
    rows /= np.linalg.norm(rows, axis=1)[:, None]
    assert np.allclose(solve._inverse(rows @ rows.T) @ (rows @ rows.T), np.eye(6), rtol=0, atol=1e-10)
    rows[2] = rows[1]
    inverse = solve._inverse(rows @ rows.T)
    assert np.abs(inverse).max() < 1e3
    assert np.allclose(inverse, np.linalg.pinv(rows @ rows.T, rcond=1e-9), rtol=0, atol=1e-9)
    assert np.allclose(inverse[1], inverse[2], rtol=0, atol=1e-9)
    assert np.allclose(solve._inverse(np.ones((3, 3))), np.full((3, 3), 1.0 / 9.0), rtol=0, atol=1e-12)
