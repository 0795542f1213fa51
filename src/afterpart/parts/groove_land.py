"""How much solid face is left beside a seal groove, and what it runs into.

Words: a *land* is the solid face between a wall of the groove and the next edge: the rim, a hole, an opening; *inside* is what
the groove surrounds.  Conventions: closed chains, mm, drawing frame; widths are least distances between exact curves.
Limits: lands are told in the plane of the face; what lies below it (a counterbore from the other side) is not looked at.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.errors import JobError
from afterpart.geometry.chain import contains, counter_clockwise, gap
from afterpart.geometry.offset import offset_chain
from afterpart.model.feature import Chain, Hole
from afterpart.model.outline import Circle, Outline, Point
from afterpart.model.wishes import CLEARS, Wishes
from afterpart.parts.groove_path import place, rim_of
from afterpart.words import tell

LEAST_LAND = 0.8
"""Below this a printed wall beside a groove does not stand, mm: two lines (judgement)."""


@dataclass(frozen=True)
class Obstacle:
    """Something a groove must stay clear of.  name: as the maker knows it; is_rim: the edge of the piece itself."""

    name: str
    chain: Chain
    is_rim: bool = False


@dataclass(frozen=True)
class Land:
    """Narrowest solid width on one side.  at: on the groove's wall; beside: what it lies next to."""

    width: float
    at: Point
    beside: str


@dataclass(frozen=True)
class Lands:
    """outside, inside: None where nothing bounds the face on that side; hits: what the groove runs into, in words."""

    outside: Land | None
    inside: Land | None
    hits: tuple[str, ...] = ()


def lands(outer: Chain, inner: Chain, obstacles: tuple[Obstacle, ...]) -> Lands:
    """The narrowest land on either side of a groove between these walls, and what it runs into."""
    outside: list[Land] = []
    inside: list[Land] = []
    hits: list[str] = []
    for thing in obstacles:
        side, wall = _side(thing, outer, inner)
        if side == "hit":
            apart = min((gap(wall_, thing.chain) for wall_ in (outer, inner)), key=lambda g: g.distance)
            hits.append(tell("{is_rim} near {place}",
                             is_rim=tell("leaves the piece") if thing.is_rim else tell("runs into {thing}", thing=thing.name),
                             place=place(apart.on_b)))
            continue
        apart = gap(wall, thing.chain)
        (outside if side == "outside" else inside).append(Land(apart.distance, apart.on_a, thing.name))
    return Lands(_narrowest(outside), _narrowest(inside), tuple(hits))


def obstacles_of(outline: Outline, wishes: Wishes, bolt_holes: tuple[Hole, ...]) -> tuple[Obstacle, ...]:
    """The cover's edge, every opening that is not dropped, every bolt hole in its own size and every added hole."""
    dropped = {change.feature for change in wishes.changes if change.do == "drop"}
    drilled = {hole.id for hole in bolt_holes}
    found = [Obstacle(tell("the outer edge"), edge_of_cover(outline, wishes), True)]
    for loop in outline.design:
        ids = {segment.id for segment in loop.segments}
        if loop.role == "opening" and not ids & (dropped | drilled):
            found.append(Obstacle(tell("opening {segments_id}", segments_id=loop.segments[0].id),
                                  counter_clockwise(loop.segments)))
    found += [Obstacle(tell("{purpose} hole {hole_id}", purpose=hole.purpose, hole_id=hole.id),
                       (Circle(hole.id, hole.center, hole.diameter / 2),)) for hole in bolt_holes if hole.id not in dropped]
    found += [Obstacle(tell("added hole {hole}", hole=hole.name), (Circle(hole.name, hole.at, hole.diameter / 2),))
              for hole in wishes.holes if hole.name not in drilled]
    return tuple(found)


def edge_of_cover(outline: Outline, wishes: Wishes) -> Chain:
    """The old outer edge, or inside of it where the cover goes inside; a cover that goes over has more land than told.

    JobError: nothing of the cover is left.
    """
    rim, cover = counter_clockwise(rim_of(outline).segments), wishes.cover
    if cover is None or cover.fit != "inside":
        return rim
    told = (cover.clearance, *(row.clearance for row in wishes.roles if row.of == "outer"), CLEARS)
    inset = next(clearance for clearance in told if clearance is not None)
    found = offset_chain(rim, -inset)
    if len(found) != 1:
        raise JobError(tell("cover.clearance: {inset:g} mm inside the outer edge no one cover is left; make it smaller",
                            inset=inset))
    return found[0]


def _side(thing: Obstacle, outer: Chain, inner: Chain) -> tuple[str, Chain]:
    if thing.is_rim:
        return ("outside" if contains(thing.chain, outer) else "hit"), outer
    if contains(inner, thing.chain):
        return "inside", inner
    is_apart = gap(outer, thing.chain).distance > 0 and not contains(outer, thing.chain) and not contains(thing.chain, outer)
    return ("outside" if is_apart else "hit"), outer


def _narrowest(found: list[Land]) -> Land | None:
    return min(found, key=lambda land: land.width) if found else None
