"""The seal groove in the cover's mating face: for a round cord that is bought, or for a ring printed in flexible filament.

Conventions: drawing frame; the groove is cut down from the mating face at height `thickness` of the cover's build frame; mm.
Sections are in groove_size.py, paths in groove_path.py, corners and lands in groove_course.py.
Limits: duties dust and liquid only (seal_duty.py); one groove; a flat seal needs none.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_points
from afterpart.model.edges import Note
from afterpart.model.feature import Groove, Hole
from afterpart.model.outline import Outline
from afterpart.model.piece import Cut, Prism
from afterpart.model.wishes import Wishes
from afterpart.parts.gasket_section import section_for
from afterpart.parts.groove_course import Course, Ground, lay
from afterpart.parts.groove_land import Land
from afterpart.parts.groove_notes import channel_notes, cord_notes, depth_note, ring_notes
from afterpart.parts.groove_path import channel_path
from afterpart.parts.groove_size import RING_WIDTH, depth_for, preferred_sizes, ring_size
from afterpart.parts.seal_duty import refuse_sizes, refuse_what_cannot_be_sealed
from afterpart.words import tell

_ABOVE = 1.0
"""How far a cutting body reaches over the face it cuts, mm."""


def lay_groove(outline: Outline, wishes: Wishes, bolt_holes: tuple[Hole, ...], thickness: float,
               channel_depth: float | None = None) -> tuple[Groove | None, tuple[Note, ...]]:
    """The groove that [seal] asks for in a cover of this thickness, None where it asks for none, and what the maker must know.

    channel_depth: of the recovered channel by depth rod, where the drawing does not carry it.
    JobError, naming key and place: the duty is pressure, a size cannot work, or the groove cannot lie where it is wanted.
    """
    seal = wishes.seal
    if seal is None or seal.kind == "none":
        return None, ()
    refuse_what_cannot_be_sealed(seal)
    refuse_sizes(seal)
    if seal.kind not in ("cord", "ring"):
        return None, ()
    ground = Ground(outline, wishes, seal, bolt_holes, thickness, channel_depth)
    groove, notes = _lay_ring(ground) if seal.kind == "ring" else _lay_cord(ground)
    return groove, (*notes, *(channel_notes(outline) if seal.path == "channel" else ()))


def groove_cut(groove: Groove) -> Cut:
    """The step that cuts the groove into a cover."""
    return Cut((Prism(groove.outer, (groove.inner,), groove.face - groove.depth, groove.face + _ABOVE,
                      bottom_round=groove.bottom_radius),))


def _lay_cord(ground: Ground) -> tuple[Groove, tuple[Note, ...]]:
    channel = None
    if ground.seal.path == "channel":
        path = channel_path(ground.outline)
        channel = (path.width or RING_WIDTH, ground.depth or path.depth)
    refused: list[Course] = []
    for size in preferred_sizes(ground.seal, ground.thickness, channel):
        course = lay(ground, size)
        if not course.complaints:
            return _groove(course, ground, size.cord), cord_notes(course, ground.seal.duty)
        refused.append(course)
    size = refused[0].size
    raise JobError(tell("seal.cord: a round cord of {cord:g} mm (groove {width:.2f} mm wide, {depth:.2f} mm deep) cannot lie "
                        "{where}: {complaints}.  {way_out}", cord=size.cord, width=size.width, depth=size.depth,
                        where=_where(ground), complaints="; ".join(refused[0].complaints), way_out=_way_out(ground)))


def _lay_ring(ground: Ground) -> tuple[Groove, tuple[Note, ...]]:
    width, depth = _ring_channel(ground)
    chosen = depth if depth is not None else depth_for(width, ground.thickness, ground.wishes.printer.layer)
    section = section_for(ground.seal, width, chosen, ground.wishes.printer)
    course = lay(ground, ring_size(width, chosen))
    if course.complaints:
        raise JobError(tell('seal.kind = "ring": a channel {width:.2f} mm wide and {chosen:.2f} mm deep cannot lie {where}: '
                            "{complaints}.  {way_out}", width=width, chosen=chosen, where=_where(ground),
                            complaints="; ".join(course.complaints), way_out=_way_out(ground)))
    notes = ring_notes(course, ground, section)
    if depth is None and ground.seal.path == "channel":
        notes = (*notes, depth_note(chosen))
    return _groove(course, ground, section.height), notes


def _ring_channel(ground: Ground) -> tuple[float, float | None]:
    """Width of the ring's channel, and its depth where it is known."""
    if ground.seal.path != "channel":
        return ground.seal.width or RING_WIDTH, None
    path = channel_path(ground.outline)
    return round(20 * (path.width or RING_WIDTH)) / 20, ground.depth or path.depth


def _groove(course: Course, ground: Ground, height: float) -> Groove:
    size, tightest = course.size, course.bends[0]
    outside, inside = course.lands.outside or _across(course), course.lands.inside or _across(course)
    return Groove(course.centre, course.outer, course.inner, size.width, size.depth, size.radius, ground.thickness, size.cord,
                  height, tightest.radius, tightest.at, outside.width, inside.width, ground.seal.duty, size.source, outside.at,
                  inside.at)


def _across(course: Course) -> Land:
    """Nothing is cut on that side: the solid face reaches at least half way across."""
    points = chain_points(course.inner)
    return Land(float(min(points.max(axis=0) - points.min(axis=0))) / 2, course.bends[0].at, tell("the middle"))


def _where(ground: Ground) -> str:
    named = {"channel": tell("in the recovered channel"), "outline": tell("inside the outer edge")}
    return named.get(ground.seal.path, tell("round opening {path}", path=ground.seal.path))


def _way_out(ground: Ground) -> str:
    if ground.seal.path != "channel":
        return tell("Change seal.path, seal.offset or seal.bolts, or take a narrower seal (seal.cord, seal.width)")
    if ground.seal.kind == "cord":
        return tell('Set seal.kind = "ring" (a printed ring follows any corner and needs less land), or seal.path = "outline" '
                    "(a new groove whose corners suit the cord)")
    return tell('Set seal.path = "outline" for a new groove, or correct cover.thickness')
