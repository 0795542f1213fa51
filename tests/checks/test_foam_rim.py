"""The squeezed rim: contact, densification, foam in the way round, each by hand."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest

from afterpart.checks.foam_rim import foam_rim
from afterpart.model.feature import Seat
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED
from tests.checks.air_cases import air_case, only, without_filter


def test_half_squeeze_lies_in_the_plateau() -> None:
    """Gibson and Ashby (from memory): foam of porosity 0.97 densifies at 1 - 1.4 x 0.03 = 0.958."""
    squeeze = foam_rim(air_case())[0]
    assert (squeeze.value, squeeze.limit.high) == (0.5, pytest.approx(0.958))
    assert squeeze.verdict == ATTENTION and squeeze.suggestions == ()


@pytest.mark.parametrize("squeeze, wanted", [(0.1, 0.2), (0.965, 0.958)])
def test_too_loose_and_too_tight_fail_with_the_limit_solved(squeeze: float, wanted: float) -> None:
    finding = foam_rim(air_case(squeeze=squeeze))[0]
    assert finding.verdict == FAILS
    assert [(s.key, s.to) for s in finding.suggestions] == [("filter.squeeze", pytest.approx(wanted))]


def test_foam_in_the_way_round() -> None:
    """5 mm squeezed to half holds the solid of 10 mm: enough for a face of 10 mm, not of 12 (rim 6, squeeze 7/12)."""
    assert foam_rim(air_case())[1].value == pytest.approx(10.0)
    assert foam_rim(air_case())[1].verdict == ATTENTION
    short = foam_rim(air_case(thickness=12.0))[1]
    assert short.verdict == FAILS
    assert {s.key: s.to for s in short.suggestions} == {"filter.rim": pytest.approx(6.0), "filter.squeeze": pytest.approx(7 / 12)}


def test_the_rims_own_area_and_flow_are_told() -> None:
    """70 x 50 less 60 x 40 is 1100 of 3500: 31 %."""
    told = foam_rim(air_case(flow_m3_per_h=12.0))[1].advice
    assert "31% of the element's area" in told and "not a gasket" in told
    assert "not a gasket" not in foam_rim(air_case())[1].advice


def test_without_a_rim_no_foam_lies_in_the_way_round() -> None:
    case = air_case(flow_m3_per_h=12.0)
    cover = case.build.pieces[0]
    features = tuple(replace(f, rim=0.0) if isinstance(f, Seat) else f for f in cover.features)
    bare = replace(case, build=replace(case.build, pieces=(replace(cover, features=features), *case.build.pieces[1:])))
    finding = foam_rim(bare)[1]
    assert (finding.verdict, finding.value) == (FAILS, 0.0)


def test_foam_pressed_solid_is_told_once() -> None:
    finding = only(foam_rim(air_case(squeeze=0.98, flow_m3_per_h=12.0)))
    assert finding.verdict == FAILS and finding.subject == "squeeze of the rim"


def test_nothing_that_squeezes_is_not_judged() -> None:
    finding = only(foam_rim(air_case(squeeze=None)))
    assert finding.verdict == NOT_JUDGED and finding.missing == ()
    assert foam_rim(without_filter(air_case())) == ()
