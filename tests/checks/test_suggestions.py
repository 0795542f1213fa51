"""What a finding suggests really mends it: the value goes into the job, the pieces are made anew, the check is asked again."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from afterpart.checks.catalogue import CHECKS
from afterpart.checks.headline import rounded
from afterpart.job.read import read_job
from afterpart.model.case import Case
from afterpart.model.finding import FAILS, Finding, Suggestion
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.parts.stage import make_pieces
from tests.parts.examples import case_of, example

FIT = ("fit_share", "fit_clearance_wanted", "gap_at_locating")
"""Their key, a role's clearance, stands in rows; tests of their own ask them again."""


def with_key(job: Job, wish: Suggestion) -> Job:
    """The job with the suggested value in its table."""
    table, _, key = wish.key.partition(".")
    noun = replace(getattr(job.wishes, table), **{key: wish.to})
    return replace(job, wishes=replace(job.wishes, **{table: noun}))


def asked(case: Case, names: set[str]) -> list[Finding]:
    """Findings of these checks for a job as it would be built; nothing is measured on solids."""
    return [finding for check in CHECKS if check.__name__ in names for finding in check(case)]


@pytest.fixture(scope="module")
def outline() -> Outline:
    return example("compressor_cover")[0]


@pytest.fixture(scope="module")
def job(root: Path) -> Job:
    return read_job(root / "examples" / "bad_cover")


@pytest.fixture(scope="module")
def failures() -> list[Finding]:
    names = {check.__name__ for check in CHECKS} - set(FIT)
    return [finding for finding in asked(case_of("bad_cover"), names) if finding.verdict == FAILS]


def test_every_suggestion_of_the_bad_cover_mends_its_finding(outline: Outline, job: Job, failures: list[Finding]) -> None:
    asked_for: dict[tuple[str, float | str], list[Finding]] = {}
    for finding in failures:
        for wish in map(rounded, finding.suggestions):
            asked_for.setdefault((wish.key, wish.to), []).append(finding)
    assert len(asked_for) >= 5
    left = set()
    for (key, to), hoping in asked_for.items():
        other = with_key(job, Suggestion(key, None, to))
        again = asked(Case(other, outline, make_pieces(outline, other)), {finding.check for finding in hoping})
        told = {(finding.check, finding.subject) for finding in hoping}
        left |= {(finding.check, key) for finding in again if finding.verdict == FAILS
                 and (finding.check, finding.subject) in told}
    assert not left


def test_a_failure_without_a_suggestion_says_in_words_what_to_change(failures: list[Finding]) -> None:
    assert all(len(finding.advice.split()) > 5 for finding in failures if not finding.suggestions)
