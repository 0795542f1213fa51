"""The checks of seal and clamp load on the three examples as they are built: well formed, and silent where they do not apply."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import pytest

from afterpart.checks.bearing_stress import bearing_stress
from afterpart.checks.bolt_proof import bolt_proof
from afterpart.checks.clamp_load import clamp_load
from afterpart.checks.closing_force import closing_force
from afterpart.checks.cord_corner import cord_corner
from afterpart.checks.cord_fill import cord_fill
from afterpart.checks.cord_squeeze import cord_squeeze
from afterpart.checks.cord_stretch import cord_stretch
from afterpart.checks.leak_gap import leak_gap
from afterpart.checks.pressure_between_bolts import pressure_between_bolts
from afterpart.checks.relaxation import relaxation
from afterpart.checks.seal_load import SealLoad, seal_load_of
from afterpart.checks.sleeve_decision import sleeve_decision
from afterpart.checks.torque_stated import torque_stated
from afterpart.geometry.spacing import spacings
from afterpart.model.case import Case
from afterpart.model.feature import Groove, Hole
from afterpart.model.finding import FAILS, PASSES, VERDICTS
from afterpart.model.wishes import CoverWish, SealWish
from afterpart.parts.stage import make_pieces
from tests.checks.joint_cases import figure, only, wished
from tests.parts.examples import NAMES, case_of, example

CORD = (cord_squeeze, cord_fill, cord_stretch, cord_corner)
SEAL = (closing_force, pressure_between_bolts, leak_gap, clamp_load, relaxation)
BOLTS = (bolt_proof, bearing_stress, sleeve_decision, torque_stated)


@lru_cache
def built(name: str) -> Case:
    """The example at 1 N m and 40 degC."""
    return wished(case_of(name), bolts={"torque_n_m": 1.0}, service={"temperature_c": 40.0})


@pytest.mark.parametrize("name", NAMES)
def test_findings_are_well_formed(name: str) -> None:
    for check in (*CORD, *SEAL, *BOLTS):
        for finding in check(built(name)):
            assert finding.check == check.__name__ and finding.verdict in VERDICTS and finding.advice.endswith(".")
            assert finding.verdict != PASSES or not finding.from_memory
            assert all(i.source for i in finding.inputs)
            if finding.verdict == FAILS:
                assert finding.margin is None or finding.margin < 0


def test_only_what_applies_speaks() -> None:
    assert all(check(built("pump_lid")) for check in (*CORD, *SEAL, *BOLTS))
    assert all(check(built("compressor_cover")) for check in (*SEAL, *BOLTS))
    assert not any(check(built("compressor_cover")) for check in CORD)
    assert not any(check(built("bracket")) for check in (*CORD, *SEAL)) and all(check(built("bracket")) for check in BOLTS)


def test_the_bolts_of_the_pump_lid_share_its_seal() -> None:
    """Six bolts in a lid symmetric about both axes: two equal spacings at its ends, four equal ones along its sides."""
    case = built("pump_lid")
    load = seal_load_of(case)
    assert isinstance(load, SealLoad)
    cover = case.build.pieces[0]
    places = tuple(f.center for f in cover.features if isinstance(f, Hole) and f.purpose == "bolt")
    found = spacings(load.path, places)
    assert sum(found) == pytest.approx(load.length, abs=0.01) and len(found) == 6
    for alike in (2, 4):
        assert any(sum(abs(one - other) < 0.02 for other in found) == alike for one in found), found


def test_the_strip_over_the_demos_seal_ends_at_the_filters_pocket() -> None:
    """Outside the narrowest land, inside at most the job's filter.land of 2.5 mm and what its corner leaves."""
    case = built("compressor_cover")
    groove = next(f for f in case.build.pieces[0].features if isinstance(f, Groove))
    width = figure(only(pressure_between_bolts(case)), "flange width")
    assert groove.land_outside + groove.width < width <= groove.land_outside + groove.width + 2.5 + 0.01


def test_a_hard_bead_asks_for_more_than_a_thin_cover_can_give() -> None:
    """A bead of 85 Shore A takes kilonewtons all round, at middle figures."""
    outline, job = example("compressor_cover")
    seal = SealWish(kind="ring", section="bead", shore_a=85.0)
    thin = replace(job, wishes=replace(job.wishes, seal=seal, cover=CoverWish(thickness=9.0), make=("cover", "gasket")))
    case = wished(Case(thin, outline, make_pieces(outline, thin)), bolts={"torque_n_m": 1.0}, service={"temperature_c": 40.0})
    found, load = only(closing_force(case)), seal_load_of(case)
    assert isinstance(load, SealLoad) and load.expected * load.length > 1000.0
    assert found.verdict == FAILS and found.value == pytest.approx(load.greatest)
