"""The table of cuts and the checks speak of the same open face: bars, rim and rounded corners taken off alike.

The examples are built whole; a narrower rim is built anew and compared with what the checks foresaw of it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from afterpart.checks.air_way import AirWay, air_way
from afterpart.job.read import read_job
from afterpart.model.case import Case
from afterpart.model.job import Job
from afterpart.parts.stage import make_pieces
from tests.parts.examples import case_of


@pytest.fixture(scope="module")
def job(root: Path) -> Job:
    return read_job(root / "examples" / "bad_cover")


def built(job: Job, rim: float | None = None) -> AirWay:
    case = case_of("bad_cover")
    if rim is not None:
        assert job.wishes.filter is not None
        job = replace(job, wishes=replace(job.wishes, filter=replace(job.wishes.filter, rim=rim)))
        case = Case(job, case.outline, make_pieces(case.outline, job))
    way = air_way(case)
    assert way is not None
    return way


def test_the_chosen_row_is_the_face_that_is_built(job: Job) -> None:
    way = built(job)
    assert way.bars.area > 0.0
    assert way.row.open_area == pytest.approx(way.face_area, rel=1e-3)
    assert all(row.open_area < row.area - way.rim * 100 for row in way.rows)


@pytest.mark.parametrize("rim", [4.0, 2.5])
def test_another_rim_is_foreseen_as_it_is_built(job: Job, rim: float) -> None:
    foreseen, made = built(job).with_rim(rim), built(job, rim)
    assert made.row.corners == foreseen.row.corners
    assert foreseen.face_area == pytest.approx(made.face_area, rel=1e-3)
    assert foreseen.open_share == pytest.approx(made.open_share, abs=1e-3)
