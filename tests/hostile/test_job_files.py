"""Over a thousand damaged and hostile job files: each refused with status 3 and one clear message, soon; nothing is written."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from afterpart.errors import JobError
from afterpart.job.read import read_job
from tests.hostile.job_corpus import HostileJob, hostile_jobs
from tests.hostile.verdict import LONGEST_MESSAGE, listed, wrongs_of_refusal
from tests.hostile.warm_child import WarmChild
from tests.journey.command import afterpart, assert_refused

LONGEST_S = 20.0
"""Seconds one refusal may take on a busy machine."""
MOST_MB = 600.0
ONE_IN = 15
"""Of the job files that the reader refuses, how many go through the whole command too."""
KINDS = ("missing", "mistyped", "out of range", "infinite", "duplicated", "deep", "long", "bytes")


def test_the_corpus_has_every_kind_and_every_name_once() -> None:
    names = Counter((job.kind, job.name) for job in hostile_jobs())
    assert max(names.values()) == 1, names.most_common(3)
    assert {kind for kind, _ in names} == set(KINDS)
    assert len(names) >= 300
    assert [job.data for job in hostile_jobs()] == [job.data for job in hostile_jobs()], "the same on every run"


@pytest.mark.parametrize("kind", KINDS)
def test_the_reader_refuses_every_job_file_by_the_key_at_fault(kind: str, tmp_path: Path) -> None:
    wrong = []
    for job in of_kind(kind):
        try:
            read_written(job, tmp_path)
        except JobError as error:
            said = str(error)
            wrong += [f"{job.name}: does not say {word!r}: {said[:200]}" for word in job.must_say if word not in said]
            wrong += [f"{job.name}: a message of {len(said)} letters"] if not 0 < len(said) <= LONGEST_MESSAGE else []
        else:
            wrong += [f"{job.name}: taken for a job"] if job.must_say else []
    assert not wrong, f"{len(wrong)}\n" + "\n".join(wrong[:20])


@pytest.mark.parametrize("kind", KINDS)
def test_the_command_ends_with_status_3_and_writes_nothing(kind: str, warm: WarmChild, tmp_path: Path) -> None:
    """A sample of those the reader refuses, and all that it takes for a job: their photograph is not there."""
    wrong = [f"{job.name}: {text}" for number, job in enumerate(of_kind(kind))
             if number % ONE_IN == 0 or not job.must_say or kind == "long" for text in _wrongs(job, warm, tmp_path)]
    assert not wrong, f"{len(wrong)}\n" + "\n".join(wrong[:20])


def of_kind(kind: str) -> list[HostileJob]:
    return [job for job in hostile_jobs() if job.kind == kind]


def read_written(job: HostileJob, folder: Path) -> None:
    (folder / "job.toml").write_bytes(job.data)
    read_job(folder)


def _wrongs(job: HostileJob, warm: WarmChild, folder: Path) -> list[str]:
    (folder / "job.toml").write_bytes(job.data)
    run = warm.run("measure", folder)
    wrong = wrongs_of_refusal(run, 3, job.must_say)
    if listed(folder) != {"job.toml": len(job.data)}:
        wrong.append(f"left {listed(folder)}")
    if run.seconds > LONGEST_S or run.peak_mb > MOST_MB:
        wrong.append(f"took {run.seconds:.1f} s and {run.peak_mb:.0f} MB")
    return wrong


@pytest.mark.parametrize("name", ["lists 100000", "comment of 10 MB", "NUL in the photo's name"])
def test_a_real_command_says_the_same(name: str, tmp_path: Path) -> None:
    job = next(job for job in hostile_jobs() if job.name == name)
    (tmp_path / "job.toml").write_bytes(job.data)
    assert_refused(afterpart("measure", tmp_path), 3, *job.must_say)
    assert listed(tmp_path) == {"job.toml": len(job.data)}
