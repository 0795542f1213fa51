"""The mate's photographs as a job of their own, and whether that was measured as it is told now."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

from afterpart import __version__
from afterpart.errors import JobError
from afterpart.model.job import Job, Shot
from afterpart.model.release import ReleaseWish
from afterpart.pipeline.folder import job_beside
from afterpart.pipeline.questions import earlier_run, question_of

MATE_FOLDER = "mate"
"""Where in the job's folder the mate is measured."""

ON_PAPER = ("rubbing", "ink print")
"""Ways in which the mate's face is a mark on paper."""


def mate_job(job: Job) -> Job:
    """What is asked of the mate's photographs alone.  JobError as mate_shot's."""
    shots = tuple(mate_shot(shot, job.mate.way) for shot in job.shots_of("mate"))
    return Job(f"{job.name} mate", shots, origin=job.origin, drawn=job.drawn, release=ReleaseWish(language=job.release.language))


def is_mate_current(job: Job, folder: Path, out: Path) -> bool:
    """Is the measurement in OUT/mate of the mate's photographs, found relative to `folder`, as they are told now?  Without one:
    no.  JobError as mate_shot's."""
    own, there = mate_job(job), out / MATE_FOLDER
    if not own.shots:  # it was taken out of the job
        return False
    earlier, stored, photo = earlier_run(there), job_beside(there), folder / own.shots[0].file
    if earlier is None or stored is None or not (there / "outline.json").exists() or not photo.exists():
        return False
    sha256 = hashlib.sha256(photo.read_bytes()).hexdigest()
    return earlier.holds_for(sha256, own.shots[0], __version__) and question_of(own) == question_of(stored)


def mate_shot(shot: Shot, way: str) -> Shot:
    """A photograph of the mate as it is measured: by itself, like a part's.

    In place the rule lies on the face itself, so that its marks stand reference_height (its thickness) above that; face_height is
    how far the face stands out of what is round it, 0 where that is not told.  On paper the face is the paper.  JobError: a face
    height for something on paper, or none for a mate that stands on a sheet."""
    if way == "in place":
        height = shot.face_height or 0.0
        return replace(shot, shows="part", face="mating", face_height=height, reference_height=height + shot.reference_height)
    if way in ON_PAPER:
        if shot.face_height:
            raise JobError(f"photo.face_height: found {shot.face_height:g} mm for a mate shown {_said(way)}, expected none: it "
                           "lies flat on its paper. Leave it out.")
        return replace(shot, shows="part", face="mating", face_height=0.0, edge_radius=None)
    if shot.face_height is None and shot.scan_dpi is None:
        raise JobError("photo.face_height: found nothing for a mate that lies on the sheet, expected the height of its face "
                       "above the table: one 40 mm up looks 5 % larger from 0.8 m. Measure it by calliper.")
    return replace(shot, shows="part", face="mating")


def _said(way: str) -> str:
    return f"as {'an' if way == 'ink print' else 'a'} {way}"
