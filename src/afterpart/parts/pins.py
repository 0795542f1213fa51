"""Pins instead of a clamp frame: the element is stretched over tapered pins that stand on the ledge, and no frame covers it.

Words: *pins* are cones printed with the cover, in the middle of the element's rim; the element is cut smaller by STRETCH and
pushed over them, so that its tension keeps it there.
    pins on a side of length s:  n = ceil(s / PITCH), one of them in the corner where the side begins
Frame: the cover's; mm.
Limits: nothing but friction holds the element against a flow that pulls it off the ledge, which is what an inlet's flow does, so
this holder says so in a note; a pin that breaks off lies on the clean side of the floor.  Stretch, pitch and taper are judgement.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.errors import JobError
from afterpart.geometry.chain import counter_clockwise, polygon_chain
from afterpart.geometry.offset import offset_chain
from afterpart.model.edges import Note
from afterpart.model.feature import Seat
from afterpart.model.job import Job
from afterpart.model.outline import Line, Point
from afterpart.model.piece import Add, Cone
from afterpart.parts.seat import air_opening, filter_of
from afterpart.words import tell

PITCH = 15.0
"""Largest distance between two pins along a side."""
STRETCH = 0.03
"""By how much of its size the element is cut smaller than the place it is stretched to."""
FOOT_RADIUS = 1.6
TIP_RADIUS = 0.6
"""The taper: the foam slides on easily and a pin prints without support."""
LEDGE_BESIDE = 0.8
"""Ledge left on both sides of a pin's foot."""
SHORT_OF_TOP = 1.0
"""The pins end this much below the element's free face, so that no tip stands out."""


@dataclass(frozen=True)
class Pins:
    """What pins add to the cover and to the element.  steps: for the cover, after its pocket is cut; at: middles of the pins;
    cut_corners: the element as cut, smaller by STRETCH; height: of the pins over the ledge; notes."""

    steps: tuple[Add, ...]
    at: tuple[Point, ...]
    cut_corners: tuple[Point, ...]
    height: float
    notes: tuple[Note, ...]


def lay_pins(seat: Seat, element_corners: tuple[Point, ...], job: Job) -> Pins:
    """Pins round the element, in the middle of its rim.

    JobError: a rim too narrow for a pin's foot, or an element too thin to be held.
    """
    least = 2 * (FOOT_RADIUS + LEDGE_BESIDE)
    if seat.rim < least:
        raise JobError(tell("filter.rim: {rim:g} mm found, at least {least:g} mm expected for pins of {foot_radius:g} mm on the "
                            "ledge; widen the rim or take holder.kind = 'frame'", rim=seat.rim, least=least,
                            foot_radius=2 * FOOT_RADIUS))
    height = filter_of(job).thickness - SHORT_OF_TOP
    if height < 3 * FOOT_RADIUS:
        raise JobError(tell("filter.thickness: {thickness:g} mm found, at least {foot_radius:g} mm expected for pins that hold; "
                            "take a thicker element or holder.kind = 'frame'", thickness=filter_of(job).thickness,
                            foot_radius=3 * FOOT_RADIUS + SHORT_OF_TOP))
    air_opening(seat, element_corners, seat.rim)  # refuses an element that leaves the seat
    corners = tuple(counter_clockwise(polygon_chain(element_corners)))
    (inner,) = offset_chain(corners, -seat.rim / 2, "sharp")[:1]
    at = tuple(spot for side in inner if isinstance(side, Line) for spot in _along(side))
    cones = tuple(Cone(p, seat.ledge, seat.ledge + height, FOOT_RADIUS, TIP_RADIUS) for p in at)
    return Pins((Add(cones),), at, cut_smaller(element_corners), height, _notes(job, len(at)))


def cut_smaller(corners: tuple[Point, ...]) -> tuple[Point, ...]:
    """The element's corners drawn together by STRETCH about the middle of its corners."""
    x, y = sum(p[0] for p in corners) / len(corners), sum(p[1] for p in corners) / len(corners)
    return tuple((x + (p[0] - x) * (1 - STRETCH), y + (p[1] - y) * (1 - STRETCH)) for p in corners)


def _along(side: Line) -> tuple[Point, ...]:
    """Pins from a side's start, evenly spaced; its end belongs to the next side."""
    (x0, y0), (x1, y1) = side.start, side.end
    count = max(1, math.ceil(math.dist(side.start, side.end) / PITCH - 1e-9))
    return tuple((x0 + (x1 - x0) * k / count, y0 + (y1 - y0) * k / count) for k in range(count))


def _notes(job: Job, count: int) -> tuple[Note, ...]:
    return (Note("pins_hold_by_friction",
                 tell("{count} pins hold the element by its tension alone.  A flow into the machine pulls it off the ledge: use "
                      "pins only where the flow is slow or presses the element onto the ledge, and look after every run whether "
                      "it still sits; else take holder.kind = 'frame'.", count=count)),
            Note("pins_can_break",
                 tell("A printed pin of {material} can break off across its layers, and then lies loose on the clean side: bend "
                      "each by hand once before fitting, and do not use pins where the machine must not swallow a crumb.",
                      material=job.wishes.printer.material)),
            Note("pins_element_cut",
                 tell("Cut the element {stretch:.0%} smaller than the seat's shape and push it over the pins from one side to "
                      "the other.", stretch=STRETCH)))
