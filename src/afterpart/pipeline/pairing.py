"""Cover and mate as a pair: what the mate's picture says of the places of the cover's holes.

The mate is laid on the cover's drawing as for the question whether it fits (checks/mate_match.py); which holes belong together
is all that is taken from there.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.mate_face import face_of_drawing, place_uncertainties, round_holes
from afterpart.checks.mate_match import match_mate
from afterpart.errors import JobError
from afterpart.model.edges import Note, Witness, WitnessHole
from afterpart.model.job import Job
from afterpart.model.outline import Datum, Outline, Point
from afterpart.words import tell

MATE_UNUSED = "mate_unused"

MADE_RELATIVE_U = 0.0005
"""Relative standard uncertainty of one part's size against the other's: a moulding's against its drawing (judgement)."""


def witness_of(job: Job, outline: Outline, mate: Outline) -> Witness:
    """What the mate says of the holes of the cover.  JobError: the two do not lie on each other, or a size is not known."""
    if outline.unit != "mm" or mate.unit != "mm":
        raise JobError("photo.shows: found a drawing of unknown size, expected both in mm. Lay a sheet or a rule beside each.")
    shown = next((shot.face for shot in job.shots_of("part")), "mating")
    match = match_mate(face_of_drawing(outline, job.wishes.bolts), outline, mate, job.mate.way, shown)
    ours = {circle.id: circle for circle in round_holes([loop for loop in outline.measured if loop.part == 1])}
    circles = round_holes([loop for loop in mate.measured if loop.part == 1])
    u = dict(zip((c.id for c in circles), place_uncertainties(mate, tuple(c.id for c in circles)), strict=True))
    theirs = {circle.id: circle for circle in circles}
    holes = tuple(WitnessHole(_in_photo(ours[hole.cover].center, outline.datum), theirs[hole.mate].center, float(u[hole.mate]))
                  for hole in match.holes if hole.cover in ours)
    return Witness(holes, match.laying.mirrored, math.hypot(mate.reference.relative_u, MADE_RELATIVE_U))


def _in_photo(point: Point, datum: Datum) -> Point:
    """A point of the drawing in the frame of the edges."""
    c, s = math.cos(math.radians(datum.angle_deg)), math.sin(math.radians(datum.angle_deg))
    return datum.origin[0] + c * point[0] - s * point[1], datum.origin[1] + s * point[0] + c * point[1]


def mate_unused(why: str) -> Note:
    """What to say where the mate's picture could not be heard."""
    return Note(MATE_UNUSED, tell("The mate's photograph says nothing of the design: {why}", why=why))
