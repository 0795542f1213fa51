"""Sizes that others report are solved into the drawing: five reports of a plate whose scale is 0.3 % off pull it back."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from afterpart.errors import JobError
from afterpart.model.edges import EdgeMap
from afterpart.model.fit_report import FitReport, ReportedSize
from afterpart.model.job import Job, Reading, Shot
from afterpart.model.outline import Outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.pipeline.measuring import complete, outline_of, question_of, settings_of
from tests.outline.invented import circle, polygon, rims_of

DRAWING = [polygon([(0, 0), (90, 0), (90, 50), (0, 50)], 6.0), circle(10, 10, 5.5), circle(80, 10, 5.5), circle(10, 40, 5.5),
           circle(80, 40, 5.5)]
JOB = Job("plate", (Shot("plate.jpg"),))


@pytest.fixture(scope="module")
def edges() -> EdgeMap:
    made = rims_of(DRAWING, np.random.default_rng(5), rms=0.012, scale_u=0.0, relative_u=0.002, angle_rad=0.3, shift=(12.0, -7.0))
    return replace(made, rims=tuple(replace(rim, points=rim.points * 1.003) for rim in made.rims))


@pytest.fixture(scope="module")
def first(edges: EdgeMap) -> Outline:
    return recover_outline(edges, OutlineSettings())


def pick(outline: Outline, kind: str, near: float) -> str:
    return min((d for d in outline.dimensions if d.kind == kind), key=lambda d: abs(d.measured - near)).id


def reports(name: str, count: int = 5) -> tuple[FitReport, ...]:
    """Widths of 90 mm as five other mouldings have them."""
    return tuple(FitReport(f"machine {i}", "fits", sizes=(ReportedSize(name, 90.0 + off),), u=0.02)
                 for i, off in enumerate((-0.1, 0.05, 0.12, -0.08, 0.02)[:count]))


def test_reported_sizes_put_the_others_right_and_their_uncertainty_down(edges: EdgeMap, first: Outline) -> None:
    width, other = pick(first, "width", 90.0), pick(first, "distance", 70.0)
    job = replace(JOB, fit_reports=reports(width))
    second = complete(recover_outline(edges, settings_of(job)), edges, job)
    before, after = (next(d for d in outline.dimensions if d.id == other) for outline in (first, second))
    assert abs(before.measured - 70.0) > 0.15 and abs(after.measured - 70.0) < 0.5 * abs(before.measured - 70.0)
    assert after.u < 0.8 * before.u and abs(after.measured - 70.0) < 2.0 * after.u
    assert next(d for d in second.dimensions if d.id == width).origin == "reading"
    assert any(note.code == "report_used" and width in note.text for note in second.notes)


def test_a_report_weighs_less_than_a_reading_of_the_part_itself(edges: EdgeMap, first: Outline) -> None:
    """The same number, once by calliper on this part, once reported of another moulding: TG6 scatter against 0.02."""
    width, other = pick(first, "width", 90.0), pick(first, "distance", 70.0)
    read = recover_outline(edges, settings_of(replace(JOB, readings=(Reading(width, 90.0, 0.02),))))
    told = recover_outline(edges, settings_of(replace(JOB, fit_reports=(FitReport("m", "fits", sizes=(ReportedSize(width, 90.0),),
                                                                                  u=0.02),))))
    own, reported = (next(d.u for d in outline.dimensions if d.id == other) for outline in (read, told))
    assert own < reported < next(d.u for d in first.dimensions if d.id == other)


def test_only_reported_sizes_ask_for_a_new_drawing() -> None:
    told = replace(JOB, fit_reports=reports("d1", 1))
    assert question_of(told) != question_of(JOB)
    more = replace(told.fit_reports[0], hours=40.0, rubs=("c1",), note="runs well", fitted="after work", year=1990)
    assert question_of(replace(told, fit_reports=(more,))) == question_of(told)
    assert question_of(replace(JOB, fit_reports=(replace(more, sizes=()),))) == question_of(JOB)


def test_a_report_of_nothing_says_where_to_look(edges: EdgeMap) -> None:
    job = replace(JOB, fit_reports=reports("d999", 1))
    with pytest.raises(JobError, match=r"d999.*fit_report\.sizes"):
        outline_of(edges, job)
