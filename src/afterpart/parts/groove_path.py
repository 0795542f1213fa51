"""Where a seal groove runs: its centre line, along a recovered channel or beside a loop, inside the bolts or round them.

Words: the *centre line* runs in the middle between the groove's two walls; *easing* a chain gives every corner at least a stated
radius, whichever way it bends.
Conventions: chains are closed, counter-clockwise, mm, in the frame of the drawing.
Limits: a groove is one closed ring; a path that falls apart into several is refused with the key that caused it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.errors import JobError
from afterpart.geometry.chain import (
    chain_area,
    chain_points,
    counter_clockwise,
    distance_to_chain,
    gap,
    is_inside,
    tightest_corner,
)
from afterpart.geometry.offset import offset_chain
from afterpart.geometry.region import unite
from afterpart.model.edges import TWO_WALLS
from afterpart.model.feature import Chain, Hole
from afterpart.model.outline import Arc, Circle, Line, Loop, Outline, Point
from afterpart.model.wishes import SealWish
from afterpart.words import tell

KEPT_LAND = 2.0
"""Solid face a groove keeps beside it where the path is ours to choose, and the least a round cord's wall needs, mm:
five printed lines (judgement)."""

_SAME = 1e-6
_NECK = 0.05
"""How much wider than its least corner a path goes round a bolt, mm: a wheel of that corner's radius must pass in."""
_CHORD = 0.05


@dataclass(frozen=True)
class Path:
    """A centre line.  width, depth: of the channel it was recovered from, None where there is none or the depth is not known."""

    centre: Chain
    width: float | None = None
    depth: float | None = None


@dataclass(frozen=True)
class Bend:
    """A corner of a centre line.  radius: of the wall on the inside of the bend; at: on that wall."""

    radius: float
    at: Point


def centre_line(outline: Outline, seal: SealWish, width: float, corner: float, bolts: tuple[Hole, ...]) -> Path:
    """The path that seal.path asks for, corners as they come.

    width: of the groove; corner: least radius of its inner wall, where it goes round bolts.

    JobError: the path does not exist or leaves no ring.
    """
    if seal.path == "channel":
        return channel_path(outline)
    base = _base_path(outline, seal, width, bolts)
    if seal.bolts == "around":
        base = around_bolts(base, bolts, width / 2 + KEPT_LAND, width / 2 + corner + _NECK)
    return Path(base)


def channel_path(outline: Outline) -> Path:
    """Half way between the walls of the recovered channel, of the largest where there are several, guided by the inner one.

    JobError: no channel in the drawing.
    """
    found = [loop for loop in outline.design if loop.wall in TWO_WALLS and loop.part == rim_of(outline).part]
    walls = {loop.wall: loop for loop in sorted(found, key=lambda loop: abs(chain_area(loop.segments)))}
    if set(walls) != set(TWO_WALLS):
        raise JobError(tell('seal.path = "channel": the drawing has no channel with two walls; set seal.path = "outline", or '
                            "the id of an opening that the groove is to run round"))
    inner, outer = (counter_clockwise(walls[w].segments) for w in ("inner", "outer"))
    across = distance_to_chain(chain_points(inner, 0.05), outer)
    width = round(float(np.median(across)), 3)
    centre = _single(offset_chain(inner, width / 2), "seal.path", tell("the middle of the recovered channel"))
    return Path(centre, width, walls["outer"].depth or walls["inner"].depth)


def rim_of(outline: Outline) -> Loop:
    """The outer loop of the largest part.  JobError: none."""
    for loop in outline.design:
        if loop.role == "outer":
            return loop
    raise JobError(tell("seal.path: the drawing has no outer loop to lay a groove in; measure the photo again"))


def opening_of(outline: Outline, id: str) -> Loop:
    """The opening with a segment of this id.  JobError: none, listing what there is."""
    openings = [loop for loop in outline.design if loop.role == "opening"]
    for loop in openings:
        if any(segment.id == id for segment in loop.segments):
            return loop
    known = ", ".join(loop.segments[0].id for loop in openings)
    raise JobError(tell('seal.path = "{id}": no opening has a segment of this id; openings begin at {known}; "channel" and '
                        '"outline" are the other paths', id=id, known=known or "none"))


def _base_path(outline: Outline, seal: SealWish, width: float, bolts: tuple[Hole, ...]) -> Chain:
    """The offset of a loop, before it goes round bolts."""
    if seal.path == "outline":
        rim = counter_clockwise(rim_of(outline).segments)
        distance = seal.offset if seal.offset is not None else least_inset(rim, width, bolts if seal.bolts == "inside" else ())
        found = offset_chain(rim, -distance)
        return _single(found, "seal.offset", tell("a centre line {distance:.2f} mm inside the outer edge", distance=distance))
    loop = counter_clockwise(opening_of(outline, seal.path).segments)
    distance = seal.offset if seal.offset is not None else KEPT_LAND + width / 2
    return _single(offset_chain(loop, distance), "seal.offset",
                   tell("a centre line {distance:.2f} mm outside {path}", distance=distance, path=seal.path))


def least_inset(rim: Chain, width: float, bolts: tuple[Hole, ...], land: float = KEPT_LAND) -> float:
    """Least distance of the centre line from the rim that keeps a land to the rim and to every bolt outside it."""
    reach = [0.0]
    if bolts:
        middles = np.array([bolt.center for bolt in bolts])
        reach += list(distance_to_chain(middles, rim) + np.array([bolt.diameter / 2 for bolt in bolts]))
    return max(reach) + land + width / 2


def around_bolts(base: Chain, bolts: tuple[Hole, ...], reach: float, corner: float) -> Chain:
    """The path united with a cover over every bolt it meets, so that those bolts lie inside it.

    reach: of the centre line beyond the hole's edge; corner: least radius the centre line may bend to.
    """
    met = [bolt for bolt in bolts if gap(base, (Circle("", bolt.center, bolt.diameter / 2 + reach),)).distance <= _SAME]
    if not met:
        return base
    regions = unite(base, *(_cover_of(base, bolt, bolt.diameter / 2 + reach, corner) for bolt in met))
    return counter_clockwise(max(regions, key=lambda region: abs(chain_area(region.outer))).outer)


def _cover_of(base: Chain, bolt: Hole, need: float, corner: float) -> Chain:
    """A disc over the bolt, drawn back to where a wheel of its radius rolls freely inside the path.

    A disc larger than the bolt needs is moved inwards, so that the path stands out no farther than the bolt asks.
    """
    radius = max(need, corner)
    (x, y), free = bolt.center, offset_chain(base, -radius)
    if not free:
        return (Circle("", bolt.center, radius),)
    home = gap(free[0], (Circle("", bolt.center, _SAME),)).on_a
    way = math.dist(home, bolt.center)
    if is_inside(np.array([bolt.center]), free[0])[0] or way <= radius - need:
        return (Circle("", home, radius),)
    share = (radius - need) / way
    return _capsule((x + share * (home[0] - x), y + share * (home[1] - y)), home, radius)


def _capsule(a: Point, b: Point, radius: float) -> Chain:
    """All points within the radius of the line from a to b, counter-clockwise."""
    nx, ny = radius * (b[1] - a[1]) / math.dist(a, b), -radius * (b[0] - a[0]) / math.dist(a, b)
    corners = [(p[0] + side * nx, p[1] + side * ny) for p, side in ((a, 1), (b, 1), (b, -1), (a, -1))]
    return (Line("", corners[0], corners[1]), Arc("", corners[1], corners[2], b, radius, True),
            Line("", corners[2], corners[3]), Arc("", corners[3], corners[0], a, radius, True))


def eased(chain: Chain, radius: float, key: str) -> Chain:
    """The chain with no corner tighter than `radius`, whichever way it bends: a wheel rolled round outside, then inside.

    JobError naming `key` and the tightest corner: the ring falls apart or vanishes on the way.
    """
    if radius <= 0 or (isinstance(chain[0], Circle) and chain[0].radius >= radius):
        return chain
    found: tuple[Chain, ...] = (chain,)
    for distance in (radius, -2 * radius, radius):
        found = offset_chain(found[0], distance)
        if len(found) != 1:
            corner = tightest_corner(chain)
            raise JobError(tell("{key}: no path with corners of {radius:.2f} mm (centre line) goes round here: it {found}; the "
                                "tightest corner is at {place}; choose a thinner cord or a printed ring (seal.kind)", key=key,
                                radius=radius, found="vanishes" if not found else tell("falls apart"), place=place(corner.at)))
    return counter_clockwise(found[0])


def departure(eased_chain: Chain, chain: Chain) -> float:
    """How far one chain strays from the other at most, mm (both ways, along points on both)."""
    there = distance_to_chain(chain_points(chain, _CHORD), eased_chain)
    back = distance_to_chain(chain_points(eased_chain, _CHORD), chain)
    return float(max(there.max(), back.max()))


def walls_of(centre: Chain, width: float, key: str) -> tuple[Chain, Chain]:
    """Outer and inner wall, half the width either side.  JobError: the groove is wider than its path allows."""
    what = tell("a groove {width:.2f} mm wide", width=width)
    return (_single(offset_chain(centre, width / 2), key, what), _single(offset_chain(centre, -width / 2), key, what))


def bends(centre: Chain, width: float) -> tuple[Bend, ...]:
    """Every corner of a centre line, the tightest first; a joint that breaks by more than half a degree has radius 0."""
    half = width / 2
    found = [_arc_bend(s, half) for s in centre if isinstance(s, Arc)]
    if isinstance(centre[0], Circle):
        x, y = centre[0].center
        return (Bend(centre[0].radius - half, (x + centre[0].radius - half, y)),)
    corner = tightest_corner(centre)
    if corner.radius == 0:
        found.append(Bend(0.0, corner.at))
    return tuple(sorted(found, key=lambda bend: bend.radius))


def place(point: Point) -> str:
    """A point as it stands in messages."""
    return f"({point[0]:.1f}, {point[1]:.1f})"


def _arc_bend(arc: Arc, half: float) -> Bend:
    """The wall inside the bend lies half a width nearer to the arc's centre."""
    first = math.atan2(arc.start[1] - arc.center[1], arc.start[0] - arc.center[0])
    last = math.atan2(arc.end[1] - arc.center[1], arc.end[0] - arc.center[0])
    sweep = (last - first) % math.tau if arc.ccw else -((first - last) % math.tau)
    middle, radius = first + sweep / 2, max(arc.radius - half, 0.0)
    return Bend(radius, (arc.center[0] + radius * math.cos(middle), arc.center[1] + radius * math.sin(middle)))


def _single(found: tuple[Chain, ...], key: str, what: str) -> Chain:
    if len(found) != 1:
        raise JobError(tell("{key}: {what} {found}; it needs more room: choose another seal.path, a smaller seal.offset or a "
                            "narrower seal", key=key, what=what,
                            found="vanishes" if not found else tell("falls apart into {count} rings", count=len(found))))
    return counter_clockwise(found[0])
