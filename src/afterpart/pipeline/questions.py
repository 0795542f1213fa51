"""What an outline answers: the part of a job that it depends on, and what an earlier run left of its edges.

The mate's photographs are part of the question: the design of the part hears what they say (pipeline/pairing.py).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from afterpart.model.fit_report import FitReport
from afterpart.model.job import Job
from afterpart.model.release import ReleaseWish
from afterpart.model.store import EdgeRecord, parse_edges


def question_of(job: Job) -> Job:
    """The job without what its outline does not depend on: two jobs with the same question have the same outline."""
    plain = Job("", job.shots)
    sizes = tuple(FitReport(report.machine, "", sizes=report.sizes, u=report.u) for report in job.fit_reports if report.sizes)
    return replace(job, name="", revision="", date="", plate=plain.plate, wishes=plain.wishes,
                   release=ReleaseWish(language=job.release.language), fit_reports=sizes)


def earlier_run(out: Path) -> EdgeRecord | None:
    """What an earlier run left in `out`; None when there is nothing, or nothing this version can read."""
    try:
        return parse_edges((out / "edges.json").read_bytes())
    except OSError:
        return None
