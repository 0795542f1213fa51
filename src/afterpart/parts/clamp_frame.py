"""The clamp frame: it places itself in the seat's corners and squeezes the element's rim onto the ledge.

Words: the *web* is the flat frame on the clean side; its *feet* are the bosses' free ends, which stand hard on the ledge and so
set the squeeze; the *rib* stands on the web over the element's rim.
    height of the feet over the web's underside = t        t  element's free thickness
    height of the rib  = q t                               q  squeeze: the rim is pressed to (1 - q) t
Screws come from the outside, through the cover's floor, into blind holes in the feet: a screw that comes loose can only back out
to the outside, and the boss stays closed towards the clean side.
Frame: as printed, clean side on the bed, feet upwards.  In the assembly the piece is turned over about the x axis, so here y is
that of the drawing with its sign changed; mm.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_area, move_chain, polygon_chain
from afterpart.geometry.offset import offset_chain
from afterpart.model.assembly import Point3
from afterpart.model.edges import Note
from afterpart.model.feature import Boss, Chain, Feature, Rib, Seat, SeatKey
from afterpart.model.job import Job
from afterpart.model.outline import Point
from afterpart.model.piece import Add, ChamferFirstLayer, Cone, Cut, Piece, PrintTime, Prism, Solid, Step
from afterpart.parts.print_time import pace_in_words, print_minutes
from afterpart.parts.screw_boss import bore, plan_boss
from afterpart.parts.seat import air_opening, cover_of, filter_of, frame_height, holder_of, largest
from afterpart.parts.seat_rib import notched
from afterpart.parts.support_bars import Bars, lay_bars
from afterpart.words import tell

CHAMFER = 0.4
WEB_OVER = 0.2
"""How far the web reaches beyond the feet: a foot whose wall ends just in the web's edge makes bodies that kernels spoil."""
WEB_CLEAR = 0.1
"""Least play of a web that dips into the pocket."""
RIB_BACK = 0.3
"""How far the rib stays inside the element's edge: it keeps clear of bosses and of the web's edge."""
FILE_STEM = "clamp_frame"


def make_frame(seat: Seat, element_corners: tuple[Point, ...], job: Job, key: SeatKey | None = None) -> Piece:
    """The clamp frame for this seat and element; key: the rib in the pocket, None where none is needed.

    JobError naming the key: screws too short or long for their bosses, rim or bars that leave no opening, no bosses.
    """
    element, holder = filter_of(job), holder_of(job)
    web, foot = holder.thickness, holder.thickness + element.thickness
    plan = plan_boss(job, seat.ledge, foot)
    if not seat.bosses:
        raise JobError(tell("holder.kind: {holder_kind!r} found, whose seat has no bosses to screw a clamp frame to; take "
                            "'frame'", holder_kind=holder.kind))
    centers = tuple(mirrored(at) for at in seat.bosses)
    r = seat.boss_diameter / 2
    bosses = tuple(Boss(tell("boss {i}", i=i), at, seat.boss_diameter, web, foot, plan.pilot, plan.depth, plan.engagement, 1)
                   for i, at in enumerate(centers, start=1))
    feet: tuple[Solid, ...] = tuple(Cone(at, web, foot, r, r) for at in centers)
    bores = Cut(tuple(hole for at in centers for hole in bore(plan, at, foot)))
    notes = (*plan.notes, *_notes(job, seat))
    return frame_piece(seat, element_corners, job, web_outline(seat, job), feet, (bores,), bosses, notes, key)


def frame_piece(
    seat: Seat,
    element_corners: tuple[Point, ...],
    job: Job,
    outline: Chain,
    feet: tuple[Solid, ...],
    cuts: tuple[Cut, ...],
    features: tuple[Feature, ...],
    notes: tuple[Note, ...],
    key: SeatKey | None = None,
) -> Piece:
    """Web, rib and bars with the given feet; outline, feet, cuts and features in the piece's own frame.

    JobError: rim or bars that leave no opening, or an element that leaves the seat.
    """
    element, holder = filter_of(job), holder_of(job)
    web, height = holder.thickness, holder.thickness + element.thickness
    opening = move_chain(air_opening(seat, element_corners, seat.rim), (0.0, 0.0), mirror_y=True)
    edge = largest(offset_chain(polygon_chain(element_corners), -RIB_BACK, "sharp"))
    assert edge is not None, "an element that leaves an opening is wider than twice RIB_BACK"
    rim = move_chain(edge, (0.0, 0.0), mirror_y=True)
    bars = lay_bars(opening, holder.free_span, holder.bar_width, 0.0, web)
    outline = notched(outline, key) if key is not None else outline
    rib = Rib(rim, opening, web, web + element.squeeze * element.thickness, element.squeeze)
    steps: tuple[Step, ...] = (
        Add((Prism(outline, bars.windows, 0.0, web), Prism(rim, (opening,), rib.bottom, rib.top), *feet)),
        *cuts,
        ChamferFirstLayer(CHAMFER),
    )
    area = _volume(outline, bars, rib, web, feet) / height
    return Piece(kind="clamp_frame", name=tell("{job} clamp frame", job=job.name), file_stem=FILE_STEM, revision=job.revision,
                 steps=steps, thickness=height, labels=(),
                 print_time=PrintTime(print_minutes(area, height), print_minutes(area, height), pace_in_words(area, height)),
                 notes=(*notes, *((_key_note(key),) if key is not None else ())), features=(*features, rib, *bars.bars),
                 through_holes=len(bars.windows), material=job.wishes.printer.material,
                 orientation=tell("clean side on the bed: rib and feet grow upwards and nothing hangs over; the screws pull "
                                  "across the layers"))


def web_outline(seat: Seat, job: Job) -> Chain:
    """Outer edge of the web in the piece's own frame: WEB_OVER beyond the feet, so that no foot ends on it.

    JobError: a web that dips into the pocket and would touch its wall, or nothing left of it."""
    clearance = holder_of(job).clearance
    inset = clearance - WEB_OVER
    if frame_height(job) < holder_of(job).thickness and inset < WEB_CLEAR - 1e-9:
        raise JobError(tell("holder.clearance: {clearance:g} mm found, at least {web_over:g} mm expected, for the web dips into "
                            "the pocket: make it larger, or take a thicker element", clearance=clearance,
                            web_over=WEB_OVER + WEB_CLEAR))
    made = largest(offset_chain(seat.pocket, -inset)) if inset else seat.pocket
    if made is None:
        raise JobError(tell("holder.clearance: {clearance:g} mm found, which leaves nothing of the web; make it smaller",
                            clearance=clearance))
    return move_chain(made, (0.0, 0.0), mirror_y=True)


def frame_shift(job: Job) -> Point3:
    """Where the frame, turned over, moves in the assembly frame: its clean side comes to lie frame_height above the joint."""
    return (0.0, 0.0, frame_height(job))


def screw_heads(seat: Seat, job: Job) -> tuple[Point3, ...]:
    """Where the screws' heads seat in the assembly frame: on the cover's outside; their tips point along +z."""
    return tuple((x, y, -cover_of(job).thickness) for x, y in seat.bosses)


def mirrored(point: Point) -> Point:
    """A point of the drawing in the frame's own build frame, and back."""
    return (point[0], -point[1])


def _volume(outline: Chain, bars: Bars, rib: Rib, web: float, feet: tuple[Solid, ...]) -> float:
    """Rough, for the print time: pilot holes and chamfers not taken off."""
    face = abs(chain_area(outline)) - sum(abs(chain_area(w)) for w in bars.windows)
    ring = abs(chain_area(rib.outer)) - abs(chain_area(rib.inner))
    standing = sum(
        (s.top - s.bottom) * (math.pi * s.bottom_radius**2 if isinstance(s, Cone) else abs(chain_area(s.outer))) for s in feet
    )
    return face * web + ring * (rib.top - rib.bottom) + standing


def _key_note(key: SeatKey) -> Note:
    return Note("frame_key",
                tell("The notch in the frame's edge goes over the rib on the pocket's wall at ({at:.1f}, {at_2:.1f}) of the "
                     "drawing: turned another way the frame stands on the rib and does not go down.", at=key.at[0],
                     at_2=key.at[1]))


def _notes(job: Job, seat: Seat) -> tuple[Note, ...]:
    element = filter_of(job)
    return (Note("frame_squeeze",
                 tell("The frame's feet stand on the ledge and press the element's rim from {thickness:g} to {squeeze:g} mm.  "
                      "Tighten its {count} screws until the feet and the heads touch; the assembly guide says by how many "
                      "degrees more, if at all. Turned further they strip the bosses.", thickness=element.thickness,
                      squeeze=(1 - element.squeeze) * element.thickness, count=len(seat.bosses))),
            Note("frame_screws_outside",
                 tell("The screws go in from the outside and end in closed bosses, so a loose one can only fall to the outside.  "
                      "Blow out swarf and check that nothing loose is left before the cover goes on the machine.")))
