"""What of a job has been made, and what of it is outdated because the job has changed since.

Words: a *station* is one stage of the work as the maker sees it: photo, outline, pieces, findings, release.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from pathlib import Path

from afterpart.errors import AfterpartError
from afterpart.model.job import Job
from afterpart.model.store import EdgeRecord, job_json
from afterpart.pipeline.folder import PIECES_FILE, job_beside
from afterpart.pipeline.judging import is_built, judged_digest
from afterpart.pipeline.measuring import as_told_before, question_of
from afterpart.release.manifest import MANIFEST
from afterpart.release.release_files import release_name, without_file_names

STATIONS = ("photo", "outline", "pieces", "findings", "release")
RELEASE_FOLDER = "release"


def shown_files(folder: Path, job: Job | None) -> dict[str, tuple[Path, ...]]:
    """Station -> the files whose bytes tell what it shows; a station without them has not been made.

    A release is shown with its zip, which is put in place after the folder: both are named."""
    pieces = folder / "pieces"
    photos = tuple(folder / shot.file for shot in job.shots) if job else ()
    released = tuple(path for place in released_in(folder) for path in (place / MANIFEST, archive_of(place)) if path.is_file())
    return {"photo": photos, "outline": (folder / "outline.json",), "pieces": (pieces / PIECES_FILE,),
            "findings": (folder / "report.json", folder / "findings.json"), "release": released}


def released_in(folder: Path) -> tuple[Path, ...]:
    """The finished releases of a job, by name."""
    return finished_in(folder / RELEASE_FOLDER)


def finished_in(place: Path) -> tuple[Path, ...]:
    """The released folders in a place, by name; one that is still being written has a name with a point in front."""
    found = sorted(place.glob(f"*/{MANIFEST}")) if place.is_dir() else ()
    return tuple(path.parent for path in found if not path.parent.name.startswith("."))


def archive_of(release: Path) -> Path:
    """Where a release's zip lies, if it has one."""
    return release.with_name(f"{release.name}.zip")


def outdated(folder: Path, job: Job, earlier: EdgeRecord | None, photo_sha256: str) -> tuple[str, ...]:
    """The stations that were made, but from another job than this one is now.

    earlier: what an earlier run left there (measuring.earlier_run); photo_sha256: of the first photograph, "" where it is
    gone."""
    try:
        late = [name for name, is_late in (("pieces", _pieces_late), ("findings", _findings_late), ("release", _release_late))
                if is_late(folder, job)]
        if _outline_late(folder, job, earlier, photo_sha256):
            late.append("outline")
    except (AfterpartError, OSError):
        return ()
    if "outline" in late:
        late += [name for name in ("pieces", "findings") if name not in late and _is_there(folder, name)]
    elif "pieces" in late and "findings" not in late and _is_there(folder, "findings"):
        late.append("findings")
    return tuple(name for name in STATIONS if name in late)


def _is_there(folder: Path, name: str) -> bool:
    return all(path.is_file() for path in shown_files(folder, None)[name])


def _outline_late(folder: Path, job: Job, earlier: EdgeRecord | None, photo_sha256: str) -> bool:
    stored = job_beside(folder)
    if stored is None or earlier is None or not _is_there(folder, "outline"):
        return False
    if photo_sha256 not in ("", earlier.photo_sha256):
        return True
    return question_of(as_told_before(job, earlier.photo_sha256, earlier)) != question_of(stored)


def _pieces_late(folder: Path, job: Job) -> bool:
    return _is_there(folder, "pieces") and _is_there(folder, "outline") and not is_built(job, folder, folder / "pieces")


def _findings_late(folder: Path, job: Job) -> bool:
    if not _is_there(folder, "findings") or not _is_there(folder, "pieces"):
        return False
    told = json.loads((folder / "report.json").read_bytes()).get("judged_sha256", "")
    return told not in ("", judged_digest(job, (folder / "pieces" / PIECES_FILE).read_bytes()))


def _release_late(folder: Path, job: Job) -> bool:
    """Is this revision released from another job?  (Other revisions are finished, and stay.)"""
    path = folder / RELEASE_FOLDER / release_name(job) / "data" / "job.json"
    return path.is_file() and path.read_bytes() != job_json(without_file_names(job))
