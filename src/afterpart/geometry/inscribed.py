"""The largest shapes with straight sides inside a region: rectangle, rectangle with corners cut, convex polygon.

The region is a simple polygon, convex or not, its curved sides as fine chords; `chord_error` draws it in by what those chords may
lie outside the true curve, so that the answer lies in the true region.  All shapes are convex and may lie at any angle.
How: many starts (inscribed_starts.py, inscribed_boxes.py), grown in heats (ascent.py), the best brought to their summits
(settling.py), and those tried again with a cut or corner more or less; the largest kept; deterministic.
Conventions: points (n, 2) in any order of running; answers (k, 2), counter-clockwise, in the same unit.
Limits: the best of the summits found: no proof of the global best outside convex regions and regions of a few hollows; a shape
may come out with fewer corners than it was allowed where more do not help.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.geometry.ascent import ROUGH, Shape, climb, merit
from afterpart.geometry.cut_shapes import CutRectangle, FreePolygon
from afterpart.geometry.inscribed_boxes import cut_starts
from afterpart.geometry.inscribed_starts import Start, convex_piece, polygons_in_piece, rectangle_starts
from afterpart.geometry.room import Room, area_outside, coarser, contacts, drawn_inside, make_room, shape_area, widest_place
from afterpart.geometry.settling import settle

_RECTANGLES = 8
"""How many rectangles of the grid are grown."""
_COARSE = 1.5e-3
"""How far the coarse room's walls may be off, as a share of its size."""
@dataclass(frozen=True)
class _Effort:
    """heats: how many climb on after each rough climb in the coarse room; finished: how many of those are settled in the true
    one, those that turn out not to lie in it uncounted."""

    heats: tuple[int, ...]
    finished: int


_WIDE, _NARROW, _LEAST = _Effort((10, 6, 5), 4), _Effort((6, 4), 3), _Effort((4, 2), 2)
"""For starts from everywhere, for those made from summits, and for those few that begin along a side."""
_HOPELESS = 0.9
"""A climb whose area is less than this share of the highest when it is through the heats is not grown on."""
_OUTSIDE = 2.0
"""What the area of a shape outside its room counts against that inside."""
_BOXES = 12
"""How many boxes of the grid are grown for each number of cut corners."""
_FOLLOWED = 5
"""How many summits lead on to the next cut, and to free polygons of as many sides."""
_DROPPED = 4
"""How many summits are tried with each of their cuts or corners left out."""
_LEANING = 1
"""How many of those begin their next cut along one of its sides as well."""
_PIECES = 3
"""How many convex pieces start the search for free polygons."""
_FIRST_CUT = 0.04
"""A new cut begins with this share of the shorter side."""
_SHORTEST_SIDE = 1e-4
"""Corners nearer to each other than this share of the room's size are one."""
_LEAST_TURN = 1e-9
"""A corner whose sides' cross product, in room units, is not above this is none."""

MOST_CUTS = 4


@dataclass(frozen=True)
class Inscribed:
    """The largest shapes of a region.  cut_rectangles: for 0 to 4 cut corners; polygons: by their number of sides.
    Each is (k, 2) corners; areas never fall as cuts or sides are added."""

    cut_rectangles: tuple[np.ndarray, ...]
    polygons: dict[int, np.ndarray]


@dataclass(frozen=True)
class _Rooms:
    """The true room, and one with fewer corners for the first climb."""

    true: Room
    coarse: Room


@dataclass(frozen=True)
class _Summit:
    area: float
    shape: Shape
    p: np.ndarray
    corners: np.ndarray


def largest_rectangle(points: np.ndarray, chord_error: float = 0.0) -> np.ndarray:
    """Corners (4, 2) of the largest rectangle at any angle.  ValueError: the region is none (see room.make_room)."""
    rooms = _rooms(points, chord_error)
    return _back(rooms.true, _best(_rectangles(rooms)))


def largest_cut_rectangle(points: np.ndarray, cuts: int, chord_error: float = 0.0) -> np.ndarray:
    """Corners of the largest rectangle with up to `cuts` (0 to 4) of its corners cut straight.  ValueError as above."""
    if not 0 <= cuts <= MOST_CUTS:
        raise ValueError(f"a rectangle has four corners to cut, {cuts} were asked for")
    rooms = _rooms(points, chord_error)
    return _back(rooms.true, _best(_cut_rectangles(rooms, _rectangles(rooms), cuts)[cuts]))


def largest_polygon(points: np.ndarray, sides: int, chord_error: float = 0.0) -> np.ndarray:
    """Corners of the largest convex polygon with at most `sides` (3 to 12) sides.  ValueError as above."""
    if not 3 <= sides <= 12:
        raise ValueError(f"a polygon of 3 to 12 sides can be sought, {sides} were asked for")
    rooms = _rooms(points, chord_error)
    rectangles = _rectangles(rooms)
    cut = _cut_rectangles(rooms, rectangles, min(sides - 4, MOST_CUTS)) if sides >= 4 else []
    return _back(rooms.true, _best(_polygons(rooms, rectangles, cut, range(sides, sides + 1))[sides]))


def largest_shapes(points: np.ndarray, chord_error: float = 0.0) -> Inscribed:
    """All of them at once: rectangles with 0 to 4 corners cut, polygons with 5 to 8 sides.  ValueError as above."""
    rooms = _rooms(points, chord_error)
    rectangles = _rectangles(rooms)
    cut = _cut_rectangles(rooms, rectangles, MOST_CUTS)
    free = _polygons(rooms, rectangles, cut, range(5, 5 + MOST_CUTS))
    return Inscribed(
        tuple(_back(rooms.true, _best(summits)) for summits in cut),
        {k: _back(rooms.true, _best(summits)) for k, summits in free.items()},
    )


def _rooms(points: np.ndarray, chord_error: float) -> _Rooms:
    room = make_room(points, chord_error)
    return _Rooms(room, coarser(room, _COARSE))


def _back(room: Room, summit: _Summit) -> np.ndarray:
    """Into the caller's place and unit."""
    return np.asarray(summit.corners * room.size + room.middle)


def _best(summits: list[_Summit]) -> _Summit:
    if not summits:
        raise ValueError("no shape with straight sides was found in the region: is it thinner than it is worth?")
    return max(summits, key=lambda s: s.area)


def _grown(rooms: _Rooms, starts: list[tuple[Shape, np.ndarray]], effort: _Effort = _WIDE) -> list[_Summit]:
    """The summits reached, the highest first; the lower and those met before are left out.

    All starts climb a little in the coarse room, the higher of them on in heats; the best that differ are settled in the true
    one."""
    rough = [_Summit(0.0, shape, p, shape.corners(p)) for shape, p in starts]
    for kept in effort.heats:
        rough = _in_turn(_distinct(_ranked([_higher(rooms.coarse, summit) for summit in rough])))[:kept]
    summits: list[_Summit] = []
    for summit in rough:
        if len(summits) == effort.finished:
            break
        if summit.area < _HOPELESS * max(other.area for other in rough):
            continue
        p = settle(rooms.true, summit.shape, climb(rooms.true, summit.shape, summit.p, ROUGH))
        corners = _merged(summit.shape.corners(p))
        drawn = drawn_inside(rooms.true, corners) if len(corners) >= 3 else None
        if drawn is not None:
            summits.append(_Summit(shape_area(drawn), summit.shape, p, drawn))
    return _distinct(_ranked(summits))


def _in_turn(ranked: list[_Summit]) -> list[_Summit]:
    """The best of each family of shapes, then the second of each: which corners are cut decides more than a little height now."""
    place: dict[Shape, int] = {}
    turns = []
    for summit in ranked:
        turns.append(place.get(summit.shape, 0))
        place[summit.shape] = turns[-1] + 1
    return [ranked[i] for i in np.argsort(turns, kind="stable")]


def _higher(room: Room, summit: _Summit) -> _Summit:
    """After a rough climb.  What lies outside counts against the area: a spike of the shape may slip through a wall unseen by its
    contacts, and must not keep the place of a shape that fits."""
    p = climb(room, summit.shape, summit.p, ROUGH)
    corners = summit.shape.corners(p)
    return _Summit(merit(corners, contacts(room, corners)) - _OUTSIDE * area_outside(room, corners), summit.shape, p, corners)


def _merged(corners: np.ndarray) -> np.ndarray:
    """Corners that fell together made one; those left out that turn by nothing, or the other way by a rounding."""
    gap = corners - np.roll(corners, 1, axis=0)
    kept = corners[np.hypot(gap[:, 0], gap[:, 1]) > _SHORTEST_SIDE]
    run = np.roll(kept, -1, axis=0) - kept
    before = np.roll(run, 1, axis=0)
    return np.asarray(kept[before[:, 0] * run[:, 1] - before[:, 1] * run[:, 0] > _LEAST_TURN])


def _ranked(summits: list[_Summit]) -> list[_Summit]:
    return sorted(summits, key=lambda s: (-round(s.area, 9), tuple(s.p)))


def _rectangles(rooms: _Rooms) -> list[_Summit]:
    shape = CutRectangle(())
    return _distinct(_grown(rooms, [(shape, _smaller(start)) for start in rectangle_starts(rooms.coarse, _RECTANGLES)]))


def _smaller(start: Start) -> np.ndarray:
    """The grid's lines may have missed a corner of the room: begin a little inside."""
    angle_rad, left, right, low, high = start[1]
    return np.array([angle_rad, left + 0.02 * (right - left), right - 0.02 * (right - left),
                     low + 0.02 * (high - low), high - 0.02 * (high - low)])


def _distinct(summits: list[_Summit]) -> list[_Summit]:
    """One of each that lie in the same place."""
    kept: list[_Summit] = []
    for summit in summits:
        if not any(
            abs(summit.area - other.area) < 1e-3 and np.abs(summit.corners.mean(axis=0) - other.corners.mean(axis=0)).max() < 1e-2
            for other in kept
        ):
            kept.append(summit)
    return kept


def _cut_rectangles(rooms: _Rooms, rectangles: list[_Summit], most: int) -> list[list[_Summit]]:
    """Summits by number of cut corners: from boxes on a grid, and from the best with one cut fewer and with one more."""
    levels = [rectangles]
    boxes = cut_starts(rooms.coarse, _BOXES) if most > 0 else {}
    for cuts in range(1, most + 1):
        starts: list[tuple[Shape, np.ndarray]] = []
        leaning: list[tuple[Shape, np.ndarray]] = []
        for place, summit in enumerate(levels[-1][:_FOLLOWED]):
            assert isinstance(summit.shape, CutRectangle)
            if len(summit.shape.cut) == cuts - 1:
                free = [c for c in range(4) if c not in summit.shape.cut]
                starts += [summit.shape.cut_also(summit.p, c, _FIRST_CUT) for c in free]
                if place < _LEANING:
                    leaning += [summit.shape.cut_also(summit.p, c, _FIRST_CUT, along) for c in free for along in (0, 1)]
        grown = [*_grown(rooms, list(boxes[cuts])), *_grown(rooms, starts, _NARROW), *_grown(rooms, leaning, _LEAST)]
        levels.append(_distinct(_ranked(grown + levels[-1][:1])))
    for cuts in range(most - 1, 0, -1):
        levels[cuts] = _ranked(levels[cuts] + _grown(rooms, _less_cut(levels[cuts + 1][:_DROPPED], cuts + 1), _NARROW))
    for cuts in range(1, most + 1):
        levels[cuts] = _ranked(levels[cuts] + levels[cuts - 1][:1])
    return levels


def _less_cut(summits: list[_Summit], cuts: int) -> list[tuple[Shape, np.ndarray]]:
    """Shapes of so many cuts with one cut fewer."""
    made: list[tuple[Shape, np.ndarray]] = []
    for summit in summits:
        assert isinstance(summit.shape, CutRectangle)
        if len(summit.shape.cut) == cuts:
            made += [start for corner in summit.shape.cut for start in summit.shape.not_cut(summit.p, corner)]
    return made


def _polygons(
    rooms: _Rooms, rectangles: list[_Summit], cut: list[list[_Summit]], sides: range
) -> dict[int, list[_Summit]]:
    """Summits of free polygons: from the cut rectangles of as many sides, and from the convex pieces of the room."""
    starts: dict[int, list[tuple[Shape, np.ndarray]]] = {k: [] for k in sides}
    for k in sides:
        if 0 <= k - 4 < len(cut):
            starts[k] += [(FreePolygon(k), s.corners.ravel()) for s in cut[k - 4][:_FOLLOWED] if len(s.corners) == k]
    for piece in _pieces(rooms.coarse, rectangles):
        for k, corners in polygons_in_piece(piece, sides).items():
            middle = corners.mean(axis=0)
            starts[k].append((FreePolygon(k), (middle + 0.995 * (corners - middle)).ravel()))
    found: dict[int, list[_Summit]] = {}
    for k in sides:
        found[k] = _grown(rooms, starts[k])
    for k in reversed(sides[:-1]):
        found[k] += _grown(rooms, _less_corner(found[k + 1][:_DROPPED], k), _NARROW)
    for k in sides:
        found[k] = _ranked(found[k] + found.get(k - 1, [])[:1] + (cut[k - 4][:1] if 0 <= k - 4 < len(cut) else []))
    return found


def _less_corner(summits: list[_Summit], sides: int) -> list[tuple[Shape, np.ndarray]]:
    """Polygons of one corner more with each of their corners left out in turn."""
    return [(FreePolygon(sides), np.delete(s.corners, i, axis=0).ravel())
            for s in summits if len(s.corners) == sides + 1 for i in range(sides + 1)]


def _pieces(room: Room, rectangles: list[_Summit]) -> list[np.ndarray]:
    """Convex pieces about the largest rectangles, in their proportions, and about the room's widest place."""
    if room.is_convex:
        return [room.points]
    pieces = [convex_piece(room, widest_place(room), np.eye(2))]
    for summit in rectangles[:_PIECES]:
        angle_rad, left, right, low, high = summit.p[:5]
        turn = np.array([[math.cos(angle_rad), math.sin(angle_rad)], [-math.sin(angle_rad), math.cos(angle_rad)]])
        stretch = np.diag([1.0 / (right - left), 1.0 / (high - low)]) @ turn
        pieces.append(convex_piece(room, summit.corners.mean(axis=0), stretch))
    return [piece for piece in pieces if len(piece) >= 3]
