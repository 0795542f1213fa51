"""Straight cuts against the full outline: areas by hand, verdicts on either side of what is worth it."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.checks.straight_or_curved import straight_or_curved
from afterpart.model.finding import ATTENTION, NOT_JUDGED
from tests.checks.air_cases import air_case, only, without_filter


def test_areas_by_hand() -> None:
    """Full outline 80 x 60 less rim: 70 x 50 = 3500, of which bars leave 0.9: 3150 against 2160 mm2, 46 % more."""
    finding = only(straight_or_curved(air_case(flow_m3_per_h=12.0)))
    assert next(i.value for i in finding.inputs if i.name == "open face, full outline") == pytest.approx(3150.0)
    assert "46% more face" in finding.advice and finding.verdict == ATTENTION


def test_what_is_worth_it_hangs_on_what_the_machine_may_lose() -> None:
    much = only(straight_or_curved(air_case({"restriction_limit_pa": 5000.0}, flow_m3_per_h=12.0)))
    little = only(straight_or_curved(air_case({"restriction_limit_pa": 40.0}, flow_m3_per_h=12.0)))
    assert much.value == little.value
    assert "not worth" in much.advice and much.suggestions == ()
    assert "is worth a curved cut" in little.advice
    assert [(s.key, s.to) for s in little.suggestions] == [("filter.cuts", 4)]


def test_the_saving_is_the_difference_of_two_drops() -> None:
    """Foam by (3150 / 2160)^1.6, fittings by the opening's square: the foam's part within a tenth of the whole."""
    finding = only(straight_or_curved(air_case(flow_m3_per_h=12.0, pores_per_inch=100.0)))
    foam = 249.089 * 10 / 12.7 * (12.0 / 3.6e-3 / 2160.0 / 1.778) ** 1.6
    assert finding.value == pytest.approx(foam * (1.0 - (2160.0 / 3150.0) ** 1.6), rel=0.05)


def test_without_a_flow_the_area_is_still_told() -> None:
    finding = only(straight_or_curved(air_case()))
    assert finding.verdict == NOT_JUDGED and finding.missing == ("filter.flow_m3_per_h",)
    assert "46% more face" in finding.advice
    assert straight_or_curved(without_filter(air_case())) == ()


@settings(deadline=None, derandomize=True, max_examples=20)
@given(st.floats(2.0, 30.0))
def test_more_area_never_costs_pressure(flow: float) -> None:
    value = only(straight_or_curved(air_case(flow_m3_per_h=flow))).value
    assert value is None or value >= 0.0
