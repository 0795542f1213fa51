"""Which lines, arcs and corners of a part may carry a number of the drawing.

Conventions: rows of the part's state; directions and turns in radians.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.outline.part import Part
from afterpart.outline.quantities import Quantity
from afterpart.outline.relations import deviation


def axis_quarter(direction_rad: float, tolerance_rad: float = math.radians(1.0)) -> int | None:
    """0, 1, 2, 3 for lines running to +x, +y, -x, -y; None for others."""
    quarter = round(direction_rad / (math.pi / 2))
    return quarter % 4 if abs(direction_rad - quarter * math.pi / 2) < tolerance_rad else None


def line_rows(part: Part) -> list[int]:
    """Rows of the lines."""
    return [int(r) for r in np.flatnonzero(~part.is_arc)]


def arc_rows(part: Part) -> list[int]:
    """Rows of the arcs that are no circles."""
    circles = set(part.circles())
    return [int(r) for r in np.flatnonzero(part.is_arc) if int(r) not in circles]


def vertex_pairs(part: Part) -> list[tuple[int, int]]:
    """Neighbouring lines, a fillet between them left out of account, that cross at more than 8 degrees."""
    after = part.following()
    pairs = []
    for row in line_rows(part):
        follower = after[row]
        if part.is_arc[follower]:
            follower = after[follower]
        if not part.is_arc[follower] and follower != row:
            turn = math.remainder(part.state[follower, 0] - part.state[row, 0], math.pi)
            if abs(turn) > math.radians(8.0):
                pairs.append((row, follower))
    return pairs


def wide_arcs(part: Part) -> list[int]:
    """Arcs whose centre is known well enough by itself to be a design point (ends of slots, ears round holes)."""
    rows = []
    for row in arc_rows(part):
        _, ux = deviation(part, Quantity("center_x", (row,)))
        _, uy = deviation(part, Quantity("center_y", (row,)))
        if arc_turn(part, row) > math.radians(125.0) and max(ux, uy) < 0.15:
            rows.append(row)
    return rows


def arc_turn(part: Part, row: int) -> float:
    """Turn of an arc (radians, unsigned), from the directions of its chain's ends."""
    for i, chain in enumerate(part.chains):
        if row in part.rows(i):
            k = row - part.begin[i]
            return turn_between(chain.state[k], chain.corners[k - 1], chain.corners[k])
    return 0.0


def turn_between(arc: np.ndarray, start: np.ndarray, end: np.ndarray) -> float:
    """Turn (radians, unsigned, below a full one) of an arc's carrier from one point to another in its direction of travel."""
    a, b = start - arc[:2], end - arc[:2]
    turn = math.atan2(a[0] * b[1] - a[1] * b[0], float(a @ b))
    return turn % (2.0 * math.pi) if arc[2] > 0.0 else (-turn) % (2.0 * math.pi)
