"""Numbers read off a state of carriers: what a nominal, a relation or a reading can be about.

A *quantity* has a kind, the rows (carriers) it is read from, and slopes by the numbers of these rows.  Kinds:
    direction, offset                     of a line (radians; mm along the left normal)
    center_x, center_y, radius, diameter  of an arc or circle
    vertex_x, vertex_y                    crossing of two lines
    touch                                 gap of the touching condition of two carriers (0 when tangent)
    same_radius, same_x, same_y           difference between two arcs or circles
    same_direction                        of two lines that run the same way, or against each other
    sum_x, sum_y                          of two arcs or circles (mirror pairs)
    distance                              between two centres
    gap                                   between two lines that run against each other, at the middle of their ends
Lengths that depend on where segments end are in dimensions.py.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.outline.chain import tangency

PARALLEL = 1e-9
"""Sine of the angle between two lines below which they count as parallel."""


@dataclass(frozen=True)
class Quantity:
    kind: str
    rows: tuple[int, ...]


@dataclass(frozen=True)
class Held:
    """A quantity held at a value; probability of that value when it was chosen."""

    quantity: Quantity
    value: float
    probability: float = 1.0


def read(quantity: Quantity, is_arc: np.ndarray, state: np.ndarray) -> tuple[float, list[np.ndarray]]:
    """Value of a quantity and its slopes (3,) by each of its rows."""
    kind, rows = quantity.kind, quantity.rows
    a = state[rows[0]]
    if kind == "direction":
        return float(a[0]), [np.array([1.0, 0.0, 0.0])]
    if kind == "offset":
        return float(a[1]), [np.array([0.0, 1.0, 0.0])]
    if kind == "center_x":
        return float(a[0]), [np.array([1.0, 0.0, 0.0])]
    if kind == "center_y":
        return float(a[1]), [np.array([0.0, 1.0, 0.0])]
    if kind in ("radius", "diameter"):
        factor = 1.0 if kind == "radius" else 2.0
        return factor * abs(float(a[2])), [np.array([0.0, 0.0, math.copysign(factor, a[2])])]
    b = state[rows[1]]
    if kind == "touch":
        gap, slope_a, slope_b = tangency(bool(is_arc[rows[0]]), a, bool(is_arc[rows[1]]), b)
        return gap, [slope_a, slope_b]
    if kind == "same_radius":
        return (
            abs(float(a[2])) - abs(float(b[2])),
            [np.array([0.0, 0.0, math.copysign(1.0, a[2])]), np.array([0.0, 0.0, -math.copysign(1.0, b[2])])],
        )
    if kind in ("same_x", "same_y", "sum_x", "sum_y"):
        axis, sign = (0 if kind.endswith("x") else 1), (-1.0 if kind.startswith("same") else 1.0)
        slope = np.zeros(3)
        slope[axis] = 1.0
        return float(a[axis] + sign * b[axis]), [slope, sign * slope]
    if kind == "same_direction":
        return math.remainder(float(a[0] - b[0]), math.pi), [np.array([1.0, 0.0, 0.0]), np.array([-1.0, 0.0, 0.0])]
    if kind == "sum_offset":
        return float(a[1] + b[1]), [np.array([0.0, 1.0, 0.0])] * 2
    if kind == "same_offset":
        return float(a[1] - b[1]), [np.array([0.0, 1.0, 0.0]), np.array([0.0, -1.0, 0.0])]
    if kind == "distance":
        dx, dy = a[0] - b[0], a[1] - b[1]
        reach = max(math.hypot(dx, dy), 1e-12)
        slope = np.array([dx / reach, dy / reach, 0.0])
        return reach, [slope, -slope]
    return _vertex(kind, a, b)


def _vertex(kind: str, a: np.ndarray, b: np.ndarray) -> tuple[float, list[np.ndarray]]:
    """Crossing of two lines: n_a . p = d_a, n_b . p = d_b."""
    na, nb = np.array([-math.sin(a[0]), math.cos(a[0])]), np.array([-math.sin(b[0]), math.cos(b[0])])
    normals = np.array([na, nb])
    # lines that have become parallel meet nowhere: the nearest answer, with a slope so steep that it is never sure
    inverse = np.linalg.pinv(normals, rcond=1e-12) if abs(np.linalg.det(normals)) < PARALLEL else np.linalg.inv(normals)
    point = inverse @ np.array([a[1], b[1]])
    axis = 0 if kind == "vertex_x" else 1
    row = inverse[axis]
    along_a, along_b = (point @ np.array([math.cos(v), math.sin(v)]) for v in (a[0], b[0]))
    return float(point[axis]), [row[0] * np.array([along_a, 1.0, 0.0]), row[1] * np.array([along_b, 1.0, 0.0])]


def gradient(quantity: Quantity, is_arc: np.ndarray, state: np.ndarray) -> tuple[float, np.ndarray]:
    """Value and the full gradient (3k,) over the state."""
    value, slopes = read(quantity, is_arc, state)
    full = np.zeros(state.size)
    for row, slope in zip(quantity.rows, slopes, strict=True):
        full[3 * row : 3 * row + 3] += slope
    return value, full
