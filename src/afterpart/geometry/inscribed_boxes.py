"""Where the search for rectangles with cut corners begins: boxes larger than the room allows, and what must be cut off them.

For a fan of angles, boxes on a grid are laid over the room.  Every point of the room's boundary inside a box belongs to the
nearest corner of the box; a straight cut at that corner, at one of a few slopes, must reach beyond the farthest of its points:

        t = max (x cos f + y sin f)       x, y  distances of a point from the two sides of its corner,  f  slope of the cut
        cut off: legs t / cos f and t / sin f, area t^2 / (2 sin f cos f)

So each box tells which corners must be cut and about how much area is left.
Conventions: room units; corners numbered as in cut_shapes.py; nothing is random.  Limits: starts, finished by ascent.py.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.geometry.cut_shapes import CutRectangle
from afterpart.geometry.room import Room, is_inside

_WALL_ANGLES, _EVEN_ANGLES = 6, 8
_LINES = 9
_SPACING = 0.025
"""Between the points of the boundary."""
_SLOPES_RAD = tuple(math.radians(f) for f in (27.0, 45.0, 63.0))
_LEAST_BOX = 0.35
_DRAWN_IN = 0.99
"""Starts begin a little smaller than the box, as its points stand apart."""
_LEAST_LEG = 0.04
"""Leg of a cut that the box would not need, as a share of the shorter side."""
_BINS = 5


def cut_starts(room: Room, count: int) -> dict[int, list[tuple[CutRectangle, np.ndarray]]]:
    """For 1 to 4 cut corners, `count` starts that differ, the most promising first."""
    boundary = _boundary(room)
    kept: dict[tuple[object, ...], tuple[float, tuple[int, ...], np.ndarray, np.ndarray]] = {}
    for angle_rad in _angles(room):
        boxes, legs, left = _boxes_at(boundary, angle_rad)
        is_in = is_inside(room, _middles(boxes, angle_rad))
        boxes, legs, left = boxes[is_in], legs[is_in], left[is_in]
        for i in np.argsort(-left, kind="stable")[: 40 * count]:
            cut = tuple(int(c) for c in np.flatnonzero(legs[i].min(axis=1) > 0.0))
            key = (cut, round(angle_rad / 0.3), *np.floor(_BINS * boxes[i]).astype(int))
            if key not in kept or left[i] > kept[key][0]:
                kept[key] = (float(left[i]), cut, np.concatenate([[angle_rad], boxes[i]]), legs[i])
    ranked = sorted(kept.values(), key=lambda k: (-round(k[0], 9), k[1], *k[2]))
    return {j: [_start(cut, box, legs) for _, cut, box, legs in ranked if len(cut) == j][:count] for j in range(1, 5)}


def _middles(boxes: np.ndarray, angle_rad: float) -> np.ndarray:
    """Where the boxes' middles lie, (b, 2): a box that the room passes by has no walls inside either."""
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    return np.asarray(np.column_stack([boxes[:, 0] + boxes[:, 1], boxes[:, 2] + boxes[:, 3]]) / 2 @ np.array([[c, s], [-s, c]]))


def _angles(room: Room) -> list[float]:
    """Those of the longest walls and an even fan, radians below a quarter turn."""
    longest = np.argsort(-room.length, kind="stable")[: 3 * _WALL_ANGLES]
    walls = np.arctan2(room.run[longest, 1], room.run[longest, 0]) % (math.pi / 2)
    angles: list[float] = []
    for angle_rad in walls:
        if len(angles) < _WALL_ANGLES and all(abs(math.remainder(angle_rad - a, math.pi / 2)) > 0.03 for a in angles):
            angles.append(float(angle_rad))
    return angles + [i * math.pi / 2 / _EVEN_ANGLES for i in range(_EVEN_ANGLES)]


def _boundary(room: Room) -> np.ndarray:
    """Points along the walls, no farther apart than the spacing."""
    parts = np.maximum(np.ceil(room.length / _SPACING).astype(int), 1)
    wall = np.repeat(np.arange(len(parts)), parts)
    share = np.concatenate([np.arange(n) / n for n in parts])
    return np.asarray(room.points[wall] + share[:, None] * room.run[wall])


def _boxes_at(boundary: np.ndarray, angle_rad: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Boxes (b, 4: left, right, low, high) at one angle that cuts can fit in, the legs (b, 4, 2) of their cuts along the level
    and the upright side, 0 where none is needed, and the area (b,) left."""
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    place = boundary @ np.array([[c, -s], [s, c]])
    boxes = _grid(place)
    x, y = place[:, 0], place[:, 1]
    from_left, from_right = x - boxes[:, 0, None], boxes[:, 1, None] - x
    from_low, from_high = y - boxes[:, 2, None], boxes[:, 3, None] - y
    aside, above = np.minimum(from_left, from_right), np.minimum(from_low, from_high)
    inside = (aside > 1e-9) & (above > 1e-9)
    is_left, is_low = from_left <= from_right, from_low <= from_high
    size = np.column_stack([boxes[:, 1] - boxes[:, 0], boxes[:, 3] - boxes[:, 2]])
    legs = np.zeros((len(boxes), 4, 2))
    for corner, mine in enumerate((is_left & is_low, ~is_left & is_low, ~is_left & ~is_low, is_left & ~is_low)):
        legs[:, corner] = _least_cut(aside, above, inside & mine, size)
    left = size.prod(axis=1) - legs.prod(axis=2).sum(axis=1) / 2
    fits = (legs[:, 0, 0] + legs[:, 1, 0] <= size[:, 0]) & (legs[:, 2, 0] + legs[:, 3, 0] <= size[:, 0])
    fits &= (legs[:, 1, 1] + legs[:, 2, 1] <= size[:, 1]) & (legs[:, 3, 1] + legs[:, 0, 1] <= size[:, 1])
    fits &= left > _LEAST_BOX
    return boxes[fits], legs[fits], left[fits]


def _grid(place: np.ndarray) -> np.ndarray:
    """All boxes between grid lines that are large enough, (b, 4)."""
    (x0, y0), (x1, y1) = place.min(axis=0), place.max(axis=0)
    x, y = (np.linspace(low, high, _LINES) for low, high in ((x0, x1), (y0, y1)))
    i, j = np.triu_indices(_LINES, 1)
    across, up = np.repeat(np.arange(len(i)), len(i)), np.tile(np.arange(len(i)), len(i))
    boxes = np.column_stack([x[i[across]], x[j[across]], y[i[up]], y[j[up]]])
    area = (boxes[:, 1] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 2])
    # a box much larger than the room loses it all again to its cuts
    return np.asarray(boxes[(area > _LEAST_BOX) & (area < 1.6)])


def _least_cut(aside: np.ndarray, above: np.ndarray, mine: np.ndarray, size: np.ndarray) -> np.ndarray:
    """Legs (b, 2) of the cut that takes off all points `mine` and the least area; longer than the box where none does."""
    best, area = np.full((len(size), 2), np.inf), np.full(len(size), np.inf)
    for slope_rad in _SLOPES_RAD:
        depth = np.where(mine, aside * math.cos(slope_rad) + above * math.sin(slope_rad), 0.0).max(axis=1)
        legs = np.column_stack([depth / math.cos(slope_rad), depth / math.sin(slope_rad)])
        better = (legs.prod(axis=1) < area) & (legs <= size).all(axis=1)
        best[better], area[better] = legs[better], legs[better].prod(axis=1)
    return np.where(np.isfinite(best), best, 2.0 * size)


def _start(cut: tuple[int, ...], box: np.ndarray, legs: np.ndarray) -> tuple[CutRectangle, np.ndarray]:
    """Drawn in about the box's middle."""
    middle = np.repeat([(box[1] + box[2]) / 2, (box[3] + box[4]) / 2], 2)
    sides = middle + _DRAWN_IN * (box[1:] - middle)
    least = _LEAST_LEG * min(box[2] - box[1], box[4] - box[3])
    return CutRectangle(cut), np.concatenate([[box[0]], sides, np.maximum(legs[list(cut)].ravel(), least)])
