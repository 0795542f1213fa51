"""What on a cover gets in each other's way: one error, naming the job's key and the place, for whatever cannot work.

Looked at in turn: floors under groove and pocket, openings against edge, groove and each other, every hole, what presses round
it, counterbores, and the lip.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

from afterpart.errors import JobError
from afterpart.geometry.chain import contains, gap
from afterpart.model.edges import Note
from afterpart.model.feature import BearingFace, Chain, Hole, Lip, Seat
from afterpart.model.wishes import CoverWish
from afterpart.parts.bolt_holes import Bolts
from afterpart.parts.face_room import (
    LEAST_WALL,
    Surroundings,
    circle_chain,
    is_in,
    place,
    refuse_counterbore,
    refuse_head,
    refuse_hole,
    refuse_hole_in_pocket,
    refuse_insert,
)
from afterpart.parts.lip import refuse_lip
from afterpart.words import tell

LEAST_FLOOR = 0.8
"""Thinnest floor under a groove or pocket: four layers, mm."""


def refuse_clashes(bolts: Bolts, added: tuple[Hole, ...], screws: tuple[Hole, ...], faces: tuple[BearingFace, ...],
                    around: Surroundings, cover: CoverWish, lip: Lip | None, seat: Seat | None) -> tuple[Note, ...]:
    """Every clash as one JobError; notes of what is only nearly one."""
    _refuse_floors(around, cover, seat)
    _refuse_openings(around)
    notes: list[Note] = []
    done: list[tuple[str, Chain]] = []
    entry = [(tell("the entry for the air"), around.entry)] if around.entry is not None else []
    for key, holes in (("bolts.holes", bolts.holes), ("[[hole]]", added), ("holder.screws", screws)):
        for hole in holes:
            if not math.isfinite(hole.diameter) or hole.diameter <= 0:
                raise JobError(tell("{key}: hole {hole_id} has a diameter of {diameter:g} mm; expected more than 0", key=key,
                                    hole_id=hole.id, diameter=hole.diameter))
            if key != "holder.screws":
                refuse_hole_in_pocket(hole, key, around)
            refuse_hole(hole, key, replace(around, openings=(*around.openings, *entry, *done)))
            done.append((tell("hole {hole_id}", hole_id=hole.id), circle_chain(hole.center, hole.diameter)))
    by_id = {h.id: h for h in (*bolts.holes, *screws)}
    for face in faces:
        rest = replace(around,
                       openings=(*around.openings, *((n, c) for n, c in done if n != tell("hole {hole_id}", hole_id=face.of))))
        notes += refuse_head(by_id[face.of], face.outer, "holder.screws" if face.of not in {b.id for b in bolts.holes}
                             else "bolts.head", rest)
    for hole, width in zip(bolts.holes, bolts.heads, strict=True):
        sunk = [c for c in bolts.cuts if c.center == hole.center]
        rest = replace(around,
                       openings=(*around.openings, *((n, c) for n, c in done if n != tell("hole {hole_id}", hole_id=hole.id))))
        if hole.purpose == "insert":
            refuse_insert(hole, width, rest)
        if sunk:
            refuse_counterbore(hole, width, max(c.top for c in sunk), cover.thickness, "bolts.seat", rest)
    if lip is not None:
        refuse_lip(lip, (*bolts.holes, *added), around.groove, around.pocket)
    return tuple(notes)


def _refuse_floors(around: Surroundings, cover: CoverWish, seat: Seat | None) -> None:
    if around.groove is not None and around.groove.depth > cover.thickness - LEAST_FLOOR:
        raise JobError(tell("cover.thickness: {thickness:g} mm under a seal groove {depth:g} mm deep; at least {depth_2:g} mm "
                            "are needed", thickness=cover.thickness, depth=around.groove.depth,
                            depth_2=around.groove.depth + LEAST_FLOOR))
    if seat is not None and not LEAST_FLOOR <= seat.ledge < cover.thickness:
        raise JobError(tell("cover.floor: the filter's ledge lies at {ledge:g} mm in a cover {thickness:g} mm thick; expected "
                            "{least_floor:g} mm to less than the thickness", ledge=seat.ledge, thickness=cover.thickness,
                            least_floor=LEAST_FLOOR))


def _refuse_openings(around: Surroundings) -> None:
    """JobError: an opening leaves the body, or meets another, the groove or the air's entry."""
    seen: list[tuple[str, Chain]] = [(tell("the entry for the air"), around.entry)] if around.entry is not None else []
    for name, chain in (*seen, *around.openings):
        near = gap(chain, around.edge)
        if not contains(around.edge, chain) or near.distance < LEAST_WALL:
            advice = (tell("make inlet.bellmouth smaller, or the filter's rim or land larger") if chain is around.entry
                      else tell("drop it with a [[change]] row, or choose another cover.fit"))
            raise JobError(tell("{name} leaves less than {least_wall:g} mm to the cover's edge at {place}; {advice}", name=name,
                                least_wall=LEAST_WALL, place=place(near.on_b), advice=advice))
    for name, chain in around.openings:
        for other, second in seen:
            near = gap(chain, second)
            if near.distance < LEAST_WALL or contains(chain, second) or contains(second, chain):
                raise JobError(tell("{name} and {other} meet at {place}: {least_wall:g} mm of plastic must stay between them; "
                                    "drop one with a [[change]] row, or make inlet.bellmouth smaller", name=name, other=other,
                                    place=place(near.on_a), least_wall=LEAST_WALL))
        seen.append((name, chain))
        if around.groove is not None:
            walls = [gap(chain, wall) for wall in (around.groove.outer, around.groove.inner)]
            near = min(walls, key=lambda g: g.distance)
            if near.distance <= 0 or (is_in(near.on_a, around.groove.outer) and not is_in(near.on_a, around.groove.inner)):
                raise JobError(tell("{name} breaks into the seal groove at {place}; lay the groove elsewhere (seal.path, "
                                    "seal.offset), or drop the opening with a [[change]] row", name=name, place=place(near.on_a)))
