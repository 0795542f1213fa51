"""Where the search for the largest shape in a room begins: rectangles on a grid, and convex pieces with a dynamic programme.

Rectangles: for a fan of angles, upright lines through the room tell how far it is free above and below a level line; the best
pair of upright lines follows from running minima.  Polygons: a convex piece of the room about a seed is cut out by the lines
that part the nearest walls from it; in it the largest polygon with k corners among points of its boundary is found exactly, by
dynamic programming over chains of corners.
Conventions: room units; nothing is random.  Limits: starts are near the best, not the best: ascent.py finishes them.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.geometry.room import Room

_ANGLES, _LINES, _LEVELS = 36, 40, 12
_BOUNDARY_POINTS = 72
_BINS = 4
"""Starts are kept apart by size, place and angle, in bins of this many to the room's breadth."""

Start = tuple[float, np.ndarray]
"""Area and parameters (angle in radians, left, right, low, high)."""


def rectangle_starts(room: Room, count: int) -> list[Start]:
    """The largest rectangles of the grid that differ, the largest first."""
    kept: dict[tuple[int, ...], Start] = {}
    for angle_rad in np.arange(_ANGLES) * (math.pi / 2 / _ANGLES):
        for area, p in _rectangles_at(room, float(angle_rad)):
            bins = (int(4 * angle_rad / math.pi), *(int(math.floor(_BINS * v)) for v in p[1:]))
            if bins not in kept or area > kept[bins][0]:
                kept[bins] = (area, p)
    return sorted(kept.values(), key=lambda start: (-round(start[0], 9), *start[1]))[:count]


def _rectangles_at(room: Room, angle_rad: float) -> list[Start]:
    """The best rectangle about each level line at one angle."""
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    ring = room.points @ np.array([[c, -s], [s, c]])
    x = np.linspace(ring[:, 0].min(), ring[:, 0].max(), _LINES + 2)[1:-1]
    levels = np.linspace(ring[:, 1].min(), ring[:, 1].max(), _LEVELS + 2)[1:-1]
    low, high = _free_about(ring, x, levels)
    found = []
    for lows, highs in zip(low, high, strict=True):
        top = np.minimum.accumulate(np.where(np.tri(_LINES, dtype=bool).T, highs[None, :], np.inf), axis=1)
        bottom = np.maximum.accumulate(np.where(np.tri(_LINES, dtype=bool).T, lows[None, :], -np.inf), axis=1)
        area = np.where(np.tri(_LINES, dtype=bool).T, (x[None, :] - x[:, None]) * np.maximum(top - bottom, 0.0), 0.0)
        i, j = np.unravel_index(int(area.argmax()), area.shape)
        if area[i, j] > 0:
            found.append((float(area[i, j]), np.array([angle_rad, x[i], x[j], bottom[i, j], top[i, j]])))
    return found


def _free_about(ring: np.ndarray, x: np.ndarray, levels: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest free point of each upright line about each level, (levels, lines); low above high where not inside."""
    start, end = ring, np.roll(ring, -1, axis=0)
    meets = (start[:, 0, None] <= x) != (end[:, 0, None] <= x)
    rise = np.where(end[:, 0] == start[:, 0], 1.0, end[:, 0] - start[:, 0])
    y = start[:, 1, None] + (x - start[:, 0, None]) * ((end[:, 1] - start[:, 1]) / rise)[:, None]
    above = np.where(meets[None], y[None] - levels[:, None, None], np.inf)
    over = above > 0.0
    is_inside = (over & meets[None]).sum(axis=1) % 2 == 1
    high = np.where(over, above, np.inf).min(axis=1)
    low = np.where(~over & meets[None], above, -np.inf).max(axis=1)
    return (np.where(is_inside, levels[:, None] + low, np.inf), np.where(is_inside, levels[:, None] + high, -np.inf))


def convex_piece(room: Room, seed: np.ndarray, stretch: np.ndarray) -> np.ndarray:
    """Corners (m, 2) of a large convex part of the room that holds the seed.

    stretch: (2, 2) matrix that makes the wanted proportions round: distances are taken after it."""
    if room.is_convex:
        return room.points
    place = (room.points - seed) @ stretch.T
    a, b = place, np.roll(place, -1, axis=0)
    sharp = np.column_stack([room.is_inward, np.roll(room.is_inward, -1)])
    piece = 4.0 * np.abs(place).max() * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    for _ in range(2 * len(place)):
        if not len(a):
            break
        nearest, at_end = _nearest_points(a, b)
        i = int(np.argmin(np.hypot(nearest[:, 0], nearest[:, 1])))
        outward, limit = _parting_line(a[i], b[i], nearest[i], bool(at_end[i] >= 0 and sharp[i, at_end[i]]))
        piece = _below(piece, outward, limit)
        a, b, sharp = _walls_below(a, b, sharp, outward, limit)
    return np.asarray(piece @ np.linalg.inv(stretch).T + seed)


def _nearest_points(a: np.ndarray, b: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Point of each wall nearest to the origin, and which end it is (-1: neither)."""
    run = b - a
    share = -np.einsum("ij,ij->i", a, run) / np.maximum(np.einsum("ij,ij->i", run, run), 1e-18)
    at_end = np.where(share <= 0.0, 0, np.where(share >= 1.0, 1, -1))
    return a + np.clip(share, 0.0, 1.0)[:, None] * run, at_end


def _parting_line(a: np.ndarray, b: np.ndarray, nearest: np.ndarray, is_sharp: bool) -> tuple[np.ndarray, float]:
    """Along the wall, or square to the nearest point where that is an inward corner or the wall's line has the seed behind it."""
    run = b - a
    outward = np.array([run[1], -run[0]]) / max(math.hypot(*run), 1e-18)
    limit = float(outward @ a)
    if is_sharp or limit <= 1e-9:
        distance = max(math.hypot(*nearest), 1e-12)
        return nearest / distance, distance
    return outward, limit


def _below(piece: np.ndarray, outward: np.ndarray, limit: float) -> np.ndarray:
    """The part of a convex polygon on the near side of a line."""
    value = piece @ outward - limit
    corners = []
    for i, here in enumerate(value):
        j = (i + 1) % len(piece)
        if here <= 0.0:
            corners.append(piece[i])
        if (here < 0.0) != (value[j] < 0.0) and here != value[j]:
            corners.append(piece[i] + (piece[j] - piece[i]) * (here / (here - value[j])))
    return np.array(corners)


def _walls_below(
    a: np.ndarray, b: np.ndarray, sharp: np.ndarray, outward: np.ndarray, limit: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """What is left of the walls on the near side of a line; a clipped end is no corner any more."""
    from_a, from_b = a @ outward - limit, b @ outward - limit
    keep = (from_a < -1e-9) | (from_b < -1e-9)
    a, b, sharp, from_a, from_b = a[keep].copy(), b[keep].copy(), sharp[keep].copy(), from_a[keep], from_b[keep]
    cut = (from_a / np.where(from_a == from_b, 1.0, from_a - from_b))[:, None] * (b - a) + a
    a_out, b_out = from_a > 0.0, from_b > 0.0
    a[a_out], b[b_out] = cut[a_out], cut[b_out]
    sharp[a_out, 0], sharp[b_out, 1] = False, False
    return a, b, sharp


def polygons_in_piece(piece: np.ndarray, sides: range) -> dict[int, np.ndarray]:
    """For each number of sides the largest polygon whose corners are among points of a convex piece's boundary, exactly.

    With W(a, b) the area of the triangle origin-a-b, signed, the best chain of t sides from a to c is
    F_t(a, c) = max over b of F_(t-1)(a, b) + W(b, c), a < b < c; the last side closes it."""
    points = _spread(piece)
    count = len(points)
    w = (points[:, None, 0] * points[None, :, 1] - points[:, None, 1] * points[None, :, 0]) / 2
    ahead = np.where(np.arange(count)[:, None] < np.arange(count)[None, :], w, -np.inf)
    chain = ahead
    came_from: list[np.ndarray] = []
    found: dict[int, np.ndarray] = {}
    for k in range(2, max(sides) + 1):
        if k in sides:
            a, c = np.unravel_index(int((chain + w.T).argmax()), chain.shape)
            found[k] = points[_traced(int(a), int(c), came_from)]
        longer = chain[:, :, None] + ahead[None, :, :]
        came_from.append(longer.argmax(axis=1))
        chain = longer.max(axis=1)
    return found


def _traced(a: int, c: int, came_from: list[np.ndarray]) -> list[int]:
    chain = [c]
    for table in reversed(came_from):
        chain.append(int(table[a, chain[-1]]))
    return [a, *reversed(chain)]


def _spread(piece: np.ndarray) -> np.ndarray:
    """Points along a convex boundary, evenly, its sharpest corners among them."""
    run = np.roll(piece, -1, axis=0) - piece
    length = np.hypot(run[:, 0], run[:, 1])
    place = np.concatenate([[0.0], np.cumsum(length)])
    before = np.roll(run, 1, axis=0)
    turn_rad = np.abs(np.arctan2(before[:, 0] * run[:, 1] - before[:, 1] * run[:, 0], np.einsum("ij,ij->i", before, run)))
    corners = np.flatnonzero(turn_rad > 0.15)
    sharpest = corners[np.argsort(-turn_rad[corners], kind="stable")][: _BOUNDARY_POINTS // 2]
    even = np.linspace(0.0, place[-1], _BOUNDARY_POINTS - len(sharpest), endpoint=False)
    at = np.unique(np.concatenate([even, place[sharpest]]))
    ring = np.vstack([piece, piece[:1]])
    return np.column_stack([np.interp(at, place, ring[:, 0]), np.interp(at, place, ring[:, 1])])
