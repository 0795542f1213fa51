"""Many jobs in one go: every job folder, and every bare photograph, below a shelf.

Words: *shelf*, *stretch* and *job row* as in model/many.py; a *bare* photograph lies in no job folder: it is measured into
SHELF/measured under its own name, with what the command line tells of all of them.
What is up to date is not done again, so that a shelf can be begun, stopped and gone on with.  A job that fails stops no other.
A folder with an outline.json or a manifest.json but no job.toml holds results, and is passed over, as are hidden ones.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import os
import time
from collections.abc import Callable, Iterator
from concurrent.futures import as_completed
from dataclasses import dataclass, replace
from pathlib import Path

from afterpart.errors import AfterpartError, FolderError
from afterpart.files import write_files
from afterpart.job.read import JOB_FILE
from afterpart.model.job import Job, Shot
from afterpart.model.many import CURRENT, DONE, FAILED, STRETCHES, JobRow
from afterpart.model.outline import Outline
from afterpart.model.store import parse_outline, read_stored
from afterpart.photo.threads import use_one_thread
from afterpart.pipeline.crew import Crew, LostError
from afterpart.pipeline.folder import PIECES_FILE, asked
from afterpart.pipeline.judging import check_of, is_built, judged_digest, write_check
from afterpart.pipeline.making import build_of, write_build
from afterpart.pipeline.measuring import is_measured, job_of_photo, measure, measure_where_needed, write_measurement
from afterpart.pipeline.reading import report_in
from afterpart.pipeline.releasing import release_of, write_release
from afterpart.release.manifest import MANIFEST
from afterpart.release.many_files import many_csv, many_html
from afterpart.release.release_files import release_name

PICTURES = {".jpg", ".jpeg", ".png", ".tif", ".tiff", ".heic", ".heif"}
MEASURED = "measured"
"""Where bare photographs are measured."""
SUMMARY_CSV, SUMMARY_HTML = "many.csv", "many.html"
RESULTS = ("outline.json", MANIFEST)

Told = Callable[[JobRow, int, int], None]
"""Called with each row as it is there, how many there are by then, and how many there will be."""


@dataclass(frozen=True)
class ShelfJob:
    """One job to do.  shelf: the folder above all; name: path of the job folder or bare photograph below it, with /; shot: what
    is told of a bare photograph, None for a job folder; stretch: how far to take it."""

    shelf: str
    name: str
    stretch: str
    shot: Shot | None = None

    @property
    def source(self) -> Path:
        """The job folder, or the photograph."""
        return Path(self.shelf) / self.name

    @property
    def place(self) -> str:
        """Where the results go, below the shelf."""
        return self.name if self.shot is None else f"{MEASURED}/{self.name}"


def shelf_jobs(shelf: Path, stretch: str, shot: Shot) -> tuple[ShelfJob, ...]:
    """Everything to do below `shelf`, by name; shot: what is told of every bare photograph.

    Raises FolderError when there is nothing, or the folder cannot be read."""
    if not shelf.is_dir():
        raise FolderError(f"{shelf}: found no such folder, expected one with job folders or photographs. Check the name.")
    above = shelf.resolve()
    found = tuple(ShelfJob(str(above), path.relative_to(above).as_posix(), stretch,
                           replace(shot, file=path.name) if path.is_file() else None)
                  for path in _sources(above, above))
    if not found:
        raise FolderError(f"{shelf}: found neither a job folder nor a photograph below it, expected some. Check the name.")
    return found


def work_through(jobs: tuple[ShelfJob, ...], crew: Crew, heard: Told) -> tuple[JobRow, ...]:
    """Do all of them; the rows, in the jobs' order.  Nothing raised by one reaches another."""
    futures = {crew.submit(carry_out, job): number for number, job in enumerate(jobs)}
    rows: dict[int, JobRow] = {}
    for future in as_completed(futures):
        number, error = futures[future], future.exception()
        rows[number] = future.result() if error is None else _lost(jobs[number], error)
        heard(rows[number], len(rows), len(jobs))
    return tuple(rows[number] for number in range(len(jobs)))


def write_many(rows: tuple[JobRow, ...], shelf: Path, stretch: str) -> None:
    """Put the summary's table and page into the shelf.  Raises FolderError."""
    write_files(shelf, {SUMMARY_CSV: many_csv(rows), SUMMARY_HTML: many_html(rows, stretch)})


def carry_out(job: ShelfJob) -> JobRow:
    """Do one, in whatever process this is; an unusable input is told in its row."""
    use_one_thread()
    begun = time.perf_counter()
    row = JobRow(job.name, FAILED, "", "", job.place)
    try:
        row = _photographed(job, row) if job.shot is not None else _taken(job, row)
    except AfterpartError as error:
        row = replace(row, state=FAILED, text=str(error), reached=_reached_still(job))
    return replace(row, seconds=round(time.perf_counter() - begun, 2))


def is_current(job: Job, folder: Path, stretch: str) -> bool:
    """Are this stretch's results there, and of the job as it is now?"""
    pieces = folder / "pieces"
    if stretch == "measure":
        return is_measured(job, folder, folder)
    if stretch == "build":
        return is_built(job, folder, pieces)
    if stretch == "check":
        try:
            told = json.loads(read_stored(folder / "report.json")).get("judged_sha256")
            return told == judged_digest(job, read_stored(pieces / PIECES_FILE))
        except (FolderError, ValueError, AttributeError):
            return False
    return (folder / "release" / release_name(job) / MANIFEST).is_file()


def reached(job: Job, folder: Path) -> str:
    """The last stretch of which that holds, with all before it; "" for none."""
    last = ""
    for stretch in STRETCHES:
        if not is_current(job, folder, stretch):
            break
        last = stretch
    return last


def _taken(job: ShelfJob, row: JobRow) -> JobRow:
    """The job of a folder taken as far as it is to go."""
    told, folder = asked(job.source)
    if STRETCHES.index(job.stretch) <= _index(reached(told, folder)):
        return replace(row, state=CURRENT, reached=reached(told, folder), text=_found(told, folder, job.stretch))
    pieces = folder / "pieces"
    if job.stretch == "measure":
        measure_where_needed(told, folder, _quiet)
    elif job.stretch == "build":
        write_build(build_of(folder, pieces, _quiet), pieces)
    elif job.stretch == "check":
        write_check(check_of(folder, pieces, _quiet), folder, pieces)
    else:
        write_release(release_of(folder, pieces, folder / "release", _quiet), folder, pieces)
    return replace(row, state=DONE, reached=reached(told, folder), text=_found(told, folder, job.stretch))


def _photographed(job: ShelfJob, row: JobRow) -> JobRow:
    """A bare photograph, measured."""
    assert job.shot is not None
    out, told = Path(job.shelf) / job.place, job_of_photo(job.shot, ())
    is_there = (out / "outline.json").is_file() and is_measured(told, job.source.parent, out)
    if not is_there:
        write_measurement(measure(told, job.source.parent, out, _quiet), out)
    text = _outline_words(parse_outline(read_stored(out / "outline.json")))
    return replace(row, state=CURRENT if is_there else DONE, reached="measure", text=text)


def _found(job: Job, folder: Path, stretch: str) -> str:
    """What there is to say: of the measurement, and what the checks say of the whole."""
    outline = _outline_words(parse_outline(read_stored(folder / "outline.json")))
    return f"{report_in(folder).headline} {outline}" if stretch in ("check", "release") else outline


def _outline_words(outline: Outline) -> str:
    if outline.unit != "mm":
        return f"{len(outline.dimensions)} dimensions, size unknown: no reference found"
    return (f"{len(outline.dimensions)} dimensions, scale from {outline.reference.kind}, good to "
            f"{outline.reference.relative_u:.2%}")


def _reached_still(job: ShelfJob) -> str:
    """How far a job that failed had come."""
    if job.shot is not None:
        return ""
    try:
        return reached(*asked(job.source))
    except AfterpartError:
        return ""


def _lost(job: ShelfJob, error: BaseException) -> JobRow:
    """The row of a job that could not be done to an end: its process ended, or a bug."""
    cause = str(error) if isinstance(error, LostError) else f"{type(error).__name__}: {error}"
    is_lost = isinstance(error, LostError)
    way_out = "Do it alone to see more." if is_lost else "This is a bug in afterpart or the cluster: report it."
    return JobRow(job.name, FAILED, "", f"{cause}. {way_out}", job.place)


def _sources(folder: Path, shelf: Path) -> Iterator[Path]:
    """Job folders and bare photographs below a folder, by name."""
    try:
        entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
    except OSError as error:
        raise FolderError(f"{folder}: cannot be read ({error.strerror}); expected a folder you may read. "
                          "Check its permissions.") from error
    names = {entry.name for entry in entries}
    if JOB_FILE in names:
        yield folder
        return
    if folder != shelf and any(name in names for name in RESULTS):
        return
    for entry in entries:
        if entry.name.startswith(".") or (folder == shelf and entry.name == MEASURED):
            continue
        if entry.is_dir(follow_symlinks=False):
            yield from _sources(Path(entry.path), shelf)
        elif entry.is_file() and Path(entry.name).suffix.lower() in PICTURES:
            yield Path(entry.path)


def _index(stretch: str) -> int:
    return STRETCHES.index(stretch) if stretch else -1


def _quiet(_: str) -> None:
    """What is said of single steps is not passed on."""
