"""The three examples as the measuring stages left them, so that pieces can be tested without measuring again.

outlines/NAME.json is outline.json of `afterpart measure examples/NAME`, frozen: numbers in it are the program's own, held
against the true drawings elsewhere (tests/truth, tests/journey).  `case_of` and `report_on` build and judge an example once a
run, for tests that only look at what comes of it.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from functools import cache
from pathlib import Path

from afterpart.checks.stage import run_checks
from afterpart.job.read import read_job
from afterpart.model.case import Case
from afterpart.model.finding import CheckReport
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.model.store import parse_outline
from afterpart.parts.stage import make_pieces
from tests.once import computed_once

NAMES = ("compressor_cover", "pump_lid", "bracket")
ROOT = Path(__file__).parents[2]


def example(name: str) -> tuple[Outline, Job]:
    """Outline and job of an example."""
    data = (Path(__file__).parent / "outlines" / f"{name}.json").read_bytes()
    return parse_outline(data), read_job(ROOT / "examples" / name)


@cache
def case_of(name: str) -> Case:
    """An example as it is built, or the bad cover on the compressor's outline; nothing is measured on solids."""
    def made() -> Case:
        outline, _ = example("compressor_cover" if name == "bad_cover" else name)
        job = read_job(ROOT / "examples" / name)
        return Case(job, outline, make_pieces(outline, job))

    return computed_once(f"case_of_{name}", made)


@cache
def report_on(name: str) -> CheckReport:
    """What the checks say of it."""
    return computed_once(f"report_on_{name}", lambda: run_checks(case_of(name)))
