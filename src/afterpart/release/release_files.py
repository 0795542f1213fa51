"""Every file of a release in memory, from what the stages before it made.

Places: papers and words at the top of the folder; the pieces in pieces/, the check plate in plate/; in data/ the outline, the job
and the steps of the pieces, to work on from.  Same input, same bytes: nothing here asks the clock.
Limits: from the photograph only what part_photo.py encoded anew goes in; the photographs' own file names are left out of the job.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import PurePosixPath

from afterpart.model.assembly import Build
from afterpart.model.finding import CheckReport
from afterpart.model.history import History
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.model.piece import Piece
from afterpart.model.release import PartPhoto, TitleBlock
from afterpart.model.store import build_json, findings_json, job_json, outline_json, report_json
from afterpart.release.drawing_files import drawing_files
from afterpart.release.findings_pdf import findings_pdf
from afterpart.release.fit_report import fit_report
from afterpart.release.guide_files import guide_files
from afterpart.release.history_files import history_files, revision_lines
from afterpart.release.lengths import measured_in
from afterpart.release.manifest import MANIFEST, manifest_json
from afterpart.release.parts_list import PlatePiece, in_sizes
from afterpart.release.plate_files import plate_files
from afterpart.release.readme import modes_csv, readme, sources_page
from afterpart.release.release_drawing import SheetChoice
from afterpart.solid.body import Body
from afterpart.solid.worker import Workshop

README = "README.md"
LONGEST_NAME = 80
"""Letters of a folder's name, so that every file system takes it."""
_EARLIEST = (1980, 1, 1, 0, 0, 0)
"""The first date a zip archive can hold: the same for every entry."""
_FILE_MODE = 0o100644 << 16


@dataclass(frozen=True)
class Made:
    """What the stages before made.  piece_files: name -> contents, as build_files; bodies: one for each piece of the build, in
    order; plate: pieces of the check plate; photo: of the old part, None without one; findings_pdf: the report on paper,
    None where it is still to be drawn; mate_files: the mate laid on the cover (mate.json, mate.png, mate.svg), empty without
    one."""

    build: Build
    outline: Outline
    job: Job
    title: TitleBlock
    report: CheckReport
    piece_files: Mapping[str, bytes]
    bodies: tuple[Body, ...]
    plate: tuple[Piece, ...]
    photo: PartPhoto | None = None
    findings_pdf: bytes | None = None
    mate_files: Mapping[str, bytes] = field(default_factory=dict)


def release_name(job: Job) -> str:
    """NAME_REVISION as a folder may be called everywhere: letters, figures, - and _."""
    plain = ("".join(letter if letter.isalnum() or letter == "-" else " " for letter in text)
             for text in (job.name, job.revision))
    name, revision = ("_".join(text.split()) for text in plain)
    return "_".join(filter(None, (name[:LONGEST_NAME - len(revision) - 1] or "part", revision)))


def release_files(made: Made, workshop: Workshop, history: History | None = None) -> dict[str, bytes]:
    """Path in the folder -> contents, complete with README and manifest.  workshop: a running kernel process, best the one that
    built the pieces; history: since the revisions before, None for the first.

    SolidError, JobError: as the files' own makers.
    """
    job, title, report, outline = made.job, made.title, made.report, made.outline
    told = revision_lines(history) if history is not None else ()
    choice = SheetChoice(page=job.release.page, author=job.release.author, revisions=told)
    with measured_in(job.release.units):
        files = dict(drawing_files(made.build, outline, job, title, workshop, choice, made.photo))
        files |= guide_files(made.build, made.bodies, job, report, title, outline, _plate_pieces(made.plate, workshop))
        files |= {f"plate/{name}": data for name, data in plate_files(made.plate, outline, title, workshop).items()}
    files |= {f"pieces/{name}": data for name, data in made.piece_files.items() if not _is_of(name, in_sizes(made.build))}
    files |= {"findings.pdf": made.findings_pdf or findings_pdf(report, title), "findings.json": findings_json(report),
              "report.json": report_json(report), "failure_modes.csv": modes_csv(report), "sources.md": sources_page(report),
              "fit_report.md": fit_report(job, outline), "data/outline.json": outline_json(outline),
              "data/job.json": job_json(without_file_names(job)), "data/pieces.json": build_json(made.build)}
    files |= {f"data/{name}" if name.endswith(".json") else name: data for name, data in made.mate_files.items()}
    if made.photo is not None:
        files["old_part.jpg"] = made.photo.jpeg
    files |= history_files(history, title) if history is not None else {}
    changes = history.revisions[0] if history is not None else None
    with measured_in(job.release.units):
        files[README] = readme(made.build, outline, job, report, title, (*files, README, MANIFEST), changes)
        files[MANIFEST] = manifest_json(files, title, job.release.licence)
    return dict(sorted(files.items()))


def _plate_pieces(plate: tuple[Piece, ...], workshop: Workshop) -> tuple[PlatePiece, ...]:
    """The check plate's pieces with what print settings and parts list ask of them."""
    found = []
    for piece in plate:
        body = workshop.build(piece)
        x, y, z = (high - low for low, high in zip(body.low, body.high, strict=True))
        found.append(PlatePiece(piece, body.volume, (x, y, z)))
    return tuple(found)


def _is_of(name: str, stems: frozenset[str]) -> bool:
    """Is this the file of a piece that is also there in named sizes?  One piece goes out under one name."""
    return PurePosixPath(name).stem.removesuffix("_mm") in stems


def without_file_names(job: Job) -> Job:
    """The job with its photographs named by number, and reports without their notes: a file's own name, and what others wrote,
    may tell of people and places."""
    shots = tuple(replace(shot, file=f"photo_{number}{PurePosixPath(shot.file).suffix}")
                  for number, shot in enumerate(job.shots, 1))
    return replace(job, shots=shots, fit_reports=tuple(replace(report, note="") for report in job.fit_reports))


def zip_bytes(files: Mapping[str, bytes], folder: str) -> bytes:
    """The files under one folder as a zip archive, its entries sorted and dated alike: same files, same bytes."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(files):
            info = zipfile.ZipInfo(f"{folder}/{path}", _EARLIEST)
            info.compress_type, info.external_attr, info.create_system = zipfile.ZIP_DEFLATED, _FILE_MODE, 3
            archive.writestr(info, files[path])
    return stream.getvalue()
