"""Corners of chains: the tightest, and rounding those that are tighter than a radius.

Words: a chain has a *sharp corner* where the directions of two neighbours differ by more than SHARP_DEG; a corner is *tight* when
it is sharp or an arc of less than the wanted radius.  A *fillet* here is the arc put in, tangent to both neighbours.
Conventions: mm; a corner's radius is 0 where it is sharp.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from afterpart.errors import SolidError
from afterpart.geometry.angles import arc_span_rad
from afterpart.geometry.segments import segment_middle
from afterpart.geometry.strand import strands_of, tangents_at
from afterpart.model.feature import Chain
from afterpart.model.outline import Arc, Circle, Line, Point

SHARP_DEG = 0.5
"""Neighbours whose directions differ by more make a sharp corner."""


@dataclass(frozen=True)
class Corner:
    """radius: of curvature, 0 at a sharp corner, infinite where a chain of lines has none; at: the place."""

    radius: float
    at: Point


def turns_rad(chain: Chain) -> np.ndarray:
    """How much the direction turns (n,) where each segment begins, counter-clockwise positive."""
    s = strands_of(chain)
    index = np.arange(len(s))
    ahead, behind = tangents_at(s, index, 0.0 * index), np.roll(tangents_at(s, index, 0.0 * index + 1), 1, axis=0)
    return np.arctan2(behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0], np.einsum("nk,nk->n", behind, ahead))


def tightest_corner(chain: Chain) -> Corner:
    """The smallest radius a cord laid along the chain must bend to, and where."""
    sharp = np.nonzero(np.abs(np.degrees(turns_rad(chain))) > SHARP_DEG)[0]
    if len(sharp):
        x, y = strands_of(chain).start[sharp[0]]
        return Corner(0.0, (float(x), float(y)))
    arcs = [s for s in chain if not isinstance(s, Line)]
    if not arcs:
        return Corner(math.inf, strands_start(chain))
    tightest = min(arcs, key=lambda s: s.radius)
    return Corner(tightest.radius, segment_middle(tightest))


def strands_start(chain: Chain) -> Point:
    """Where the first segment begins."""
    x, y = strands_of(chain[:1]).start[0]
    return float(x), float(y)


def round_corners(chain: Chain, radius: float) -> Chain:
    """Every sharp corner, and every run of arcs tighter than radius that turn the same way, replaced by one fillet of that
    radius, tangent to the neighbours.

    SolidError: a neighbour is too short for it, named by the corner's place.  ValueError: radius not above 0.
    """
    if not radius > 0:
        raise ValueError(f"radius is {radius:g}; it must be above 0")
    if isinstance(chain[0], Circle):
        if chain[0].radius < radius:
            raise SolidError(_no_room(chain[0].center, radius, "it is a circle of a smaller radius"))
        return chain
    tight = _tight_runs(chain, radius)
    if not tight:
        return chain
    kept = [k for k in range(len(chain)) if not any(k in run for run, _, _ in tight)]
    if len(kept) < 2:
        raise SolidError(_no_room(tight[0][1], radius, "nothing but tight corners is left"))
    return _rounded(chain, radius, kept, tight)


Run = tuple[tuple[int, ...], Point, bool]
"""Segments that go (none at a sharp corner), the corner's place, and whether it turns counter-clockwise."""


def _tight_runs(chain: Chain, radius: float) -> list[Run]:
    count, sharp = len(chain), np.degrees(turns_rad(chain))
    sharp = np.where(np.abs(sharp) > SHARP_DEG, sharp, 0.0)
    way = [s.ccw if isinstance(s, Arc) and s.radius < radius * (1 - 1e-9) else None for s in chain]
    runs: list[Run] = []
    for k in range(count):
        before = way[k - 1]
        if way[k] is not None and not (before == way[k] and sharp[k] * (1 if way[k] else -1) >= 0):
            length = 1
            while length < count and way[(k + length) % count] == way[k]:
                length += 1
            members = tuple((k + n) % count for n in range(length))
            runs.append((members, segment_middle(chain[members[length // 2]]), bool(way[k])))
        elif sharp[k] and way[k] is None and before is None:
            runs.append(((), strands_start(chain[k:k + 1]), bool(sharp[k] > 0)))
    return runs


def _rounded(chain: Chain, radius: float, kept: list[int], tight: list[Run]) -> Chain:
    """Fillets between the kept segments, each kept one shortened at either end."""
    starts: dict[int, Point] = {}
    ends: dict[int, Point] = {}
    fillets: dict[int, Arc] = {}
    for members, place, ccw in tight:
        before, after = _neighbours(chain, kept, members, place)
        arc = _fillet(chain[before], chain[after], radius, ccw, place)
        ends[before], starts[after], fillets[after] = arc.start, arc.end, arc
    rounded: list[Line | Arc] = []
    for k in kept:
        segment = replace(chain[k], start=starts.get(k, chain[k].start), end=ends.get(k, chain[k].end))
        place = starts.get(k, ends.get(k, segment.start))
        if not _still_runs(chain[k], segment):
            raise SolidError(_no_room(place, radius, f"{chain[k].id or 'its neighbour'} is too short for both of its corners"))
        rounded += [*([fillets[k]] if k in fillets else []), segment]
    return tuple(s for s in rounded if math.dist(s.start, s.end) > 1e-9 or isinstance(s, Arc) and abs(_turn_rad(s)) > 3)


def _neighbours(chain: Chain, kept: list[int], members: tuple[int, ...], place: Point) -> tuple[int, int]:
    if members:
        return (members[0] - 1) % len(chain), (members[-1] + 1) % len(chain)
    after = next(k for k in kept if chain[k].start == place)
    return (after - 1) % len(chain), after


def _fillet(before: Line | Arc, after: Line | Arc, radius: float, ccw: bool, place: Point) -> Arc:
    """The arc of the radius that leaves `before` and runs into `after`, turning ccw or not; the one that cuts away least."""
    candidates = []
    for center in _common_points(_parallel(before, radius, ccw), _parallel(after, radius, ccw)):
        start, end = _foot(before, center, radius), _foot(after, center, radius)
        arc = Arc("", start, end, center, radius, ccw)
        if _lies_on(before, start) and _lies_on(after, end) and abs(_turn_rad(arc)) < math.pi + 1e-9:
            candidates.append((math.dist(start, place) + math.dist(end, place), arc))
    if not candidates:
        raise SolidError(_no_room(place, radius, "the neighbours are too short"))
    return min(candidates, key=lambda c: c[0])[1]


def _no_room(place: Point, radius: float, why: str) -> str:
    return (f"the corner at ({place[0]:.4g}, {place[1]:.4g}) cannot be rounded with radius {radius:g}: {why}; "
            "take a smaller radius or a wider course")


def _parallel(segment: Line | Arc, radius: float, ccw: bool) -> tuple[Point, Point, float]:
    """Where centres of fillets lie: a line as (point, direction, 0), a circle as (centre, (0, 0), radius)."""
    left = 1.0 if ccw else -1.0
    if isinstance(segment, Line):
        length = math.dist(segment.start, segment.end)
        ux, uy = (segment.end[0] - segment.start[0]) / length, (segment.end[1] - segment.start[1]) / length
        return (segment.start[0] - left * radius * uy, segment.start[1] + left * radius * ux), (ux, uy), 0.0
    return segment.center, (0.0, 0.0), segment.radius - radius if segment.ccw == ccw else segment.radius + radius


def _common_points(a: tuple[Point, Point, float], b: tuple[Point, Point, float]) -> list[Point]:
    """Points common to two whole lines or circles."""
    (px, py), (ux, uy), r = a
    (qx, qy), (vx, vy), s = b
    if r == 0 and s == 0:
        sine = ux * vy - uy * vx
        if abs(sine) < 1e-9:
            return []
        t = ((qx - px) * vy - (qy - py) * vx) / sine
        return [(px + t * ux, py + t * uy)]
    if r == 0 or s == 0:
        (px, py), (ux, uy), (qx, qy), s = ((px, py), (ux, uy), (qx, qy), s) if r == 0 else ((qx, qy), (vx, vy), (px, py), r)
        t = (qx - px) * ux + (qy - py) * uy
        foot, square = (px + t * ux, py + t * uy), s * s - (qx - px - t * ux) ** 2 - (qy - py - t * uy) ** 2
    else:
        d = math.dist((px, py), (qx, qy))
        if d < 1e-9:
            return []
        t = (d + (r - s) * (r + s) / d) / 2
        foot, square = (px + t * (qx - px) / d, py + t * (qy - py) / d), r * r - t * t
        ux, uy = -(qy - py) / d, (qx - px) / d
    if square < -1e-9:
        return []
    half = math.sqrt(max(square, 0.0))
    return [(foot[0] + side * half * ux, foot[1] + side * half * uy) for side in (1, -1)]


def _foot(segment: Line | Arc, center: Point, radius: float) -> Point:
    """Where a circle of the radius about center touches the whole line or circle of the segment."""
    if isinstance(segment, Line):
        length = math.dist(segment.start, segment.end)
        ux, uy = (segment.end[0] - segment.start[0]) / length, (segment.end[1] - segment.start[1]) / length
        t = (center[0] - segment.start[0]) * ux + (center[1] - segment.start[1]) * uy
        return segment.start[0] + t * ux, segment.start[1] + t * uy
    dx, dy = center[0] - segment.center[0], center[1] - segment.center[1]
    d = math.hypot(dx, dy)
    return segment.center[0] + segment.radius * dx / d, segment.center[1] + segment.radius * dy / d


def _lies_on(segment: Line | Arc, point: Point) -> bool:
    return 0.0 <= _share(segment, point) + 1e-9 and _share(segment, point) <= 1 + 1e-9


def _share(segment: Line | Arc, point: Point) -> float:
    """How far along the segment's carrier a point of it lies, 0 at the start, 1 at the end, negative before."""
    if isinstance(segment, Line):
        dx, dy = segment.end[0] - segment.start[0], segment.end[1] - segment.start[1]
        return ((point[0] - segment.start[0]) * dx + (point[1] - segment.start[1]) * dy) / (dx * dx + dy * dy)
    turned = replace(segment, end=point)
    share, whole = _turn_rad(turned) / _turn_rad(segment), math.tau / abs(_turn_rad(segment))
    return share - whole if share > (1 + whole) / 2 else share


def _turn_rad(arc: Arc) -> float:
    first, last = (math.atan2(p[1] - arc.center[1], p[0] - arc.center[0]) for p in (arc.start, arc.end))
    return arc_span_rad(first, last, arc.ccw)


def _still_runs(whole: Line | Arc, part: Line | Arc) -> bool:
    return _share(whole, part.start) <= _share(whole, part.end) + 1e-9
