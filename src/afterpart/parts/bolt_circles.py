"""Which of the recovered holes the bolts go through.

A round opening suits a thread when its diameter lies within SUITS of a clearance hole of that thread (ISO 273, any series).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.errors import JobError
from afterpart.model.outline import Circle, Outline
from afterpart.model.wishes import BoltWish
from afterpart.parts.face_region import loops_of_part
from afterpart.standards.clearance_holes import CLEARANCE_HOLES, ClearanceHole, clearance_hole
from afterpart.words import tell

SUITS = 0.3
"""How far a recovered hole may be from the table's, mm: moulding tolerance and the photograph's error together."""


def hole_row(bolts: BoltWish) -> ClearanceHole:
    """The thread's row of ISO 273.  JobError: the table has none."""
    try:
        return clearance_hole(bolts.thread)
    except KeyError:
        known = ", ".join(h.size for h in CLEARANCE_HOLES)
        raise JobError(tell("bolts.thread: found {thread!r}; the table of clearance holes knows {known}: give one of these",
                            thread=bolts.thread, known=known)) from None


def bolt_circles(outline: Outline, bolts: BoltWish, part: int = 1) -> tuple[Circle, ...]:
    """The circles named in bolts.holes, or every round opening the thread suits, in the drawing's order.

    JobError: an id that is no round opening; no opening suits the thread.
    """
    row = hole_row(bolts)
    circles = [loop.segments[0] for loop in loops_of_part(outline, part)[1] if isinstance(loop.segments[0], Circle)]
    places = ", ".join(tell("{c_id} of {radius:.1f} mm", c_id=c.id, radius=2 * c.radius) for c in circles) or "none"
    if bolts.holes:
        missing = [i for i in bolts.holes if i not in {c.id for c in circles}]
        if missing:
            raise JobError(tell("bolts.holes: found {missing}; the outline's round openings are {places}: name some of these, or "
                                "leave the key out", missing=", ".join(missing), places=places))
        return tuple(c for c in circles if c.id in bolts.holes)
    sizes = (row.fine, row.medium, row.coarse)
    found = tuple(c for c in circles if any(abs(2 * c.radius - size) <= SUITS for size in sizes))
    if not found:
        raise JobError(tell("bolts.thread: found {thread}, whose holes are {fine:g}, {medium:g} or {coarse:g} mm; the outline's "
                            "round openings are {places}: give the thread that suits, or name the holes in bolts.holes",
                            thread=bolts.thread, fine=row.fine, medium=row.medium, coarse=row.coarse, places=places))
    return found
