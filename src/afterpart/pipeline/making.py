"""From an outline to pieces: the check plate, and the build with its files.

`say` is called with a few words before each step that takes time.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from afterpart.errors import FolderError, JobError
from afterpart.files import check_folder, write_files
from afterpart.job.options import plate_choice
from afterpart.model.assembly import Build
from afterpart.model.job import Job, PlateChoice
from afterpart.model.piece import Piece
from afterpart.model.release import TitleBlock
from afterpart.model.store import build_json, job_json, parse_build, pieces_json, read_stored
from afterpart.parts.plate import make_plate
from afterpart.parts.stage import make_pieces
from afterpart.pipeline.folder import PIECES_FILE, Say, asked, job_beside, outline_in_mm, title
from afterpart.pipeline.measuring import measure_where_needed
from afterpart.pipeline.speaking import in_language
from afterpart.release.bed_files import BED_NAME
from afterpart.release.build_checks import CHECK_NOTES
from afterpart.release.build_files import PIECE_ENDINGS, build_files
from afterpart.release.plate_files import plate_files
from afterpart.release.shown import spoken
from afterpart.solid.body import Body
from afterpart.solid.worker import Workshop
from afterpart.standards.materials import material


@dataclass(frozen=True)
class Plate:
    """One finished check plate.  files: name -> contents, complete."""

    pieces: tuple[Piece, ...]
    files: dict[str, bytes]


@dataclass(frozen=True)
class Built:
    """One finished build.  build: its pieces with every note; names, bodies, masses_g: of each piece, in order, a mass None where
    the material's density is not known; files: name -> contents, complete."""

    build: Build
    names: tuple[str, ...]
    bodies: tuple[Body, ...]
    masses_g: tuple[float | None, ...]
    files: dict[str, bytes]


def make_plate_of(folder: Path, out: Path, say: Say, bed: tuple[float, float] | None = None, thickness: float | None = None,
                  whole: bool = False) -> Plate:
    """The check plate of the outline that `measure` left in `folder`, for writing to `out`; None: as the job said there.

    Raises an AfterpartError when there is no outline in mm, or the plate cannot be made.
    """
    check_folder(out)
    outline = outline_in_mm(folder)
    job = job_beside(folder)
    wanted = job.plate if job else PlateChoice()
    choice = replace(plate_choice(bed or wanted.bed, thickness or wanted.thickness, wanted.frame and not whole),
                     first_layer_chamfer=wanted.first_layer_chamfer)
    name, revision = (job.name, job.revision) if job else (folder.resolve().name, "A")
    say("laying out the check plate")
    with in_language(job, folder, say):
        pieces = make_plate(outline, choice, name, revision)
        say("making the solid and its files")
        files = plate_files(pieces, outline, title(job) if job else TitleBlock(name, revision))
    return Plate(pieces, {PIECES_FILE: pieces_json(pieces), **files})


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
    job, folder = asked(folder)
    with in_language(job, folder, say), Workshop() as workshop:
        measure_where_needed(job, folder, say)
        workshop.start()
        return built_of(laid_out(job, folder, say), job, say, workshop)


def laid_out(job: Job, folder: Path, say: Say) -> Build:
    """The pieces, as data, that the job asks for on the outline in `folder`.  Raises an AfterpartError when one cannot be."""
    outline = outline_in_mm(folder)
    say("laying out the pieces")
    return make_pieces(outline, job)


def rebuild_of(folder: Path, say: Say) -> Built:
    """The files of the pieces.json in `folder`, as a hand may have changed it, for writing to the same folder.

    Raises an AfterpartError when it cannot be used, or a piece is no longer sound.
    """
    build = parse_build(read_stored(folder / PIECES_FILE), str(folder / PIECES_FILE))
    job = job_beside(folder)
    if job is None:
        first = build.pieces[0] if build.pieces else None
        job = Job(first.name if first else folder.resolve().name, (), revision=first.revision if first else "A")
    with in_language(job, folder, say):
        return built_of(build, job, say)


def write_build(built: Built, out: Path) -> None:
    """Put the build's files into `out`, and take away those of pieces an earlier build made there and this one does not.

    Raises FolderError when that cannot be done."""
    check_folder(out)
    stems = _earlier_stems(out) - {piece.file_stem for piece in built.build.pieces}
    beds = [path.name for path in out.iterdir() if BED_NAME.fullmatch(path.name)] if out.is_dir() else []
    write_files(out, built.files, (*(f"{stem}{ending}" for stem in sorted(stems) for ending in PIECE_ENDINGS), *sorted(beds)))


def built_of(build: Build, job: Job, say: Say, workshop: Workshop | None = None) -> Built:
    """A build's bodies and files; `workshop`: one that is open already.

    Raises JobError without a piece, SolidError for a piece that is not sound."""
    if not build.pieces:
        raise JobError("make: found no piece to make, expected at least one. Add the table of a piece, for example [cover], "
                       "to the job file.")
    made = build_files(build, title(job), workshop, job.wishes.printer, say)
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


def _earlier_stems(out: Path) -> set[str]:
    """File names of the pieces of an earlier build in `out`; none where there is no build that can be read."""
    try:
        return {piece.file_stem for piece in parse_build(read_stored(out / PIECES_FILE)).pieces}
    except FolderError:
        return set()
