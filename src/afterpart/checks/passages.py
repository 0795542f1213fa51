"""Every loose thing followed on its way out, on the solids as built: straight back, on through its hole, in with the air.

Words: a thing comes *free* when it has gone straight back as far as its thread, sleeve or seat reaches; the *clean side* is
what lies behind the seal, towards the machine (+z of the assembly frame); *outside* is where the maker stands.  A *soft*
thing (foam, cord, flexible print) stops nothing.
    free way    the body is moved back step by step until it meets something (solid/clash.py)
    way needed  screw: from its tip back to where its last piece begins; bolt: from its tip to the joint; washer, sleeve:
                its own height; piece: its depth below the joint
Limits: ways are straight, found in steps of STEP; of the machine only the joint and the room above it are known, so that a
guard outside that would hold a bolt is not seen.  A tilted or turning item is not followed: where it might slip through,
its smallest width counts, which no posture makes smaller.  mm.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from shapely import Point as Dot
from shapely import Polygon, maximum_inscribed_circle
from shapely.geometry import LineString
from shapely.ops import unary_union

from afterpart.geometry.chain import chain_polygon, move_chain
from afterpart.model.assembly import Build, Item, Place, Point3
from afterpart.model.case import AIR, BACK, BARS, CLEAN_SIDE, MACHINE_FACE, ON, OUTSIDE, Passage
from afterpart.model.feature import Bar, Boss, Chain, Groove, Hole, Opening, PrintedSeal, Rib, Seat
from afterpart.model.job import Job
from afterpart.model.outline import Point
from afterpart.model.piece import Piece
from afterpart.model.wishes import ScrewWish
from afterpart.solid.body import Mesh
from afterpart.solid.clash import way_in
from afterpart.solid.hardware import hardware
from afterpart.solid.mesh import moved
from afterpart.words import entry, tell, translated

STEP = 0.5
"""Length of a step on the way back, mm: less than any wall is thick."""
BOSS_SCREWS = entry("screws in bosses on the machine's side")
SOFT_PIECES = ("filter_element", "gasket")
SOFT_ITEMS = ("cord", "foam")

_LONGEST_NAME = 40
_CHORD = 0.02
_NEAR = 0.01


@dataclass(frozen=True)
class Yard:
    """What passages are followed in.  solids: every hard body in place, an item's by name and number; room: free height above
    the joint, infinite when not told; sealed: what the seal encloses, None without a seal."""

    build: Build
    pieces: Mapping[str, Piece]
    placed: Mapping[str, Mesh]
    solids: Mapping[str, Mesh]
    room: float
    sealed: Polygon | None


def passages_of(build: Build, job: Job, meshes: Mapping[str, Mesh]) -> tuple[Passage, ...]:
    """The passages of every item and of every piece that sits on another, in order of assembly.

    meshes: of the pieces, by file_stem, each in its build frame; pieces without one are neither followed nor met."""
    yard = yard_of(build, job, meshes)
    found: list[Passage] = []
    things: tuple[Item | Place, ...] = (*build.assembly.places, *build.assembly.items)
    for thing in sorted(things, key=lambda one: one.order):
        found += _of_item(yard, thing) if isinstance(thing, Item) else _of_piece(yard, thing)
    found += _of_boss_screws(yard, job)
    numbers = {item: number for number, item in enumerate(dict.fromkeys(way.item for way in found), 1)}
    return tuple(replace(way, picture=picture_name(numbers[way.item], way.item)) for way in found)


def picture_name(number: int, item: str) -> str:
    """What the picture of a thing's ways is called: passage_2_iso_7089_m6.png."""
    plain = re.sub(r"[^a-z0-9]+", "_", item.lower()).strip("_")
    return f"passage_{number}_{plain[:_LONGEST_NAME].strip('_')}.png"


def numbered(build: Build, name: str, at: Point3) -> str:
    """A bought thing by its name and number, counted over every row of that name: several rows may be alike."""
    places = [place for item in build.assembly.items if item.name == name for place in item.at]
    return f"{name} #{places.index(at) + 1}"


def smallest_width(item: Item) -> float:
    """The least width of an item in any posture: across a screw's head, along a washer's height, a cord's diameter."""
    if item.kind in ("washer", "sleeve", "insert"):
        return min(item.length, item.head_diameter)
    return item.diameter if item.kind in SOFT_ITEMS else item.head_diameter


def boss_screws(build: Build) -> tuple[tuple[Boss, Place], ...]:
    """Bosses that open towards the machine and whose screws are no item of the assembly: the maker screws something on there."""
    pieces = {piece.file_stem: piece for piece in build.pieces}
    taken = [at for item in build.assembly.items if item.kind == "screw" for at in item.at]
    return tuple((f, place) for place in build.assembly.places if place.piece in pieces for f in pieces[place.piece].features
                 if isinstance(f, Boss) and (f.opens < 0) == place.flipped and not any(
                     math.dist(at[:2], placed_point(f.center, place)) < f.pilot / 2 for at in taken))


def sealed_area(build: Build) -> Polygon | None:
    """What lies on the clean side of the seal, in the drawing's frame; None where nothing seals along a line."""
    features = [feature for piece in build.pieces for feature in piece.features]
    chains = [f.centre for f in features if isinstance(f, Groove | PrintedSeal) and f.centre]
    return chain_polygon(chains[0], _CHORD) if chains else None


def widest_gap(opening: Chain, bars: tuple[Bar, ...]) -> float:
    """Diameter of the largest ball that passes an opening past its bars: twice the radius of the largest circle in what is
    left free."""
    return widest_ball(opening, bars)[2]


def widest_ball(opening: Chain, bars: tuple[Bar, ...]) -> tuple[float, float, float]:
    """The largest circle in what bars leave free of an opening: its middle (x, y) and its diameter, 0 where nothing is left."""
    free = chain_polygon(opening, _CHORD)
    if bars:
        free = free.difference(unary_union([bar_shape(bar) for bar in bars]))
    left = [part for part in getattr(free, "geoms", (free,)) if part.area > 0]
    balls = [maximum_inscribed_circle(part, tolerance=_CHORD) for part in left]
    widest = max(balls, key=lambda ball: ball.length, default=None)
    return (0.0, 0.0, 0.0) if widest is None else (*widest.coords[0][:2], 2 * widest.length)


def bar_shape(bar: Bar) -> Polygon:
    """A bar from above."""
    return LineString((bar.start, bar.end)).buffer(bar.width / 2, cap_style="flat")


def bars_of(build: Build) -> tuple[tuple[Bar, ...], Chain]:
    """The support bars of a placed piece and the opening they cross, in that piece's own frame; ((), ()) without bars.

    The opening is what the rib encloses; where the seat tells the air's way, the way itself, mirrored into the piece's frame."""
    pieces = {piece.file_stem: piece for piece in build.pieces}
    seats = [f for piece in build.pieces for f in piece.features if isinstance(f, Seat)]
    for place in build.assembly.places:
        features = pieces[place.piece].features if place.piece in pieces else ()
        bars = tuple(f for f in features if isinstance(f, Bar))
        ribs = [f for f in features if isinstance(f, Rib)]
        if bars and (ribs or seats):
            way = ribs[0].inner if ribs else seats[0].opening
            return bars, move_chain(way, (0.0, 0.0), mirror_y=True) if place.flipped and not ribs else way
    return (), ()


def yard_of(build: Build, job: Job, meshes: Mapping[str, Mesh]) -> Yard:
    """Everything in its place; meshes: as for passages_of."""
    pieces = {piece.file_stem: piece for piece in build.pieces}
    placed = {place.piece: moved(meshes[place.piece], place.flipped, place.shift)
              for place in build.assembly.places if place.piece in meshes}
    solids = {stem: mesh for stem, mesh in placed.items() if pieces[stem].kind not in SOFT_PIECES}
    for item in build.assembly.items:
        if item.kind not in SOFT_ITEMS:
            solids |= {numbered(build, item.name, at): mesh for at, mesh in zip(item.at, hardware(item), strict=True)}
    told = [height.value for height in job.heights if height.level == "room above"]
    return Yard(build, pieces, placed, solids, min(told, default=math.inf), sealed_area(build))


def _of_item(yard: Yard, item: Item) -> list[Passage]:
    """Back, on and in with the air; of several places the one that is freest."""
    if item.kind in SOFT_ITEMS:
        return [_in_its_groove(item.name, item.diameter)]
    back = [_item_back(yard, item, place) for place in range(len(item.at))]
    on = [_item_on(yard, item, place) for place in range(len(item.at))]
    found = [max(back, key=lambda one: (one.is_open, one.room - one.size)), max(on, key=lambda one: (one.is_open, one.room))]
    return found + ([_with_the_air(yard, item)] if found[0].ends == OUTSIDE else [])


def _item_back(yard: Yard, item: Item, place: int) -> Passage:
    """Straight out along the item's axis, as far as its thread reaches.  Of a washer the bolt over it is in the way."""
    own = numbered(yard.build, item.name, item.at[place])
    needed = _needed(yard, item, place)
    out = (-item.axis[0], -item.axis[1], -item.axis[2])
    free, by = _free_way(yard.solids[own], {name: mesh for name, mesh in yard.solids.items() if name != own}, out, needed)
    ends = CLEAN_SIDE if out[2] > 0 and _is_sealed(yard, item.at[place]) else OUTSIDE
    return Passage(item.name, tell("straight back from {spot}", spot=_spot(item.at[place])), free >= needed, free, needed, BACK,
                   by, ends, item.at[place], out)


def _needed(yard: Yard, item: Item, place: int) -> float:
    if item.kind not in ("bolt", "screw"):
        return item.length
    axis = np.asarray(item.axis, float)
    tip = float(np.asarray(item.at[place]) @ axis) + item.length
    last = yard.placed.get(item.through[-1]) if len(item.through) > 1 else None
    begins = float((last.vertices @ axis).min()) if last is not None else 0.0
    return max(tip - begins, STEP)


def _free_way(mesh: Mesh, others: Mapping[str, Mesh], out: Point3, needed: float) -> tuple[float, str]:
    """How far the body moves before it meets something (at most `needed`), and what it meets."""
    reach = np.vstack((mesh.vertices, mesh.vertices + needed * np.asarray(out, float)))
    low, high = reach.min(axis=0), reach.max(axis=0)
    near = {name: other for name, other in others.items()
            if (other.vertices.min(axis=0) < high).all() and (other.vertices.max(axis=0) > low).all()}
    if not near:
        return needed, ""
    steps = math.ceil(needed / STEP)
    way = way_in(mesh, near, out, needed, steps)
    if way.is_clear or way.blocked_at_distance is None:
        return needed, ""
    return max(way.blocked_at_distance - needed / steps, 0.0), (way.by or "").partition(" #")[0]


def _item_on(yard: Yard, item: Item, place: int) -> Passage:
    """On along its axis, head and all, through the narrowest hole it sits in; a hole that ends at the machine's face is shut."""
    at = item.at[place]
    hole = min((d for d in (_hole_at(yard, stem, at) for stem in item.through or tuple(yard.placed)) if d is not None),
               default=item.diameter)
    head = item.head_diameter
    sealed = _is_sealed(yard, at)
    shut = item.axis[2] > 0 and not sealed and yard.sealed is not None
    return Passage(item.name, tell("on through its hole at {spot}", spot=_spot(at)), hole >= head and not shut,
                   0.0 if shut else hole, head, ON, MACHINE_FACE if shut else tell("its head"),
                   CLEAN_SIDE if item.axis[2] > 0 else OUTSIDE, at, item.axis)


def _hole_at(yard: Yard, stem: str, at: Point3) -> float | None:
    """Diameter of the through hole of that piece at this place of the assembly, None where there is none."""
    place = next((one for one in yard.build.assembly.places if one.piece == stem), None)
    if place is None:
        return None
    x, y = at[0] - place.shift[0], at[1] - place.shift[1]
    here = (x, -y) if place.flipped else (x, y)
    found = [f.diameter for f in yard.pieces[stem].features if isinstance(f, Hole) and f.through
             and math.dist(f.center, here) < max(f.diameter / 2, _NEAR)]
    return min(found, default=None)


def _with_the_air(yard: Yard, item: Item) -> Passage:
    """From outside through the widest of the fitted pieces' openings; an element behind them stops it."""
    size = smallest_width(item)
    openings = [f for place in yard.build.assembly.places for f in yard.pieces[place.piece].features if isinstance(f, Opening)]
    if any(piece.kind == "filter_element" and stem in yard.placed for stem, piece in yard.pieces.items()):
        return Passage(item.name, tell("in with the air"), False, 0.0, size, AIR, tell("the filter element"), CLEAN_SIDE)
    if not openings:
        return Passage(item.name, tell("in with the air"), False, 0.0, size, AIR, tell("the closed cover"), CLEAN_SIDE)
    widest = max(openings, key=lambda opening: widest_gap(opening.chain, ()))
    room = widest_gap(widest.chain, ())
    return Passage(item.name, tell("in through {widest_id}", widest_id=widest.id), room >= size, room, size, AIR,
                   tell("the opening"), CLEAN_SIDE)


def _of_piece(yard: Yard, place: Place) -> list[Passage]:
    """A piece that was put in from the machine's side, straight back towards the machine; the foam as its bars let it."""
    piece = yard.pieces[place.piece]
    if place.comes_from[2] <= 0 or place.piece not in yard.placed:
        return []
    mesh = yard.placed[place.piece]
    if piece.kind == "gasket":
        return [_in_its_groove(place.piece, piece.thickness)]
    holders = {item.name for item in yard.build.assembly.items if place.piece in item.through}
    others = {name: other for name, other in yard.solids.items()
              if name != place.piece and name.partition(" #")[0] not in holders}
    needed = max(-float(mesh.vertices[:, 2].min()), STEP)
    free, by = _free_way(mesh, others, place.comes_from, needed)
    above = yard.room - float(mesh.vertices[:, 2].max())
    if above < free:
        free, by = max(above, 0.0), tell("the machine, in the room above")
    found = [Passage(place.piece, tell("straight out of its seat"), free >= needed, free, needed, BACK, by, CLEAN_SIDE,
                     _middle(mesh), place.comes_from)]
    bars, way = bars_of(yard.build)
    if piece.kind == "filter_element" and bars:
        # Its rim is held flat, so that it would have to pass as it lies.
        gap, side = widest_gap(way, bars), float(np.ptp(mesh.vertices[:, :2], axis=0).min())
        found.append(Passage(place.piece, tell("between the bars"), gap >= side, gap, side, AIR, BARS, CLEAN_SIDE, _middle(mesh)))
    return found


def _of_boss_screws(yard: Yard, job: Job) -> list[Passage]:
    """Screws in bosses on the machine's side back out towards the machine; only the room above their heads can stop them."""
    screw = job.wishes.screws or ScrewWish()
    passes = {row.name: row.passes for row in job.wishes.bosses}
    found = []
    for boss, place in boss_screws(yard.build):
        foot = place.shift[2] + (-boss.bottom if place.flipped else boss.top)
        free = max(min(yard.room - foot - passes.get(boss.id, 0.0) - screw.head_height, boss.engagement), 0.0)
        x, y = placed_point(boss.center, place)
        ends = CLEAN_SIDE if _is_sealed(yard, (x, y, foot)) else OUTSIDE
        found.append(Passage(translated(BOSS_SCREWS),
                             tell("straight back from boss {boss_id} at {spot}", boss_id=boss.id, spot=_spot((x, y, foot))),
                             free >= boss.engagement, free, boss.engagement, BACK, tell("the machine, in the room above"), ends,
                             (x, y, foot), (0.0, 0.0, 1.0)))
    return sorted(found, key=lambda way: (way.ends == CLEAN_SIDE, way.is_open, way.room))[-1:]


def placed_point(center: Point, place: Place) -> Point:
    """A point of a piece's own frame in the assembly."""
    return place.shift[0] + center[0], place.shift[1] + (-center[1] if place.flipped else center[1])


def _in_its_groove(name: str, height: float) -> Passage:
    """A seal lies between two faces that are bolted together: no way is open while they are."""
    return Passage(name, tell("out of the joint"), False, 0.0, height, BACK, MACHINE_FACE, CLEAN_SIDE)


def _middle(mesh: Mesh) -> Point3:
    """Middle of the box about a mesh."""
    x, y, z = (mesh.vertices.min(axis=0) + mesh.vertices.max(axis=0)) / 2.0
    return (float(x), float(y), float(z))


def _is_sealed(yard: Yard, at: Point3) -> bool:
    """Does this place lie within what the seal encloses?  Without a seal everything does."""
    return yard.sealed is None or yard.sealed.contains(Dot(at[0], at[1]))


def _spot(at: Point3) -> str:
    return f"({at[0]:.1f}, {at[1]:.1f})"
