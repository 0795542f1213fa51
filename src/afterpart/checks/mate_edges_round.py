"""Room all round between edges of the cover and of the mate laid on it: outer edge, seal, openings, lip.

Conventions: mm; drawing frame; room is positive where the two keep off each other, with the holes where the fit has them.
Limits: distances to the nearest place of the other edge, read every POINT_STEP along a chain.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from afterpart.checks.fit_contacts import Spot
from afterpart.checks.mate_face import Face, outer_of, round_holes, shaped_openings
from afterpart.geometry.chain import chain_length, chain_points, distance_to_chain, is_inside
from afterpart.geometry.contour import resample_closed
from afterpart.model.feature import Chain
from afterpart.model.mate import MateEdge
from afterpart.model.outline import Circle, Loop, Point
from afterpart.words import tell

POINT_STEP = 0.5
CHORD = 0.005
INWARD = 0.1
"""Share of a straight wall by which its room is read away from its ends."""


Walls = tuple[np.ndarray, np.ndarray, np.ndarray]
"""Places (m, 2), the way the cover must not move there (m, 2), and the room (m,)."""


def edges_of(face: Face, laid: Sequence[Loop], u: float) -> tuple[tuple[MateEdge, ...], Walls]:
    """Every edge that may meet, and the cover's walls with the room the mate leaves them.  u: of a place of the mate's edges."""
    loops = list(laid)
    outer, openings, circles = outer_of(loops), shaped_openings(loops), round_holes(loops)
    found = [_edge(tell("The cover's edge within the mate's"), "outer", "outer", face.outer, room_inside(face.outer, outer), u,
                   False)]
    if face.seal:
        found += _seal(face.seal, outer, openings, circles, u)
    for name, chain in face.openings:
        id, other = min(openings, key=lambda o: _apart(chain, o[1]), default=("", None))
        if other is not None:
            found.append(_edge(tell("Opening {name} within the mate's", name=name), name, id, chain, room_inside(chain, other), u,
                               False))
    lips, walls = _walls(face, loops, u)
    return (*found, *lips), walls


def room_inside(chain: Chain, other: Chain) -> np.ndarray:
    """For points along a chain: how far each lies inside the other one, negative outside."""
    points = even_points(chain)
    return _signed(points, other)


def even_points(chain: Chain) -> np.ndarray:
    """Points (n, 2) along a chain, POINT_STEP apart."""
    return resample_closed(chain_points(chain, CHORD), max(16, math.ceil(chain_length(chain) / POINT_STEP)))


def _signed(points: np.ndarray, other: Chain) -> np.ndarray:
    return np.asarray(np.where(is_inside(points, other), 1.0, -1.0) * distance_to_chain(points, other))


def _edge(what: str, cover: str, mate: str, chain: Chain, room: np.ndarray, u: float, must_clear: bool) -> MateEdge:
    return _told(what, cover, mate, even_points(chain), room, u, must_clear)


def _told(what: str, cover: str, mate: str, points: np.ndarray, room: np.ndarray, u: float, must_clear: bool) -> MateEdge:
    low, high = int(room.argmin()), int(room.argmax())
    return MateEdge(what, cover, mate, float(room[low]), _point(points[low]), float(room[high]), _point(points[high]), u,
                    must_clear)


def _seal(seal: tuple[Chain, ...], outer: Chain, openings: tuple[tuple[str, Chain], ...], circles: tuple[Circle, ...],
          u: float) -> list[MateEdge]:
    """The seal must lie on the mate's face all round: within its edge, clear of its openings and holes."""
    outside, inside = seal
    found = [_edge(tell("Land outside the seal"), "seal", "outer", outside, room_inside(outside, outer), u, True)]
    for id, chain in openings:
        points = even_points(chain)
        # an opening lies within the seal's inner wall, or outside its outer one
        room = np.maximum(_signed(points, inside), -_signed(points, outside))
        found.append(_told(tell("Land between the seal and opening {id}", id=id), "seal", id, points, room, u, True))
    if circles:
        at = np.array([c.center for c in circles])
        room = np.maximum(_signed(at, inside), -_signed(at, outside)) - np.array([c.radius for c in circles])
        worst = circles[int(room.argmin())]
        found.append(_told(tell("Land between the seal and hole {worst_id}", worst_id=worst.id), "seal", worst.id, at, room, u,
                           True))
    return found


def _walls(face: Face, loops: list[Loop], u: float) -> tuple[list[MateEdge], Walls]:
    """Lips and inner edges: each meets the loop of the mate that lies nearest to it all round."""
    found, rooms, spots = [], np.zeros(len(face.spots)), face.spots
    for name, chain in face.walls:
        loop = min(loops, key=lambda one: _apart(chain, one.segments))
        # the mate's material lies outside its openings and inside its outer edge
        sign = 1.0 if loop.role == "opening" else -1.0
        room = sign * room_inside(chain, loop.segments)
        found.append(_edge(name[:1].upper() + name[1:], name, loop.segments[0].id, chain, room, u, True))
        own = [k for k, spot in enumerate(spots) if spot.name == name]
        if own:
            rooms[own] = sign * _signed(_beside(spots)[own], loop.segments)
    at = np.array([spot.at for spot in spots]).reshape(-1, 2)
    # a spot's normal is the way the mate is stopped, so that the cover is stopped the other way
    normals = -np.array([spot.normal for spot in spots], float).reshape(-1, 2)
    return found, (at, normals, rooms)


def _beside(spots: tuple[Spot, ...]) -> np.ndarray:
    """Where the room of each spot is read: at the ends of a straight wall a little way in, for at a corner the nearest place of
    the other edge does not lie square to the wall."""
    out = np.array([spot.at for spot in spots])
    for group in {spot.group for spot in spots}:
        ends = [k for k, spot in enumerate(spots) if spot.group == group]
        if len(ends) == 2 and spots[ends[0]].normal == spots[ends[1]].normal:
            one, other = out[ends[0]].copy(), out[ends[1]].copy()
            out[ends[0]], out[ends[1]] = one + INWARD * (other - one), other + INWARD * (one - other)
    return out


def _apart(chain: Chain, other: Chain) -> float:
    return float(distance_to_chain(even_points(chain), other).mean())


def _point(row: np.ndarray) -> Point:
    return float(row[0]), float(row[1])
