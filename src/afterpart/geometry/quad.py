"""Four points as the corners of a rectangle seen aslant.

Words: points are in order when each next one is the neighbour round the middle, clockwise as seen with y down.  A quadrilateral
is *like a rectangle seen aslant* when no corner is sharper or flatter than a camera held above a table would show it, and no side
much longer than the one that faces it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence

Point = tuple[float, float]

SHARPEST_DEG, FLATTEST_DEG = 30.0, 150.0
"""A right angle seen from 45 degrees aslant and near by still lies between; judgement."""

IN_LINE_DEG = 170.0
LONGEST_RATIO = 3.0
"""Of facing sides; from 45 degrees aslant, two sheet lengths away, it is 1.7; judgement."""


def in_order(points: Sequence[Point]) -> tuple[Point, ...]:
    """The points in order, the first of them first; those about one middle, so four corners in any order."""
    x, y = (sum(point[k] for point in points) / len(points) for k in (0, 1))
    around = sorted(points, key=lambda point: math.atan2(point[1] - y, point[0] - x))
    first = around.index(points[0])
    return (*around[first:], *around[:first])


def inner_angles_deg(corners: Sequence[Point]) -> tuple[float, ...]:
    """The angle inside each corner of a quadrilateral in order (as from in_order); over 180 where it is dented, 0 where two
    corners lie on each other."""
    found = []
    for k, (x, y) in enumerate(corners):
        (px, py), (nx, ny) = corners[k - 1], corners[(k + 1) % len(corners)]
        a, b = (px - x, py - y), (nx - x, ny - y)
        if math.hypot(*a) == 0 or math.hypot(*b) == 0:
            found.append(0.0)
            continue
        found.append(math.degrees(math.atan2(b[0] * a[1] - b[1] * a[0], a[0] * b[0] + a[1] * b[1])) % 360.0)
    return tuple(found)


def side_ratio(corners: Sequence[Point]) -> float:
    """How much longer a side is than the one that faces it, at most; infinite where one has no length."""
    sides = [math.dist(corners[k], corners[(k + 1) % 4]) for k in range(4)]
    pairs = [sorted((sides[k], sides[k + 2])) for k in (0, 1)]
    return max(long / short if short > 0 else math.inf for short, long in pairs)


def is_in_line(corners: Sequence[Point]) -> bool:
    """Do three of the corners lie on one line, or one within the other three?"""
    return any(angle > IN_LINE_DEG for angle in inner_angles_deg(corners))


def is_like_rectangle(corners: Sequence[Point]) -> bool:
    """Can these corners, in order, be those of a rectangle seen aslant?"""
    angles = inner_angles_deg(corners)
    return all(SHARPEST_DEG < angle < FLATTEST_DEG for angle in angles) and side_ratio(corners) < LONGEST_RATIO
