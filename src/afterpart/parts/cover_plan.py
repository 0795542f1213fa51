"""What a cover consists of, decided before its first step: roles, bolts, edge and lip, openings, holes, the air's way.

Words: *shaped* openings are those that no bolt uses; they stay unless they are dropped, lie in the filter's pocket, or become
the air's way.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

from afterpart.errors import JobError
from afterpart.formulas.trial_sizes import own_trials
from afterpart.geometry.chain import contains, counter_clockwise, gap
from afterpart.geometry.offset import offset_chain
from afterpart.model.edges import ONE_WALL, TWO_WALLS, Note
from afterpart.model.feature import BearingFace, Chain, Groove, Hole, Seat
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.model.wishes import CoverWish, LipWish, Wishes
from afterpart.parts.bolt_holes import Bolts, place_bolts
from afterpart.parts.cover_clash import LEAST_FLOOR, refuse_clashes
from afterpart.parts.face_region import loops_of_part
from afterpart.parts.face_room import LEAST_WALL, Surroundings, circle_chain, place, with_room
from afterpart.parts.inlet import AirWay, lay_air_way
from afterpart.parts.lip import Edge, lay_edge
from afterpart.parts.roles import Roles, assign_roles, kept_outline, loop_key
from afterpart.parts.seat import frame_screw_faces, frame_screw_holes
from afterpart.parts.trials import EDGES, fit_from_trials
from afterpart.words import tell

LEAST_THICKNESS = 1.0
"""Thinner is no cover: five layers, mm."""


@dataclass(frozen=True)
class CoverPlan:
    """plain: openings that stay, by key; added, screws: holes beside the bolts'; faces: all that presses on the outside;
    around: everything on the faces, every hole included; channel: the old channel's walls and depth where it stays unsealed."""

    cover: CoverWish
    roles: Roles
    bolts: Bolts
    edge: Edge
    air: AirWay | None
    plain: tuple[tuple[str, Chain], ...]
    added: tuple[Hole, ...]
    screws: tuple[Hole, ...]
    faces: tuple[BearingFace, ...]
    around: Surroundings
    notes: tuple[Note, ...]
    channel: tuple[Chain, Chain, float] | None = None

    @property
    def holes(self) -> tuple[Hole, ...]:
        """Every hole: the bolts', added ones, the frame's screws."""
        return (*self.bolts.holes, *self.added, *self.screws)


def plan_cover(outline: Outline, job: Job, groove: Groove | None, seat: Seat | None, part: int) -> CoverPlan:
    """Decide everything.  The roles' own notes stay with the roles.

    JobError: a size that cannot work, or a clash, naming the key and the place.
    """
    if outline.unit != "mm":
        raise JobError(tell("the size of the part is unknown (the outline is in {unit}), so no cover can be made true to scale; "
                            "take the readings the outline asks for (next_readings) and measure again with --reading",
                            unit=outline.unit))
    wishes, cover = job.wishes, cover_wish(job)
    roles = assign_roles(outline, wishes, part)
    bolts = place_bolts(outline, wishes, roles, cover.thickness, part)
    outer, openings = loops_of_part(kept_outline(outline, roles), part)
    bolt_ids = {h.id for h in bolts.holes}
    shaped = {loop_key(loop): loop.segments for loop in openings if loop_key(loop) not in bolt_ids}
    ids = {s.id: loop_key(loop) for loop in openings for s in loop.segments}
    tried = fit_from_trials(own_trials(wishes), EDGES)
    fitted = replace(cover, clearance=tried.size) if tried is not None and tried.size is not None else cover
    edge = lay_edge(outer.segments, shaped, fitted, _lip_as_tried(wishes, fitted is not cover), _clearance(roles, "outer"),
                    _clearance(roles, "lip"), roles.of("lip").role if wishes.lip else "locates", ids)
    shaped |= dict([edge.narrowed] if edge.narrowed is not None else [])
    air = lay_air_way(wishes.inlet, shaped, ids, seat, cover.thickness)
    left, replaced = _left_beside_the_seat(shaped, seat, air)
    plain = tuple((key, _widened(key, chain, roles)) for key, chain in left.items())
    channel, channel_notes = _kept_channel(outline, job, roles, part)
    fit_notes = ([Note("fit_tried", tell("Clearance of the edge that meets the machine: {why}", why=tried.why))]
                 if tried is not None else [])
    notes = (*bolts.notes, *edge.notes, *fit_notes, *replaced, *(air.notes if air else ()), *channel_notes,
             *_levels_left_out(outline, part))
    return _with_holes(CoverPlan(cover, roles, bolts, edge, air, plain, (), (), bolts.bearing, Surroundings(edge.chain), notes,
                                 channel), job, groove, seat)


def _with_holes(plan: CoverPlan, job: Job, groove: Groove | None, seat: Seat | None) -> CoverPlan:
    """The plan with added holes and the frame's screws, everything looked at for clashes."""
    added = tuple(Hole(h.name, h.at, h.diameter, 0.0, plan.cover.thickness, "other", "", True, plan.roles.of(h.name).role)
                  for h in job.wishes.holes)
    screws = frame_screw_holes(seat, job) if seat is not None else ()
    faces = (*plan.faces, *(frame_screw_faces(seat, job) if seat is not None else ()))
    around = Surroundings(plan.edge.chain, tuple((tell("opening {key}", key=key), chain) for key, chain in plan.plain), groove,
                          seat.pocket if seat is not None else None, plan.air.entry if plan.air is not None else None)
    plan = replace(plan, added=added, screws=screws)
    told = refuse_clashes(plan.bolts, added, screws, faces, around, plan.cover, plan.edge.lip, seat)
    every = replace(around,
                    openings=(*around.openings,
                              *((tell("hole {h_id}", h_id=h.id), circle_chain(h.center, h.diameter)) for h in plan.holes)))
    return replace(plan, faces=with_room(faces, every), around=every, notes=(*plan.notes, *told))


def _lip_as_tried(wishes: Wishes, is_tried: bool) -> LipWish | None:
    """The lip wished for; its own clearance gives way to what the check plate's trial settled."""
    return replace(wishes.lip, clearance=None) if wishes.lip is not None and is_tried else wishes.lip


def _clearance(roles: Roles, key: str) -> float:
    """The clearance of a role, 0 where there is no such feature."""
    return next((f.clearance for f in roles.features if f.of == key), 0.0)


def _kept_channel(outline: Outline, job: Job, roles: Roles, part: int
                  ) -> tuple[tuple[Chain, Chain, float] | None, tuple[Note, ...]]:
    """The old channel's outer and inner wall and depth, where it stays without a seal in it."""
    seal = job.wishes.seal
    walls = {loop.wall: loop for loop in kept_outline(outline, roles).design if loop.wall in TWO_WALLS and loop.part == part}
    if set(walls) != set(TWO_WALLS) or (seal is not None and seal.kind != "none"):
        return None, ()
    told = [loop.depth for loop in walls.values()] + [h.value for h in job.heights if h.level == "channel floor"]
    depth = next((d for d in (*told, *(s.channel_depth for s in job.shots)) if d is not None), None)
    if depth is None:
        return None, (Note("channel_left_out",
                           tell("The old channel is not cut: its depth is not told ([[height]] level = "
                                '"channel floor", or channel_depth of the photo).')),)
    if not 0 < depth <= (job.wishes.cover or CoverWish()).thickness - LEAST_FLOOR:
        raise JobError(tell('[[height]] "channel floor": a channel {depth:g} mm deep in a cover {thickness:g} mm thick; '
                            "{least_floor:g} mm must stay under it", depth=depth,
                            thickness=(job.wishes.cover or CoverWish()).thickness, least_floor=LEAST_FLOOR))
    return (walls["outer"].segments, walls["inner"].segments, depth), ()


def _levels_left_out(outline: Outline, part: int) -> tuple[Note, ...]:
    """What to say of the old part's pockets and pads: the cover's face is flat there."""
    ids = [loop.segments[0].id for loop in outline.design if loop.part == part and loop.wall in ONE_WALL]
    if not ids:
        return ()
    return (Note("level_left_out", tell("The old part's pockets and pads (their walls begin at {ids}) are not made: the new "
                                        "cover is flat there. See that nothing on the machine needs them.", ids=", ".join(ids))),)


def cover_wish(job: Job) -> CoverWish:
    """The job's [cover], or the usual one, its sizes checked.  JobError: a size that cannot be."""
    cover = job.wishes.cover or CoverWish()
    for key, value, least in (("thickness", cover.thickness, LEAST_THICKNESS), ("floor", cover.floor, LEAST_FLOOR),
                              ("text_height", cover.text_height, 0.5)):
        if not math.isfinite(value) or value < least:
            raise JobError(tell("cover.{key}: found {value:g} mm; expected at least {least:g} mm", key=key, value=value,
                                least=least))
    if not 0.0 <= cover.first_layer_chamfer <= cover.thickness / 2:
        raise JobError(tell("cover.first_layer_chamfer: found {first_layer_chamfer:g} mm in a cover {thickness:g} mm thick; "
                            "expected 0 to half the thickness", first_layer_chamfer=cover.first_layer_chamfer,
                            thickness=cover.thickness))
    return cover


def _left_beside_the_seat(shaped: dict[str, Chain], seat: Seat | None, air: AirWay | None
                          ) -> tuple[dict[str, Chain], tuple[Note, ...]]:
    """The old openings that stay as they are: not the air's own, and none inside the filter's pocket."""
    left = {key: chain for key, chain in shaped.items() if air is None or key != air.key}
    notes = []
    for key, chain in tuple(left.items()) if seat is not None else ():
        if contains(seat.pocket, chain):
            del left[key]
            notes.append(Note("opening_replaced",
                              tell("The old opening {key} lies in the filter's pocket: the air's new opening takes its place.",
                                   key=key)))
        elif gap(chain, seat.pocket).distance < LEAST_WALL:
            at = gap(chain, seat.pocket).on_a
            raise JobError(tell("filter.land: the pocket breaks into the old opening {key} at {place}; drop the opening with a "
                                "[[change]] row, or make the pocket smaller", key=key, place=place(at)))
    return left, tuple(notes)


def _widened(key: str, chain: Chain, roles: Roles) -> Chain:
    """The old opening; wider by the clearance that a [[role]] row gives it."""
    told = roles.of(key).told_clearance
    if not told or roles.of(key).role not in ("clears", "locates"):
        return counter_clockwise(chain)
    found = offset_chain(chain, told)
    if len(found) != 1:
        raise JobError(tell("[[role]] of = {key!r}: the opening widened by {told:g} mm falls apart; make the clearance smaller",
                            key=key, told=told))
    return found[0]
