"""A job that is being worked on: its text read and changed, its outline solved again from the edges an earlier run stored.

Words: the *stamp* of a text is its SHA-256, so that a change made to an older text is noticed; what is *traced* is the slow half
of an outline, kept so that one more reading is solved at once (outline/traced.py).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from afterpart import __version__
from afterpart.errors import FolderError, JobError, UsageError
from afterpart.files import remove_file, replace_file, tidy, write_files, write_new_folder
from afterpart.job.edit import apply_edits, plain_job
from afterpart.job.read import JOB_FILE, MAX_BYTES, parse_job
from afterpart.job.schema import TableKeys, job_schema
from afterpart.job.template import job_template
from afterpart.lock import turn_in
from afterpart.model.edges import EdgeMap
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.model.store import EdgeRecord
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import solve_outline
from afterpart.outline.traced import TracedPicture, trace_picture
from afterpart.photo.load import check_whole
from afterpart.photo.upright import endings_of, look_at
from afterpart.pipeline.asking import all_are_known
from afterpart.pipeline.folder import Say, job_beside
from afterpart.pipeline.measuring import (
    as_told_before,
    complete,
    earlier_run,
    job_of_folder,
    measure,
    question_of,
    settings_of,
    write_measurement,
)


@dataclass(frozen=True)
class Traced:
    """The slow half of the outline of one photograph.  photo_sha256: of its file; job: as it was measured for; picture: solved
    from again and again; settings: those it was traced with, without readings and datum."""

    photo_sha256: str
    job: Job
    edges: EdgeMap
    picture: TracedPicture
    settings: OutlineSettings


def job_text(folder: Path) -> str:
    """The text of the job file in `folder`.  Raises FolderError, JobError when it is no text."""
    path = folder / JOB_FILE
    try:
        data = path.read_bytes()
    except OSError as error:
        raise FolderError(f"{path}: cannot be read ({error.strerror}); expected a job file. "
                          "Make one with: afterpart new FOLDER --photo PICTURE") from error
    if len(data) > MAX_BYTES:
        raise JobError(f"{JOB_FILE}: found {len(data)} bytes, expected a short text file. Is this the job file?")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise JobError(f"{JOB_FILE}: found bytes that are no UTF-8 text, expected a text file. Save it as UTF-8.") from error


def stamp_of(text: str) -> str:
    """What tells this text from any other."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def edited(text: str, edits: Sequence[Mapping[str, Any]]) -> tuple[str, Job]:
    """The text of a job file after some edits (see job/edit.py), and the job it describes.

    Raises JobError when an edit does not fit, or the job could not be used after it."""
    changed = apply_edits(text, edits)
    return changed, parse_job(changed)


def replace_job_text(folder: Path, before: str, text: str) -> bool:
    """Put the text in place of the job file, whole or not at all; False, and nothing written, where the file no longer holds
    the text `before`: another program has changed it.  Between looking and writing no other program of ours comes in.

    Raises FolderError, JobError when the file cannot be read or written."""
    with turn_in(folder):
        if job_text(folder) != before:
            return False
        replace_file(folder / JOB_FILE, text.encode("utf-8"))
        return True


def plain_of(text: str) -> dict[str, Any]:
    """The tables and keys of a job file as they stand.  Raises JobError when the text is no TOML."""
    return plain_job(text)


def schema() -> tuple[TableKeys, ...]:
    """Every table and key a job file may have."""
    return job_schema()


def new_job(parent: Path, name: str, data: bytes) -> Path:
    """A new folder in `parent` for this photograph, named after its file, with a job file to fill in; returns the folder.

    Raises PhotoError when the picture cannot be opened, FolderError when the folder cannot be written."""
    file = photo_name(name, data)
    stem = Path(file).stem
    try:
        taken = {path.name.lower() for path in parent.iterdir()} if parent.exists() else set()
    except OSError as error:
        raise FolderError(f"{parent}: cannot be read ({error.strerror}); expected a folder you may read and write. "
                          "Start afterpart in another folder.") from error
    folder = parent / next(one for one in _numbered(stem) if one.lower() not in taken)
    write_new_folder(folder, {file: data, JOB_FILE: job_template(folder.name, file)})
    return folder


def put_photo(folder: Path, name: str, data: bytes) -> str:
    """One more photograph in a job folder, under a name of its own that is returned; nothing there is replaced.

    Raises PhotoError when the picture cannot be opened, FolderError when the folder cannot be written."""
    file = photo_name(name, data)
    taken = {path.name.lower() for path in folder.iterdir()}
    stem, ending = Path(file).stem, Path(file).suffix
    file = next(f"{one}{ending}" for one in _numbered(stem) if f"{one}{ending}".lower() not in taken)
    try:
        write_files(folder, {file: data})
    except FolderError as error:
        remove_file(folder / file)  # no file of this name was there before
        raise FolderError(f"The photograph was not taken in. {error}") from error
    return file


def photo_name(name: str, data: bytes) -> str:
    """A file name of our own for a picture that was sent: letters, figures, - and _ of the given one, and the ending of its kind.

    Raises PhotoError when the picture cannot be opened, or is cut short."""
    kind = look_at("the picture", data).kind
    check_whole("the picture", data)
    stem = re.sub(r"[^A-Za-z0-9_-]+", "_", Path(name.replace("\\", "/")).stem).strip("_-")[:40]
    return f"{stem or 'photo'}{endings_of(kind)}"


def _numbered(stem: str) -> Iterator[str]:
    """The stem, then with 2, 3 ... behind it."""
    yield stem
    number = 2
    while True:
        yield f"{stem}_{number}"
        number += 1


def traced_of(earlier: EdgeRecord, sha256: str, job: Job, before: Traced | None = None) -> Traced | None:
    """The outline's slow half for this job, from the edges an earlier run stored; None where they are of another photograph than
    that with this SHA-256, or something else was told about it.  before: what was traced last, used again where it still
    holds."""
    told = as_told_before(job, sha256, earlier)
    if not earlier.holds_for(sha256, told.shots[0], __version__) or not earlier.holds_for_all(told.shots_of("part")):
        return None
    if not all_are_known(told, earlier.edges):
        return None
    settings = _traced_with(told)
    if before is not None and (before.photo_sha256, before.job.shots, before.settings) == (sha256, told.shots, settings) \
            and all_are_known(told, before.edges):
        return before
    return Traced(sha256, told, earlier.edges, trace_picture(earlier.edges, settings), settings)


def _traced_with(job: Job) -> OutlineSettings:
    """The settings without what is only solved for."""
    plain = OutlineSettings()
    return replace(settings_of(job), readings=plain.readings, datum=plain.datum, fixed=(), corrections=())


def solved(traced: Traced, job: Job) -> Outline:
    """The outline of the job, exactly as `measure` finds it with the same edges.

    Raises JobError for a reading or datum that names nothing in this outline, FitError as `measure` does."""
    told = replace(job, shots=traced.job.shots)
    try:
        outline = solve_outline(traced.picture, settings_of(told))
    except UsageError as error:
        raise JobError(str(error)) from error
    return complete(outline, traced.edges, told)


def is_same_question(job: Job, other: Job) -> bool:
    """Do both jobs have the same outline, as far as they tell?"""
    return question_of(job) == question_of(other)


def settle(folder: Path, say: Say) -> bool:
    """Bring a measurement's files up to the job file, where the outline there answers another question; True when that was so.

    Raises an AfterpartError when the picture or the job cannot be used."""
    tidy(folder)
    job, earlier = job_of_folder(folder, ()), earlier_run(folder)
    if earlier is None or not (folder / "outline.json").exists():
        return False
    stored, photo = job_beside(folder), folder / job.shots[0].file
    is_same = not photo.is_file() or hashlib.sha256(photo.read_bytes()).hexdigest() == earlier.photo_sha256
    told = as_told_before(job, earlier.photo_sha256, earlier)
    if is_same and stored is not None and question_of(told) == question_of(stored):
        return False
    result = measure(job, folder, folder, say)
    say("writing the measurement")
    write_measurement(result, folder)
    return True
