"""Where two segments meet: crossings, touches, and stretches they share; each arc with its span.

Words: a *crossing* is a point of both segments, a touch included; a *stretch* is a run that both have in common, of collinear
lines or cocircular arcs.
Conventions: mm, x right, y up.  Limits: points nearer than REACH to both segments count as on both.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.geometry.strand import Strands, foot_shares, points_at, strands_of, tangents_at
from afterpart.model.outline import Point, Segment

REACH = 1e-8
"""How far from a segment a point may lie and still be on it, mm: above rounding at part size, below anything made."""
TOUCH = 1e-9
"""How far two curves may miss or overlap and still count as tangent, mm."""
PARALLEL = 1e-10
"""Sine of the angle under which two lines count as parallel."""


@dataclass(frozen=True)
class Crossing:
    """at: the place; tangent: both have the same tangent there (a touch, or a smooth joint)."""

    at: Point
    tangent: bool


@dataclass(frozen=True)
class Meeting:
    """All that two segments have in common; stretches: the ends of each, in the direction of the first segment."""

    crossings: tuple[Crossing, ...]
    stretches: tuple[tuple[Point, Point], ...]


def meeting(first: Segment, second: Segment) -> Meeting:
    """Every crossing of two segments, and the stretches they share; ends of stretches are not told as crossings again."""
    one, other = strands_of([first]), strands_of([second])
    _, _, points = crossing_points(one, other, np.zeros(1, int), np.zeros(1, int))
    shares = foot_shares(one, np.zeros(len(points), int), points)[0]
    points = _apart(points[np.argsort(shares)])
    stretches = _stretches(one, other, points)
    used = {end for stretch in stretches for end in stretch}
    places = [(float(x), float(y)) for x, y in points]
    return Meeting(tuple(Crossing(p, _is_tangent(one, other, p)) for p in places if p not in used), stretches)


def _apart(points: np.ndarray) -> np.ndarray:
    """Neighbours in the row that are one place, once; the last and the first may be one place, too (a circle's)."""
    kept: list[np.ndarray] = []
    for point in points:
        if all(np.hypot(*(point - other)) > 10 * REACH for other in kept):
            kept.append(point)
    return np.array(kept).reshape(-1, 2)


def _stretches(one: Strands, other: Strands, points: np.ndarray) -> tuple[tuple[Point, Point], ...]:
    """Runs of the first between neighbouring crossings, round a circle also from the last to the first, that lie on both."""
    index = np.zeros(1, int)
    shares = [float(foot_shares(one, index, p[None])[0][0]) for p in points]
    pairs = [(k, k + 1, shares[k], shares[k + 1]) for k in range(len(points) - 1)]
    if len(points) and abs(one.turn_rad[0]) == math.tau:
        pairs.append((len(points) - 1, 0, shares[-1], shares[0] + 1))
    found = []
    for a, b, low, high in pairs:
        probes = points_at(one, index, np.mod(low + (high - low) * np.array([0.25, 0.5, 0.8]), 1.0 + 1e-15))
        if (foot_shares(other, np.zeros(3, int), probes)[1] <= REACH).all():
            found.append(((float(points[a, 0]), float(points[a, 1])), (float(points[b, 0]), float(points[b, 1]))))
    return _joined(found)


def _joined(stretches: list[tuple[Point, Point]]) -> tuple[tuple[Point, Point], ...]:
    """Stretches that go on from one to the next, as one: only the place where a circle begins had parted them."""
    for k, (_, end) in enumerate(stretches):
        for n, (start, last) in enumerate(stretches):
            if n != k and start == end:
                rest = [s for m, s in enumerate(stretches) if m not in (k, n)]
                return _joined([*rest, (stretches[k][0], last)])
    return tuple(stretches)


def _is_tangent(one: Strands, other: Strands, place: Point) -> bool:
    index, point = np.zeros(1, int), np.array([place])
    a = tangents_at(one, index, foot_shares(one, index, point)[0])[0]
    b = tangents_at(other, index, foot_shares(other, index, point)[0])[0]
    return bool(abs(a[0] * b[1] - a[1] * b[0]) < 1e-6)


def crossing_points(a: Strands, b: Strands, i: np.ndarray, j: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """All crossings of the pairs of strands a[i], b[j] (k,), as i (m,), j (m,), points (m, 2).

    Shared stretches are told by their ends.  A crossing at an end may be told twice, within rounding; places found as ends of
    one segment on the other come first.
    """
    ends = [(i, j, a.start[i]), (i, j, a.end[i]), (i, j, b.start[j]), (i, j, b.end[j])]
    found = [*ends, *_of_lines(a, b, i, j), *_of_line_and_arc(a, b, i, j), *_of_line_and_arc(b, a, j, i, turned=True),
             *_of_arcs(a, b, i, j)]
    i, j = (np.concatenate([f[k] for f in found]) for k in (0, 1))
    points = np.concatenate([f[2] for f in found])
    on_both = (foot_shares(a, i, points)[1] <= REACH) & (foot_shares(b, j, points)[1] <= REACH)
    return i[on_both], j[on_both], points[on_both]


Found = tuple[np.ndarray, np.ndarray, np.ndarray]


def _of_lines(a: Strands, b: Strands, i: np.ndarray, j: np.ndarray) -> list[Found]:
    keep = a.is_line[i] & b.is_line[j]
    i, j = i[keep], j[keep]
    along, across, between = a.end[i] - a.start[i], b.end[j] - b.start[j], b.start[j] - a.start[i]
    sine = along[:, 0] * across[:, 1] - along[:, 1] * across[:, 0]
    open_ = np.abs(sine) > PARALLEL * a.length[i] * b.length[j]
    share = (between[:, 0] * across[:, 1] - between[:, 1] * across[:, 0]) / np.where(open_, sine, 1.0)
    return [(i[open_], j[open_], (a.start[i] + share[:, None] * along)[open_])]


def _of_line_and_arc(a: Strands, b: Strands, i: np.ndarray, j: np.ndarray, turned: bool = False) -> list[Found]:
    """Lines of a with arcs of b; turned: the pair is given back the other way round."""
    keep = a.is_line[i] & ~b.is_line[j] & (a.length[i] > 0)
    i, j = i[keep], j[keep]
    along = (a.end[i] - a.start[i]) / a.length[i][:, None]
    foot = a.start[i] + np.einsum("nk,nk->n", b.center[j] - a.start[i], along)[:, None] * along
    return [(j, i, p) if turned else (i, j, p) for i, j, p in _both_sides(i, j, foot, along, b.center[j], b.radius[j])]


def _both_sides(i: np.ndarray, j: np.ndarray, foot: np.ndarray, along: np.ndarray, center: np.ndarray,
                radius: np.ndarray) -> list[Found]:
    """Where the line through foot along `along` crosses the circle; foot is nearest to its centre.  A touch gives one place."""
    height = np.hypot(*(center - foot).T)
    half = np.sqrt(np.maximum((radius - height) * (radius + height), 0.0))
    touching = np.abs(height - radius) <= TOUCH
    half, met = np.where(touching, 0.0, half)[:, None], (height < radius) | touching
    twice = met & ~touching
    return [(i[met], j[met], (foot + half * along)[met]), (i[twice], j[twice], (foot - half * along)[twice])]


def _of_arcs(a: Strands, b: Strands, i: np.ndarray, j: np.ndarray) -> list[Found]:
    """The chord common to both circles crosses the line of centres (dd + rr - ss) / 2d from the first centre."""
    keep = ~a.is_line[i] & ~b.is_line[j]
    keep &= np.hypot(*(b.center[j] - a.center[i]).T) > TOUCH
    i, j = i[keep], j[keep]
    between, r, s = b.center[j] - a.center[i], a.radius[i], b.radius[j]
    d = np.hypot(*between.T)
    outward = between / d[:, None]
    reach = (d + (r - s) * (r + s) / d) / 2
    touching = (np.abs(d - r - s) <= TOUCH) | (np.abs(d - np.abs(r - s)) <= TOUCH)
    reach = np.where(touching, np.copysign(r, reach), reach)
    foot = a.center[i] + reach[:, None] * outward
    across = np.column_stack([-outward[:, 1], outward[:, 0]])
    return _both_sides(i, j, foot, across, a.center[i], r)
