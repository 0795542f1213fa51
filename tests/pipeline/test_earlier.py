"""The revision released before: found by its order, held against its manifest, and its own history carried on."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from afterpart.errors import FolderError
from afterpart.model.assembly import Build
from afterpart.model.fit_report import FitReport
from afterpart.model.history import History, RevisionChanges
from afterpart.model.job import Job
from afterpart.model.release import TitleBlock
from afterpart.model.store import build_json, findings_json, history_json, job_json, outline_json, parse_report, report_json
from afterpart.pipeline.earlier import HISTORY, earlier_release, history_since, order_of
from afterpart.release.manifest import MANIFEST, manifest_json
from afterpart.release.release_files import Made, without_file_names
from tests.parts.examples import example

REPORT = parse_report(b'{"format": 1, "verdict": "", "headline": "Print it.", "actions": [], "questions": [], "cautions": [], '
                      b'"failure_modes": [], "not_judged": []}', b"[]")
OUTLINE, JOB = example("bracket")


def release(out: Path, revision: str, name: str = "bracket", history: History | None = None) -> Path:
    """A released folder as far as the next one compares with it."""
    files = {"data/job.json": job_json(replace(JOB, name=name, revision=revision)), "data/outline.json": outline_json(OUTLINE),
             "data/pieces.json": build_json(Build(())), "report.json": report_json(REPORT),
             "findings.json": findings_json(REPORT)}
    if history is not None:
        files[HISTORY] = history_json(history)
    files[MANIFEST] = manifest_json(files, TitleBlock(name, revision), "")
    folder = out / f"{name}_{revision}"
    for path, data in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)
    return folder


def found(job: Job, out: Path, since: Path | None = None) -> str | None:
    earlier = earlier_release(job, out, since)
    return None if earlier is None else earlier.released.job.revision


def test_revisions_are_ordered_as_people_count() -> None:
    names = ["1", "2", "10", "A", "B", "B1", "B2", "B10", "Z", "AA"]
    assert sorted(reversed(names), key=order_of) == names and order_of("b") == order_of("B")


def test_the_newest_earlier_revision_of_the_same_job_is_taken(tmp_path: Path) -> None:
    assert found(JOB, tmp_path) is None
    for revision in ("A", "B", "C"):
        release(tmp_path, revision)
    release(tmp_path, "B2", name="another part")
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / MANIFEST).write_text("no manifest")
    assert found(replace(JOB, revision="C"), tmp_path) == "B"
    assert found(replace(JOB, revision="D"), tmp_path) == "C"
    assert found(replace(JOB, revision="A"), tmp_path) is None


def test_the_one_named_is_taken_and_one_of_the_same_revision_refused(tmp_path: Path) -> None:
    first = release(tmp_path, "A")
    release(tmp_path, "B")
    assert found(replace(JOB, revision="C"), tmp_path, first) == "A"
    with pytest.raises(FolderError, match=r"revision 'A', the same as this job's.*Raise revision"):
        found(replace(JOB, revision="A"), tmp_path, first)
    with pytest.raises(FolderError, match=r"no manifest\.json.*Check the name"):
        found(replace(JOB, revision="C"), tmp_path, tmp_path)


@pytest.mark.parametrize("path", ["data/outline.json", "data/job.json", "findings.json"])
def test_what_was_changed_after_its_release_is_not_compared_with(tmp_path: Path, path: str) -> None:
    folder = release(tmp_path, "A")
    (folder / path).write_bytes((folder / path).read_bytes() + b"\n")
    with pytest.raises(FolderError, match=r"found contents other than those released"):
        found(replace(JOB, revision="B"), tmp_path)
    (folder / path).unlink()
    with pytest.raises(FolderError):
        found(replace(JOB, revision="B"), tmp_path)


def test_the_history_before_is_carried_on(tmp_path: Path) -> None:
    older = RevisionChanges("B", "", "A", "", ())
    release(tmp_path, "B", history=History((older,)))
    job = replace(JOB, revision="C")
    earlier = earlier_release(job, tmp_path, None)
    assert earlier is not None
    made = Made(Build(()), OUTLINE, job, TitleBlock("bracket", "C"), REPORT, {}, (), ())
    history = history_since(earlier, made)
    assert [(one.revision, one.before) for one in history.revisions] == [("C", "B"), ("B", "A")]
    assert history.revisions[1] == older


def test_what_others_wrote_does_not_leave_the_house() -> None:
    told = replace(JOB, fit_reports=(FitReport("a bench", "fits", note="from my uncle"),))
    kept = without_file_names(told)
    assert b"uncle" not in job_json(kept) and kept.fit_reports[0].machine == "a bench"
