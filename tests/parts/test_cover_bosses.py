"""Bosses on the cover's mating face: where they may stand, and the body they give, measured on the solid."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import pytest

from afterpart.errors import JobError
from afterpart.model.assembly import Build
from afterpart.model.feature import Boss
from afterpart.model.job import Height
from afterpart.model.wishes import AddedBoss, ScrewWish
from afterpart.parts.stage import make_pieces
from afterpart.solid.overhang import overhangs
from afterpart.solid.worker import Workshop
from tests.parts.examples import example

AT = (-15.0, -4.0)
"""A free place on the bracket's face."""


def build(*bosses: AddedBoss, heights: tuple[Height, ...] = ()) -> Build:
    outline, job = example("bracket")
    wishes = replace(job.wishes, bosses=bosses, screws=ScrewWish(length=12.0), make=("cover",))
    return make_pieces(outline, replace(job, wishes=wishes, heights=heights))


def test_a_boss_stands_on_the_face_with_a_blind_hole() -> None:
    plain, with_boss = build().pieces[0], build(AddedBoss("guard", AT, 9.0, passes=2.0)).pieces[0]
    boss = next(f for f in with_boss.features if isinstance(f, Boss))
    assert (boss.bottom, boss.top, boss.opens) == (5.0, 14.0, 1) and with_boss.thickness == 14.0
    assert boss.top - boss.pilot_depth > 1.0
    assert with_boss.through_holes == plain.through_holes
    with Workshop() as workshop:
        before, after = workshop.build(plain), workshop.build(with_boss)
    assert after.solids == 1 and after.genus == with_boss.through_holes
    assert after.high[2] == pytest.approx(14.0)
    r = boss.diameter / 2
    fillet = math.pi * 0.6 / 3 * (r * r + r * (r + 0.6) + (r + 0.6) ** 2) - math.pi * r * r * 0.6
    solid = math.pi * r * r * 9.0 + fillet
    bored = solid - (after.volume - before.volume)
    pilot = math.pi * (boss.pilot / 2) ** 2
    assert pilot * boss.pilot_depth < bored < pilot * boss.pilot_depth + math.pi * 1.8 ** 2 * 2.0
    assert not [patch for patch in overhangs(after.mesh, 45.0) if patch.kind == "unsupported"]


@pytest.mark.parametrize(("boss", "named"), [
    (AddedBoss("guard", (-60.0, 0.0), 9.0), "not on the cover"),
    (AddedBoss("guard", (-41.0, 17.0), 9.0), "c1"),
    (AddedBoss("guard", (-15.0, 10.0), 9.0), "s11"),
    (AddedBoss("guard", AT, 1.0), "screws.length")])
def test_a_boss_that_cannot_stand_is_refused_by_name(boss: AddedBoss, named: str) -> None:
    with pytest.raises(JobError, match=named):
        build(boss)


def test_bosses_that_meet_each_other_or_the_machine_are_refused() -> None:
    with pytest.raises(JobError, match=r"'guard' and 'second' run into each other"):
        build(AddedBoss("guard", AT, 9.0), AddedBoss("second", (AT[0] + 4.0, AT[1]), 9.0))
    with pytest.raises(JobError, match=r"(?s)guard.*room above"):
        build(AddedBoss("guard", AT, 9.0), heights=(Height("room above", 6.0),))
