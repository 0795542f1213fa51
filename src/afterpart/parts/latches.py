"""Latches: hooks on the cover that hold a clamp frame without fasteners.

Words: a *hook* is an upright cantilever on the ledge beside a foot of the frame; its *nose* reaches over the web's chamfered
edge with a slope of 45 degrees, which prints without support and rests on that chamfer; *reach*: how far the nose stands out.
    strain at the root = 1.5 h y / L^2     h  thickness at the root, y  how far the hook bends to let the web pass, L  length
    allowed            = USED sigma / E * k    sigma yield stress, E modulus, k share that is left across layers
The formula is that of an end-loaded cantilever of even section: w'' = F L / (E I), y = F L^3 / (3 E I), strain = h w'' / 2.
From the strain allowed comes the largest bend, and from it the reach.  Each hook takes a strip of the place a boss would have,
so the element's room stays as it is; the frame's feet are cut back by it.
Frames: hooks in the cover's, the frame's parts in the frame's own (clamp_frame.py); mm.
Limits: small strain; a 45 degree nose lets go when it is pulled hard, so it holds the foam's push and no more; upright hooks bend
across their layers, where prints are weakest, so plain printers get a warning.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_area, gap, move_chain, polygon_chain
from afterpart.geometry.region import Region, subtract
from afterpart.geometry.segments import segment_middle
from afterpart.model.edges import Note
from afterpart.model.feature import Chain, Latch, Seat, SeatKey
from afterpart.model.job import Job
from afterpart.model.outline import Arc, Point
from afterpart.model.piece import Add, Piece, Prism, Solid
from afterpart.parts.clamp_frame import CHAMFER, WEB_OVER, frame_piece, mirrored, web_outline
from afterpart.parts.screw_boss import rim_circle
from afterpart.parts.seat import filter_of, frame_height, holder_of, rounded_inside
from afterpart.standards.materials import Material, material
from afterpart.words import tell

THICKNESS = 1.6
"""Of a hook at its root: four usual lines."""
WIDTH = 5.0
PLAY = 0.3
"""Between a hook and the web or foot beside it."""
SLACK = 0.1
"""Play between the nose and the web's chamfer along z."""
MOST_BEND = 1.0
LEAST_BEND = 0.35
"""A nose that catches less than this lets go by itself."""
USED = 0.6
"""Share of the yield strain that a hook opened now and then may take (usual for snap hooks, from memory)."""
FLAT_OF_NOSE = 0.4
LEAST_FOOT = 2.4
"""Least thickness of the foot beside a hook."""
TIP = 1.0
"""Radius of the web's tips beside a hook."""
SMALL_CLEAN_SIDE = 2000.0
"""Opening under this area, mm2 (45 x 45 mm): a hand does not get at the hooks."""


@dataclass(frozen=True)
class Latches:
    """What latches add to the cover.  steps: after the pocket is cut; features; height: of the noses over the web's clean side;
    notes."""

    steps: tuple[Add, ...]
    features: tuple[Latch, ...]
    height: float
    notes: tuple[Note, ...]


def lay_latches(seat: Seat, job: Job) -> Latches:
    """One hook beside each of the frame's feet.

    JobError naming filter.thickness: hooks so short that the material's strain leaves them no catch; naming heights: noses that
    reach beyond the room above; or no feet to stand beside.
    """
    if not seat.bosses:
        raise JobError(tell("holder.kind: {holder_of_kind!r} found, whose seat has no feet; lay it for latches",
                            holder_of_kind=holder_of(job).kind))
    length = filter_of(job).thickness + holder_of(job).thickness
    bend = hook_bend(length, job)
    reach = bend + PLAY
    top = seat.ledge + length
    # Nose and chamfer lean alike: the slope starts so far below the web's face that the two planes lie SLACK apart.
    nose = top - CHAMFER - PLAY + SLACK
    nose_top = nose + 2 * reach + FLAT_OF_NOSE
    _refuse_no_room(job, frame_height(job) + nose_top - top)
    solids: list[Solid] = []
    features = []
    for at in seat.bosses:
        frame = _Radial.of(seat, at)
        stem, head = frame.box(frame.back, frame.front, WIDTH), frame.box(frame.back, frame.front + reach, WIDTH)
        solids.append(Prism(stem, (), seat.ledge, nose + reach + FLAT_OF_NOSE))
        solids.append(Prism(head, (), nose, nose_top, bottom_bevel=reach, top_bevel=reach))
        root = frame.at((frame.back + frame.front) / 2, 0.0)
        features.append(Latch(root, length, THICKNESS, WIDTH, bend, hook_strain(THICKNESS, bend, length)))
    return Latches((Add(tuple(solids)),), tuple(features), nose_top - top, _notes(job, seat, features[0]))


def make_latched_frame(seat: Seat, element_corners: tuple[Point, ...], job: Job, key: SeatKey | None = None) -> Piece:
    """The frame that the hooks hold: as the screwed one, its feet and web cut back where the hooks stand, without holes.

    JobError: as frame_piece; a boss too slim for hook and foot.
    """
    holder = holder_of(job)
    web, height = holder.thickness, holder.thickness + filter_of(job).thickness
    frames = [_Radial.of(seat, at) for at in seat.bosses]
    places = [_flipped(f.box(-2 * seat.boss_diameter, f.front + PLAY, WIDTH + 2 * PLAY)) for f in frames]
    beside = [_flipped(f.box(-2 * seat.boss_diameter, f.front + PLAY + WEB_OVER, 4 * seat.boss_diameter)) for f in frames]
    cut_back = _only(subtract(web_outline(seat, job), *places))
    outline = rounded_inside(cut_back, TIP) or cut_back
    feet = tuple(
        Prism(_only(subtract(rim_circle(mirrored(at), seat.boss_diameter), cut)), (), web, height)
        for at, cut in zip(seat.bosses, beside, strict=True)
    )
    note = Note("frame_latched",
                tell("Press the frame in until all {count} hooks close over its edge; to open, bend one hook after the other "
                     "outwards.  Count the hooks' noses each time: a missing one lies somewhere on the clean side.",
                     count=len(frames)))
    return frame_piece(seat, element_corners, job, outline, feet, (), (), (note,), key)


def hook_strain(thickness: float, bend: float, length: float) -> float:
    """Strain at the root of an end-loaded cantilever of even section: 1.5 h y / L^2 (a share, not percent)."""
    return 1.5 * thickness * bend / length**2


def allowed_strain(filament: Material) -> float:
    """USED times yield strain times what is left across layers, each at its safe end.  JobError: the material has no yield."""
    if filament.yield_stress is None or filament.modulus is None:
        raise JobError(tell("printer.material: {filament!r} found, which has no yield stress in the table; hooks cannot be "
                            "judged in it: take holder.kind = 'frame'", filament=filament.name))
    return USED * filament.yield_stress.low / filament.modulus.high * filament.interlayer_factor.low


def hook_bend(length: float, job: Job) -> float:
    """How far hooks of this length may bend: what the strain allows, MOST_BEND at most.  JobError: less than LEAST_BEND."""
    allowed = allowed_strain(_filament(job))
    bend = min(MOST_BEND, allowed * length**2 / (1.5 * THICKNESS))
    if bend < LEAST_BEND:
        needed = math.sqrt(1.5 * THICKNESS * LEAST_BEND / allowed)
        raise JobError(tell("filter.thickness, holder.thickness: {length:g} mm of hook found, at least {needed:.1f} mm expected: "
                            "bent by {least_bend:g} mm a shorter one of {material} passes the {allowed:.2%} of strain allowed "
                            "across layers; take a thicker element, another material, or holder.kind = 'frame'", length=length,
                            needed=needed, least_bend=LEAST_BEND, material=job.wishes.printer.material, allowed=allowed))
    return bend


@dataclass(frozen=True)
class _Radial:
    """Axes at a foot: u from the pocket's wall inwards through the foot's middle, v across.  back, front: of the hook along u."""

    center: Point
    u: Point
    back: float
    front: float

    @classmethod
    def of(cls, seat: Seat, at: Point) -> _Radial:
        r = seat.boss_diameter / 2
        # Hook, play and foot side by side in the disc: r + sqrt(r^2 - (w/2)^2) = k.
        k = THICKNESS + PLAY + WEB_OVER + LEAST_FOOT
        least = (k * k + WIDTH**2 / 4) / (2 * k)
        if r < least - 1e-9:
            raise JobError(tell("screws.boss: {r:g} mm found, at least {least:.2f} mm expected for a foot of {least_foot:g} mm "
                                "beside a hook of {thickness:g} x {width:g} mm; give a larger one, or take holder.kind = 'frame'",
                                r=2 * r, least=2 * least, least_foot=LEAST_FOOT, thickness=THICKNESS, width=WIDTH))
        back = -math.sqrt(r * r - WIDTH**2 / 4)
        front = back + THICKNESS
        return cls(at, _inwards(seat.pocket, at), back, front)

    def at(self, along: float, across: float) -> Point:
        (x, y), (ux, uy) = self.center, self.u
        return (x + along * ux - across * uy, y + along * uy + across * ux)

    def box(self, low: float, high: float, width: float) -> Chain:
        half = width / 2
        return polygon_chain((self.at(low, -half), self.at(high, -half), self.at(high, half), self.at(low, half)))


def _inwards(pocket: Chain, at: Point) -> Point:
    """Unit vector from the wall's nearest place to the foot's middle; from the middle of a corner that runs round the foot."""
    near = gap(rim_circle(at, 0.02), pocket).on_b
    for segment in pocket:
        if isinstance(segment, Arc) and math.dist(segment.center, at) < 1e-3:
            near = segment_middle(segment)
    length = math.dist(near, at)
    return ((at[0] - near[0]) / length, (at[1] - near[1]) / length)


def _refuse_no_room(job: Job, need: float) -> None:
    """Noses reach beyond the frame, for which the seat has made sure of room."""
    room = next((h.value for h in job.heights if h.level == "room above"), None)
    if room is not None and need > room:
        raise JobError(tell("heights, room above: {room:g} mm found, but the latches' noses reach {need:.2f} mm above the mating "
                            "face; take holder.kind = 'frame' or a thinner element", room=room, need=need))


def _only(regions: tuple[Region, ...]) -> Chain:
    """The largest of the regions: what else is left is a crumb beside a hook."""
    return regions[0].outer


def _flipped(chain: Chain) -> Chain:
    return move_chain(chain, (0.0, 0.0), mirror_y=True)


def _filament(job: Job) -> Material:
    try:
        return material(job.wishes.printer.material)
    except KeyError as error:
        raise JobError(tell("printer.material: {args}; hooks need one of these, or take holder.kind = 'frame'",
                            args=error.args[0])) from error


def _notes(job: Job, seat: Seat, hook: Latch) -> tuple[Note, ...]:
    filament = _filament(job)
    notes = [Note("latch_strain",
                  tell("Each hook ({length:g} mm long, {thickness:g} mm thick) bends {bend:.2f} mm to let the frame pass: "
                       "{strain:.2%} of strain, {allowed_strain:.2%} allowed in {filament} across layers (figures partly from "
                       "memory).", length=hook.length, thickness=hook.thickness, bend=hook.bend, strain=hook.strain,
                       allowed_strain=allowed_strain(filament), filament=filament.name)),
             Note("latch_plain_printer",
                  tell("Hooks stand upright and bend across their layers, the weakest way of a print.  On a plain printer take "
                       "holder.kind = 'frame'; else print one cover, open and close each hook ten times, and look at the "
                       "roots.")),
             Note("latch_can_break",
                  tell("The {count} noses stand on the clean side: one that breaks off goes into the machine.  Do not use "
                       "latches where the machine must not swallow a crumb.", count=len(seat.bosses)))]
    if abs(chain_area(seat.opening)) < SMALL_CLEAN_SIDE:
        notes.append(Note("latch_small_clean_side",
                          tell("The clean side is small (an opening of {chain_area:.0f} mm2): there is hardly room for a finger "
                               "to open the hooks, and a broken nose finds its way in at once.  Take holder.kind = 'frame'.",
                               chain_area=abs(chain_area(seat.opening)))))
    return tuple(notes)
