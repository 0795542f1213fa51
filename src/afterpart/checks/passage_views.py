"""Where each loose thing is cut and seen from above, so that its picture shows the way out, what stops it, and what it may enter.

Words: the *anchor* is the place the cut goes through: the axis of a bolt, screw or sleeve; of a piece that screws hold, the axis
of one of them; else the middle of the longest straight run of its edge or of the seal.  The cut runs towards what lies between
the thing and the clean side: the seal from outside it, the opening for air from inside it.
Conventions: assembly frame, mm; s from the anchor; what the plane cuts is cut out of the meshes as built (solid/mesh_cut.py).
Limits: one straight cut; of the machine only the joint is known.  Screws the maker drives into bosses are drawn by the figures
of the job.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from shapely import Point as Dot
from shapely import Polygon
from shapely.geometry import LineString
from shapely.ops import nearest_points

from afterpart.checks.passages import (
    BOSS_SCREWS,
    SOFT_ITEMS,
    Yard,
    bar_shape,
    bars_of,
    boss_screws,
    numbered,
    placed_point,
    smallest_width,
    widest_ball,
    yard_of,
)
from afterpart.geometry.chain import chain_polygon, move_chain
from afterpart.model.assembly import Build, Item, Place, Point3
from afterpart.model.case import AIR, BACK, BARS, CutBody, Passage, WayView
from afterpart.model.feature import Bar, Chain, Groove, Opening, PrintedSeal, Seat
from afterpart.model.job import Job
from afterpart.model.outline import Circle, Line, Point
from afterpart.model.piece import Add, Prism
from afterpart.model.wishes import ScrewWish
from afterpart.solid.body import Mesh
from afterpart.solid.hardware import cord_ring, hardware
from afterpart.solid.mesh_cut import upright_cut
from afterpart.words import translated

ITEM = "item"
"""Kind of a cut body that is bought."""

_BESIDE, _FARTHEST = 6.0, 30.0
"""Shown beside the thing, and at most towards what it is cut to, mm."""
_OVER = 4.0
_TALLEST = 15.0
"""Of a way that is shown at full length, mm."""
_FOR_SEAL = (-14.0, 20.0)
_WIDE = 1.75
"""Width of what is shown over its height, at least: what is there besides goes to the right of the anchor, most of it."""
_TO_THE_RIGHT = 0.7
_FIGURES = 4
_SAME = 1e-6
_CHORD = 0.02

Rings = tuple[tuple[Point, ...], ...]


@dataclass(frozen=True)
class _Anchor:
    """point: where s is 0; direction: unit vector of s; reach: lowest and highest s that is shown."""

    point: Point
    direction: Point
    reach: tuple[float, float]


def views_of(build: Build, job: Job, meshes: Mapping[str, Mesh], passages: tuple[Passage, ...]) -> tuple[WayView, ...]:
    """One view for each thing whose ways were followed, in their order; what has no mesh has none.

    meshes, passages: as passages_of takes and gives them."""
    yard = yard_of(build, job, meshes)
    found = (_view(yard, job, tuple(way for way in passages if way.item == name))
             for name in dict.fromkeys(way.item for way in passages))
    return tuple(view for view in found if view is not None)


def _view(yard: Yard, job: Job, ways: tuple[Passage, ...]) -> WayView | None:
    back = next((way for way in ways if way.along == BACK), ways[0])
    thing = _thing(yard, job, back)
    anchor = None if thing is None else _anchor(yard, back)
    if thing is None or anchor is None:
        return None
    low, high = _frame(yard, anchor, thing, back)
    turn_deg = round(math.degrees(math.atan2(anchor.direction[1], anchor.direction[0])), _FIGURES)
    bodies = {name: (kind, upright_cut(mesh, anchor.point, turn_deg, low, high)) for name, kind, mesh in _bodies(yard, back)}
    piece = yard.pieces.get(back.item)
    own = CutBody(back.item, piece.kind if piece else ITEM, upright_cut(thing, anchor.point, turn_deg, low, high))
    opening, bars, ball = _opening(yard, ways)
    return WayView(back.item, back.picture, _near(anchor.point), turn_deg, low, high, own,
                   tuple(CutBody(name.partition(" #")[0], kind, rings) for name, (kind, rings) in bodies.items() if rings),
                   _width(yard, thing, back), _sealed(yard, anchor, (low[0], high[0])), opening, bars, ball)


def _thing(yard: Yard, job: Job, back: Passage) -> Mesh | None:
    """The thing itself in its seat; None where it has no mesh."""
    if back.item in yard.placed:
        return yard.placed[back.item]
    if back.item == translated(BOSS_SCREWS):
        return hardware(_boss_screw(yard, job, back))[0]
    item = next((one for one in yard.build.assembly.items if one.name == back.item), None)
    if item is None or item.kind == "foam":
        return None
    if item.kind in SOFT_ITEMS:
        return _cord(yard, item)
    item = next(one for one in yard.build.assembly.items if one.name == back.item and back.at in one.at)
    return hardware(item)[item.at.index(back.at)]


def _cord(yard: Yard, item: Item) -> Mesh | None:
    """The cord round the groove it lies in."""
    chain = _seal_centre(yard)
    return None if not chain else cord_ring(chain, item.diameter, item.at[0][2])


def _boss_screw(yard: Yard, job: Job, back: Passage) -> Item:
    """The maker's own screw in the boss whose way back is told, by the job's figures."""
    screw = job.wishes.screws or ScrewWish()
    boss = next(boss for boss, place in boss_screws(yard.build)
                if math.dist(placed_point(boss.center, place), back.at[:2]) < _SAME)
    passes = {row.name: row.passes for row in job.wishes.bosses}.get(boss.id, 0.0)
    x, y, foot = back.at
    return Item("screw", translated(BOSS_SCREWS), ((x, y, foot + passes),), (0.0, 0.0, -1.0), screw.outside,
                passes + boss.engagement, screw.head_diameter, screw.head_height, (0.0, 0.0, 1.0), (), 1)


def _bodies(yard: Yard, back: Passage) -> list[tuple[str, str, Mesh]]:
    """Everything else in place: name, kind, mesh; of items each place by its number."""
    pieces = [(stem, yard.pieces[stem].kind, mesh) for stem, mesh in yard.placed.items() if stem != back.item]
    is_hard = any(item.name == back.item and item.kind not in SOFT_ITEMS for item in yard.build.assembly.items)
    own = numbered(yard.build, back.item, back.at) if is_hard else ""
    items = [(name, ITEM, mesh) for name, mesh in yard.solids.items() if " #" in name and name != own]
    cords = [(item.name, ITEM, mesh) for item in yard.build.assembly.items if item.kind == "cord" and item.name != back.item
             and (mesh := _cord(yard, item)) is not None]
    return pieces + items + cords


def _anchor(yard: Yard, back: Passage) -> _Anchor | None:
    piece = yard.pieces.get(back.item)
    item = next((one for one in yard.build.assembly.items if one.name == back.item), None)
    if (piece is not None and piece.kind == "gasket") or (item is not None and item.kind in SOFT_ITEMS):
        chain = _seal_centre(yard)
        return _across(chain, _FOR_SEAL) if chain else None
    if piece is None:
        width = item.head_diameter / 2 if item is not None else ScrewWish().head_diameter / 2
        return _towards_the_clean_side(yard, back.at, width + _BESIDE)
    holder = next((one for one in yard.build.assembly.items if back.item in one.through), None)
    if holder is not None:
        return _towards_the_clean_side(yard, holder.at[0], holder.head_diameter / 2 + _BESIDE)
    outer = next((body.outer for step in piece.steps if isinstance(step, Add) for body in step.prisms
                  if isinstance(body, Prism)), None)
    place = next(one for one in yard.build.assembly.places if one.piece == back.item)
    return _Anchor(back.at[:2], (1.0, 0.0), _FOR_SEAL) if outer is None else _across(_placed_chain(outer, place), _FOR_SEAL)


def _towards_the_clean_side(yard: Yard, at: Point3, beside: float) -> _Anchor:
    """Through an axis: from outside the seal to the seal, from inside it to the edge of the opening for air."""
    here = Dot(at[0], at[1])
    edges = [yard.sealed.exterior] if yard.sealed is not None and not yard.sealed.contains(here) else [
        chain_polygon(chain, _CHORD).exterior for chain in _air_ways(yard)]
    if not edges and yard.sealed is not None:
        edges = [yard.sealed.exterior]
    there = min((nearest_points(here, edge)[1] for edge in edges), key=here.distance, default=here)
    away = here.distance(there)
    direction = ((there.x - here.x) / away, (there.y - here.y) / away) if away > _CHORD else (1.0, 0.0)
    return _Anchor((at[0], at[1]), direction, (-beside, min(max(away + _BESIDE, beside), beside + _FARTHEST)))


def _across(chain: Chain, reach: tuple[float, float]) -> _Anchor:
    """Through the middle of the longest straight run of a closed chain, towards its inside; a circle at its rightmost place."""
    runs = [segment for segment in chain if isinstance(segment, Line)]
    inside = chain_polygon(chain, _CHORD)
    if not runs:
        first = chain[0]
        middle = (first.center[0] + first.radius, first.center[1]) if isinstance(first, Circle) else first.start
        normal = (-1.0, 0.0)
    else:
        run = max(runs, key=lambda line: (round(math.dist(line.start, line.end), _FIGURES), line.start))
        length = math.dist(run.start, run.end)
        middle = ((run.start[0] + run.end[0]) / 2, (run.start[1] + run.end[1]) / 2)
        normal = (-(run.end[1] - run.start[1]) / length, (run.end[0] - run.start[0]) / length)
    if not inside.contains(Dot(middle[0] + _CHORD * 5 * normal[0], middle[1] + _CHORD * 5 * normal[1])):
        normal = (-normal[0], -normal[1])
    return _Anchor(middle, normal, reach)


def _frame(yard: Yard, anchor: _Anchor, thing: Mesh, back: Passage) -> tuple[Point, Point]:
    """Corners of what is shown: the thing in its seat and moved out, the pieces round it, a little over."""
    ends = [thing.vertices[:, 2], thing.vertices[:, 2] + back.out[2] * min(back.room, _TALLEST)]
    ends += [mesh.vertices[:, 2] for mesh in yard.placed.values()]
    low, high = min(float(z.min()) for z in ends) - _OVER, max(float(z.max()) for z in ends) + _OVER
    left, right = anchor.reach
    more = max(_WIDE * (high - low) - (right - left), 0.0)
    return _near((left - (1 - _TO_THE_RIGHT) * more, low)), _near((right + _TO_THE_RIGHT * more, high))


def _width(yard: Yard, thing: Mesh, back: Passage) -> float:
    item = next((one for one in yard.build.assembly.items if one.name == back.item), None)
    return smallest_width(item) if item is not None else round(float(np.ptp(thing.vertices, axis=0).min()), _FIGURES)


def _sealed(yard: Yard, anchor: _Anchor, reach: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    """Stretches of s on the clean side of the seal; everywhere where nothing seals."""
    if yard.sealed is None:
        return (reach,)
    (x, y), (c, s) = anchor.point, anchor.direction
    line = LineString([(x + end * c, y + end * s) for end in reach]).intersection(yard.sealed)
    runs = [run for run in getattr(line, "geoms", (line,)) if isinstance(run, LineString) and not run.is_empty]
    ends = (sorted((px - x) * c + (py - y) * s for px, py in (run.coords[0], run.coords[-1])) for run in runs)
    return tuple(sorted((round(first, _FIGURES), round(last, _FIGURES)) for first, last in ends))


def _opening(yard: Yard, ways: tuple[Passage, ...]) -> tuple[Rings, Rings, tuple[float, float, float] | None]:
    """From above: the opening the thing would have to pass, its bars, and the largest ball that passes; nothing where no way
    leads through one."""
    air = next((way for way in ways if way.along == AIR), None)
    if air is None:
        return (), (), None
    bars, chain = bars_of(yard.build)
    if air.by == BARS:
        place = next(one for one in yard.build.assembly.places
                     if any(isinstance(f, Bar) for f in yard.pieces[one.piece].features))
        x, y, wide = widest_ball(chain, bars)
        rings = tuple(_ring(_placed_shape(bar_shape(bar), place)) for bar in bars)
        return (_ring(chain_polygon(_placed_chain(chain, place), _CHORD)),), rings, (*_near(placed_point((x, y), place)), wide)
    chains = sorted(_air_ways(yard), key=lambda one: -widest_ball(one, ())[2])
    if not chains:
        return (), (), None
    x, y, wide = widest_ball(chains[0], ())
    return (_ring(chain_polygon(chains[0], _CHORD)),), (), (*_near((x, y)), wide)


def _air_ways(yard: Yard) -> list[Chain]:
    """Openings for air of the pieces in place, in the assembly: openings, or the way through the seat's floor."""
    found = [(f.chain if isinstance(f, Opening) else f.opening, place) for place in yard.build.assembly.places
             for f in yard.pieces[place.piece].features if isinstance(f, Opening | Seat)]
    return [_placed_chain(chain, place) for chain, place in found if chain]


def _seal_centre(yard: Yard) -> Chain:
    """The line the seal runs along, in the assembly; () without one."""
    found = [(f.centre, place) for place in yard.build.assembly.places for f in yard.pieces[place.piece].features
             if isinstance(f, Groove | PrintedSeal) and f.centre]
    return _placed_chain(*found[0]) if found else ()


def _placed_chain(chain: Chain, place: Place) -> Chain:
    return move_chain(chain, place.shift[:2], mirror_y=place.flipped)


def _placed_shape(shape: Polygon, place: Place) -> Polygon:
    return Polygon([placed_point((x, y), place) for x, y in shape.exterior.coords])


def _ring(shape: Polygon) -> tuple[Point, ...]:
    return tuple(_near((x, y)) for x, y in np.asarray(shape.exterior.coords)[:-1])


def _near(point: Point) -> Point:
    return (round(float(point[0]), _FIGURES) + 0.0, round(float(point[1]), _FIGURES) + 0.0)
