"""Parallel curves of closed chains, exact: lines stay lines, arcs stay arcs.

Words: the *raw* parallel is every segment moved along its normal, with arcs about the corners that open; it crosses itself where
the parallel curve of the chain as a whole has turned away or split.  A *tip* is what extended lines add to a rounded corner.
Conventions: mm; positive distances outwards.  Limits: runs shorter than loops.SAME vanish, so does an islet thinner than that.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from afterpart.geometry.chain import KEPT, chain_area, chain_length, counter_clockwise, require_closed
from afterpart.geometry.loops import SAME, chosen, closed_chains, cut_at_crossings, middles, once, without_dead_ends
from afterpart.geometry.region import combine
from afterpart.geometry.segments import lines_and_arcs
from afterpart.geometry.strand import Strands, distances, strands_of, tangents_at, without_specks
from afterpart.model.feature import Chain
from afterpart.model.outline import Arc, Circle, Line, Point, Segment

NEARER = 1e-7
"""How much nearer to the chain than the distance the middle of a piece may lie and still be kept, mm."""
CUSP_RAD = 1e-3
"""A turn nearer than this to half a turn is a cusp."""
LONGEST_TIP = 4.0
"""With sharp corners: how far a tip may lie from its corner, in distances; a narrower corner is rounded."""
FLAT = 1e-5
"""A tip that stands out less from the rounded corner is not made, mm."""


def offset_chain(chain: Chain, distance: float, corners: str = "round") -> tuple[Chain, ...]:
    """The curves at `distance` outside (positive) or inside (negative) the chain.

    corners: where the parallel curve opens, "round" joins by an arc about the corner, "sharp" by the extended lines.
    Result: none when nothing is left; else each chain counter-clockwise, but for openings that a curve grown outwards leaves
    inside itself, which run clockwise; the largest first.  A segment keeps the id of the one it is parallel to.
    SolidError: the chain is degenerate.  ValueError: corners or distance is not of the known kind.
    """
    if corners not in ("round", "sharp") or not math.isfinite(distance):
        raise ValueError(f'corners "{corners}", distance {distance:g}: "round" or "sharp" and a finite distance are needed')
    return _parallels(chain, distance, corners)


@lru_cache(maxsize=KEPT)
def _parallels(chain: Chain, distance: float, corners: str) -> tuple[Chain, ...]:
    require_closed(chain)
    chain = counter_clockwise(without_specks(chain))
    if distance == 0:
        return (chain,)
    if isinstance(chain[0], Circle):
        radius = chain[0].radius + distance
        return ((replace(chain[0], radius=radius),),) if radius > SAME else ()
    found = _rounded_parallels(chain, distance)
    if corners == "sharp":
        found = _with_tips(found, _tips(chain, distance), grows=distance > 0)
    return tuple(sorted(found, key=chain_area, reverse=True))


def _rounded_parallels(chain: Chain, distance: float) -> list[Chain]:
    """All that is exactly at the distance: the raw parallel cut at its crossings, without what lies nearer."""
    strands = strands_of(chain)
    raw = strands_of(_raw_parallel(chain, strands, distance))
    if not len(raw):
        return []
    pieces = cut_at_crossings(raw, *_close_pairs(raw))
    far = distances(middles(raw, pieces), strands).min(axis=1) >= abs(distance) - NEARER
    pieces = without_dead_ends(once(raw, chosen(pieces, far)))
    return [c for c in closed_chains(raw, pieces) if _is_wanted(c, distance)]


def _with_tips(found: list[Chain], tips: list[Chain], grows: bool) -> list[Chain]:
    """The rounded curves with the tips of the opening corners added outside, or cut out inside."""
    if not (found and tips):
        return found
    outers = np.array([chain_area(c) > 0 for c in found])

    def wanted(inside: np.ndarray) -> np.ndarray:
        curves, tip = inside[:, :len(found)], inside[:, len(found):].any(axis=1)
        within = curves[:, outers].any(axis=1) & ~curves[:, ~outers].any(axis=1)
        return np.asarray(within | tip if grows else within & ~tip)

    return [c for region in combine((*found, *tips), wanted) for c in (region.outer, *region.openings)]


def _is_wanted(chain: Chain, distance: float) -> bool:
    """Not a sliver; and a curve that shrinks leaves no openings."""
    area = chain_area(chain)
    return abs(area) > SAME * chain_length(chain) and (area > 0 or distance > 0)


def _close_pairs(strands: Strands) -> tuple[np.ndarray, np.ndarray]:
    """Pairs i < j of strands whose boxes meet (an arc's box is its circle's)."""
    line = strands.is_line[:, None]
    low = np.where(line, np.minimum(strands.start, strands.end), strands.center - strands.radius[:, None]) - SAME
    high = np.where(line, np.maximum(strands.start, strands.end), strands.center + strands.radius[:, None]) + SAME
    meet = ((low[:, None] <= high[None]) & (low[None] <= high[:, None])).all(axis=2)
    first, second = np.nonzero(np.triu(meet, 1))
    return first, second


def _raw_parallel(chain: Chain, strands: Strands, distance: float) -> list[Segment]:
    raw: list[Segment] = []
    for segment, moved, joint in _joints(chain, strands, distance):
        raw += [moved] if moved else []
        if joint.opens:
            raw.append(Arc("", joint.end, joint.begin, segment.end, abs(distance), distance > 0))
    return raw


@dataclass(frozen=True)
class _Joint:
    """Where a segment ends and the next begins, on the raw parallel; their directions there; whether the curve comes apart."""

    end: Point
    begin: Point
    before: np.ndarray
    after: np.ndarray
    opens: bool


def _joints(chain: Chain, strands: Strands, distance: float) -> Iterator[tuple[Line | Arc, Segment | None, _Joint]]:
    """Every segment, its parallel (None where it vanishes), and the joint at its end."""
    index = np.arange(len(strands))
    ahead, behind = tangents_at(strands, index, 0.0 * index), tangents_at(strands, index, 0.0 * index + 1)
    sides = lines_and_arcs(chain)
    for k, segment in enumerate(sides):
        following = (k + 1) % len(sides)
        start, end = _aside(segment.start, ahead[k], distance), _aside(segment.end, behind[k], distance)
        begin = _aside(sides[following].start, ahead[following], distance)
        opens = math.dist(end, begin) > SAME and _opens(behind[k], ahead[following], distance)
        yield segment, _moved(segment, start, end, distance), _Joint(end, begin, behind[k], ahead[following], opens)


def _tips(chain: Chain, distance: float) -> list[Chain]:
    """The kites (corner, end of one parallel, tip, beginning of the next) at the corners that open.

    The tip lies at corner + d (n + m) / (1 + n m) for the outward normals n, m.
    """
    tips: list[Chain] = []
    pairs = zip(_joints(chain, strands_of(chain), distance), (*chain[1:], chain[0]), strict=True)
    for (segment, _, joint), following in pairs:
        reach = math.sqrt(2 / max(1 + float(joint.before @ joint.after), 1e-12))
        if joint.opens and reach <= LONGEST_TIP and (reach - 1) * abs(distance) > FLAT:
            tip = _aside(segment.end, (joint.before + joint.after) * reach**2 / 2, distance)
            names = [s.id if isinstance(s, Line) else "" for s in (segment, following)]
            tips.append((Line("", segment.end, joint.end), Line(names[0], joint.end, tip), Line(names[1], tip, joint.begin),
                         Line("", joint.begin, segment.end)))
    return tips


def _aside(point: Point, tangent: np.ndarray, distance: float) -> Point:
    """The point moved to the right of the direction of travel, which is outwards."""
    return point[0] + distance * float(tangent[1]), point[1] - distance * float(tangent[0])


def _moved(segment: Line | Arc, start: Point, end: Point, distance: float) -> Segment | None:
    if isinstance(segment, Line):
        return replace(segment, start=start, end=end)
    radius = segment.radius + (distance if segment.ccw else -distance)
    # so small that its ends are one node
    return replace(segment, start=start, end=end, radius=radius) if radius > SAME / 4 else None


def _opens(before: np.ndarray, after: np.ndarray, distance: float) -> bool:
    """Whether the parallel curve comes apart at a joint: a left turn opens it outside, a right turn inside.

    At a turn right back (a cusp) rounding decides between left and right: it is joined either way, and the join that is not
    wanted falls out with all that is too near to the chain.
    """
    turn_rad = math.atan2(before[0] * after[1] - before[1] * after[0], before[0] * after[0] + before[1] * after[1])
    return distance * turn_rad > 0 or abs(turn_rad) > math.pi - CUSP_RAD
