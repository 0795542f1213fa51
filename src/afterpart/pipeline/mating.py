"""The mating part: its photograph measured as its own outline in JOB/mate, and laid on the cover.

`say` is called with a few words before each step that takes time.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from afterpart.checks.mate_face import Face, face_of_cover, face_of_drawing
from afterpart.checks.mate_match import match_mate
from afterpart.errors import JobError
from afterpart.files import check_folder, write_files
from afterpart.model.case import Case
from afterpart.model.job import Job
from afterpart.model.mate import WAYS, MateMatch
from afterpart.model.outline import Outline
from afterpart.model.store import mate_json, parse_build, read_stored
from afterpart.pipeline.folder import PIECES_FILE, Say, asked, outline_in_mm
from afterpart.pipeline.mate_picture import MATE_FOLDER, is_mate_current, mate_job
from afterpart.pipeline.measuring import measure, measure_where_needed, write_measurement
from afterpart.pipeline.speaking import in_language
from afterpart.release.mate_picture import mate_png, mate_sheet, mate_svg

MATE_WAYS = WAYS


@dataclass(frozen=True)
class Mated:
    """The mate laid on the cover.  outline: the mate's own, as measured; files: name -> contents, for the job folder."""

    job: Job
    outline: Outline
    match: MateMatch
    files: dict[str, bytes]


def mate_of(folder: Path, pieces: Path, say: Say) -> Mated:
    """The mate of the job in `folder`, laid on the cover in the folder `pieces`, or on the drawing where none is built there yet.
    Cover and mate are measured first where needed, and the measurements written: they are finished in themselves.

    Raises an AfterpartError when the job or a picture cannot be used, or none shows the mate; nothing of the match is written
    here."""
    job, folder = asked(folder)
    if not job.shots_of("mate"):
        raise JobError("photo.shows: found no photograph of the mate, expected one with shows = \"mate\". Photograph the face "
                       "that the part is bolted to (in place with a rule on it, alone on a sheet, or as an ink print) and add it "
                       "to the job. A used soft gasket is no gauge.")
    check_folder(folder)
    with in_language(job, folder, say):
        measure_where_needed(job, folder, say)
        outline = outline_in_mm(folder)
        face = _built_face(job, outline, pieces) or face_of_drawing(outline, job.wishes.bolts)
        mate, match = _matched(job, folder, face, outline, say)
        say("drawing")
        return Mated(job, mate, match, match_files(outline, match))


def write_mate(mated: Mated, folder: Path) -> None:
    """Put the match into the job's folder.  Raises FolderError when that cannot be done."""
    write_files(folder, mated.files)


def case_with_mate(case: Case, folder: Path, say: Say) -> Case:
    """The case with its mate laid on the cover as built, where a photograph of the job shows one, else as it is.  The mate's
    measurement is written where it is new."""
    if not case.job.shots_of("mate"):
        return case
    face = face_of_cover(case)
    if face is None or len(face.holes) < 2:
        face = face_of_drawing(case.outline, case.job.wishes.bolts)
    return replace(case, mate=_matched(case.job, folder, face, case.outline, say)[1])


def match_files(outline: Outline, match: MateMatch) -> dict[str, bytes]:
    """mate.json and its picture, as SVG and PNG."""
    sheet = mate_sheet(outline, match)
    return {"mate.json": mate_json(match), "mate.svg": mate_svg(sheet), "mate.png": mate_png(sheet)}


def _matched(job: Job, folder: Path, face: Face, outline: Outline, say: Say) -> tuple[Outline, MateMatch]:
    mate = _measured(job, folder, say)
    say("laying the mate on the cover")
    shown = next((shot.face for shot in job.shots_of("part")), "mating")
    return mate, match_mate(face, outline, mate, job.mate.way, shown)


def _built_face(job: Job, outline: Outline, pieces: Path) -> Face | None:
    """The cover as built, where there is one with bolt holes."""
    path = pieces / PIECES_FILE
    if not path.exists():
        return None
    face = face_of_cover(Case(job, outline, parse_build(read_stored(path), str(path))))
    return face if face is not None and len(face.holes) >= 2 else None


def is_match_current(job: Job, folder: Path) -> bool:
    """Is mate.json of the mate's photographs as they are told now, and no older than the drawing and the pieces?"""
    match, out = folder / "mate.json", folder / MATE_FOLDER
    try:
        made = match.stat().st_mtime_ns
        newer = [path for path in (folder / "outline.json", out / "outline.json", folder / "pieces" / PIECES_FILE)
                 if path.exists() and path.stat().st_mtime_ns > made]
        return not newer and is_mate_current(job, folder, folder)
    except (OSError, JobError):  # it is gone, or the job asks for what cannot be measured
        return False


def _measured(job: Job, folder: Path, say: Say) -> Outline:
    """The mate's outline in JOB/mate: measured there, unless the pictures and what is told about them have not changed."""
    out = folder / MATE_FOLDER
    check_folder(out)
    if not is_mate_current(job, folder, folder):
        say("the mate")
        write_measurement(measure(mate_job(job), folder, out, say), out)
    return outline_in_mm(out)
