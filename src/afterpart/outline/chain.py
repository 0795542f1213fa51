"""The nouns between rim and drawing: a chain of carriers.

A *carrier* is the endless curve a segment lies on: a line or a full circle.  A *chain* is a closed row of carriers with the kind
of each junction: tangent or corner.  One row of numbers a carrier, three of them:
    line  (direction in radians, offset along the left normal from the origin, 0)
    arc   (centre x, centre y, signed radius: positive when travelled counter-clockwise)
The signed distance of a point to a carrier is positive to the left of travel: that is where the material lies.
A chain of one arc, closed in itself, is a circle.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.geometry.angles import wrap_rad

SEAM = 2e-3
"""Two lines at a smaller angle (radians), two circles that differ by a smaller share of the radius, are one carrier."""


@dataclass(frozen=True)
class Chain:
    """is_arc: (k,); state: (k, 3); tangent: (k,) True when carrier i touches carrier i+1 smoothly; first: (k,) index of the rim
    point at which each carrier begins; corners: (k, 2) where carrier i ends; is_circle: one closed circle.
    covariance: (3k, 3k) of the state, local errors only; residuals: (n,) signed distances of the rim's points;
    price: description length, the smaller the better.
    """

    is_arc: np.ndarray
    state: np.ndarray
    tangent: np.ndarray
    first: np.ndarray
    corners: np.ndarray
    is_circle: bool
    covariance: np.ndarray
    residuals: np.ndarray
    price: float

    @property
    def size(self) -> int:
        return len(self.is_arc)


def signed_distance(is_arc: np.ndarray, state: np.ndarray, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Left-signed distances (n,) of points to carriers, one each, and their derivatives (n, 3) by the carrier's numbers.

    is_arc (n,) and state (n, 3) are already spread to the points.
    """
    x, y = points[:, 0], points[:, 1]
    a, b, c = state.T
    cos, sin = np.cos(a), np.sin(a)
    dx, dy = x - a, y - b
    reach = np.maximum(np.hypot(dx, dy), 1e-12)
    side = np.where(c >= 0.0, 1.0, -1.0)
    distance = np.where(is_arc, c - side * reach, y * cos - x * sin - b)
    slope = np.empty((len(points), 3))
    slope[:, 0] = np.where(is_arc, side * dx / reach, -(x * cos + y * sin))
    slope[:, 1] = np.where(is_arc, side * dy / reach, -1.0)
    slope[:, 2] = np.where(is_arc, 1.0, 0.0)
    return distance, slope


def carrier_distances(is_arc: np.ndarray, state: np.ndarray, owner: np.ndarray,
                      points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """`signed_distance` of points (n, 2) to their carriers, whose numbers owner (n,) gives: what depends on the carrier alone is
    worked out once a carrier."""
    if is_arc.any():
        return signed_distance(is_arc[owner], state[owner], points)
    x, y = points[:, 0], points[:, 1]
    cos, sin = np.cos(state[:, 0])[owner], np.sin(state[:, 0])[owner]
    slope = np.empty((len(points), 3))
    slope[:, 0] = -(x * cos + y * sin)
    slope[:, 1], slope[:, 2] = -1.0, 0.0
    return y * cos - x * sin - state[owner, 1], slope


def distances(is_arc: bool, row: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Left-signed distances (n,) of points to one carrier."""
    x, y = points[:, 0], points[:, 1]
    if is_arc:
        return row[2] - math.copysign(1.0, row[2]) * np.maximum(np.hypot(x - row[0], y - row[1]), 1e-12)
    return y * math.cos(row[0]) - x * math.sin(row[0]) - row[1]


def direction_at(arc: bool, row: np.ndarray, point: np.ndarray) -> float:
    """Direction of travel (radians) of a carrier at a point on it."""
    if not arc:
        return float(row[0])
    return math.atan2(point[1] - row[1], point[0] - row[0]) + math.copysign(0.5 * math.pi, row[2])


def tangency(arc_a: bool, a: np.ndarray, arc_b: bool, b: np.ndarray) -> tuple[float, np.ndarray, np.ndarray]:
    """Gap of the touching condition of two carriers, and its derivatives by the numbers of each.

    Line and arc: n . c - d = r (signed).  Arc and arc: |c1 - c2| = |r1 - r2| (signed radii, the same direction of travel).
    """
    if arc_a and arc_b:
        dx, dy = a[0] - b[0], a[1] - b[1]
        reach = math.hypot(dx, dy)
        side = math.copysign(1.0, a[2] - b[2])
        ux, uy = (dx / reach, dy / reach) if reach > 1e-9 else (1.0, 0.0)
        return reach - side * (a[2] - b[2]), np.array([ux, uy, -side]), np.array([-ux, -uy, side])
    if arc_a:
        gap, slope_b, slope_a = tangency(arc_b, b, arc_a, a)
        return gap, slope_a, slope_b
    sin, cos = math.sin(a[0]), math.cos(a[0])
    gap = b[1] * cos - b[0] * sin - a[1] - b[2]
    return gap, np.array([-(b[0] * cos + b[1] * sin), -1.0, 0.0]), np.array([-sin, cos, -1.0])


def junction(arc_a: bool, a: np.ndarray, arc_b: bool, b: np.ndarray, tangent: bool, near: np.ndarray) -> np.ndarray:
    """Where carrier a hands over to carrier b: the touching point, or the crossing nearest to `near`."""
    if tangent:
        if arc_a and arc_b:
            gap = a[:2] - b[:2]
            reach = float(np.hypot(*gap))
            if reach > 1e-9:
                normal = gap / (reach * math.copysign(1.0, a[2] - b[2]))
                return 0.5 * (a[:2] - a[2] * normal + b[:2] - b[2] * normal)
        else:
            line, arc = (b, a) if arc_a else (a, b)
            if arc_a != arc_b:
                normal = np.array([-math.sin(line[0]), math.cos(line[0])])
                return arc[:2] - normal * (normal @ arc[:2] - line[1])
    return crossing(arc_a, a, arc_b, b, near)


def crossing(arc_a: bool, a: np.ndarray, arc_b: bool, b: np.ndarray, near: np.ndarray) -> np.ndarray:
    """Crossing of two carriers nearest to `near`; where they miss each other, the place of closest approach; where both are one
    (parted by the maker), the place on them nearest to `near`."""
    if not arc_a and not arc_b:
        na, nb = np.array([-math.sin(a[0]), math.cos(a[0])]), np.array([-math.sin(b[0]), math.cos(b[0])])
        det = na[0] * nb[1] - na[1] * nb[0]
        if abs(det) < 1e-9:
            return near - na * (na @ near - a[1])
        if abs(det) < SEAM:
            return near - 0.5 * (na * (na @ near - a[1]) + nb * (nb @ near - b[1]))
        return np.array([a[1] * nb[1] - b[1] * na[1], na[0] * b[1] - nb[0] * a[1]]) / det
    if arc_a and arc_b:
        gap = b[:2] - a[:2]
        reach = max(float(np.hypot(*gap)), 1e-12)
        if reach + abs(float(a[2] - b[2])) < SEAM * abs(float(a[2])):
            return 0.5 * (_on_circle(a, near) + _on_circle(b, near))
        along = (reach * reach + a[2] * a[2] - b[2] * b[2]) / (2.0 * reach)
        foot, way, radius = a[:2] + gap / reach * along, np.array([-gap[1], gap[0]]) / reach, abs(a[2])
        half = math.sqrt(max(radius * radius - along * along, 0.0))
    else:
        line, arc = (b, a) if arc_a else (a, b)
        normal = np.array([-math.sin(line[0]), math.cos(line[0])])
        miss = normal @ arc[:2] - line[1]
        foot, way = arc[:2] - normal * miss, np.array([math.cos(line[0]), math.sin(line[0])])
        half = math.sqrt(max(arc[2] * arc[2] - miss * miss, 0.0))
    first, second = foot + way * half, foot - way * half
    return first if np.hypot(*(first - near)) <= np.hypot(*(second - near)) else second


def _on_circle(row: np.ndarray, near: np.ndarray) -> np.ndarray:
    """The point of a circle's carrier nearest to `near`."""
    way = near - row[:2]
    return row[:2] + abs(row[2]) * way / max(float(np.hypot(*way)), 1e-12)


def junctions(is_arc: np.ndarray, state: np.ndarray, tangent: np.ndarray, near: np.ndarray) -> np.ndarray:
    """(k, 2): row i is where carrier i ends and carrier i+1 begins, as `junction` has it, all at once.  near: (k, 2) rough
    places."""
    other_arc, other = _next(is_arc), _next(state)
    if not is_arc.any():
        out, parallel = _line_crossings(state, other)
        for i in np.flatnonzero(parallel).tolist():
            out[i] = junction(False, state[i], False, other[i], bool(tangent[i]), near[i])
        return out
    out = np.empty((len(is_arc), 2))
    lines, arcs = ~is_arc & ~other_arc, is_arc & other_arc
    mixed = np.flatnonzero(is_arc != other_arc)
    if len(mixed):
        turned = is_arc[mixed][:, None]
        line, arc = np.where(turned, other[mixed], state[mixed]), np.where(turned, state[mixed], other[mixed])
        cos, sin = np.cos(line[:, 0]), np.sin(line[:, 0])
        miss = arc[:, 1] * cos - arc[:, 0] * sin - line[:, 1]
        foot = arc[:, :2] - miss[:, None] * np.stack([-sin, cos], 1)
        half = np.where(tangent[mixed], 0.0, np.sqrt(np.maximum(arc[:, 2] ** 2 - miss**2, 0.0)))
        out[mixed] = _nearer(foot, half[:, None] * np.stack([cos, sin], 1), near[mixed])
    crossed = np.flatnonzero(lines)
    out[crossed], parallel = _line_crossings(state[crossed], other[crossed])
    for i in np.concatenate((crossed[parallel], np.flatnonzero(arcs))):
        out[i] = junction(bool(is_arc[i]), state[i], bool(other_arc[i]), other[i], bool(tangent[i]), near[i])
    return out


def _line_crossings(a: np.ndarray, b: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Crossings (m, 2) of lines a and b (m, 3), and (m,) True where they hardly cross."""
    ax, ay, bx, by = np.sin(a[:, 0]), np.cos(a[:, 0]), np.sin(b[:, 0]), np.cos(b[:, 0])
    det = -ax * by - ay * -bx
    parallel = np.abs(det) < SEAM
    with np.errstate(all="ignore"):
        return np.stack([a[:, 1] * by - b[:, 1] * ay, -ax * b[:, 1] - -bx * a[:, 1]], 1) / det[:, None], parallel


def _next(row: np.ndarray) -> np.ndarray:
    """A closed row begun one later."""
    return np.concatenate((row[1:], row[:1]))


def _nearer(foot: np.ndarray, reach: np.ndarray, near: np.ndarray) -> np.ndarray:
    """Of the points foot + reach and foot - reach (k, 2) the ones nearer to `near`."""
    back = ((foot - near) * reach).sum(1) > 0.0
    return np.where(back[:, None], foot - reach, foot + reach)


def tangencies(is_arc: np.ndarray, state: np.ndarray, bound: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """`tangency` of carriers bound (m,) and those that follow them: gaps (m,), slopes (m, 3) by the numbers of each."""
    follows = (bound + 1) % len(is_arc)
    gap, first, second = np.empty(len(bound)), np.empty((len(bound), 3)), np.empty((len(bound), 3))
    if len(bound) == 0:
        return gap, first, second
    mixed = is_arc[bound] != is_arc[follows]
    for k in np.flatnonzero(~mixed):
        i, j = bound[k], follows[k]
        gap[k], first[k], second[k] = tangency(bool(is_arc[i]), state[i], bool(is_arc[j]), state[j])
    turned = is_arc[bound[mixed]][:, None]
    a, b = state[bound[mixed]], state[follows[mixed]]
    line, arc = np.where(turned, b, a), np.where(turned, a, b)
    cos, sin, one = np.cos(line[:, 0]), np.sin(line[:, 0]), np.ones(len(line))
    gap[mixed] = arc[:, 1] * cos - arc[:, 0] * sin - line[:, 1] - arc[:, 2]
    by_line = np.stack([-(arc[:, 0] * cos + arc[:, 1] * sin), -one, 0.0 * one], 1)
    by_arc = np.stack([-sin, cos, -one], 1)
    first[mixed], second[mixed] = np.where(turned, by_arc, by_line), np.where(turned, by_line, by_arc)
    return gap, first, second


def off_carriers(is_arc: np.ndarray, state: np.ndarray, corners: np.ndarray, tolerance: float = 1e-4) -> np.ndarray:
    """(k,) True where junction i does not lie on both its carriers: they miss each other."""
    before, _ = signed_distance(is_arc, state, corners)
    after, _ = signed_distance(_next(is_arc), _next(state), corners)
    return np.maximum(np.abs(before), np.abs(after)) > tolerance


def turn_at(arc_a: bool, a: np.ndarray, arc_b: bool, b: np.ndarray, point: np.ndarray) -> float:
    """Change of direction (radians, left positive) from carrier a to carrier b at a point."""
    return float(wrap_rad(direction_at(arc_b, b, point) - direction_at(arc_a, a, point)))
