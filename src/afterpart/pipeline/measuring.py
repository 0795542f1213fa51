"""From a photograph to an outline: the stages job, photo and outline in a row, and what an earlier run left in the folder.

`say` is called with a few words before each step that takes time.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

from afterpart import __version__
from afterpart.errors import AfterpartError, JobError, UsageError
from afterpart.files import check_folder, replace_file, write_files
from afterpart.formulas.reported_sizes import pooled_readings
from afterpart.job.read import read_job
from afterpart.model.edges import EdgeMap
from afterpart.model.job import LEVELS, Height, Job, Reading, Shot
from afterpart.model.outline import Outline
from afterpart.model.store import EdgeRecord, PhotoRecord, edges_json, job_json, outline_json, parse_outline, read_stored
from afterpart.outline.follow import follow_rims
from afterpart.outline.otherface import other_face_of
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.photo.damage import leave_out_damage
from afterpart.photo.load import Picture, load_picture
from afterpart.photo.overlay import overlay_png
from afterpart.photo.secondlook import look_again
from afterpart.photo.stage import recover_edges
from afterpart.pipeline.asking import with_asked_openings
from afterpart.pipeline.folder import Say, job_beside, title
from afterpart.pipeline.mate_picture import MATE_FOLDER, is_mate_current, mate_job
from afterpart.pipeline.pairing import MATE_UNUSED, mate_unused, witness_of
from afterpart.pipeline.questions import earlier_run, question_of
from afterpart.pipeline.several import edges_together
from afterpart.pipeline.speaking import in_language
from afterpart.release.drawing import drawing_pdf
from afterpart.release.dxf import outline_dxf
from afterpart.release.heights_card import heights_of, heights_pdf, missing_heights
from afterpart.release.svg import outline_svg
from afterpart.release.target import target_pdf


@dataclass(frozen=True)
class Measurement:
    """One finished measurement.  job: as solved; files: name -> contents, complete; edges_reused: True when an earlier run's
    edges were taken; mate: the mate's own, where it was measured too."""

    job: Job
    outline: Outline
    edges: EdgeMap
    files: dict[str, bytes]
    edges_reused: bool
    mate: Measurement | None = None


def job_of_photo(shot: Shot, readings: tuple[Reading, ...]) -> Job:
    """The job a command line alone describes: one photo, named after its file."""
    return Job(name=Path(shot.file).stem.replace("_", " "), shots=(shot,), readings=readings)


def job_of_folder(folder: Path, readings: tuple[Reading, ...]) -> Job:
    """The job of a job folder, with the readings typed now added; a typed one replaces the job's of the same dimension."""
    job = read_job(folder)
    merged = {reading.id: reading for reading in (*job.readings, *readings)}
    return replace(job, readings=tuple(merged.values()))


def measure(job: Job, folder: Path, out: Path, say: Say) -> Measurement:
    """Measure the job's photographs of the part, found relative to `folder`, and of its mate, whose places of holes the design
    hears; edges an earlier run left in `out` are used again when they were measured from the same pictures with the same shots.

    Raises an AfterpartError when the picture or the job cannot be used; nothing is written here.
    """
    check_folder(out)
    with in_language(job, folder, say):
        return _measured(job, folder, out, say)


def _measured(job: Job, folder: Path, out: Path, say: Say) -> Measurement:
    say("opening the picture")
    picture = load_picture(folder / job.shots[0].file, job.shots[0])
    earlier = earlier_run(out)
    job = as_told_before(job, picture.sha256, earlier)
    shot = job.shots[0]
    shots = job.shots_of("part")
    reuse = (earlier is not None and earlier.holds_for(picture.sha256, shot, __version__) and _is_in_language_of(job, out)
             and _are_the_same(earlier, shots, folder))
    photos: tuple[PhotoRecord, ...] = ()
    if earlier is not None and reuse:
        edges, photos = earlier.edges, earlier.all
    elif len(shots) > 1:
        edges, photos = edges_together(shots, folder, say)
    else:
        edges = edges_of(picture, shot, say)
    edges = with_asked_openings(job, picture, edges)
    edges = replace(edges, witness=None, notes=tuple(note for note in edges.notes if note.code != MATE_UNUSED))
    say("fitting lines, arcs and circles")
    outline = complete(outline_of(edges, job), edges, job)
    mate: Measurement | None = None
    if job.shots_of("mate"):
        mate, edges = _heard(job, folder, out, edges, outline, say)
        outline = complete(outline_of(edges, job), edges, job)
    say("drawing")
    record = EdgeRecord(picture.sha256, job.shots[0], __version__, edges, photos)
    return Measurement(job, outline, edges, _measurement_files(job, picture, record, outline), reuse, mate)


def _heard(job: Job, folder: Path, out: Path, edges: EdgeMap, outline: Outline,
           say: Say) -> tuple[Measurement | None, EdgeMap]:
    """The mate's measurement, None where it is there already or cannot be made, and the edges with what it says of the holes, or
    with a note where it says nothing."""
    mate: Measurement | None = None
    try:
        own = mate_job(job)
        if not is_mate_current(job, folder, out):
            say("the mate")
            mate = measure(own, folder, out / MATE_FOLDER, say)
        found = mate.outline if mate is not None else parse_outline(read_stored(out / MATE_FOLDER / "outline.json"))
        return mate, replace(edges, witness=witness_of(job, outline, found))
    except AfterpartError as error:
        return mate, replace(edges, notes=(*edges.notes, mate_unused(str(error))))


def _is_in_language_of(job: Job, out: Path) -> bool:
    """Are the notes of the stored edges in this job's language?"""
    stored = job_beside(out)
    return stored is None or stored.release.language == job.release.language


def _are_the_same(earlier: EdgeRecord, shots: tuple[Shot, ...], folder: Path) -> bool:
    """Are the stored edges of these photographs, byte for byte?"""
    if not earlier.holds_for_all(shots):
        return False
    try:
        return all(hashlib.sha256((folder / one.shot.file).read_bytes()).hexdigest() == one.sha256 for one in earlier.all)
    except OSError:
        return False


def edges_of(picture: Picture, shot: Shot, say: Say) -> EdgeMap:
    """The rims of one photograph: found, then looked at again along the lines and arcs fitted to them.

    Raises an AfterpartError when the picture cannot be measured."""
    say("finding the reference, the camera and the part's rims")
    edges = leave_out_damage(recover_edges(picture, shot), shot.damage)
    say("looking again along the fitted lines and arcs")
    return leave_out_damage(look_again(picture, edges, follow_rims(edges, OutlineSettings())), shot.damage)


def write_measurement(measurement: Measurement, out: Path) -> None:
    """Put the measurement's files into `out`.  Raises FolderError when that cannot be done."""
    write_files(out, measurement.files)
    if measurement.mate is not None:
        check_folder(out / MATE_FOLDER)
        write_files(out / MATE_FOLDER, measurement.mate.files)


def measure_where_needed(job: Job, folder: Path, say: Say) -> None:
    """Measure into `folder` unless the outline there is of this photo and of what is told about it now."""
    if is_measured(job, folder, folder):
        return
    stored = job_beside(folder)
    told = {reading.id: reading for reading in (*(stored.readings if stored else ()), *job.readings)}
    result = measure(replace(job, readings=tuple(told.values())), folder, folder, say)
    say("writing the measurement")
    write_measurement(result, folder)


def is_measured(job: Job, folder: Path, out: Path) -> bool:
    """Does the outline in `out` answer the question of this job, whose photographs are found relative to `folder`?  An outline
    without the job or edges it came from was put there by hand, and stands."""
    if not (out / "outline.json").exists():
        return False
    stored, earlier = job_beside(out), earlier_run(out)
    return stored is None or earlier is None or not (_is_outdated(job, stored, earlier, folder) or
                                                     _is_mate_outdated(job, folder, out))


def _is_mate_outdated(job: Job, folder: Path, out: Path) -> bool:
    """Is there a measurement of the mate in `out` that is not of its picture as it is now?"""
    there = (out / MATE_FOLDER / "outline.json").exists()
    return bool(job.shots_of("mate")) and there and not is_mate_current(job, folder, out)


def _is_outdated(job: Job, stored: Job, earlier: EdgeRecord, folder: Path) -> bool:
    """Would measuring the job now answer another question than the one stored?"""
    if not earlier.holds_for_all(job.shots_of("part")):
        return True
    photo = folder / job.shots[0].file
    if photo.exists() and hashlib.sha256(photo.read_bytes()).hexdigest() != earlier.photo_sha256:
        return True
    is_asked_anew = any(reading not in stored.readings for reading in job.readings)
    return is_asked_anew or question_of(replace(job, readings=())) != question_of(replace(stored, readings=()))


def as_told_before(job: Job, photo_sha256: str, earlier: EdgeRecord | None) -> Job:
    """Readings given alone belong to the earlier run on this picture: what was told about the photo then still holds."""
    if earlier is None or not job.readings or job.shots[0].is_told or earlier.photo_sha256 != photo_sha256:
        return job
    return replace(job, shots=(replace(earlier.shot, file=job.shots[0].file), *job.shots[1:]))


def settings_of(job: Job) -> OutlineSettings:
    """What the outline stage is told of a job: its readings sharpened by the sizes that others reported."""
    readings = pooled_readings(job.readings, job.fit_reports).readings
    return OutlineSettings(readings=readings, datum=job.datum, origin=job.origin, drawn=job.drawn, fixed=job.fixed,
                           corrections=job.corrections)


def outline_of(edges: EdgeMap, job: Job) -> Outline:
    """The outline of the rims with what the job tells.  JobError: a reading, report or datum names what it does not have."""
    try:
        return recover_outline(edges, settings_of(job))
    except UsageError as error:  # a reading or datum names what this outline does not have: the command line alone was right
        more = " Look at fit_report.sizes too." if any(report.sizes for report in job.fit_reports) else ""
        raise JobError(f"{error}{more}") from error


def complete(outline: Outline, edges: EdgeMap, job: Job) -> Outline:
    """The outline with its camera, the photographs and heights behind it and its other face, and notes where heights are missing
    or others' sizes were pooled in."""
    notes = outline.notes + pooled_readings(job.readings, job.fit_reports).notes
    notes += tuple(missing_heights(outline, known_heights(job, edges)))
    return replace(outline, camera=edges.camera, notes=notes, photos=edges.photos, heights=edges.levels,
                   other_face=other_face_of(edges, outline.datum, settings_of(job)))


def known_heights(job: Job, edges: EdgeMap) -> dict[str, Height]:
    """Level -> what is known of it: told on the card or about a photo, else what photographs from different sides tell."""
    known = heights_of(job.heights, job.shots[0])
    told = {level.level: Height(level.level, round(level.value, 2), round(level.u, 3)) for level in edges.levels
            if level.level in LEVELS}
    return told | known


def _measurement_files(job: Job, picture: Picture, record: EdgeRecord, outline: Outline) -> dict[str, bytes]:
    edges = record.edges
    return {
        "overlay.png": overlay_png(picture, edges, outline),
        "outline.dxf": outline_dxf(outline),
        "outline.svg": outline_svg(outline),
        "drawing.pdf": drawing_pdf(outline, title(job)),
        "heights.pdf": heights_pdf(outline, known_heights(job, edges), title(job)),
        "job.json": job_json(job),
        "edges.json": edges_json(record),
        "outline.json": outline_json(outline),
    }


def write_target(path: Path) -> None:
    """Write the printed target as a true-scale PDF.  Raises FolderError when that cannot be done."""
    check_folder(path.parent)
    replace_file(path, target_pdf())
