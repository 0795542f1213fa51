"""What holds the element: the clamp frame, pins or latches, as holder.kind asks, with all it adds to frame, cover and element.

Frames: the clamp frame in its own, steps and features for the cover in the cover's; mm.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.errors import JobError
from afterpart.model.edges import Note
from afterpart.model.feature import Feature, Seat
from afterpart.model.job import Job
from afterpart.model.outline import Point
from afterpart.model.piece import Piece, Step
from afterpart.parts.clamp_frame import make_frame
from afterpart.parts.latches import lay_latches, make_latched_frame
from afterpart.parts.pins import lay_pins
from afterpart.parts.seat import frame_height, frame_screw_faces, frame_screw_holes, holder_of

HOLDERS = ("frame", "pins", "latches")


@dataclass(frozen=True)
class Holder:
    """frame: the clamp frame, None for pins; cover_steps: to carry out on the cover after its pocket is cut; cover_features: the
    screws' holes and faces, or the hooks; cut_corners: the element as cut; height: of all this above the mating face; notes."""

    frame: Piece | None
    cover_steps: tuple[Step, ...]
    cover_features: tuple[Feature, ...]
    cut_corners: tuple[Point, ...]
    height: float
    notes: tuple[Note, ...]


def make_holder(seat: Seat, element_corners: tuple[Point, ...], job: Job) -> Holder:
    """The holder that holder.kind asks for.  The screws' holes are features only: whoever builds the cover cuts them.

    JobError: an unknown kind, no room above for it, or what the holder itself refuses.
    """
    kind, height = holder_of(job).kind, frame_height(job)
    if kind == "frame":
        frame = make_frame(seat, element_corners, job)
        return Holder(
            frame, (), (*frame_screw_holes(seat, job), *frame_screw_faces(seat, job)), element_corners, height, frame.notes
        )
    if kind == "latches":
        hooks = lay_latches(seat, job)
        frame = make_latched_frame(seat, element_corners, job)
        _refuse_no_room(job, height + hooks.height)
        return Holder(frame, hooks.steps, hooks.features, element_corners, height + hooks.height, (*frame.notes, *hooks.notes))
    if kind == "pins":
        pins = lay_pins(seat, element_corners, job)
        return Holder(None, pins.steps, (), pins.cut_corners, height, pins.notes)
    raise JobError(f"holder.kind: {kind!r} found, one of {', '.join(HOLDERS)} expected")


def _refuse_no_room(job: Job, need: float) -> None:
    """Hooks reach beyond the frame, for which lay_seat has made sure of room."""
    room = next((h.value for h in job.heights if h.level == "room above"), None)
    if room is not None and need > room:
        raise JobError(
            f"heights, room above: {room:g} mm found, but the latches' noses reach {need:.2f} mm above the mating face; take "
            "holder.kind = 'frame' or a thinner element"
        )
