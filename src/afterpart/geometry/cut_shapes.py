"""The families of shapes that straight cuts leave: the rectangle with some corners cut off, and any convex polygon.

Conventions: corners counter-clockwise; a rectangle's corners are counted in its own turned frame: 0 lower left,
1 lower right, 2 upper right, 3 upper left.  Each is a `Shape` of ascent.py; parameters are arrays.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

_LEFT, _RIGHT, _LOW, _HIGH = range(4)
_SIDES = ((_LEFT, _LOW), (_RIGHT, _LOW), (_RIGHT, _HIGH), (_LEFT, _HIGH))
"""The two sides that meet in each corner: the upright one, the level one."""
_SIGN = {_LEFT: 1.0, _LOW: 1.0, _RIGHT: -1.0, _HIGH: -1.0}
"""Which way a cut length leads away from the side."""


@dataclass(frozen=True)
class CutRectangle:
    """A rectangle at any angle with the corners `cut` (rising numbers 0 to 3) cut straight.

    Parameters: angle in radians; left, right, low, high in the turned frame; then for each cut corner what is cut off its level
    side and off its upright side."""

    cut: tuple[int, ...]

    @cached_property
    def _pattern(self) -> np.ndarray:
        """(2 k, 4 + 2 j): corners in the turned frame as sums of the parameters after the angle."""
        rows: list[np.ndarray] = []
        for corner, (upright, level) in enumerate(_SIDES):
            for leg in self._legs(corner):
                x, y = np.zeros(4 + 2 * len(self.cut)), np.zeros(4 + 2 * len(self.cut))
                x[upright], y[level] = 1.0, 1.0
                if leg is not None:
                    column = 4 + 2 * self.cut.index(corner) + leg
                    (x if leg == 0 else y)[column] = _SIGN[upright if leg == 0 else level]
                rows += [x, y]
        return np.array(rows)

    def _legs(self, corner: int) -> tuple[int | None, ...]:
        """What is left at a corner, counter-clockwise: itself, or the two ends of its cut."""
        if corner not in self.cut:
            return (None,)
        return (1, 0) if corner in (0, 2) else (0, 1)

    def corners(self, p: np.ndarray) -> np.ndarray:
        """Its corners (4 + j, 2)."""
        return np.asarray((self._pattern @ p[1:]).reshape(-1, 2) @ _turn(p[0]).T)

    def slopes(self, p: np.ndarray) -> np.ndarray:
        """How they move with the parameters."""
        level = (self._pattern @ p[1:]).reshape(-1, 2)
        turning = (level @ _turn(p[0] + math.pi / 2).T).reshape(-1, 1)
        sliding = np.einsum("ab,kbm->kam", _turn(p[0]), self._pattern.reshape(len(level), 2, -1))
        return np.hstack([turning, sliding.reshape(len(turning), -1)])

    def limits(self, p: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """No cut length below nothing, no side below nothing."""
        return self._lengths, self._lengths @ p

    @cached_property
    def _lengths(self) -> np.ndarray:
        """Rows that give each cut's lengths and what is left of each side, from the parameters."""
        width = 5 + 2 * len(self.cut)
        rows = [row for row in np.eye(width)[5:]]
        for level_leg, first, second in ((True, 0, 1), (False, 1, 2), (True, 2, 3), (False, 3, 0)):
            row = np.zeros(width)
            row[1:5] = (-1.0, 1.0, 0.0, 0.0) if level_leg else (0.0, 0.0, -1.0, 1.0)
            for corner in (first, second):
                if corner in self.cut:
                    row[5 + 2 * self.cut.index(corner) + (0 if level_leg else 1)] = -1.0
            rows.append(row)
        return np.array(rows)

    def cut_also(self, p: np.ndarray, corner: int, share: float, along: int | None = None) -> tuple[CutRectangle, np.ndarray]:
        """The same shape with one corner more cut, by this share of its shorter side, or half of what its sides have left; along:
        the leg (0 level, 1 upright) that takes half of its side, for a cut that leans little."""
        wider = CutRectangle(tuple(sorted((*self.cut, corner))))
        left = (self._lengths @ p)[-4:][list(((0, 3), (0, 1), (2, 1), (2, 3))[corner])]
        most = 0.5 * np.maximum(left, 0.0)
        legs = np.minimum(share * min(p[2] - p[1], p[4] - p[3]), most)
        if along is not None:
            legs[along] = most[along]
        at = 5 + 2 * wider.cut.index(corner)
        return wider, np.concatenate([p[:at], legs, p[at:]])

    def not_cut(self, p: np.ndarray, corner: int) -> list[tuple[CutRectangle, np.ndarray]]:
        """The same shape with one cut fewer, as large as it goes inside itself: one side or the other moved in by the cut."""
        fewer = CutRectangle(tuple(c for c in self.cut if c != corner))
        at = 5 + 2 * self.cut.index(corner)
        made = []
        for leg, side in enumerate(_SIDES[corner]):
            new = np.delete(p, (at, at + 1))
            new[1 + side] += _SIGN[side] * p[at + leg]
            other = next(c for c in range(4) if c != corner and side in _SIDES[c])
            if other in fewer.cut:
                legs = slice(5 + 2 * fewer.cut.index(other), 7 + 2 * fewer.cut.index(other))
                new[legs] *= max(1.0 - p[at + leg] / max(new[legs][leg], 1e-9), 0.0)
            made.append((fewer, new))
        return made


@dataclass(frozen=True)
class FreePolygon:
    """A convex polygon of any form; parameters: x, y of each corner in turn."""

    sides: int

    def corners(self, p: np.ndarray) -> np.ndarray:
        """Its corners (sides, 2)."""
        return p.reshape(self.sides, 2)

    def slopes(self, p: np.ndarray) -> np.ndarray:
        """Each corner moves with its own parameters."""
        return np.eye(2 * self.sides)

    def limits(self, p: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Every corner turns left: its distance from the line through its neighbours stays positive."""
        q = self.corners(p)
        before, after = np.roll(q, 1, axis=0), np.roll(q, -1, axis=0)
        span = after - before
        length = np.maximum(np.hypot(span[:, 0], span[:, 1]), 1e-9)
        value = ((q[:, 0] - before[:, 0]) * span[:, 1] - (q[:, 1] - before[:, 1]) * span[:, 0]) / length
        rows = np.zeros((self.sides, 2 * self.sides))
        index = np.arange(self.sides)
        for corner, part in (
            (index, span),
            ((index - 1) % self.sides, q - after),
            ((index + 1) % self.sides, before - q),
        ):
            rows[index, 2 * corner] = part[:, 1] / length
            rows[index, 2 * corner + 1] = -part[:, 0] / length
        return rows, value


def _turn(angle_rad: float) -> np.ndarray:
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    return np.array([[c, -s], [s, c]])
