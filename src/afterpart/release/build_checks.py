"""What is held against every body and against the assembly before anything is handed on.

What cannot be handed on is an error: a body that is invalid, open, in several lumps, whose mesh or STEP file says another
volume, or which has other ways through than designed; pieces that run into each other.  What the maker must only know of is a
note: faces that lean too far to print, a way in that is blocked, what the kernel could not make as asked.

Words: a *soft* part (foam, cord, flexible print) gives way where something presses on it; what it shares with a hard one is
its squeeze and no clash.  A screw that forms its thread, and an insert, share their thread with the piece they hold in.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from afterpart.errors import SolidError
from afterpart.model.assembly import Item
from afterpart.model.edges import Note
from afterpart.model.feature import Latch
from afterpart.model.piece import Piece
from afterpart.model.wishes import PrinterWish
from afterpart.release.put_together import Part
from afterpart.release.shown import spoken
from afterpart.release.words import word
from afterpart.solid.body import Body, StepFacts
from afterpart.solid.clash import clashes, way_in
from afterpart.solid.overhang import Overhang, overhangs

STEP_VOLUME_TOLERANCE = 1e-6
MESH_VOLUME_TOLERANCE = 1e-3
"""Largest relative difference of volume between a body and its STEP file, and between a body and its mesh."""
CIRCUMSCRIBED_TOLERANCE = 1e-2
"""The same for a mesh whose holes were asked to be drawn round their circles."""
CHECK_NOTES = ("overhang", "bridge", "blocked_way", "kernel_remark")
"""Codes of the notes made here: they are made anew with every build."""
CUT_KINDS = ("filter_element",)
"""Kinds of pieces that are cut from a sheet, not printed."""

_STEP = 1.0
"""Length of a step on the way in, mm: less than any wall is thick."""
_MOST_LISTED = 6
"""Places told one by one in a note."""
_SOFT_PIECES = ("filter_element", "gasket")
_SOFT_ITEMS = ("cord", "foam")
_FORMING = ("screw", "insert")
_THREAD_DEPTH = 0.3
"""A formed thread reaches no deeper than this share of the screw's diameter on either side (judgement)."""


def check_body(piece: Piece, body: Body, back: StepFacts, is_circumscribed: bool = False) -> None:
    """Raise SolidError, naming the piece, unless the body may be handed on.  back: its STEP file read back."""
    def refuse(found: str, advice: str) -> SolidError:
        return SolidError(f"{spoken(piece)} ({piece.file_stem}): {found}. {advice}")

    if not body.is_valid:
        raise refuse("found an invalid body, expected a valid one", "Correct tiny or crossing segments in its loops.")
    if body.solids != 1 or body.voids:
        raise refuse(f"found {body.solids} lumps with {body.voids} closed hollows, expected one lump without",
                     "Something stands apart from the rest, or a pocket is closed all round: change its sizes.")
    tolerance = CIRCUMSCRIBED_TOLERANCE if is_circumscribed else MESH_VOLUME_TOLERANCE
    if abs(body.mesh_volume - body.volume) > tolerance * body.volume:
        raise refuse(f"found a mesh of {body.mesh_volume:.3f} mm3, expected {body.volume:.3f} mm3 within {tolerance:.1%}",
                     "Correct tiny segments in its loops.")
    if piece.through_holes is not None and body.genus != piece.through_holes:
        raise refuse(f"found {body.genus} ways through the body, expected {piece.through_holes} as designed",
                     "A hole has run into another or is closed; after a change by hand, correct through_holes too.")
    if back.solids != body.solids or abs(back.volume - body.volume) > STEP_VOLUME_TOLERANCE * body.volume:
        raise refuse(f"found {back.solids} solids of {back.volume:.6f} mm3 in its STEP file, expected one of "
                     f"{body.volume:.6f} mm3", "Correct tiny segments in its loops.")


def print_notes(piece: Piece, body: Body, printer: PrinterWish) -> tuple[Note, ...]:
    """What the kernel could not make, and the faces that lean too far to be printed without support."""
    notes = [Note("kernel_remark", f"{spoken(piece)}: {remark}.") for remark in body.remarks]
    if piece.kind in CUT_KINDS:
        return tuple(notes)
    found = overhangs(body.mesh, printer.angle_deg)
    bridged = [face for face in found if face.kind == "bridge" and face.span <= printer.bridge]
    hanging = [face for face in found if face not in bridged]
    if hanging:
        notes.append(Note("overhang", word("pieces", "overhang", piece=spoken(piece), places=_listed(hanging),
                                           angle_deg=printer.angle_deg, bridge=printer.bridge)))
    if bridged:
        notes.append(Note("bridge", word("pieces", "bridge", piece=spoken(piece), places=_listed(bridged),
                                         widest=max(face.span for face in bridged))))
    return tuple(notes)


def _listed(faces: list[Overhang]) -> str:
    """Places of the faces in words, the largest first."""
    told = [word("pieces", "face", area=face.area, x=face.at[0], y=face.at[1], height=face.height) for face in faces]
    rest = len(told) - _MOST_LISTED
    return "; ".join((*told[:_MOST_LISTED], *([word("pieces", "faces_more", count=rest)] if rest > 0 else [])))


def check_assembly(parts: tuple[Part, ...]) -> tuple[Note, ...]:
    """Raise SolidError when hard parts run into each other; notes for ways in that are blocked."""
    hard = {str(part.number): part for part in parts if not _is_soft(part)}
    found = [clash for clash in clashes({number: part.shown().mesh for number, part in hard.items()})
             if clash.volume > _shared_by_thread(hard[clash.a], hard[clash.b])]
    if found:
        raise SolidError("; ".join(
            f"{hard[clash.a].label} and {hard[clash.b].label} run into each other by {clash.volume:.2f} mm3 about "
            f"({clash.at[0]:.1f}, {clash.at[1]:.1f}, {clash.at[2]:.1f})" for clash in found)
            + ". Change the sizes that put them there.")
    notes = (_way_note(hard, part) for part in hard.values())
    return tuple(note for note in notes if note is not None)


def _is_soft(part: Part) -> bool:
    return part.thing.kind in (*_SOFT_PIECES, *_SOFT_ITEMS)


def _shared_by_thread(one: Part, other: Part) -> float:
    """Volume that a formed thread may take of the piece it holds in, mm3: a tube round the shank as deep as the thread."""
    for screw, held in ((one.thing, other.thing), (other.thing, one.thing)):
        is_pair = isinstance(screw, Item) and isinstance(held, Piece) and screw.kind in _FORMING
        if is_pair and held.file_stem in screw.through[-1:]:
            return len(screw.at) * _thread_tube(screw)
    return 0.0


def _thread_tube(item: Item) -> float:
    outside = item.head_diameter if item.kind == "insert" else item.diameter
    core = outside - 2 * _THREAD_DEPTH * item.diameter
    return math.pi / 4 * (outside**2 - core**2) * item.length


def _bends_out_of_the_way(other: Part, away: float) -> bool:
    """Hooks let a frame pass over their own length; what is in the way farther out is no hook."""
    hooks = [feature for feature in other.thing.features if isinstance(feature, Latch)] if isinstance(other.thing, Piece) else []
    return any(away <= hook.length for hook in hooks)


def _way_note(hard: Mapping[str, Part], part: Part) -> Note | None:
    """A note when the part cannot be brought to its seat along a straight way, past all that is fitted before it."""
    before = {number: other for number, other in hard.items() if other.order < part.order}
    axis = np.array(part.comes_from)
    if not before or not axis.any():
        return None
    ends = np.vstack([mesh.vertices for other in (*before.values(), part) for mesh in other.meshes]) @ axis
    distance = float(np.ptp(ends))
    way = way_in(part.shown().mesh, {number: other.shown().mesh for number, other in before.items()}, part.comes_from,
                 distance, math.ceil(distance / _STEP))
    away = way.blocked_at_distance or 0.0
    if way.is_clear or way.by is None or _bends_out_of_the_way(before[way.by], away):
        return None
    return Note("blocked_way", word("pieces", "blocked_way", part=part.label, other=before[way.by].label, away=away))
