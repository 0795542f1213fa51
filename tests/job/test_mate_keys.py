"""The table about the mating part: the ways its face may be shown, and what is no gauge."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.errors import JobError
from afterpart.job.read import parse_job
from afterpart.model.mate import WAYS

TEXT = 'name = "lid"\n[[photo]]\nfile = "a.jpg"\n[[photo]]\nfile = "b.jpg"\nshows = "mate"\nface_height = 40.0\n'
CARD = '[[height]]\nlevel = "face"\nvalue = 9.0\n'


@pytest.mark.parametrize("way", WAYS)
def test_every_way_is_read(way: str) -> None:
    job = parse_job(f'{TEXT}[mate]\nway = "{way}"\n')
    assert job.mate.way == way
    assert [shot.file for shot in job.shots_of("mate")] == ["b.jpg"]


def test_a_used_soft_gasket_is_refused_as_a_gauge() -> None:
    with pytest.raises(JobError, match=r"job.toml:9: mate.way: found 'gasket'.*never a gauge"):
        parse_job(f'{TEXT}[mate]\nway = "gasket"\n')


def test_the_part_s_heights_are_none_of_the_mate_s() -> None:
    part, mate = parse_job(TEXT + CARD).shots
    assert (part.face_height, mate.face_height) == (9.0, 40.0)
