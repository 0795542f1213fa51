"""Which job lies open, its text as the maker left it, and the outline solved for it; the one place of this run that changes.

Words: a *stamp* is the SHA-256 of the job file's text; a change that names another stamp than the file now has is *stale* and is
not made.  Undo and redo keep whole texts of this run; what another program wrote into the file is a step like any other, so that
taking back never loses it.
Everything here is called from threads; a lock keeps them apart.  Nothing waits for the maker.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import hashlib
import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from afterpart import __version__, pipeline
from afterpart.errors import AfterpartError, FolderError, JobError, UsageError
from afterpart.files import remove_file, tidy
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.model.store import EdgeRecord, outline_json, parse_outline
from afterpart.web.digests import Digests, Signature, signature
from afterpart.web.wording import Refusal, refusals

JOB_FILE = "job.toml"
ALIKE = ("sheet", "rule", "target", "reference_height")
"""Keys of a photograph that hold for the next one of the same part on the same table."""

PICKED = ("span", "sheet_corners_px")
"""Keys of a photograph that hold places in its pixels."""

MOST_STEPS = 200
"""Texts kept for undo."""


class StaleError(Exception):
    """The change was made to an older text than the job file has now."""


@dataclass(frozen=True)
class Solved:
    """An outline with the job it answers, its JSON, and what the last change moved (None: nothing before it)."""

    job: Job
    outline: Outline
    data: bytes
    moves: tuple[pipeline.Move, ...] | None = None


class Desk:
    """The open job.  start: the folder where new jobs are made; folder: the open one, None before there is one."""

    def __init__(self, start: Path, folder: Path | None = None) -> None:
        self.start = start
        self.folder = folder
        self.lock = threading.RLock()
        self.version = 0
        self.job: Job | None = None
        self.problems: tuple[Refusal, ...] = ()
        self.digests = Digests()
        self._text = ""
        self._seen: Signature | None = None
        self._undo: list[str] = []
        self._redo: list[str] = []
        self._record: tuple[str, EdgeRecord] | None = None
        self._traced: pipeline.Traced | None = None
        self._solved: Solved | None = None
        self._file_seen: Signature | None = None
        if folder is not None:
            self.open(folder)

    @property
    def stamp(self) -> str:
        """Of the text as it is known here; "" without a job."""
        return pipeline.stamp_of(self._text) if self.folder is not None else ""

    @property
    def steps(self) -> tuple[int, int]:
        """How many changes can be taken back, and made again."""
        return len(self._undo), len(self._redo)

    def opened(self) -> tuple[Path, Job]:
        """The open folder and its job.  Raises FolderError without one, JobError where its file cannot be used."""
        if self.folder is None:
            raise FolderError("Found no open job, expected one. Choose a photograph first.")
        if self.job is None:
            problem = self.problems[0] if self.problems else None
            raise JobError(f"job.toml: {problem.where + ': ' if problem and problem.where else ''}"
                           f"{problem.message if problem else 'found nothing.'} {problem.way_out if problem else ''}")
        return self.folder, self.job

    def open(self, folder: Path) -> None:
        """Lay another job open.  Raises FolderError, JobError when its file cannot be read at all."""
        tidy(folder)
        text = pipeline.job_text(folder)
        with self.lock:
            self.folder, self._undo, self._redo = folder, [], []
            self._record = self._traced = self._solved = None
            self._take(text)

    def look(self) -> bool:
        """Has another program changed the job file?  Then take its text as it is."""
        with self.lock:
            if self.folder is None or signature(self.folder / JOB_FILE) == self._seen or not self._catch_up():
                return False
            if self.job is not None:
                with contextlib.suppress(AfterpartError):  # what cannot be solved stands in the measurement's own refusal
                    self._solved = self._solve(self.job)
            return True

    def edit(self, stamp: str, edits: Sequence[Mapping[str, Any]], tried: bool = False) -> Solved | None:
        """Write some edits into the job file; the outline solved anew, or None where there is none or it must be measured.
        tried: only where the pieces can still be laid out with them.

        Raises StaleError, and an AfterpartError when an edit cannot be made; then nothing is changed."""
        if tried:
            self._try(stamp, edits)
        with self.lock:
            self._check(stamp)
            text, job = pipeline.edited(self._text, edits)
            solved = self._solve(job)
            if text != self._text:
                before = self._text
                self._write(text, job)
                self._undo, self._redo = [*self._undo[-MOST_STEPS:], before], []
            self._solved = solved
            return solved

    def _try(self, stamp: str, edits: Sequence[Mapping[str, Any]]) -> None:
        """Lay the pieces out with the edits; it takes seconds, so nobody waits at the desk meanwhile."""
        with self.lock:
            self._check(stamp)
            text, shown = self._text, self.solved()
        if shown is not None:
            pipeline.lay_out(shown.outline, pipeline.edited(text, edits)[1])

    def undo(self, stamp: str) -> Solved | None:
        """Take the last change back.  Raises StaleError, JobError when there is none."""
        return self._step(stamp, self._undo, self._redo, "take back")

    def redo(self, stamp: str) -> Solved | None:
        """Make the change last taken back once more.  Raises StaleError, JobError when there is none."""
        return self._step(stamp, self._redo, self._undo, "make again")

    def put_photo(self, name: str, data: bytes, add: bool, shows: str = "part", face: str = "mating", number: int = 1) -> None:
        """Take a photograph in: into a new job where none is open, else as one more (add) or in place of the one of this number.
        shows, face: of one more, as in the job file; one of the part lies on the sheet and beside the rule of the first.  Places
        that were picked in the pixels of a photograph go with it.

        Raises PhotoError when it cannot be opened, FolderError when it cannot be written, JobError for another `shows`,
        UsageError for a number there is not."""
        with self.lock:
            if self.folder is None:
                self.open(pipeline.new_job(self.start, name, data))
                return
            self._check(self._now())
            count = len(pipeline.plain_of(self._text).get("photo", []))
            if not add and not 1 <= number <= max(count, 1):
                raise UsageError(f"photo: found number {number}, expected 1 to {count}. Look at the sheet again.")
            file = pipeline.put_photo(self.folder, name, data)
            try:
                more = {"file": file, **(self._told_of_one_more(shows, face) if add else {})}
                self.edit(self.stamp, [{"do": "add", "table": "photo", "row": more}] if add else self._in_place_of(number, file))
            except AfterpartError:
                if file not in pipeline.job_text(self.folder):
                    remove_file(self.folder / file)
                raise

    def _in_place_of(self, number: int, file: str) -> list[dict[str, Any]]:
        """Another file for the photograph of this number; what was picked in the old one's pixels is taken out."""
        plain = pipeline.plain_of(self._text)
        row = plain.get("photo", [{}])[number - 1]
        circles = [index for index, one in enumerate(plain.get("damage", [])) if one.get("photo", 1) == number]
        return [{"do": "change", "table": "photo", "index": number - 1,
                 "row": {"file": file, **dict.fromkeys(key for key in PICKED if key in row)}},
                *({"do": "drop", "table": "damage", "index": index} for index in reversed(circles))]

    def _told_of_one_more(self, shows: str, face: str) -> dict[str, Any]:
        first = pipeline.plain_of(self._text).get("photo", [{}])[0]
        alike = {key: first[key] for key in ALIKE if key in first} if shows == "part" else {}
        return {**alike, **({"shows": shows} if shows != "part" else {}), **({"face": face} if face != "mating" else {})}

    def solved(self) -> Solved | None:
        """The outline as it is known for the job now: solved here, or as the last measurement left it."""
        with self.lock:
            if self.folder is None:
                return None
            path = self.folder / "outline.json"
            now = signature(path)
            if self._solved is not None and (now == self._file_seen or self._is_ahead(self._solved)):
                return self._solved
            stored = pipeline.job_beside(self.folder) if now is not None else None
            job = stored or self.job
            if job is None or now is None:
                self._solved = None
                return None
            self._file_seen, data = now, path.read_bytes()
            if self._solved is not None and self._solved.data == data:  # the files have followed what was solved here
                self._solved = replace(self._solved, job=job)
            else:
                self._solved = Solved(job, parse_outline(data), data, None)
            return self._solved

    def record(self) -> EdgeRecord | None:
        """What the last measurement left of the photograph's edges; None where there was none."""
        with self.lock:
            path = None if self.folder is None else self.folder / "edges.json"
            now = "" if path is None else self.digests.of(path)  # files that follow an edit hold the same edges
            if path is None or not now:
                return None
            if self._record is None or self._record[0] != now:
                found = pipeline.earlier_run(path.parent)
                if found is None:
                    return None
                self._record = (now, found)
            return self._record[1]

    def warm(self) -> None:
        """Trace the stored edges before the first reading is typed; what cannot be traced is left to the measurement."""
        with self.lock:
            if self.job is not None:
                with contextlib.suppress(AfterpartError):
                    self._trace(self.job)

    def outline_stamp(self) -> str | None:
        """What tells the outline that is shown from any other; None without one."""
        shown = self.solved()
        return None if shown is None else hashlib.sha256(shown.data).hexdigest()

    def is_settled(self) -> bool:
        """Are the measurement's files those of the outline that is shown?"""
        with self.lock:
            if self._solved is None or self.folder is None:
                return True
            return self.digests.of(self.folder / "outline.json") == hashlib.sha256(self._solved.data).hexdigest()

    def wants_a_look(self) -> bool:
        """Does the job point at an opening in the measured photograph that has not been looked for yet?"""
        with self.lock:
            record, job = self.record(), self.job
            if record is None or job is None:
                return False
            is_same = record.holds_for(self.photo_sha256(), job.shots[0], __version__)
            return is_same and not pipeline.all_are_known(job, record.edges)

    def photo_sha256(self) -> str:
        """Of the first photograph; "" where it is gone."""
        if self.folder is None or self.job is None:
            return ""
        return self.digests.of(self.folder / self.job.shots[0].file)

    def _is_ahead(self, solved: Solved) -> bool:
        """Was it solved here for the job as it is now, while the files are still those of another?"""
        if self.job is None or self.folder is None or not pipeline.is_same_question(solved.job, self.job):
            return False
        stored = pipeline.job_beside(self.folder)
        return stored is not None and not pipeline.is_same_question(stored, self.job)

    def _check(self, stamp: str) -> None:
        if self.folder is None:
            raise FolderError("Found no open job, expected one. Choose a photograph first.")
        self._catch_up()
        if stamp != self.stamp:
            raise StaleError

    def _now(self) -> str:
        self._catch_up()
        return self.stamp

    def _catch_up(self) -> bool:
        """Take in what another program wrote; True when it did."""
        assert self.folder is not None
        now = signature(self.folder / JOB_FILE)
        try:
            text = pipeline.job_text(self.folder)
        except AfterpartError as error:
            changed = self._seen != now
            self._seen, self.job, self.problems = now, None, refusals(error)
            self.version += int(changed)
            return changed
        if text == self._text and (self.job is not None or self.problems):
            self._seen = now
            return False
        self._undo, self._redo = [*self._undo[-MOST_STEPS:], self._text], []
        self._take(text)
        return True

    def _take(self, text: str, job: Job | None = None) -> None:
        """The text as it stands in the file, with its job where that was read already; one that cannot be used is told, and the
        page stays."""
        assert self.folder is not None
        self._text, self._seen = text, signature(self.folder / JOB_FILE)
        self.version += 1
        try:
            self.job, self.problems = job or pipeline.edited(text, ())[1], ()
        except AfterpartError as error:
            self.job, self.problems = None, refusals(error)

    def _write(self, text: str, job: Job | None = None) -> None:
        assert self.folder is not None
        if not pipeline.replace_job_text(self.folder, self._text, text):
            self._catch_up()  # another program came in between
            raise StaleError
        self._take(text, job)

    def _step(self, stamp: str, source: list[str], other: list[str], what: str) -> Solved | None:
        with self.lock:
            self._check(stamp)
            if not source:
                raise JobError(f"{what}: found no change of this run, expected one. There is nothing to {what}.")
            before, text = self._text, source[-1]
            self._write(text)
            source.pop()
            other.append(before)
            self._solved = self._solve(self.job) if self.job is not None else None
            return self._solved

    def _trace(self, job: Job) -> pipeline.Traced | None:
        record = self.record()
        if record is None or self.folder is None:
            return None
        photo = self.digests.of(self.folder / job.shots[0].file)
        self._traced = pipeline.traced_of(record, photo, job, self._traced) if photo else None
        return self._traced

    def _solve(self, job: Job) -> Solved | None:
        """The outline of this job from the stored edges; None where the photograph must be measured (again)."""
        try:
            shown = self.solved()
        except FolderError:  # a damaged outline stands in no edit's way: measuring writes it anew
            shown = None
        if shown is None:
            return None
        if self.job is not None and pipeline.is_same_question(job, self.job) and pipeline.is_same_question(shown.job, job):
            return Solved(job, shown.outline, shown.data, ())
        traced = self._trace(job)
        if traced is None:
            return None
        outline = pipeline.solved(traced, job)
        return Solved(job, outline, outline_json(outline), pipeline.moved(shown.outline, outline))
