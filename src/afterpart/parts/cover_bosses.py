"""Bosses on the cover's mating face that take the job's thread-forming screws: a handle, a guard or a holder is screwed there.

Each stands where the job puts it, as wide as the material's rule asks, with a blind pilot hole from its foot (its free end, on
the machine's side) that keeps the outside closed: a screw that comes loose stays on the machine's side, and the checks say so.
Frame: the cover's (outside at z = 0, mating face at its thickness); mm.
Limits: whether the machine has room for a boss is asked only of the heights card ("room above").
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.errors import JobError
from afterpart.geometry.chain import gap
from afterpart.model.edges import Note
from afterpart.model.feature import Boss, Hole
from afterpart.model.job import Job
from afterpart.model.piece import Add, Cone, Cut, Step
from afterpart.model.wishes import AddedBoss
from afterpart.parts.face_room import Surroundings, circle_chain, is_in, place, refuse_hole
from afterpart.parts.screw_boss import BossPlan, bore, plan_boss
from afterpart.words import tell

ROOT = 0.6
"""45 degree fillet at the foot of a boss, mm: layers part there first."""


@dataclass(frozen=True)
class CoverBosses:
    """What bosses add to the cover."""

    steps: tuple[Step, ...] = ()
    features: tuple[Boss, ...] = ()
    notes: tuple[Note, ...] = ()


def lay_cover_bosses(job: Job, thickness: float, around: Surroundings) -> CoverBosses:
    """The bosses of the job's [[boss]] rows on a cover of this thickness.

    JobError naming the row: it stands off the cover, over a hole, groove or pocket, another boss or against the machine, or its
    screw does not suit it.
    """
    rows = job.wishes.bosses
    if not rows:
        return CoverBosses()
    adds, cuts, features, notes = [], [], [], []
    for row in rows:
        if not row.height > ROOT:
            raise JobError(tell("[[boss]] name = {row!r}: height {height:g} mm found at {place}, more than {root:g} mm expected, "
                                "the fillet round its foot; make the boss higher, or leave it out", row=row.name,
                                height=row.height, place=place(row.at), root=ROOT))
        plan = plan_boss(job, row.passes, thickness + row.height,
                         tell("[[boss]] name = {row!r} at {place}, screws.length", row=row.name, place=place(row.at)),
                         tell("a higher boss (its height), a thicker cover (cover.thickness)"))
        _refuse(row, plan, job, around)
        foot, r = thickness + row.height, plan.diameter / 2
        adds += [Cone(row.at, thickness, foot, r, r), Cone(row.at, thickness, thickness + ROOT, r + ROOT, r)]
        cuts += bore(plan, row.at, foot)
        features.append(Boss(row.name, row.at, plan.diameter, thickness, foot, plan.pilot, plan.depth, plan.engagement, 1))
        notes += plan.notes
    _refuse_neighbours(rows, features)
    return CoverBosses((Add(tuple(adds)), Cut(tuple(cuts))), tuple(features), tuple(dict.fromkeys(notes)))


def _refuse(row: AddedBoss, plan: BossPlan, job: Job, around: Surroundings) -> None:
    key, wide = f"[[boss]] name = {row.name!r}", plan.diameter + 2 * ROOT
    refuse_hole(Hole(row.name, row.at, wide, 0.0, row.height, "pilot", ""), key, around)
    ring = circle_chain(row.at, wide)
    if around.pocket is not None and (is_in(row.at, around.pocket) or gap(ring, around.pocket).distance <= 0):
        raise JobError(tell("{key}: a boss of {diameter:g} mm at {place} stands over the filter's pocket; move it, or make the "
                            "pocket smaller (filter.land)", key=key, diameter=plan.diameter, place=place(row.at)))
    room = next((h.value for h in job.heights if h.level == "room above"), None)
    if room is not None and row.height > room:
        raise JobError(tell("{key}: height {height:g} mm found, but the machine leaves {room:g} mm above the face ([[height]] "
                            'level = "room above"); make the boss lower', key=key, height=row.height, room=room))


def _refuse_neighbours(rows: tuple[AddedBoss, ...], bosses: list[Boss]) -> None:
    for i, one in enumerate(bosses):
        for other in bosses[:i]:
            if gap(circle_chain(one.center, one.diameter), circle_chain(other.center, other.diameter)).distance <= 0:
                raise JobError(tell("[[boss]] {other_id!r} and {one_id!r} run into each other at {place}; move one of them",
                                    other_id=other.id, one_id=one.id, place=place(one.center)))
