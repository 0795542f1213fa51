"""What a job folder holds for the stages that come after measuring: the job, its outline, its title block."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

from afterpart import __version__
from afterpart.errors import FolderError, JobError
from afterpart.files import tidy
from afterpart.job.read import JOB_FILE, read_job
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.model.release import TitleBlock
from afterpart.model.store import parse_job_json, parse_outline, read_stored

Say = Callable[[str], None]
PIECES_FILE = "pieces.json"
FACTS_FILE = "facts.json"


def asked(folder: Path) -> tuple[Job, Path]:
    """The job and its folder: job.toml (or another job file), or the job.json a measurement left there.  What an interrupted run
    left is put right first."""
    tidy(folder)
    job = read_job(folder) if (folder / JOB_FILE).exists() or not folder.is_dir() else job_beside(folder)
    if job is None:
        raise FolderError(f"{folder}: found neither {JOB_FILE} nor job.json, expected a job. "
                          "Make one with: afterpart new FOLDER --photo PICTURE")
    return job, folder if folder.is_dir() else folder.parent


def outline_in_mm(folder: Path) -> Outline:
    """The outline `measure` left in `folder`.  Raises FolderError without one, JobError when its size is not known."""
    outline = parse_outline(read_stored(folder / "outline.json"))
    if outline.unit != "mm":
        raise JobError(f"{folder / 'outline.json'}: found an outline of unknown size (unit {outline.unit}), expected mm. "
                       "Measure again with a reference or with the readings the notes ask for.")
    return outline


def job_beside(folder: Path) -> Job | None:
    """The job the outline in `folder` was measured for; None when no run left one."""
    path = folder / "job.json"
    return _stored_job(read_stored(path)) if path.exists() else None


@lru_cache(maxsize=8)
def _stored_job(data: bytes) -> Job:
    """The job of these bytes; the page asks for the same ones several times an edit."""
    return parse_job_json(data)


def title(job: Job) -> TitleBlock:
    """What stands in the title block of the job's papers."""
    return TitleBlock(job.name, job.revision, job.date, f"afterpart {__version__}")
