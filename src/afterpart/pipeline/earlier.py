"""The revision released before: found, read and held against its manifest, and what changed since.

Words: the *order* of revisions is that of their letters and numbers as people count: A before B before AA, 2 before 10.
Limits: only the files that are compared are held against the manifest; `afterpart verify` looks at all of them.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from pathlib import Path

from afterpart.errors import FolderError
from afterpart.model.history import History
from afterpart.model.job import Job
from afterpart.model.store import parse_build, parse_history, parse_job_json, parse_outline, parse_report, read_stored
from afterpart.pipeline.made import finished_in
from afterpart.release.history import Released, changes_since
from afterpart.release.manifest import MANIFEST, listed_in
from afterpart.release.release_files import Made, without_file_names

HISTORY = "data/history.json"


@dataclass(frozen=True)
class Earlier:
    """released: what it held; history: its own, the newest first, empty for a first revision."""

    released: Released
    history: History


def earlier_release(job: Job, out: Path, since: Path | None) -> Earlier | None:
    """The release to compare with: the one named, else the newest earlier revision of the job in `out`; None without one.

    FolderError: the one named is no release, is of the same revision, or was changed since it was released."""
    if since is not None:
        earlier = _read(since)
        if earlier.released.job.revision == job.revision:
            raise FolderError(f"{since}: found a release of revision {job.revision!r}, the same as this job's, expected an "
                              "earlier one. Raise revision in the job file.")
        return earlier
    found = _revisions(job, out)
    earlier_ones = [revision for revision in found if order_of(revision) < order_of(job.revision)]
    return _read(found[max(earlier_ones, key=order_of)]) if earlier_ones else None


def history_since(before: Earlier, made: Made) -> History:
    """What changed from `before` to what is released now, and from revision to revision before it."""
    now = Released(without_file_names(made.job), made.outline, made.build, made.report, made.title.made_with)
    return History((changes_since(before.released, now), *before.history.revisions))


def order_of(revision: str) -> tuple[tuple[int, int, str], ...]:
    """What revisions are sorted by: numbers by value, letters by length, then by the alphabet."""
    parts = re.findall(r"\d+|[^\W\d_]+", revision)
    return tuple((0, int(part), "") if part.isdecimal() else (1, len(part), part.upper()) for part in parts)


def _revisions(job: Job, out: Path) -> dict[str, Path]:
    """Released folders of the job's name in `out`, by revision."""
    found = {}
    for place in finished_in(out):
        told = _title(place / MANIFEST)
        if told is not None and told[0] == job.name:
            found[told[1]] = place
    return found


def _title(manifest: Path) -> tuple[str, str] | None:
    """Name and revision in a manifest; None where it is none."""
    try:
        plain = json.loads(read_stored(manifest))
        return str(plain["name"]), str(plain["revision"])
    except (FolderError, ValueError, KeyError, TypeError):
        return None


def _read(folder: Path) -> Earlier:
    manifest = folder / MANIFEST
    if not manifest.is_file():
        raise FolderError(f"{folder}: found no {MANIFEST}, expected a folder that afterpart release made. Check the name; "
                          "unpack a zip first.")
    data = read_stored(manifest)
    listed = listed_in(data, str(manifest))

    def held(path: str) -> bytes:
        contents = read_stored(folder / path)
        if listed.get(path) != hashlib.sha256(contents).hexdigest():
            raise FolderError(f"{folder / path}: found contents other than those released, expected what {MANIFEST} lists. "
                              "Fetch the folder again, or unpack its zip.")
        return contents

    made_with = str(json.loads(data).get("made_with", ""))
    report = parse_report(held("report.json"), held("findings.json"))
    released = Released(parse_job_json(held("data/job.json")), parse_outline(held("data/outline.json")),
                        parse_build(held("data/pieces.json")), report, made_with)
    return Earlier(released, parse_history(held(HISTORY)) if HISTORY in listed else History(()))
