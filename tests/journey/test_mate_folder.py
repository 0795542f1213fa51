"""The command about the mating part: what it asks for before anything is measured, how a mate's picture is told apart."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path

import pytest

from afterpart.errors import JobError
from afterpart.model.job import Job, Shot
from afterpart.pipeline import mate_of
from afterpart.pipeline.mate_picture import is_mate_current, mate_shot
from afterpart.pipeline.mating import case_with_mate
from tests.checks.fit_cases import plate
from tests.checks.mate_cases import holes

RULED = Shot("box.jpg", sheet=(210.0, 297.0), reference_height=0.8, face_height=40.0, shows="mate")


def _quiet(text: str) -> None:
    """Says nothing."""


def test_a_job_without_a_mate_is_told_what_to_photograph(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text('name = "lid"\n[[photo]]\nfile = "lid.jpg"\n')
    with pytest.raises(JobError, match="(?s)photo.shows.*no photograph of the mate.*soft gasket is no gauge"):
        mate_of(tmp_path, tmp_path / "pieces", _quiet)
    assert [path.name for path in tmp_path.iterdir()] == ["job.toml"]


def test_a_mate_on_the_sheet_keeps_its_height_and_is_measured_like_a_part() -> None:
    shot = mate_shot(RULED, "alone")
    assert (shot.shows, shot.face, shot.face_height, shot.reference_height) == ("part", "mating", 40.0, 0.8)


@pytest.mark.parametrize("way", ["rubbing", "ink print"])
def test_on_paper_the_face_is_the_paper(way: str) -> None:
    bare = Shot("flange.jpg", reference_height=0.8, shows="mate", edge_radius=0.5)
    shot = mate_shot(bare, way)
    assert (shot.face_height, shot.reference_height, shot.edge_radius) == (0.0, 0.8, None)
    with pytest.raises(JobError, match="photo.face_height: found 40 mm.*Leave it out"):
        mate_shot(RULED, way)


def test_in_place_the_rule_lies_on_the_face() -> None:
    shot = mate_shot(Shot("flange.jpg", reference_height=0.8, face_height=12.0, shows="mate"), "in place")
    assert (shot.face_height, shot.reference_height) == (12.0, 12.8)
    bare = mate_shot(Shot("flange.jpg", reference_height=0.8, shows="mate"), "in place")
    assert (bare.face_height, bare.reference_height) == (0.0, 0.8)


def test_a_mate_on_the_sheet_without_a_height_is_refused() -> None:
    with pytest.raises(JobError, match="photo.face_height: found nothing.*above the table"):
        mate_shot(Shot("box.jpg", shows="mate"), "alone")


def test_a_case_whose_job_shows_no_mate_stays_as_it_is(tmp_path: Path) -> None:
    case = plate(holes())
    assert case_with_mate(case, tmp_path, _quiet) is case
    assert isinstance(case.job, Job) and not list(tmp_path.iterdir())


def test_the_measurement_of_a_mate_that_left_the_job_is_not_current(tmp_path: Path) -> None:
    assert not is_mate_current(Job("cover", (Shot("cover.jpg"),)), tmp_path, tmp_path)
