"""The cover: the old part's outline with its holes and openings, sealed, seated and marked anew.

From the outline: the edge with its fit, every hole and opening that is not dropped, bolts with their seats, the seal's groove,
the filter's pocket with the air's way through its floor, the frame's screws, a lip, a rounded entry, and texts on the outside.
Frame: the outside lies on the bed at z = 0, the mating face is z = thickness, x and y are the drawing's.  Everything opens
upwards or leans at 45 degrees at least, so the cover prints without supports but for bridges over sunk texts.
Limits: one part of the outline; walls are upright; what the old part had on its outside is not seen by the photograph.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

from afterpart.geometry.chain import chain_area, chain_polygon
from afterpart.geometry.one_way import OneWay, left_by_peg, ways_to_fit
from afterpart.model.edges import Note
from afterpart.model.feature import Chain, Feature, Groove, Hole, Lip, Opening, Peg, Seat, SeatKey
from afterpart.model.job import Job
from afterpart.model.outline import Circle, Outline
from afterpart.model.piece import Add, ChamferFirstLayer, Cone, Cut, Piece, PrintTime, Prism, Step
from afterpart.parts.bolt_holes import BEYOND
from afterpart.parts.bolt_torque import cover_torque, torque_line
from afterpart.parts.cover_bosses import lay_cover_bosses
from afterpart.parts.cover_plan import CoverPlan, plan_cover
from afterpart.parts.cover_text import OutsideText, free_outside, sink_text
from afterpart.parts.face_room import circle_chain
from afterpart.parts.groove import groove_cut
from afterpart.parts.machine_peg import land_of, lay_peg
from afterpart.parts.one_way_key import OneWayKey, key_steps
from afterpart.parts.print_time import pace_in_words, print_minutes
from afterpart.parts.seat_rib import key_above, pocket_beside
from afterpart.standards.clearance_holes import clearance_hole
from afterpart.words import tell


@dataclass(frozen=True)
class Extras:
    """What a holder of the filter adds to the cover: steps before the first layer's chamfer, and their features; key: the rib
    in the pocket."""

    steps: tuple[Step, ...] = ()
    features: tuple[Feature, ...] = ()
    notes: tuple[Note, ...] = ()
    key: SeatKey | None = None


def make_cover(outline: Outline, job: Job, groove: Groove | None = None, seat: Seat | None = None, extras: Extras = Extras(),
               part: int = 1) -> Piece:
    """The cover as a piece.  seat: with the air's opening as it is to be; extras: of pins or latches.

    JobError: a size that cannot work or a clash, naming the key and the place.
    """
    plan = plan_cover(outline, job, groove, seat, part)
    lip, chamfer = plan.edge.lip, plan.cover.first_layer_chamfer
    peg = lay_peg(outline, job, plan, groove, seat, part)
    key = key_steps(_left(wrong_ways(plan, job, groove, seat), peg.peg, plan, groove, seat), plan.cover, lip)
    text, told = _texts(plan, job, groove, key)
    bosses = lay_cover_bosses(job, plan.cover.thickness, plan.around)
    steps = (*_body_steps(plan, groove, seat, extras.key), *bosses.steps, *key.steps, *peg.steps, *extras.steps,
             *(plan.air.steps if plan.air else ()), *([ChamferFirstLayer(chamfer)] if chamfer > 0 else []), *text.steps)
    added = (*bosses.features, *((peg.peg,) if peg.peg is not None else ()), *((extras.key,) if extras.key is not None else ()))
    height = max(plan.cover.thickness, lip.top if lip is not None else 0.0, *(one.top for one in added))
    area = design_volume(plan, groove, seat) / height
    minutes = print_minutes(area, height)
    return Piece(
        kind="cover", name=job.name, file_stem="cover", revision=job.revision, steps=steps, thickness=height, labels=(),
        print_time=PrintTime(minutes, minutes, pace_in_words(area, height)),
        notes=(*plan.notes, *key.notes, *peg.notes, *told, *text.notes, *bosses.notes, *extras.notes),
        features=(*_features(plan, groove, seat), *added, *extras.features), through_holes=_ways_through(plan),
        material=job.wishes.printer.material,
        orientation=_lies(groove, seat, lip),
    )


def _lies(groove: Groove | None, seat: Seat | None, lip: Lip | None) -> str:
    """How it lies on the bed, and what of it looks up there."""
    told = []
    if groove is not None and seat is not None:
        told.append(tell("groove and pocket open upwards"))
    elif groove is not None:
        told.append(tell("groove opens upwards"))
    elif seat is not None:
        told.append(tell("pocket opens upwards"))
    told += [tell("the lip stands up")] if lip is not None else []
    return tell("outside on the bed, mating face up: {looks_up}", looks_up=", ".join([*told, tell("nothing needs supports")]))


def design_volume(plan: CoverPlan, groove: Groove | None, seat: Seat | None) -> float:
    """Volume as designed, mm3, by plane areas and heights; chamfers, the entry, rounded floors, texts, lugs,
    pegs and keys left out."""
    top = plan.cover.thickness
    ways = _ways(plan)
    volume = top * (_area(plan.edge.chain) - sum(_area(way) for way in ways))
    if plan.edge.lip is not None:
        volume += (plan.edge.lip.top - plan.edge.lip.bottom) * (_area(plan.edge.lip.outer) - _area(plan.edge.lip.inner))
    for outer, inner, depth in (*([(groove.outer, groove.inner, groove.depth)] if groove is not None else []),
                                *([plan.channel] if plan.channel is not None else [])):
        volume -= depth * (_area(outer) - _area(inner))
    if seat is not None:
        inside = (plan.air.opening.chain, *(circle_chain(h.center, h.diameter) for h in plan.screws)) if plan.air else ()
        volume -= (top - seat.ledge) * (_area(seat.pocket) - sum(_area(way) for way in inside))
    holes = {h.center: h for h in plan.bolts.holes}
    for cone in plan.bolts.cuts:
        volume -= _beyond_hole(cone, holes[cone.center].diameter / 2)
    return volume - sum((h.top - h.bottom) * math.pi / 4 * h.diameter**2 for h in plan.holes if not h.through)


def wrong_ways(plan: CoverPlan, job: Job, groove: Groove | None, seat: Seat | None) -> OneWay | None:
    """Which wrong ways the bolts allow; None where no bolts hold the cover, or nobody asked."""
    wish = job.wishes.bolts
    if wish is None or not plan.cover.one_way:
        return None
    ways = [chain_polygon(chain) for chain in _ways(plan) if not _is_bolt(chain, plan)]
    marks = [chain_polygon(c) for c in ((groove.centre,) if groove else ()) + ((seat.pocket,) if seat else ())]
    alike = not (groove or seat or plan.edge.lip or plan.channel or plan.bolts.cuts or plan.cover.number)
    meets = plan.edge.lip.clearance if plan.edge.lip is not None else (
        plan.roles.of("outer").clearance if plan.cover.fit != "flush" else None)
    return ways_to_fit(plan.bolts.holes, clearance_hole(wish.thread).nominal, chain_polygon(plan.edge.chain),
                       (*ways, *(m for m in marks if m.is_valid)), alike, meets)


def _left(ways: OneWay | None, peg: Peg | None, plan: CoverPlan, groove: Groove | None, seat: Seat | None) -> OneWay | None:
    """The wrong ways that no peg stops."""
    if ways is None or peg is None:
        return ways
    return left_by_peg(ways, peg.center, (peg.hole - peg.diameter) / 2, land_of(plan, groove, seat))


def _area(chain: Chain) -> float:
    return abs(chain_area(chain))


def _beyond_hole(cone: Cone, hole: float) -> float:
    """What a cone takes beyond the straight hole in it, above the outside, mm3."""
    slope = (cone.top_radius - cone.bottom_radius) / (cone.top - cone.bottom)
    low, high = max(cone.bottom, 0.0), cone.top
    a, b = (cone.bottom_radius + slope * (z - cone.bottom) for z in (low, high))
    return math.pi * (high - low) * ((a * a + a * b + b * b) / 3 - hole * hole)


def _is_bolt(chain: Chain, plan: CoverPlan) -> bool:
    return isinstance(chain[0], Circle) and chain[0].center in {h.center for h in plan.bolts.holes}


def _ways(plan: CoverPlan) -> list[Chain]:
    """Every way through the body: holes, openings that stay, the air's."""
    ways = [circle_chain(h.center, h.diameter) for h in plan.holes if h.through] + [chain for _, chain in plan.plain]
    return ways + ([plan.air.opening.chain] if plan.air is not None else [])


def _ways_through(plan: CoverPlan) -> int:
    """How many ways lead through the body, counted from the design."""
    return len(_ways(plan))


def _texts(plan: CoverPlan, job: Job, groove: Groove | None, key: OneWayKey) -> tuple[OutsideText, tuple[Note, ...]]:
    """Arrow and lines on the outside, and what is to be said of the torque."""
    torque = cover_torque(plan.bolts, job.wishes, groove)
    thread = job.wishes.bolts.thread if job.wishes.bolts is not None else ""
    number = (tell("{number} REV {revision}", number=plan.cover.number, revision=job.revision) if job.revision
              else plan.cover.number)
    lines = (*key.words, number if plan.cover.number else "",
             torque_line(torque.window, thread) if torque.window is not None else "")
    notes = torque.notes
    if plan.cover.arrow and plan.air is None:
        notes = (*notes,
                 Note("no_arrow", tell("cover.arrow is set, but the cover has no opening for the air ([inlet] or [filter]).")))
    seats = [(h.center, width) for h, width in zip(plan.bolts.holes, plan.bolts.heads, strict=True)]
    heads = tuple(circle_chain(center, width) for center, width in (*seats, *((f.center, f.outer) for f in plan.faces)))
    free = free_outside(plan.around, heads, plan.cover.first_layer_chamfer)
    entry = plan.air.entry if plan.cover.arrow and plan.air is not None else None
    return sink_text(lines, plan.cover.text_height, free, plan.around.edge, entry, key.top), notes


def _body_steps(plan: CoverPlan, groove: Groove | None, seat: Seat | None, key: SeatKey | None = None) -> tuple[Step, ...]:
    """The body with every way through, the lip, and everything cut from the mating face or the outside."""
    top = plan.cover.thickness
    steps: list[Step] = [Add((Prism(plan.edge.chain, tuple(_ways(plan)), 0.0, top),))]
    lip = plan.edge.lip
    if lip is not None:
        steps.append(Add((Prism(lip.outer, (lip.inner,), lip.bottom, lip.top),)))
    cuts: list[Prism | Cone] = list(plan.bolts.cuts)
    cuts += [Cone(h.center, h.bottom, h.top + BEYOND, h.diameter / 2, h.diameter / 2) for h in plan.holes if not h.through]
    if plan.channel is not None:
        cuts.append(Prism(plan.channel[0], (plan.channel[1],), top - plan.channel[2], top + BEYOND))
    if groove is not None:
        cuts += groove_cut(groove).prisms
    if seat is not None:
        cuts.append(Prism(pocket_beside(seat, key) if key is not None else seat.pocket, (), seat.ledge, top + BEYOND))
    return (*steps, *([Cut(tuple(cuts))] if cuts else []), *(key_above(seat, key, top) if seat is not None and key else ()))


def _features(plan: CoverPlan, groove: Groove | None, seat: Seat | None) -> tuple[Feature, ...]:
    top = plan.cover.thickness
    openings = [_opening(key, chain, top, plan.roles.of(key).role) for key, chain in plan.plain]
    found: list[Feature] = [*plan.bolts.holes, *plan.added, *plan.screws, *plan.faces, *plan.bolts.sleeves, *openings]
    if plan.air is not None:
        found.append(plan.air.opening)
    found += [f for f in (groove, replace(seat, opening=plan.air.opening.chain) if seat and plan.air else seat, plan.edge.lip)
              if f is not None]
    return tuple(found)


def _opening(key: str, chain: Chain, top: float, role: str) -> Hole | Opening:
    """A round opening that no bolt uses is a hole like any other."""
    first = chain[0]
    if isinstance(first, Circle):
        return Hole(key, first.center, 2 * first.radius, 0.0, top, "other", "", True, role)
    return Opening(key, chain, 0.0, top, 0.0, role)
