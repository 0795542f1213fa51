"""Room on the cover's faces: what lies where, and whether holes, heads and lips stand clear of it.

Words: the *surroundings* are the edge, the openings, the seal groove, the filter's pocket and the widened entry for the air, as
chains in the drawing's frame.  What is wrong becomes one JobError that names the key and the place.
Limits: walls thinner than LEAST_WALL are refused here; whether a wall carries its load is a check's business.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from afterpart.errors import JobError
from afterpart.geometry.chain import distance_to_chain, gap, is_inside
from afterpart.model.edges import Note
from afterpart.model.feature import BearingFace, Chain, Groove, Hole
from afterpart.model.outline import Circle, Point
from afterpart.words import tell

LEAST_WALL = 0.8
"""Least plastic between two openings, or a hole and the edge: two printed lines, mm."""


@dataclass(frozen=True)
class Surroundings:
    """edge: of the body; openings: (name, chain) of every way through but the holes in question; entry: the air's widened
    opening on the outside, the opening itself where it is not widened."""

    edge: Chain
    openings: tuple[tuple[str, Chain], ...] = ()
    groove: Groove | None = None
    pocket: Chain | None = None
    entry: Chain | None = None


def circle_chain(center: Point, diameter: float) -> Chain:
    """The circle as a chain."""
    return (Circle("", center, diameter / 2),)


def place(point: Point) -> str:
    """A point in words."""
    return f"({point[0]:.1f}, {point[1]:.1f})"


def is_in(point: Point, chain: Chain) -> bool:
    """Whether the point lies inside the chain."""
    return bool(is_inside(np.array([point]), chain)[0])


def refuse_hole(hole: Hole, key: str, around: Surroundings) -> None:
    """JobError: the hole leaves the cover, breaks into an opening or pocket, or goes through the seal groove."""
    ring = circle_chain(hole.center, hole.diameter)
    what = tell("{key}: hole {hole_id} of {diameter:g} mm at {place}", key=key, hole_id=hole.id, diameter=hole.diameter,
                place=place(hole.center))
    to_edge = gap(ring, around.edge)
    if not is_in(hole.center, around.edge) or to_edge.distance <= 0:
        raise JobError(tell("{what} is not on the cover: it meets the edge at {place}; move or drop it, or widen the cover",
                            what=what, place=place(to_edge.on_b)))
    if to_edge.distance < LEAST_WALL:
        raise JobError(tell("{what} leaves {distance:.2f} mm to the edge at {place}; {least_wall:g} mm is the least that prints: "
                            "take a smaller hole, or widen the cover", what=what, distance=to_edge.distance,
                            place=place(to_edge.on_b), least_wall=LEAST_WALL))
    if around.groove is not None and _meets_groove(hole.center, hole.diameter, around.groove):
        raise JobError(tell("{what} goes through the seal groove; lay the groove elsewhere (seal.path, seal.offset), or drop the "
                            "hole", what=what))
    for name, chain in around.openings:
        if _is_far(hole.center, hole.diameter, chain) and not is_in(hole.center, chain):
            continue
        near = gap(ring, chain)
        if is_in(hole.center, chain) or is_in(_any_point(chain), ring) or near.distance < LEAST_WALL:
            raise JobError(tell("{what} breaks into {name} near {place}: {least_wall:g} mm of plastic must stay between them; "
                                "move, drop or shrink one of the two", what=what, name=name, place=place(near.on_b),
                                least_wall=LEAST_WALL))


def refuse_hole_in_pocket(hole: Hole, key: str, around: Surroundings) -> None:
    """JobError: the hole opens into the filter's pocket, past the filter."""
    if around.pocket is None:
        return
    near = gap(circle_chain(hole.center, hole.diameter), around.pocket)
    if is_in(hole.center, around.pocket) or near.distance < LEAST_WALL:
        raise JobError(tell("{key}: hole {hole_id} at {place} opens into the filter's pocket near {place_2}, so air would pass "
                            "beside the filter; drop the hole, or make the pocket smaller (filter.land)", key=key,
                            hole_id=hole.id, place=place(hole.center), place_2=place(near.on_b)))


def refuse_head(hole: Hole, presses: float, key: str, around: Surroundings) -> tuple[Note, ...]:
    """A note where what presses, `presses` across, reaches over an edge or opening on the outside.

    JobError: so far that the middle of its ring, half way between hole and rim, no longer lies on plastic.
    """
    notes = []
    middle, rim = circle_chain(hole.center, (hole.diameter + presses) / 2), circle_chain(hole.center, presses)
    for name, chain in _outside(around):
        if _is_far(hole.center, presses, chain):
            continue
        near = gap(middle, chain)
        what = tell("{key}: what presses round hole {hole_id} at {place}, {presses:g} mm across,", key=key, hole_id=hole.id,
                    place=place(hole.center), presses=presses)
        if near.distance <= 0 or is_in(_any_point(chain), middle):
            raise JobError(tell("{what} lies with more than half its ring over {name} at {place}; take a smaller head or washer, "
                                "or move one of the two", what=what, name=name, place=place(near.on_b)))
        at = gap(rim, chain)
        if at.distance <= 0:
            over = presses / 2 - float(distance_to_chain(np.array([hole.center]), chain)[0])
            notes.append(Note("over_edge",
                              tell("{what} reaches {over:.1f} mm over {name} near {place}: less of it bears than is counted.",
                                   what=what, over=over, name=name, place=place(near.on_b))))
    return tuple(notes)


def refuse_counterbore(hole: Hole, width: float, deep: float, thickness: float, key: str, around: Surroundings) -> None:
    """JobError: a counterbore `width` across and `deep` into the cover breaks out at the side, or into the groove from below."""
    ring = circle_chain(hole.center, width)
    what = tell("{key}: the seat of {width:g} mm round hole {hole_id} at {place}", key=key, width=width, hole_id=hole.id,
                place=place(hole.center))
    for name, chain in _outside(around):
        if _is_far(hole.center, width, chain):
            continue
        near = gap(ring, chain)
        if near.distance < LEAST_WALL or is_in(_any_point(chain), ring):
            raise JobError(tell("{what} leaves {distance:.1f} mm to {name} at {place}; {least_wall:g} mm is the least: take a "
                                'smaller head, or set bolts.seat = "plain"', what=what, distance=near.distance, name=name,
                                place=place(near.on_b), least_wall=LEAST_WALL))
    if around.groove is not None and _meets_groove(hole.center, width, around.groove):
        left = thickness - around.groove.depth - deep
        if left < LEAST_WALL:
            raise JobError(tell("{what} leaves {most:.1f} mm under the seal groove; {least_wall:g} mm is the least: make "
                                'cover.thickness at least {thickness:.1f} mm, or set bolts.seat = "plain"', what=what,
                                most=max(left, 0.0), least_wall=LEAST_WALL, thickness=thickness + LEAST_WALL - left))


def refuse_insert(hole: Hole, width: float, around: Surroundings) -> None:
    """JobError: less plastic round a heat-set insert than it needs, `width` across."""
    ring = circle_chain(hole.center, width)
    groove = (around.groove.outer, around.groove.inner) if around.groove is not None else ()
    walls = [(tell("the seal groove"), wall) for wall in groove]
    for name, chain in ((tell("the edge"), around.edge), *around.openings, *walls):
        near = gap(ring, chain)
        if near.distance <= 0 or is_in(_any_point(chain), ring):
            raise JobError(tell("bolts.insert: the insert in hole {hole_id} at {place} needs plastic {width:g} mm across, and "
                                "{name} lies nearer at {place_2}; take a smaller thread, or move one of the two", hole_id=hole.id,
                                place=place(hole.center), width=width, name=name, place_2=place(near.on_b)))


def _outside(around: Surroundings) -> list[tuple[str, Chain]]:
    """What there is on the outside face, by name."""
    return [(tell("the edge"), around.edge), *around.openings,
            *([(tell("the entry for the air"), around.entry)] if around.entry is not None else [])]


def with_room(faces: tuple[BearingFace, ...], around: Surroundings) -> tuple[BearingFace, ...]:
    """The bearing faces with the free diameter round each: twice the way to the nearest edge or opening but its own hole."""
    made = []
    for face in faces:
        chains = [chain for name, chain in _outside(around) if name != tell("hole {hole_id}", hole_id=face.of)]
        nearest = min(float(distance_to_chain(np.array([face.center]), chain)[0]) for chain in chains)
        made.append(replace(face, room=round(2 * nearest, 6)))
    return tuple(made)


def _meets_groove(center: Point, diameter: float, groove: Groove) -> bool:
    ring = circle_chain(center, diameter)
    lies_between = is_in(center, groove.outer) and not is_in(center, groove.inner)
    return lies_between or min(gap(ring, groove.outer).distance, gap(ring, groove.inner).distance) <= 0


def _is_far(center: Point, diameter: float, chain: Chain) -> bool:
    """Whether the whole chain runs LEAST_WALL or more outside the circle: quick, and true of most."""
    return float(distance_to_chain(np.array([center]), chain)[0]) >= diameter / 2 + LEAST_WALL


def _any_point(chain: Chain) -> Point:
    first = chain[0]
    return (first.center[0] + first.radius, first.center[1]) if isinstance(first, Circle) else first.start
