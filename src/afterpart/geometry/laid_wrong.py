"""Can a flat soft piece be laid into its region another way round?  Half turns and turning over, with the room left to shift.

Words: the *room* of a moved piece is the set of shifts by which it still lies in the region; it is empty where it does not fit.
How: a shift is allowed when it keeps each of the piece's points in the region, so the room is the intersection of the region
moved back by each point; points stand along the sides too, so that a boss between two corners is felt.
Conventions: mm.  Limits: convex pieces; sides are felt every STEP.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely import affinity
from shapely.geometry import Point, Polygon
from shapely.ops import nearest_points

from afterpart.words import tell

STEP = 1.5
"""Distance of the points along the piece's sides."""


@dataclass(frozen=True)
class Laid:
    """The piece where it comes to lie, as near to its right place as the region lets it; words: how it was moved."""

    words: str
    piece: Polygon


def other_ways_to_lie(piece: Polygon, region: Polygon) -> tuple[Laid, ...]:
    """The half turn and the two turnings over (about the axes of the piece's box) that find room in the region."""
    box = np.asarray(piece.minimum_rotated_rectangle.exterior.coords)
    along = math.degrees(math.atan2(*(box[1] - box[0])[::-1])) % 180.0
    middle = piece.minimum_rotated_rectangle.centroid
    moves = [(tell("turned by {angle:.0f} degrees", angle=180.0), affinity.rotate(piece, 180.0, origin=middle))]
    for axis in (along % 90.0, along % 90.0 + 90.0):
        mirrored = affinity.scale(affinity.rotate(piece, -axis, origin=middle), 1.0, -1.0, origin=middle)
        moves.append((tell("turned over about the line at {angle:.0f} degrees", angle=axis),
                      affinity.rotate(mirrored, axis, origin=middle)))
    found = []
    for words, moved in moves:
        room = _room(moved, region)
        if not room.is_empty:
            shift = nearest_points(room, Point(0.0, 0.0))[0]
            found.append(Laid(words, affinity.translate(moved, shift.x, shift.y)))
    return tuple(found)


def _room(piece: Polygon, region: Polygon) -> Polygon:
    """All shifts that keep the piece in the region; the corners first, for they leave the least."""
    ring = piece.exterior
    places = [*ring.coords[:-1], *(ring.interpolate(k * STEP).coords[0] for k in range(int(ring.length / STEP)))]
    room = affinity.translate(region, -places[0][0], -places[0][1])
    for x, y in places[1:]:
        room = room.intersection(affinity.translate(region, -x, -y))
        if room.is_empty:
            break
    return room
