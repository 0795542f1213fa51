"""How the place where two neighbours meet moves with their numbers.

At a crossing the place stays on both carriers: what their signed distances change by its own move and by their numbers' change
adds up to nothing, two equations for its two coordinates.  A smooth junction has a formula of its own (chain.py) and its
derivative.  Where neighbours hardly cross, the place is a compromise, and only differences tell.
Conventions: rows of numbers and kinds of junctions as in chain.py; slopes (2, 3): x, y by the three numbers of a carrier.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from afterpart.outline.chain import SEAM, junction

STEP, STEP_RAD = 1e-6, 1e-7
"""Steps of a difference quotient."""


def junction_slopes(arc_a: bool, a: np.ndarray, arc_b: bool, b: np.ndarray, tangent: bool, near: np.ndarray,
                    place: tuple[float, float]) -> tuple[np.ndarray, np.ndarray]:
    """Slopes (2, 3) of the junction `place` of carriers a and b by the numbers of each."""
    if tangent and arc_a and arc_b and math.hypot(a[0] - b[0], a[1] - b[1]) > 1e-9:
        return _between_arcs(a.tolist(), b.tolist())
    if tangent and arc_a != arc_b:
        by_line, by_arc = _foot(*((b.tolist(), a.tolist()) if arc_a else (a.tolist(), b.tolist())))
        return (by_arc, by_line) if arc_a else (by_line, by_arc)
    (ax, ay), by_a = _distance_slopes(arc_a, a.tolist(), *place)
    (bx, by), by_b = _distance_slopes(arc_b, b.tolist(), *place)
    det = ax * by - ay * bx
    if abs(det) < SEAM:
        return (_by_differences(arc_a, a, lambda row: junction(arc_a, row, arc_b, b, tangent, near)),
                _by_differences(arc_b, b, lambda row: junction(arc_a, a, arc_b, row, tangent, near)))
    return np.array([[-by * g / det for g in by_a], [bx * g / det for g in by_a]]), np.array(
        [[ay * g / det for g in by_b], [-ax * g / det for g in by_b]])


def _distance_slopes(is_arc: bool, row: list[float], x: float, y: float) -> tuple[tuple[float, float], tuple[float, ...]]:
    """Slopes of the signed distance of a point to a carrier: by the point, by the carrier's numbers."""
    if not is_arc:
        sin, cos = math.sin(row[0]), math.cos(row[0])
        return (-sin, cos), (-(x * cos + y * sin), -1.0, 0.0)
    dx, dy = x - row[0], y - row[1]
    reach = math.copysign(max(math.hypot(dx, dy), 1e-12), row[2])
    return (-dx / reach, -dy / reach), (dx / reach, dy / reach, 1.0)


def _foot(line: list[float], arc: list[float]) -> tuple[np.ndarray, np.ndarray]:
    """Of the foot of an arc's centre on a line, by the line's numbers and by the arc's."""
    sin, cos = math.sin(line[0]), math.cos(line[0])
    along, miss = arc[0] * cos + arc[1] * sin, arc[1] * cos - arc[0] * sin - line[1]
    by_line = np.array([[cos * miss - sin * along, -sin, 0.0], [sin * miss + cos * along, cos, 0.0]])
    return by_line, np.array([[cos * cos, cos * sin, 0.0], [cos * sin, sin * sin, 0.0]])


def _between_arcs(a: list[float], b: list[float]) -> tuple[np.ndarray, np.ndarray]:
    """Of the touching point of two arcs: half way between those places of each that lie towards the other's centre."""
    dx, dy = a[0] - b[0], a[1] - b[1]
    reach = math.hypot(dx, dy)
    side = math.copysign(1.0, a[2] - b[2])
    nx, ny = side * dx / reach, side * dy / reach
    swing = 0.5 * (a[2] + b[2]) * side / reach
    xx, xy, yy = swing * ny * ny, -swing * nx * ny, swing * nx * nx
    return (np.array([[0.5 - xx, -xy, -0.5 * nx], [-xy, 0.5 - yy, -0.5 * ny]]),
            np.array([[0.5 + xx, xy, -0.5 * nx], [xy, 0.5 + yy, -0.5 * ny]]))


def _by_differences(is_arc: bool, row: np.ndarray, place: Callable[[np.ndarray], np.ndarray]) -> np.ndarray:
    """Slopes (2, 3) of a place by the numbers of one carrier."""
    slopes = np.zeros((2, 3))
    for k in range(3 if is_arc else 2):
        step = STEP if k or is_arc else STEP_RAD
        up, down = row.copy(), row.copy()
        up[k] += step
        down[k] -= step
        slopes[:, k] = (place(up) - place(down)) / (2.0 * step)
    return slopes
