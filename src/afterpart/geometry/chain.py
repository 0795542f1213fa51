"""Closed chains of lines and arcs: their area, length, inside, distances and motions, all exact for arcs.

Words: a *chain* is a closed run of segments, each starting where the one before ends, or a single circle.  A *gap* is the least
distance between two chains.
Conventions: mm, x right, y up; a chain may run either way unless said otherwise; a circle counts as counter-clockwise.
Limits: chains are taken not to cross themselves; points within rounding of a chain may be told inside or outside.
Corners are in corners.py, parallel curves in offset.py, regions made of several chains in region.py.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from shapely.geometry import Polygon

from afterpart.errors import SolidError
from afterpart.geometry.corners import Corner, round_corners, tightest_corner
from afterpart.geometry.crossing import crossing_points
from afterpart.geometry.segments import segment_points
from afterpart.geometry.strand import Strands, distances, foot_shares, points_at, strands_of, winding
from afterpart.model.feature import Chain
from afterpart.model.outline import Arc, Circle, Line, Point

__all__ = [
    "Chain", "Corner", "Gap", "chain_area", "chain_length", "chain_points", "chain_polygon", "contains", "counter_clockwise",
    "distance_to_chain", "gap", "is_inside", "move_chain", "polygon_chain", "require_closed", "reversed_chain",
    "round_corners", "tightest_corner"]

CLOSED = 1e-6
"""How far the ends of neighbours may lie apart, and an arc's ends off its circle, mm."""
TOUCHING = 1e-9
"""How far a chain may reach over another and still count as inside it, mm."""
KEPT = 1024
"""So many answers of each kind are kept: a job tried with one key changed asks nearly all of its questions again."""


@dataclass(frozen=True)
class Gap:
    """The least distance between two chains and the places where it is taken; 0 where they cross or touch."""

    distance: float
    on_a: Point
    on_b: Point


def require_closed(chain: Chain) -> None:
    """SolidError: the chain is no closed run of lines and arcs, or encloses nothing; the text names the place."""
    if not chain:
        raise SolidError("a chain has no segment; a closed chain or a circle is needed: correct the drawing")
    for before, segment in zip((chain[-1], *chain[:-1]), chain, strict=True):
        _require_fit(before, segment, alone=len(chain) == 1)
    if abs(chain_area(chain)) <= CLOSED * chain_length(chain):
        raise SolidError(f"the chain at {_place(strands_of(chain).start[0])} encloses no area; correct the drawing there")


def _require_fit(before: Line | Arc | Circle, segment: Line | Arc | Circle, alone: bool) -> None:
    name = f"segment {segment.id}" if segment.id else "a segment"
    if isinstance(segment, Circle) and not alone:
        raise SolidError(f"{name} at {_place(segment.center)} is a circle inside a longer chain; a circle stands alone: "
                         "correct the drawing")
    if isinstance(segment, Arc | Circle) and not (segment.radius > 0 and math.isfinite(segment.radius)):
        raise SolidError(f"{name} at {_place(segment.center)} has radius {segment.radius:g}; it must be above 0")
    if isinstance(segment, Circle) or isinstance(before, Circle):
        return
    if not math.dist(before.end, segment.start) <= CLOSED:
        raise SolidError(f"the chain is open at {_place(segment.start)}: the segment before ends at {_place(before.end)}; "
                         "each segment must start where the one before ends")
    if isinstance(segment, Arc) and max(abs(math.dist(p, segment.center) - segment.radius)
                                        for p in (segment.start, segment.end)) > CLOSED:
        raise SolidError(f"{name} at {_place(segment.start)} does not start and end on its circle of radius "
                         f"{segment.radius:g}; correct the drawing there")


def _place(point: Sequence[float] | np.ndarray) -> str:
    return f"({float(point[0]):.4g}, {float(point[1]):.4g})"


def chain_area(chain: Chain) -> float:
    """Enclosed area, mm2, positive counter-clockwise: shoelace of the ends plus rr (turn - sin turn) / 2 for every arc."""
    s = strands_of(chain)
    origin = s.start[0]
    (x0, y0), (x1, y1) = (s.start - origin).T, (s.end - origin).T
    return float(np.sum(x0 * y1 - x1 * y0) / 2 + np.sum(s.radius**2 * (s.turn_rad - np.sin(s.turn_rad))) / 2)


def chain_length(chain: Chain) -> float:
    """Length once round."""
    return float(strands_of(chain).length.sum())


def chain_points(chain: Chain, chord: float = 0.01) -> np.ndarray:
    """Points (n, 2) once round, the first not repeated, chords no farther than `chord` from the arcs."""
    return np.vstack([segment_points(s, chord) for s in chain])


def chain_polygon(chain: Chain, chord: float = 0.01) -> Polygon:
    """The inside as a polygon of chords, which lie inside convex and outside hollow arcs."""
    return Polygon(chain_points(chain, chord))


def polygon_chain(points: Sequence[Point] | np.ndarray) -> Chain:
    """The polygon's sides as lines; repeated points, the last one included, are left out.  ValueError: fewer than three."""
    corners = [(float(x), float(y)) for x, y in points]
    corners = [p for p, following in zip(corners, (*corners[1:], *corners[:1]), strict=True) if p != following]
    if len(corners) < 3:
        raise ValueError(f"{len(corners)} different points; a polygon needs three")
    return tuple(Line("", a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True))


def reversed_chain(chain: Chain) -> Chain:
    """The same chain run the other way; a circle has no way and stays."""
    return tuple(s if isinstance(s, Circle) else _reversed(s) for s in reversed(chain))


def _reversed(segment: Line | Arc) -> Line | Arc:
    turned = replace(segment, start=segment.end, end=segment.start)
    return replace(turned, ccw=not turned.ccw) if isinstance(turned, Arc) else turned


def counter_clockwise(chain: Chain) -> Chain:
    """The chain, turned round if it runs clockwise."""
    return reversed_chain(chain) if chain_area(chain) < 0 else chain


def move_chain(chain: Chain, shift: Point, angle_deg: float = 0.0, mirror_y: bool = False) -> Chain:
    """The chain mirrored about the x axis (y -> -y) if asked, then turned about the origin, then shifted.  A mirrored chain runs
    the other way round."""
    angle_rad, flip = math.radians(angle_deg), -1.0 if mirror_y else 1.0
    cosine, sine = math.cos(angle_rad), math.sin(angle_rad)

    def moved(point: Point) -> Point:
        x, y = point[0], flip * point[1]
        return shift[0] + cosine * x - sine * y, shift[1] + sine * x + cosine * y

    def one(segment: Line | Arc | Circle) -> Line | Arc | Circle:
        if isinstance(segment, Circle):
            return replace(segment, center=moved(segment.center))
        start, end = moved(segment.start), moved(segment.end)
        if isinstance(segment, Line):
            return replace(segment, start=start, end=end)
        return replace(segment, start=start, end=end, center=moved(segment.center), ccw=segment.ccw != mirror_y)

    return tuple(one(segment) for segment in chain)


def is_inside(points: np.ndarray, chain: Chain) -> np.ndarray:
    """True (n,) for the points (n, 2) the chain runs round."""
    return np.asarray(winding(np.asarray(points, dtype=float).reshape(-1, 2), strands_of(chain)) != 0)


def distance_to_chain(points: np.ndarray, chain: Chain) -> np.ndarray:
    """Distance (n,) of the points (n, 2) to the curve itself, inside as outside."""
    return np.asarray(distances(np.asarray(points, dtype=float).reshape(-1, 2), strands_of(chain)).min(axis=1))


def gap(a: Chain, b: Chain) -> Gap:
    """The least distance between two chains (between the curves: a hole's chain well inside an outline has a gap, too).

    It is taken at a crossing, at an end of a segment, or where the common normal of two segments stands: on a line opposite the
    centre of an arc, on an arc in line with the centre of another.
    """
    return _gap(a, b)


@lru_cache(maxsize=KEPT)
def _gap(a: Chain, b: Chain) -> Gap:
    one, other = strands_of(a), strands_of(b)
    i, j = (n.ravel() for n in np.indices((len(one), len(other))))
    crossings = crossing_points(one, other, i, j)[2]
    if len(crossings):
        at = (float(crossings[0, 0]), float(crossings[0, 1]))
        return Gap(0.0, at, at)
    there, back = _nearest(one, other), _nearest(other, one)
    return there if there.distance <= back.distance else Gap(back.distance, back.on_b, back.on_a)


def _nearest(one: Strands, other: Strands) -> Gap:
    points = np.vstack([one.start, one.end, _feet_of_centers(one, other)])
    index = np.arange(len(other))[None, :]
    shares, apart = foot_shares(other, index, points[:, None, :])
    k, n = np.unravel_index(int(apart.argmin()), apart.shape)
    on_b = points_at(other, np.array(n), shares[k, n])
    return Gap(float(apart[k, n]), (float(points[k, 0]), float(points[k, 1])), (float(on_b[0]), float(on_b[1])))


def _feet_of_centers(one: Strands, other: Strands) -> np.ndarray:
    """On every strand of one: the points nearest to and farthest from the centres of the other's arcs, where on the strand."""
    centers = other.center[~other.is_line]
    if not len(centers):
        return np.empty((0, 2))
    index = np.arange(len(one))[None, :]
    near = points_at(one, index, foot_shares(one, index, centers[:, None, :])[0])
    opposite = 2 * one.center[None, :, :] - centers[:, None, :]
    far = points_at(one, index, foot_shares(one, index, opposite)[0])
    return np.vstack([near.reshape(-1, 2), far[:, ~one.is_line].reshape(-1, 2)])


def contains(outer: Chain, inner: Chain) -> bool:
    """Whether inner lies wholly inside outer; touching it, and reaching over it by TOUCHING, is allowed."""
    return _contains(outer, inner)


@lru_cache(maxsize=KEPT)
def _contains(outer: Chain, inner: Chain) -> bool:
    hull, strands = strands_of(outer), strands_of(inner)
    i, j = (n.ravel() for n in np.indices((len(strands), len(hull))))
    i, _, points = crossing_points(strands, hull, i, j)
    own = np.arange(len(strands))
    of = np.concatenate([own, own, i])
    share = np.concatenate([0.0 * own, 0.0 * own + 1, foot_shares(strands, i, points)[0]])
    order = np.lexsort((share, of))
    of, share = of[order], share[order]
    within = of[1:] == of[:-1]
    probes = points_at(strands, of[1:][within], (share[1:] + share[:-1])[within] / 2)
    probes = np.vstack([strands.start, probes])
    return bool(((distances(probes, hull).min(axis=1) <= TOUCHING) | (winding(probes, hull) != 0)).all())
