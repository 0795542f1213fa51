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
from afterpart.geometry.segments import lines_and_arcs, segment_middle
from afterpart.geometry.strand import SPECK, strands_of, tangents_at, without_specks
from afterpart.model.feature import Chain
from afterpart.model.outline import Arc, Circle, Line, Point

SHARP_DEG = 0.5
"""Neighbours whose directions differ by more make a sharp corner."""
CUSP_DEG = 179.9
"""Neighbours whose directions differ by more make a cusp."""


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
    sine, cosine = behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0], np.einsum("nk,nk->n", behind, ahead)
    return np.asarray(np.arctan2(sine, cosine))


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
    chain = without_specks(chain)
    if isinstance(chain[0], Circle):
        if chain[0].radius < radius:
            raise SolidError(_no_room(chain[0].center, radius, "it is a circle of a smaller radius"))
        return chain
    runs = _tight_runs(chain, radius)
    if not runs:
        return chain
    rounded = _rounded(chain, radius, runs)
    left = tightest_corner(rounded)
    if left.radius < radius * (1 - 1e-6):
        raise SolidError(_no_room(left.at, radius, f"its neighbours leave it at {left.radius:.4g}"))
    return rounded


@dataclass(frozen=True)
class _Run:
    """A corner to round: its segments, by number, which go (none at a sharp corner); its place; whether it turns
    counter-clockwise (both at a cusp, where rounding would decide); the segments before and after it."""

    members: tuple[int, ...]
    place: Point
    ways: tuple[bool, ...]
    before: int
    after: int


def _tight_runs(chain: Chain, radius: float) -> list[_Run]:
    """SolidError: nothing but tight arcs is left, or two runs that turn different ways meet."""
    count, turn_deg = len(chain), np.degrees(turns_rad(chain))
    way = [s.ccw if isinstance(s, Arc) and s.radius < radius * (1 - 1e-9) else None for s in chain]
    if None not in way:
        raise SolidError(_no_room(strands_start(chain), radius, "the whole course turns tighter"))
    runs = []
    for k in range(count):
        if way[k] is not None and way[k - 1] != way[k]:
            length = next(n for n in range(1, count + 1) if way[(k + n) % count] != way[k])
            members = tuple((k + n) % count for n in range(length))
            runs.append(_Run(members, segment_middle(chain[members[length // 2]]), (bool(way[k]),), (k - 1) % count,
                             (k + length) % count))
        elif abs(turn_deg[k]) > SHARP_DEG and way[k] is None and way[k - 1] is None:
            ways = (True, False) if abs(turn_deg[k]) > CUSP_DEG else (bool(turn_deg[k] > 0),)
            runs.append(_Run((), strands_start(chain[k:]), ways, (k - 1) % count, k))
    for run in runs:
        if way[run.before] is not None or way[run.after] is not None:
            raise SolidError(_no_room(run.place, radius, "the next corner turns the other way at once"))
    return runs


def _rounded(chain: Chain, radius: float, runs: list[_Run]) -> Chain:
    """Fillets between the segments that stay, each of these shortened at either end."""
    fillets = {run.after: _fillet(chain, run, radius) for run in runs}
    starts = {after: arc.end for after, arc in fillets.items()}
    ends = {run.before: fillets[run.after].start for run in runs}
    gone = {k for run in runs for k in run.members}
    rounded: list[Line | Arc] = []
    for k, segment in enumerate(lines_and_arcs(chain)):
        if k in gone:
            continue
        part = replace(segment, start=starts.get(k, segment.start), end=ends.get(k, segment.end))
        if _share(segment, part.start) > _share(segment, part.end) + 1e-9:
            name = f"segment {segment.id}" if segment.id else "the segment beside it"
            raise SolidError(_no_room(part.start, radius, f"{name} is too short for both of its corners"))
        rounded += [fillets[k]] if k in fillets else []
        rounded += [part] if math.dist(part.start, part.end) > SPECK else []
    return tuple(rounded)


def _fillet(chain: Chain, run: _Run, radius: float) -> Arc:
    """The arc of the radius that leaves the segment before the run and runs into the one after; the one that cuts away least."""
    before, after = lines_and_arcs((chain[run.before], chain[run.after]))
    candidates = []
    for ccw in run.ways:
        for center in _common_points(_centers(before, radius, ccw), _centers(after, radius, ccw)):
            arc = Arc("", _touch(before, center), _touch(after, center), center, radius, ccw)
            if _lies_on(before, arc.start) and _lies_on(after, arc.end) and abs(_turn_rad(arc)) < math.pi + 1e-9:
                candidates.append((math.dist(arc.start, run.place) + math.dist(arc.end, run.place), arc))
    if not candidates:
        raise SolidError(_no_room(run.place, radius, "the neighbours are too short"))
    return min(candidates, key=lambda c: c[0])[1]


def _no_room(place: Point, radius: float, why: str) -> str:
    return (f"the corner at ({place[0]:.4g}, {place[1]:.4g}) cannot be rounded with radius {radius:g}: {why}; "
            "take a smaller radius or a wider course")


@dataclass(frozen=True)
class _Course:
    """Where centres of fillets lie: the line through `at` along `along` (its radius is infinite), or the circle of `radius`
    about `at`."""

    at: Point
    along: Point
    radius: float


def _centers(segment: Line | Arc, radius: float, ccw: bool) -> _Course:
    left = 1.0 if ccw else -1.0
    if isinstance(segment, Arc):
        return _Course(segment.center, (0.0, 0.0), segment.radius - radius if segment.ccw == ccw else segment.radius + radius)
    ux, uy = _direction(segment)
    return _Course((segment.start[0] - left * radius * uy, segment.start[1] + left * radius * ux), (ux, uy), math.inf)


def _common_points(a: _Course, b: _Course) -> list[Point]:
    """Points common to two courses; none where they are parallel or concentric."""
    if math.isinf(a.radius) and math.isinf(b.radius):
        sine = a.along[0] * b.along[1] - a.along[1] * b.along[0]
        if abs(sine) < 1e-9:
            return []
        t = ((b.at[0] - a.at[0]) * b.along[1] - (b.at[1] - a.at[1]) * b.along[0]) / sine
        return [(a.at[0] + t * a.along[0], a.at[1] + t * a.along[1])]
    if math.isinf(a.radius) or math.isinf(b.radius):
        line, circle = (a, b) if math.isinf(a.radius) else (b, a)
        t = (circle.at[0] - line.at[0]) * line.along[0] + (circle.at[1] - line.at[1]) * line.along[1]
        foot, across, reach = (line.at[0] + t * line.along[0], line.at[1] + t * line.along[1]), line.along, circle.radius
        square = reach**2 - math.dist(foot, circle.at) ** 2
    else:
        d = math.dist(a.at, b.at)
        if d < 1e-9:
            return []
        ux, uy = (b.at[0] - a.at[0]) / d, (b.at[1] - a.at[1]) / d
        t = (d + (a.radius - b.radius) * (a.radius + b.radius) / d) / 2
        foot, across, square = (a.at[0] + t * ux, a.at[1] + t * uy), (-uy, ux), a.radius**2 - t**2
    if square < -1e-9:
        return []
    half = math.sqrt(max(square, 0.0))
    return [(foot[0] + side * half * across[0], foot[1] + side * half * across[1]) for side in (1, -1)]


def _touch(segment: Line | Arc, center: Point) -> Point:
    """Where a circle about center touches the whole line or circle of the segment."""
    if isinstance(segment, Line):
        ux, uy = _direction(segment)
        t = (center[0] - segment.start[0]) * ux + (center[1] - segment.start[1]) * uy
        return segment.start[0] + t * ux, segment.start[1] + t * uy
    share = segment.radius / max(math.dist(center, segment.center), 1e-300)
    return (segment.center[0] + share * (center[0] - segment.center[0]),
            segment.center[1] + share * (center[1] - segment.center[1]))


def _direction(line: Line) -> Point:
    length = math.dist(line.start, line.end)
    return (line.end[0] - line.start[0]) / length, (line.end[1] - line.start[1]) / length


def _lies_on(segment: Line | Arc, point: Point) -> bool:
    return -1e-9 <= _share(segment, point) <= 1 + 1e-9


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
