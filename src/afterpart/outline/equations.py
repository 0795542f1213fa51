"""One step of the fit of a chain: its normal equations with the touching conditions as equations beside them.

Each carrier has a block of its own, and a condition joins two that follow each other: carriers that no condition joins know
nothing of each other.  In long rows the step is taken carrier by carrier and the inverse run by run (a *run* is a stretch of
carriers joined by conditions), so that the cost grows with the row and not with its cube; short rows are solved whole.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

LONG_ROW = 40
"""Rows of more carriers are solved carrier by carrier."""

RANK = 1e-14
"""Directions that the equations know by less than this share of the best known one are left out of the inverse."""


@dataclass(frozen=True)
class Equations:
    """hessian: (k, 3, 3) and gradient: (k, 3) of each carrier's own points; bound: (b,) carriers that touch the next one; gap:
    (b,) by how much they miss it, before and after: (b, 3) its slopes by the numbers of each."""

    hessian: np.ndarray
    gradient: np.ndarray
    bound: np.ndarray
    gap: np.ndarray
    before: np.ndarray
    after: np.ndarray

    @property
    def _follows(self) -> np.ndarray:
        return (self.bound + 1) % len(self.hessian)

    def step(self, damping: float) -> np.ndarray:
        """(k, 3) what the carriers' numbers change by.  Raises LinAlgError where the equations do not tell."""
        if len(self.hessian) > LONG_ROW:
            return self._step_by_carrier(damping)
        size = self.gradient.size
        matrix = self._matrix()
        diagonal = np.arange(size)
        matrix[diagonal, diagonal] *= 1.0 + damping
        matrix[diagonal, diagonal] += 1e-6
        return np.linalg.solve(matrix, -np.concatenate((self.gradient.ravel(), self.gap)))[:size].reshape(-1, 3)

    def _step_by_carrier(self, damping: float) -> np.ndarray:
        """The same by elimination: x = -H^-1 (g + J' m) with J H^-1 J' m = gap - J H^-1 g."""
        blocks, axis = self.hessian.copy(), np.arange(3)
        blocks[:, axis, axis] = blocks[:, axis, axis] * (1.0 + damping) + 1e-6
        inverse = np.linalg.inv(blocks)
        free = np.einsum("kab,kb->ka", inverse, self.gradient)
        if len(self.bound) == 0:
            return -free
        follows = self._follows
        by_before = np.einsum("kab,kb->ka", inverse[self.bound], self.before)
        by_after = np.einsum("kab,kb->ka", inverse[follows], self.after)
        joined = np.diag((self.before * by_before).sum(1) + (self.after * by_after).sum(1))
        place = np.full(len(blocks), -1)
        place[self.bound] = np.arange(len(self.bound))
        one = np.flatnonzero(place[follows] >= 0)
        other = place[follows[one]]
        joined[one, other] = joined[other, one] = (by_after[one] * self.before[other]).sum(1)
        left = self.gap - (self.before * free[self.bound]).sum(1) - (self.after * free[follows]).sum(1)
        force = np.linalg.solve(joined, left)
        free[self.bound] += by_before * force[:, None]
        free[follows] += by_after * force[:, None]
        return -free

    def solved(self) -> tuple[np.ndarray, np.ndarray]:
        """Covariance (3k, 3k) of the carriers' numbers, and what releasing each junction would save (k,)."""
        size = self.gradient.size
        inverse = self._inverse()
        multiplier = -(inverse[size:] @ np.concatenate((self.gradient.ravel(), self.gap)))
        held = -np.diag(inverse)[size:]
        saving = np.zeros(len(self.hessian))
        if len(self.bound):
            saving[self.bound] = np.where(held > 0.0, multiplier**2 / np.maximum(held, 1e-300), 0.0)
        return inverse[:size, :size], saving

    def _matrix(self) -> np.ndarray:
        """(3k + b, 3k + b): the blocks, bordered by the conditions."""
        count, size = len(self.hessian), self.gradient.size
        matrix = np.zeros((size + len(self.bound), size + len(self.bound)))
        blocks = np.arange(size).reshape(count, 3)
        matrix[blocks[:, :, None], blocks[:, None, :]] = self.hessian
        rows = np.arange(size, size + len(self.bound))[:, None]
        matrix[rows, blocks[self.bound]] = self.before
        matrix[rows, blocks[self._follows]] = self.after
        matrix[:size, size:] = matrix[size:, :size].T
        return matrix

    def _inverse(self) -> np.ndarray:
        """The inverse of the whole, without the directions that it does not know."""
        matrix = self._matrix()
        if len(self.hessian) <= LONG_ROW:
            return np.linalg.pinv(matrix, rcond=RANK, hermitian=True)
        runs = self._runs()
        known = [np.linalg.eigh(matrix[np.ix_(run, run)]) for run in runs]
        least = RANK * max(float(np.abs(values).max()) for values, _ in known)
        inverse = np.zeros_like(matrix)
        for run, (values, ways) in zip(runs, known, strict=True):
            kept = np.abs(values) > least
            inverse[np.ix_(run, run)] = (ways[:, kept] / values[kept]) @ ways[:, kept].T
        return inverse

    def _runs(self) -> list[np.ndarray]:
        """Rows of the matrix that belong to each run of carriers joined by conditions."""
        count, size = len(self.hessian), self.gradient.size
        place = np.full(count, -1)
        place[self.bound] = np.arange(len(self.bound))
        begins = np.flatnonzero(np.roll(place, 1) < 0)
        if len(begins) == 0:
            return [np.arange(size + len(self.bound))]
        lengths = (np.roll(begins, -1) - begins - 1) % count + 1
        runs = []
        for begin, length in zip(begins.tolist(), lengths.tolist(), strict=True):
            own = (begin + np.arange(length)) % count
            conditions = place[own]
            runs.append(np.concatenate(((3 * own[:, None] + np.arange(3)).ravel(), size + conditions[conditions >= 0])))
        return runs
