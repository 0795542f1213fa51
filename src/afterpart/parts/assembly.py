"""Where every piece sits, and what is bought to hold it: the cover on the machine, seen from the joint.

Frame: z = 0 in the joint, z into the machine (model/assembly.py).  Order of assembly: on the bench the element into the cover,
the frame over it, its screws from outside, the ring or cord into its groove; then the cover onto the machine, and its bolts.
Limits: the machine itself is not drawn; a bolt's length in it is the job's to tell, else ENGAGED diameters of thread are taken.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.geometry.chain import chain_length, chain_points
from afterpart.model.assembly import Assembly, Item, Place, Point3
from afterpart.model.feature import BearingFace, Boss, Groove, Hole, Seat
from afterpart.model.job import Job
from afterpart.model.piece import Piece
from afterpart.model.wishes import BoltWish
from afterpart.parts.bolt_holes import COUNTERSUNK, SUNK, Bolts
from afterpart.parts.clamp_frame import frame_shift, screw_heads
from afterpart.parts.screw_boss import screws_of
from afterpart.standards.bolt_lengths import BOLT_LENGTHS, bolt_length
from afterpart.standards.clearance_holes import clearance_hole
from afterpart.standards.fasteners import head, washer
from afterpart.words import tell, translated

ENGAGED = 1.5
"""Thread in the machine, in diameters, where the job does not tell (common practice for light alloy, from memory)."""

TIP_ROOM = 1.0
"""Between a bolt's tip and the end of the thread in the machine, mm: a tip that bottoms clamps nothing."""

OUTSIDE: Point3 = (0.0, 0.0, -1.0)
MACHINE: Point3 = (0.0, 0.0, 1.0)


@dataclass(frozen=True)
class Laid:
    """What the stage has decided: pieces by kind, and the features that items follow."""

    pieces: dict[str, Piece]
    thickness: float
    groove: Groove | None
    seat: Seat | None
    bolts: Bolts


def assemble(job: Job, laid: Laid) -> Assembly:
    """Places of the pieces that go together (guides and coupons do not), and the bought items."""
    return Assembly(tuple(_places(job, laid)), tuple(_items(job, laid)))


def _places(job: Job, laid: Laid) -> list[Place]:
    places = []
    cover, seat, groove = laid.pieces.get("cover"), laid.seat, laid.groove
    if cover is not None:
        places.append(Place(cover.file_stem, False, (0.0, 0.0, -laid.thickness), OUTSIDE, 1))
    if seat is not None and "filter_element" in laid.pieces:
        level = seat.ledge - laid.thickness
        places.append(Place(laid.pieces["filter_element"].file_stem, False, (0.0, 0.0, level), MACHINE, 2))
    if seat is not None and "clamp_frame" in laid.pieces:
        places.append(Place(laid.pieces["clamp_frame"].file_stem, True, frame_shift(job), MACHINE, 3))
    if "gasket" in laid.pieces:
        floor = -groove.depth if groove is not None else 0.0
        places.append(Place(laid.pieces["gasket"].file_stem, False, (0.0, 0.0, floor), MACHINE, 5))
    return places


def _items(job: Job, laid: Laid) -> list[Item]:
    cover = laid.pieces.get("cover")
    if cover is None:
        return []
    items = _frame_screws(job, laid, cover)
    if laid.groove is not None and laid.groove.cord:
        items.append(_cord(laid.groove, cover))
    wish = job.wishes.bolts
    if wish is not None and laid.bolts.holes and not wish.insert:
        items += _bolts(wish, laid, cover)
    return items


def _frame_screws(job: Job, laid: Laid, cover: Piece) -> list[Item]:
    frame, seat = laid.pieces.get("clamp_frame"), laid.seat
    if frame is None or seat is None or not any(isinstance(f, Boss) for f in frame.features):
        return []
    screw = screws_of(job)
    name = f"{translated(screw.name)} {screw.outside:g} x {screw.length:g}"
    return [Item("screw", name, screw_heads(seat, job), MACHINE, screw.outside, screw.length, screw.head_diameter,
                 screw.head_height, OUTSIDE, (cover.file_stem, frame.file_stem), 4)]


def _cord(groove: Groove, cover: Piece) -> Item:
    """The cord starts where its centre line does; it lies on the groove's floor."""
    x, y = chain_points(groove.centre, 0.5)[0]
    level = -groove.depth + groove.cord / 2
    length = chain_length(groove.centre)
    return Item("cord", tell("round cord {cord:g} mm, ring of {length:.0f} mm", cord=groove.cord, length=length),
                ((float(x), float(y), level),), MACHINE, groove.cord, length, groove.cord, groove.cord, MACHINE,
                (cover.file_stem,), 5)


def _bolts(wish: BoltWish, laid: Laid, cover: Piece) -> list[Item]:
    """One item for each length: bolts whose heads press at one height are alike.  A countersunk head begins SUNK below the
    outside and counts to the length."""
    kinds: list[Item] = []
    pressed = {face.of: face for face in laid.bolts.bearing if face.facing < 0}
    standard = COUNTERSUNK if wish.seat == "countersink" else wish.head
    size = head(standard, wish.thread)
    nominal = clearance_hole(wish.thread).nominal
    under = washer(wish.washer, wish.thread) if wish.washer else None
    is_sunk = standard == COUNTERSUNK
    levels = [SUNK if is_sunk else _level(hole, pressed) for hole in laid.bolts.holes]
    for level in sorted(set(levels)):
        at = [hole.center for hole, own in zip(laid.bolts.holes, levels, strict=True) if own == level]
        seat_z = level - laid.thickness
        head_z = seat_z - (under.thickness if under else 0.0)
        length = _length(wish, -head_z, nominal)
        kinds.append(Item("bolt", f"{standard} {wish.thread} x {length:g} {wish.property_class}",
                          tuple((x, y, head_z) for x, y in at), MACHINE, nominal, length, size.diameter,
                          0.0 if is_sunk else size.height, OUTSIDE, (cover.file_stem,), 8))
        if under is not None:
            kinds.append(Item("washer", f"{wish.washer} {wish.thread}", tuple((x, y, seat_z) for x, y in at), MACHINE,
                              under.inside, under.thickness, under.outside, under.thickness, OUTSIDE, (), 7))
    for outside, inside, length in dict.fromkeys((tube.outside, tube.inside, tube.length) for tube in laid.bolts.sleeves):
        places = tuple((*tube.center, -length) for tube in laid.bolts.sleeves
                       if (tube.outside, tube.inside, tube.length) == (outside, inside, length))
        kinds.append(Item("sleeve",
                          tell("steel sleeve {outside:g} / {inside:g} x {length:g}", outside=outside, inside=inside,
                               length=length), places, MACHINE, inside, length, outside, length, OUTSIDE, (cover.file_stem,), 6))
    return kinds


def _level(hole: Hole, pressed: dict[str, BearingFace]) -> float:
    """Height in the cover's frame at which head or washer presses."""
    return round(pressed[hole.id].z, 6) if hole.id in pressed else round(hole.bottom, 6)


def _length(wish: BoltWish, through: float, nominal: float) -> float:
    """The job's bolts; else the longest sold whose tip stays TIP_ROOM off the end of the thread told in the machine; else the
    shortest sold that reaches ENGAGED diameters into it."""
    if wish.length is not None:
        return wish.length
    if wish.grip_in_machine is not None:
        fitting = [length for length in BOLT_LENGTHS if through < length <= through + wish.grip_in_machine - TIP_ROOM]
        if fitting:
            return max(fitting)
    wanted = through + ENGAGED * nominal
    return bolt_length(wanted) or wanted
