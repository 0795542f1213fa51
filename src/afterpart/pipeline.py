"""The stages in a row: the one place that knows their order.

Reads the picture and whatever an earlier run left in the folder, calls the pure stages, and returns the finished files in memory;
`write_measurement`, `write_plate`, `write_build`, `write_check` and `write_release` then put them in place.  Both doors (command
line, page) come through here.
`say` is called with a few words before each step that takes time.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from afterpart import __version__
from afterpart.checks.passages import passages_of
from afterpart.checks.stage import run_checks
from afterpart.checks.variant_figures import Variant
from afterpart.checks.variants import compare
from afterpart.errors import FolderError, JobError, UsageError
from afterpart.job.options import plate_choice
from afterpart.job.read import JOB_FILE, read_job
from afterpart.model.assembly import Build
from afterpart.model.case import Case, Measured
from afterpart.model.comparison import Comparison
from afterpart.model.edges import EdgeMap, Note
from afterpart.model.finding import CheckReport
from afterpart.model.job import Job, PlateChoice, Reading, Shot
from afterpart.model.outline import Outline
from afterpart.model.piece import Piece
from afterpart.model.release import PartPhoto, ReleaseWish, TitleBlock
from afterpart.model.store import (
    EdgeRecord,
    build_json,
    edges_json,
    findings_json,
    job_json,
    measured_json,
    outline_json,
    parse_build,
    parse_edges,
    parse_job_json,
    parse_measured,
    parse_outline,
    pieces_json,
    read_stored,
    report_json,
)
from afterpart.model.wishes import Wishes
from afterpart.outline.follow import follow_rims
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.parts.plate import make_plate
from afterpart.parts.stage import make_pieces
from afterpart.photo.damage import leave_out_damage
from afterpart.photo.load import Picture, load_picture
from afterpart.photo.overlay import overlay_png
from afterpart.photo.part_photo import part_photo
from afterpart.photo.secondlook import look_again
from afterpart.photo.stage import recover_edges
from afterpart.release.build_checks import CHECK_NOTES
from afterpart.release.build_files import PIECE_ENDINGS, build_files
from afterpart.release.drawing import drawing_pdf
from afterpart.release.drawing_files import balloon_places
from afterpart.release.dxf import outline_dxf
from afterpart.release.findings_pdf import findings_pdf
from afterpart.release.heights_card import heights_of, heights_pdf, missing_heights
from afterpart.release.manifest import MANIFEST, Difference, differences, listed_in
from afterpart.release.package import check_folder, check_new, digests_in, write_files, write_new_folder
from afterpart.release.plate_files import plate_files
from afterpart.release.release_files import Made, release_files, release_name, zip_bytes
from afterpart.release.shown import spoken
from afterpart.release.svg import outline_svg
from afterpart.release.target import target_pdf
from afterpart.solid.body import Body
from afterpart.solid.facts import facts_of
from afterpart.solid.worker import Workshop
from afterpart.standards.materials import material

Say = Callable[[str], None]

PIECES_FILE = "pieces.json"
FACTS_FILE = "facts.json"


@dataclass(frozen=True)
class Measurement:
    """One finished measurement.  job: as solved; files: name -> contents, complete; edges_reused: True when an earlier run's
    edges were taken."""

    job: Job
    outline: Outline
    edges: EdgeMap
    files: dict[str, bytes]
    edges_reused: bool


@dataclass(frozen=True)
class Built:
    """One finished build.  build: its pieces with every note; names, bodies, masses_g: of each piece, in order, a mass None where
    the material's density is not known; files: name -> contents, complete."""

    build: Build
    names: tuple[str, ...]
    bodies: tuple[Body, ...]
    masses_g: tuple[float | None, ...]
    files: dict[str, bytes]


@dataclass(frozen=True)
class Checked:
    """One finished check.  case: what was judged; files: name -> contents, complete, for the job folder; facts: the same for the
    folder of the pieces."""

    case: Case
    report: CheckReport
    files: dict[str, bytes]
    facts: dict[str, bytes]


@dataclass(frozen=True)
class Release:
    """One finished release.  folder: its place; checked: what was judged; files: path in it -> contents, complete; archive: the
    same as a zip."""

    folder: Path
    checked: Checked
    files: dict[str, bytes]
    archive: bytes


@dataclass(frozen=True)
class Verified:
    """A folder held against its manifest.  count: of files listed; sha256: of the manifest itself; differences: by path."""

    count: int
    sha256: str
    differences: tuple[Difference, ...]


@dataclass(frozen=True)
class Plate:
    """One finished check plate.  files: name -> contents, complete."""

    pieces: tuple[Piece, ...]
    files: dict[str, bytes]


def job_of_photo(shot: Shot, readings: tuple[Reading, ...]) -> Job:
    """The job a command line alone describes: one photo, named after its file."""
    return Job(name=Path(shot.file).stem.replace("_", " "), shots=(shot,), readings=readings)


def job_of_folder(folder: Path, readings: tuple[Reading, ...]) -> Job:
    """The job of a job folder, with the readings typed now added; a typed one replaces the job's of the same dimension."""
    job = read_job(folder)
    merged = {reading.id: reading for reading in (*job.readings, *readings)}
    return replace(job, readings=tuple(merged.values()))


def measure(job: Job, folder: Path, out: Path, say: Say) -> Measurement:
    """Measure the job's first photo, found relative to `folder`; edges an earlier run left in `out` are used again when they were
    measured from the same picture with the same shot.

    Raises an AfterpartError when the picture or the job cannot be used; nothing is written here.
    """
    check_folder(out)
    say("opening the picture")
    picture = load_picture(folder / job.shots[0].file, job.shots[0])
    earlier = _earlier_run(out)
    job = _as_told_before(job, picture, earlier)
    shot = job.shots[0]
    reuse = earlier is not None and earlier.holds_for(picture.sha256, shot, __version__)
    if earlier is not None and reuse:
        edges = earlier.edges
    else:
        edges = edges_of(picture, shot, say)
    say("fitting lines, arcs and circles")
    outline = _complete(_outline(edges, job), edges, job)
    say("drawing")
    return Measurement(job, outline, edges, _measurement_files(job, picture, edges, outline), reuse)


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


def make_plate_of(folder: Path, out: Path, say: Say, bed: tuple[float, float] | None = None, thickness: float | None = None,
                  whole: bool = False) -> Plate:
    """The check plate of the outline that `measure` left in `folder`, for writing to `out`; None: as the job said there.

    Raises an AfterpartError when there is no outline in mm, or the plate cannot be made.
    """
    check_folder(out)
    outline = _outline_in_mm(folder)
    job = _job_beside(folder)
    wanted = job.plate if job else PlateChoice()
    choice = replace(plate_choice(bed or wanted.bed, thickness or wanted.thickness, wanted.frame and not whole),
                     first_layer_chamfer=wanted.first_layer_chamfer)
    name, revision = (job.name, job.revision) if job else (folder.resolve().name, "A")
    say("laying out the check plate")
    pieces = make_plate(outline, choice, name, revision)
    say("making the solid and its files")
    files = plate_files(pieces, outline, _title(job) if job else TitleBlock(name, revision))
    return Plate(pieces, {PIECES_FILE: pieces_json(pieces), **files})


def _outline_in_mm(folder: Path) -> Outline:
    """The outline `measure` left in `folder`.  Raises FolderError without one, JobError when its size is not known."""
    outline = parse_outline(read_stored(folder / "outline.json"))
    if outline.unit != "mm":
        raise JobError(f"{folder / 'outline.json'}: found an outline of unknown size (unit {outline.unit}), expected mm. "
                       "Measure again with a reference or with the readings the notes ask for.")
    return outline


def write_plate(plate: Plate, out: Path) -> None:
    """Put the plate's files into `out`.  Raises FolderError when that cannot be done."""
    write_files(out, plate.files)


def build_of(folder: Path, out: Path, say: Say) -> Built:
    """Every piece the job in `folder` asks for, with its files, for writing to `out`.

    The job is job.toml, or the job.json a measurement left there.  Without an outline, or where what is told about the photo has
    changed since, it is measured first, and the measurement written: it is finished in itself.
    Raises an AfterpartError when the job, the picture or a piece cannot be used; nothing of the build is written here.
    """
    check_folder(out)
    job, folder = _asked(folder)
    _measure_where_needed(job, folder, say)
    return _built(_laid_out(job, folder, say), job, say)


def _asked(folder: Path) -> tuple[Job, Path]:
    """The job and its folder: job.toml (or another job file), or the job.json a measurement left there."""
    job = read_job(folder) if (folder / JOB_FILE).exists() or not folder.is_dir() else _job_beside(folder)
    if job is None:
        raise FolderError(f"{folder}: found neither {JOB_FILE} nor job.json, expected a job. "
                          "Make one with: afterpart new FOLDER --photo PICTURE")
    return job, folder if folder.is_dir() else folder.parent


def _laid_out(job: Job, folder: Path, say: Say) -> Build:
    outline = _outline_in_mm(folder)
    say("laying out the pieces")
    return make_pieces(outline, job)


def rebuild_of(folder: Path, say: Say) -> Built:
    """The files of the pieces.json in `folder`, as a hand may have changed it, for writing to the same folder.

    Raises an AfterpartError when it cannot be used, or a piece is no longer sound.
    """
    build = parse_build(read_stored(folder / PIECES_FILE), str(folder / PIECES_FILE))
    job = _job_beside(folder)
    if job is None:
        first = build.pieces[0] if build.pieces else None
        job = Job(first.name if first else folder.resolve().name, (), revision=first.revision if first else "A")
    return _built(build, job, say)


def check_of(folder: Path, pieces: Path, say: Say) -> Checked:
    """The job in `folder` judged, with its report.  The pieces are those in the folder `pieces`; where there are none, or the job
    or its outline has changed since, they are built, and the build written there: it is finished in itself.  What was measured
    on the solids is kept beside them.

    Raises an AfterpartError when the job, the picture or a piece cannot be used; nothing of the check is written here.
    """
    check_folder(pieces)
    job, folder = _asked(folder)
    _measure_where_needed(job, folder, say)
    with Workshop() as workshop:
        return _checked(job, folder, pieces, workshop, say)[0]


def _checked(job: Job, folder: Path, pieces: Path, workshop: Workshop, say: Say) -> tuple[Checked, Built | None]:
    """The job judged, and what had to be built for it; None where the pieces were there."""
    built = None
    if not _is_built(job, folder, pieces):
        built = _built(_laid_out(job, folder, say), job, say, workshop)
        say("writing the pieces")
        write_build(built, pieces)
    data = read_stored(pieces / PIECES_FILE)
    build = parse_build(data, str(pieces / PIECES_FILE))
    measured = _measured(build, job, hashlib.sha256(data + job_json(_as_built(job))).hexdigest(), pieces, workshop, say)
    say("judging")
    case = Case(job, _outline_in_mm(folder), build, measured.facts, measured.clashes, measured.blocked, measured.passages)
    report = run_checks(case)
    files = {"findings.json": findings_json(report), "report.json": report_json(report),
             "findings.pdf": findings_pdf(report, _title(job))}
    return Checked(case, report, files, {FACTS_FILE: measured_json(measured)}), built


def write_check(checked: Checked, out: Path, pieces: Path) -> None:
    """Put the report into `out` and what was measured beside the pieces.  Raises FolderError when that cannot be done."""
    write_files(pieces, checked.facts)
    write_files(out, checked.files)


def release_of(folder: Path, pieces: Path, out: Path, say: Say) -> Release:
    """The folder for others of the job in `folder`, to be written as a new folder in `out`.  What is not measured, built and
    judged yet is, and written where `check_of` does: it is finished in itself.

    Raises an AfterpartError when the job, the picture or a piece cannot be used, or this revision is released there already;
    nothing of the release is written here.
    """
    check_folder(pieces)
    check_folder(out)
    job, folder = _asked(folder)
    place = out / release_name(job)
    check_new(place)
    check_new(place.with_name(f"{place.name}.zip"))
    _measure_where_needed(job, folder, say)
    with Workshop() as workshop:
        checked, built = _checked(job, folder, pieces, workshop, say)
        case = checked.case
        if built is None:
            built = _built(case.build, job, say, workshop)
        say("laying out the check plate")
        plate = make_plate(case.outline, job.plate, job.name, job.revision)
        photo = _part_photo(job, folder, case.outline)
        if photo is None:
            say("the photograph is not here as it was measured: its page is left out")
        say("drawing, and writing the guide")
        own = {name: data for name, data in built.files.items() if name not in (PIECES_FILE, "job.json")}
        files = release_files(Made(case.build, case.outline, job, _title(job), checked.report, own, built.bodies, plate, photo),
                              workshop)
    say("packing")
    return Release(place, checked, files, zip_bytes(files, place.name))


def write_release(release: Release, folder: Path, pieces: Path) -> None:
    """Put the report beside the job, as `write_check` does, and the release in its place, whole or not at all.

    Raises FolderError when that cannot be done, or the release is there already."""
    write_check(release.checked, folder, pieces)
    write_new_folder(release.folder, release.files, release.archive)


def verify_of(folder: Path) -> Verified:
    """A released folder held against its manifest.  Raises FolderError when folder or manifest cannot be used."""
    found = digests_in(folder)
    if MANIFEST not in found:
        raise FolderError(f"{folder}: found no {MANIFEST}, expected a folder that afterpart release made. Check the name.")
    data = read_stored(folder / MANIFEST)
    listed = listed_in(data, str(folder / MANIFEST))
    del found[MANIFEST]
    return Verified(len(listed), hashlib.sha256(data).hexdigest(), differences(listed, found))


def _part_photo(job: Job, folder: Path, outline: Outline) -> PartPhoto | None:
    """The old part's photograph, encoded anew; None where the outline was not measured from the picture that is there."""
    earlier, path = _earlier_run(folder), folder / job.shots[0].file
    if earlier is None or earlier.edges.camera is None or not path.is_file():
        return None
    picture = load_picture(path, job.shots[0])
    if picture.sha256 != earlier.photo_sha256:
        return None
    return part_photo(picture, earlier.edges, outline, balloon_places(outline))


def compare_of(checked: Mapping[str, Checked], weights: Mapping[str, float] | None) -> Comparison:
    """Variants side by side, by their names; weights by the figures' names, None: all alike.

    Raises UsageError for fewer than two, or a weight that names no figure."""
    return compare(tuple(Variant(name, one.case, one.report) for name, one in checked.items()), weights)


def _is_built(job: Job, folder: Path, pieces: Path) -> bool:
    """Are the pieces there those of this job and of the outline as it is now?"""
    path = pieces / PIECES_FILE
    stored = _job_beside(pieces) if path.exists() else None
    if stored is None or _as_built(stored) != _as_built(job):
        return False
    return path.stat().st_mtime_ns >= (folder / "outline.json").stat().st_mtime_ns


def _as_built(job: Job) -> Job:
    """The job without what only the checks ask for: no piece changes with it."""
    plain = Wishes()
    # The pressure lifts the cover, and so is part of the torque that stands on it.
    machine = replace(plain.machine, gauge_pressure_kpa=job.wishes.machine.gauge_pressure_kpa)
    wishes = replace(job.wishes, machine=machine, fit=plain.fit, failure_modes=plain.failure_modes)
    return replace(job, wishes=wishes, release=ReleaseWish())


def _measured(build: Build, job: Job, sha256: str, pieces: Path, workshop: Workshop, say: Say) -> Measured:
    """What is measured on the solids, taken from an earlier check where it was of the same pieces and job."""
    stored = _stored_facts(pieces)
    if stored is not None and (stored.build_sha256, stored.version) == (sha256, __version__):
        return stored
    printer, facts, meshes = job.wishes.printer, [], {}
    for piece in build.pieces:
        say(f"measuring {spoken(piece)}")
        body = workshop.build(piece, circumscribed=printer.circumscribed)
        facts.append(facts_of(piece, body, printer, workshop))
        meshes[piece.file_stem] = body.mesh
    say("following what could come loose")
    passages = passages_of(build, job, meshes)
    # a build whose pieces run into each other is refused, so that only ways in are left to tell
    blocked = tuple(note.text for note in build.notes if note.code == "blocked_way")
    return Measured(sha256, __version__, tuple(facts), (), blocked, passages)


def _stored_facts(pieces: Path) -> Measured | None:
    """What an earlier check measured; None when there is nothing, or nothing this version can read."""
    try:
        return parse_measured(read_stored(pieces / FACTS_FILE))
    except FolderError:
        return None


def write_build(built: Built, out: Path) -> None:
    """Put the build's files into `out`, and take away those of pieces an earlier build made there and this one does not.

    Raises FolderError when that cannot be done."""
    before = _earlier_stems(out)
    write_files(out, built.files)
    gone = before - {piece.file_stem for piece in built.build.pieces}
    for name in (f"{stem}{ending}" for stem in sorted(gone) for ending in PIECE_ENDINGS):
        if name not in built.files:
            (out / name).unlink(missing_ok=True)


def _built(build: Build, job: Job, say: Say, workshop: Workshop | None = None) -> Built:
    if not build.pieces:
        raise JobError("make: found no piece to make, expected at least one. Add the table of a piece, for example [cover], "
                       "to the job file.")
    made = build_files(build, _title(job), workshop, job.wishes.printer, say)
    kept = tuple(note for note in build.notes if note.code not in CHECK_NOTES)
    build = replace(build, notes=(*kept, *made.notes))
    masses = tuple(_mass_g(piece, body) for piece, body in zip(build.pieces, made.bodies, strict=True))
    return Built(build, tuple(map(spoken, build.pieces)), made.bodies, masses,
                 {PIECES_FILE: build_json(build), "job.json": job_json(job), **made.files})


def _mass_g(piece: Piece, body: Body) -> float | None:
    """Mass of a solid print; None for a material without a density in the tables."""
    try:
        return body.volume / 1000.0 * material(piece.material).density.middle
    except KeyError:
        return None


def _measure_where_needed(job: Job, folder: Path, say: Say) -> None:
    """Measure into `folder` unless the outline there is of this photo and of what is told about it now."""
    stored = _job_beside(folder)
    if (folder / "outline.json").exists() and not _is_outdated(job, stored, folder):
        return
    told = {reading.id: reading for reading in (*(stored.readings if stored else ()), *job.readings)}
    result = measure(replace(job, readings=tuple(told.values())), folder, folder, say)
    say("writing the measurement")
    write_measurement(result, folder)


def _is_outdated(job: Job, stored: Job | None, folder: Path) -> bool:
    """Would measuring the job now answer another question than the outline in `folder` does?  An outline without the job or edges
    it came from was put there by hand, and stands."""
    earlier = _earlier_run(folder)
    if stored is None or earlier is None:
        return False
    photo = folder / job.shots[0].file
    if photo.exists() and hashlib.sha256(photo.read_bytes()).hexdigest() != earlier.photo_sha256:
        return True
    is_asked_anew = any(reading not in stored.readings for reading in job.readings)
    now, then = ((told.shots, told.datum, told.origin, told.drawn) for told in (job, stored))
    return is_asked_anew or now != then


def _earlier_stems(out: Path) -> set[str]:
    """File names of the pieces of an earlier build in `out`; none where there is no build that can be read."""
    try:
        return {piece.file_stem for piece in parse_build(read_stored(out / PIECES_FILE)).pieces}
    except FolderError:
        return set()


def write_target(path: Path) -> None:
    """Write the printed target as a true-scale PDF.  Raises FolderError when that cannot be done."""
    check_folder(path.parent)
    write_files(path.parent, {path.name: target_pdf()})


def _earlier_run(out: Path) -> EdgeRecord | None:
    """What an earlier run left in `out`; None when there is nothing, or nothing this version can read."""
    try:
        return parse_edges((out / "edges.json").read_bytes())
    except OSError:
        return None


def _as_told_before(job: Job, picture: Picture, earlier: EdgeRecord | None) -> Job:
    """Readings given alone belong to the earlier run on this picture: what was told about the photo then still holds."""
    if earlier is None or not job.readings or job.shots[0].is_told or earlier.photo_sha256 != picture.sha256:
        return job
    return replace(job, shots=(replace(earlier.shot, file=job.shots[0].file), *job.shots[1:]))


def _outline(edges: EdgeMap, job: Job) -> Outline:
    try:
        return recover_outline(edges, OutlineSettings(readings=job.readings, datum=job.datum, origin=job.origin, drawn=job.drawn))
    except UsageError as error:  # a reading or datum names what this outline does not have: the command line alone was right
        raise JobError(str(error)) from error


def _complete(outline: Outline, edges: EdgeMap, job: Job) -> Outline:
    """The outline with its camera, and notes where photos of the job were left aside or heights are missing."""
    notes = outline.notes
    if len(job.shots) > 1:
        notes += (Note("one_photo", f"The job lists {len(job.shots)} photos; only the first, {job.shots[0].file}, is measured."),)
    notes += tuple(missing_heights(outline, heights_of(job.heights, job.shots[0])))
    return replace(outline, camera=edges.camera, notes=notes)


def _measurement_files(job: Job, picture: Picture, edges: EdgeMap, outline: Outline) -> dict[str, bytes]:
    record = EdgeRecord(picture.sha256, job.shots[0], __version__, edges)
    return {
        "overlay.png": overlay_png(picture, edges, outline),
        "outline.dxf": outline_dxf(outline),
        "outline.svg": outline_svg(outline),
        "drawing.pdf": drawing_pdf(outline, _title(job)),
        "heights.pdf": heights_pdf(outline, heights_of(job.heights, job.shots[0]), _title(job)),
        "job.json": job_json(job),
        "edges.json": edges_json(record),
        "outline.json": outline_json(outline),
    }


def _title(job: Job) -> TitleBlock:
    return TitleBlock(job.name, job.revision, job.date, f"afterpart {__version__}")


def _job_beside(folder: Path) -> Job | None:
    """The job the outline in `folder` was measured for; None when no run left one."""
    path = folder / "job.json"
    return parse_job_json(read_stored(path)) if path.exists() else None
