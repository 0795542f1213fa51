"""A peg on the cover's mating face that goes into a hole the machine really has, where the new cover has none.

Bolts alone may let a cover on in two ways; one more thing of the machine tells them apart.  The job names a hole of the old part
that is dropped from the new one (`cover.peg_in`): the machine's hole behind it, threaded or plain, takes the peg.
    peg = hole - 2 PLAY        hole  measured in the machine; else the tap drill of the bolts' thread where the old hole suits
                               that thread; else the old hole's diameter
Frame: the cover's; the peg grows upwards from the mating face and prints without supports; mm.
Limits: the photograph shows the old part, not the machine: that the hole is there, open and deep enough is the maker's to see.
A printed peg is weak across its layers: it tells the way, it carries nothing.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_polygon, contains, gap
from afterpart.model.edges import Note
from afterpart.model.feature import Groove, Peg, Seat
from afterpart.model.job import Job
from afterpart.model.outline import Circle, Outline
from afterpart.model.piece import Add, Cone, Step
from afterpart.model.wishes import BoltWish, CoverWish
from afterpart.parts.bolt_circles import SUITS
from afterpart.parts.cover_plan import CoverPlan
from afterpart.parts.face_region import loops_of_part
from afterpart.parts.face_room import circle_chain, is_in, place
from afterpart.standards.clearance_holes import clearance_hole
from afterpart.standards.threads import THREADS
from afterpart.words import tell

PLAY = 0.3
"""Between the peg and the machine's hole, mm all round: the peg tells, the bolts place."""
TIP = 0.5
"""45 degree tip, at most, mm."""
LEAST = 2.0
"""A thinner peg breaks when it is looked at, mm."""


@dataclass(frozen=True)
class MachinePeg:
    """What the peg adds to the cover; nothing where none is asked for."""

    peg: Peg | None = None
    steps: tuple[Step, ...] = ()
    notes: tuple[Note, ...] = ()


def lay_peg(outline: Outline, job: Job, plan: CoverPlan, groove: Groove | None, seat: Seat | None, part: int) -> MachinePeg:
    """The peg of `cover.peg_in`.

    JobError naming the key: no such round opening, one that is not dropped, a peg too thin, or over groove, pocket, hole or
    edge.
    """
    cover = plan.cover
    if not cover.peg_in:
        return MachinePeg()
    old = _old_hole(outline, plan, part)
    hole, whence = _machine_hole(old, cover, job.wishes.bolts)
    diameter, top = hole - 2 * PLAY, plan.cover.thickness + cover.peg_height
    if diameter < LEAST:
        raise JobError(tell("cover.peg_in: a hole of {hole:g} mm in the machine ({whence}) leaves a peg of {diameter:.1f} mm; at "
                            "least {least:g} mm expected; take a larger hole, or leave the key out", hole=hole, whence=whence,
                            diameter=diameter, least=LEAST))
    _refuse(old, diameter, plan, groove, seat)
    r, tip = diameter / 2, min(TIP, diameter / 4, cover.peg_height / 2)
    bottom = plan.cover.thickness
    shank = Cone(old.center, bottom - min(1.0, bottom / 2), top - tip, r, r)
    step = Add((shank, Cone(old.center, top - tip, top, r, r - tip)))
    note = _note(old, diameter, hole, whence, cover)
    return MachinePeg(Peg(cover.peg_in, old.center, diameter, bottom, top, hole), (step,), (note,))


def land_of(plan: CoverPlan, groove: Groove | None, seat: Seat | None) -> BaseGeometry:
    """Where the machine's face is taken to be: under the cover, outside of the seal and the pocket, no hole or opening."""
    land: BaseGeometry = chain_polygon(plan.edge.chain)
    ways = [chain for _, chain in plan.plain] + [circle_chain(h.center, h.diameter) for h in plan.holes]
    inside = ([groove.inner] if groove is not None else []) + ([seat.pocket] if seat is not None else [])
    for chain in (*ways, *inside, *([plan.air.opening.chain] if plan.air is not None else [])):
        land = land.difference(chain_polygon(chain))
    return land


def _old_hole(outline: Outline, plan: CoverPlan, part: int) -> Circle:
    key = plan.cover.peg_in
    circles = {s.id: s for loop in loops_of_part(outline, part)[1] if isinstance(s := loop.segments[0], Circle)}
    if key not in circles:
        known = ", ".join(circles) or "none"
        raise JobError(tell("cover.peg_in: found {key!r}; the outline's round openings are {known}: name the one that the "
                            "machine has a hole behind", key=key, known=known))
    if key not in plan.roles.dropped:
        raise JobError(tell("cover.peg_in: found {key!r}, which is still a hole of the cover; drop it with a [[change]] row "
                            "(feature = {key!r}, do = \"drop\"), for its place is the peg's", key=key))
    return circles[key]


def _machine_hole(old: Circle, cover: CoverWish, bolts: BoltWish | None) -> tuple[float, str]:
    """Diameter of the machine's hole, and where it is from."""
    if cover.peg_hole is not None:
        return cover.peg_hole, tell("as measured")
    row = clearance_hole(bolts.thread) if bolts is not None else None
    if row is not None and any(abs(2 * old.radius - size) <= SUITS for size in (row.fine, row.medium, row.coarse)):
        drill = next((t.tap_drill for t in THREADS if t.size == row.size), None)
        if drill is not None:
            return drill, tell("tap drill of {size}, from memory", size=row.size)
    return 2 * old.radius, tell("as wide as the old part's")


def _refuse(old: Circle, diameter: float, plan: CoverPlan, groove: Groove | None, seat: Seat | None) -> None:
    ring, at = circle_chain(old.center, diameter), place(old.center)
    if not contains(plan.edge.chain, ring):
        raise JobError(tell("cover.peg_in: a peg of {diameter:.1f} mm at {at} reaches beyond the cover's edge; leave the key out",
                            diameter=diameter, at=at))
    cuts = [(tell("the seal's groove"), groove.outer)] if groove is not None and not is_in(old.center, groove.inner) else []
    cuts += [(tell("the filter's pocket"), seat.pocket)] if seat is not None else []
    cuts += [(tell("the opening {key}", key=key), chain) for key, chain in plan.plain]
    cuts += [(tell("the hole {h_id}", h_id=h.id), circle_chain(h.center, h.diameter)) for h in plan.holes]
    for name, chain in cuts:
        if is_in(old.center, chain) or gap(ring, chain).distance <= 0:
            raise JobError(tell("cover.peg_in: a peg of {diameter:.1f} mm at {at} stands over {name}; leave the key out",
                                diameter=diameter, at=at, name=name))
    if groove is not None and is_in(old.center, groove.inner) and gap(ring, groove.inner).distance <= 0:
        raise JobError(tell("cover.peg_in: a peg of {diameter:.1f} mm at {at} stands over the seal's groove; leave the key out",
                            diameter=diameter, at=at))


def _note(old: Circle, diameter: float, hole: float, whence: str, cover: CoverWish) -> Note:
    return Note("peg_in_machine",
                tell("A peg of {diameter:.1f} mm, {peg_height:g} mm high, goes into the machine's hole at {place}, taken to be "
                     "{hole:g} mm wide ({whence}).  Before printing see that this hole is there, open and free, and deeper than "
                     "{peg_height:g} mm: measure both, and tell its width in cover.peg_hole.  Before each fitting see that the "
                     "peg is whole: a broken one lies on the machine's side.  It carries nothing.", diameter=diameter,
                     peg_height=cover.peg_height, place=place(old.center), hole=hole, whence=whence))
