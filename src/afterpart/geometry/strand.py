"""Segments as rows of numbers, for reckoning with many of them at once.

Words: a *strand* is a segment read as a curve from its start to its end; the *share* of a point on it is how far along it lies,
0 at its start, 1 at its end; a *foot* is the point of a strand nearest to a given point.
Conventions: mm, x right, y up; a circle runs counter-clockwise from its rightmost point.
Limits: knows strands one by one, not that they form a chain.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from afterpart.geometry.segments import arc_angles_rad
from afterpart.model.outline import Arc, Circle, Line, Segment

SPECK = 1e-8
"""A segment shorter than this has no direction worth having, mm."""


@dataclass(frozen=True)
class Strands:
    """n segments.  start, end, center: (n, 2); radius, first_rad, turn_rad: (n,), zero for lines, turn_rad counter-clockwise
    positive and a whole turn for circles; is_line: (n,); ids: their names."""

    start: np.ndarray
    end: np.ndarray
    center: np.ndarray
    radius: np.ndarray
    first_rad: np.ndarray
    turn_rad: np.ndarray
    is_line: np.ndarray
    length: np.ndarray
    ids: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.ids)


def strands_of(segments: Sequence[Segment]) -> Strands:
    """The segments as strands, in the same order."""
    rows = [_row(segment) for segment in segments]
    table = np.array(rows, dtype=float).reshape(len(rows), 9)
    start, end, center = table[:, 0:2], table[:, 2:4], table[:, 4:6]
    radius, first_rad, turn_rad = table[:, 6], table[:, 7], table[:, 8]
    is_line = turn_rad == 0.0
    length = np.where(is_line, np.hypot(*(end - start).T), radius * np.abs(turn_rad))
    return Strands(start, end, center, radius, first_rad, turn_rad, is_line, length, tuple(s.id for s in segments))


def without_specks(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """The segments without those shorter than SPECK."""
    long_enough = strands_of(segments).length > SPECK
    return tuple(s for s, keep in zip(segments, long_enough, strict=True) if keep)


def chosen_strands(strands: Strands, index: np.ndarray) -> Strands:
    """The strands `index`, in that order."""
    s = strands
    return Strands(s.start[index], s.end[index], s.center[index], s.radius[index], s.first_rad[index], s.turn_rad[index],
                   s.is_line[index], s.length[index], tuple(s.ids[k] for k in index.tolist()))


def _row(segment: Segment) -> tuple[float, ...]:
    match segment:
        case Line(start=start, end=end):
            return (*start, *end, *start, 0.0, 0.0, 0.0)
        case Circle(center=(x, y), radius=r):
            return (x + r, y, x + r, y, x, y, r, 0.0, math.tau)
        case Arc(start=start, end=end, center=center, radius=r):
            return (*start, *end, *center, r, *arc_angles_rad(segment))


def points_at(strands: Strands, index: np.ndarray, share: np.ndarray) -> np.ndarray:
    """Points (..., 2) of the strands `index` at `share`, of equal or broadcasting shapes; ends are the given ends, exactly."""
    index, share = np.broadcast_arrays(index, share)
    along = share[..., None]
    on_line = strands.start[index] * (1 - along) + strands.end[index] * along
    angle_rad = strands.first_rad[index] + strands.turn_rad[index] * share
    radial = np.stack([np.cos(angle_rad), np.sin(angle_rad)], axis=-1)
    on_arc = strands.center[index] + strands.radius[index][..., None] * radial
    on_arc = np.where(along == 0.0, strands.start[index], np.where(along == 1.0, strands.end[index], on_arc))
    return np.asarray(np.where(strands.is_line[index][..., None], on_line, on_arc))


def tangents_at(strands: Strands, index: np.ndarray, share: np.ndarray) -> np.ndarray:
    """Unit tangents (..., 2) in the direction of travel."""
    index, share = np.broadcast_arrays(index, share)
    chord = strands.end[index] - strands.start[index]
    angle_rad = strands.first_rad[index] + strands.turn_rad[index] * share
    turned = np.stack([-np.sin(angle_rad), np.cos(angle_rad)], axis=-1) * np.sign(strands.turn_rad[index])[..., None]
    tangent = np.where(strands.is_line[index][..., None], chord, turned)
    return np.asarray(tangent / np.maximum(np.linalg.norm(tangent, axis=-1, keepdims=True), 1e-300))


def foot_shares(strands: Strands, index: np.ndarray, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Shares of the feet of points (..., 2) on the strands `index`, and the distances to them; shapes broadcast.

    The foot on a line is the projection, clipped to its ends; on an arc the point in the same direction from the centre, or the
    nearer end where that direction lies off the span.
    """
    start, is_line = strands.start[index], strands.is_line[index]
    chord, to_point = strands.end[index] - start, points - start
    square = np.einsum("...k,...k->...", chord, chord)
    line_share = np.clip(np.einsum("...k,...k->...", to_point, chord) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    beside_line = np.linalg.norm(to_point - line_share[..., None] * chord, axis=-1)
    arc_share, beside_arc = _foot_on_arc(strands, index, points)
    return np.where(is_line, line_share, arc_share), np.where(is_line, beside_line, beside_arc)


def _foot_on_arc(strands: Strands, index: np.ndarray, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    outward = points - strands.center[index]
    turn_rad = strands.turn_rad[index]
    span_rad = np.where(turn_rad == 0.0, 1.0, np.abs(turn_rad))
    angle_rad = np.arctan2(outward[..., 1], outward[..., 0])
    turned_rad = np.mod((angle_rad - strands.first_rad[index]) * np.where(turn_rad < 0, -1.0, 1.0), math.tau)
    on_span = turned_rad <= span_rad
    past_end = turned_rad - span_rad < math.tau - turned_rad
    share = np.where(on_span, turned_rad / span_rad, np.where(past_end, 1.0, 0.0))
    end = np.where(past_end[..., None], strands.end[index], strands.start[index])
    radial = np.abs(np.linalg.norm(outward, axis=-1) - strands.radius[index])
    return share, np.where(on_span, radial, np.linalg.norm(points - end, axis=-1))


def distances(points: np.ndarray, strands: Strands) -> np.ndarray:
    """Distance (m, n) of each point (m, 2) to each strand."""
    return foot_shares(strands, np.arange(len(strands))[None, :], np.asarray(points, dtype=float)[:, None, :])[1]


def winding(points: np.ndarray, strands: Strands) -> np.ndarray:
    """How often the closed run of strands turns counter-clockwise round each point (m, 2): integers (m,).

    The polygon of the chords is counted by crossings of a ray to the right; each arc then adds the turn of the loop "along the
    arc, back along its chord" round the points between the two.  Points on a chord are taken to lie on the same side of it in
    both counts, so arcs are exact; points within rounding of the strands themselves may be told either way.
    """
    x, y = np.asarray(points, dtype=float)[:, None, :].transpose(2, 0, 1)
    (x0, y0), (x1, y1) = strands.start.T, strands.end.T
    side = (x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)
    # a point on the chord's own line counts as shifted a little up, and much less to the right
    side = np.where(side == 0.0, np.where(y1 != y0, y0 - y1, x1 - x0), side)
    upward, downward = (y0 <= y) & (y < y1), (y1 <= y) & (y < y0)
    turns = (upward & (side > 0)).astype(int) - (downward & (side < 0)).astype(int)
    in_disc = np.hypot(x - strands.center[:, 0], y - strands.center[:, 1]) < strands.radius
    is_circle = np.abs(strands.turn_rad) == math.tau
    beyond_chord = np.where(strands.turn_rad > 0, side < 0, side > 0) | is_circle
    turns += np.where(in_disc & beyond_chord & ~strands.is_line, np.sign(strands.turn_rad).astype(int), 0)
    return np.asarray(turns.sum(axis=1))
