"""Pressure drop of the whole clean inlet: by hand, against the library fluids, at its edges."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest
from fluids.filters import square_edge_screen
from fluids.fittings import entrance_sharp, exit_normal
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.checks.inlet_pressure_drop import inlet_pressure_drop
from afterpart.formulas.airflow import foam_drop
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED
from tests.checks.air_cases import OPEN_AREA, air_case, only, without_filter

FLOW = 1.778 * 3.6e-3 * OPEN_AREA
"""m3/h that makes the face velocity the published 1.778 m/s (350 ft/min)."""


def limited(limit: float = 1000.0, **more: float) -> dict[str, float]:
    return {"restriction_limit_pa": limit, **more}


def test_by_hand_at_the_published_speed() -> None:
    """20 pores per inch, 12.7 mm at 350 ft/min: 0.045 in water = 11.2 Pa (1964), and the fittings by the library fluids.

    In the opening of 60 x 40 the speed is 0.9 of that; rho V^2 / 2 = 1.568 Pa; bars leave 0.9 free."""
    speed = 1.778 * 0.9
    losses = entrance_sharp() + square_edge_screen(0.9) + exit_normal()
    expected = 0.045 * 249.089 + losses * 1.2250 * speed**2 / 2
    finding = only(inlet_pressure_drop(air_case(limited(), pores_per_inch=20.0, thickness=12.7, flow_m3_per_h=FLOW)))
    assert finding.value == pytest.approx(expected, rel=2e-4)
    assert finding.verdict == ATTENTION and finding.from_memory


def test_the_band_of_the_foam_is_two_standard_uncertainties() -> None:
    """At the published speed the exponent is of no account: the foam's band is half again, 5.6 Pa, so u is 2.8 Pa."""
    finding = only(inlet_pressure_drop(air_case(limited(), pores_per_inch=20.0, thickness=12.7, flow_m3_per_h=FLOW)))
    assert finding.u == pytest.approx(0.5 * 0.045 * 249.089 / 2, rel=1e-3)


def test_beyond_its_limit_it_fails_and_the_change_is_solved() -> None:
    case = air_case(limited(20.0), pores_per_inch=30.0, thickness=12.7, flow_m3_per_h=FLOW)
    finding = only(inlet_pressure_drop(case))
    assert finding.verdict == FAILS
    rim = next(s.to for s in finding.suggestions if s.key == "filter.rim")
    assert isinstance(rim, float) and 0.8 <= rim < 5.0
    assert not any(s.key == "filter.cuts" and s.to == 2 for s in finding.suggestions)


def test_coarser_foam_solved_as_the_power_law_says() -> None:
    """With a limit inside the band the pores are solved for the band's upper end: 1.5 dp0 (ppi / 20)^n + fittings = limit."""
    case = air_case(limited(30.0), pores_per_inch=30.0, thickness=12.7, flow_m3_per_h=FLOW)
    finding = only(inlet_pressure_drop(case))
    pores = next(s.to for s in finding.suggestions if s.key == "filter.pores_per_inch")
    fittings = next(i.value for i in finding.inputs if i.name == "entry, bars and exit")
    exponent = math.log(1.0 / 0.045) / math.log(5.0)
    assert pores == pytest.approx(20.0 * ((30.0 - fittings) / (1.5 * 0.045 * 249.089)) ** (1 / exponent), rel=1e-6)


def test_missing_keys_and_ranges() -> None:
    assert only(inlet_pressure_drop(air_case())).missing == ("filter.flow_m3_per_h",)
    finding = only(inlet_pressure_drop(air_case(flow_m3_per_h=10.0)))
    assert finding.missing == ("machine.restriction_limit_pa",) and "Pa" in finding.advice
    for wish in ({"pores_per_inch": 19.9}, {"pores_per_inch": 100.1}, {"flow_m3_per_h": 0.19 * 3.6e-3 * OPEN_AREA},
                 {"flow_m3_per_h": 4.01 * 3.6e-3 * OPEN_AREA}):
        finding = only(inlet_pressure_drop(air_case(limited(), **{"flow_m3_per_h": FLOW, **wish})))
        assert finding.verdict == NOT_JUDGED and finding.missing == () and "0.2 to 4" in finding.advice
    for wish in ({"pores_per_inch": 20.0}, {"pores_per_inch": 100.0}, {"flow_m3_per_h": 3.99 * 3.6e-3 * OPEN_AREA}):
        assert only(inlet_pressure_drop(air_case(limited(1e5), **{"flow_m3_per_h": FLOW, **wish}))).value is not None
    assert inlet_pressure_drop(without_filter(air_case(flow_m3_per_h=10.0))) == ()


def test_pulses_of_one_cylinder_are_told() -> None:
    one = limited(1000.0, kind="compressor", single_cylinder=True)  # type: ignore[arg-type]
    assert "3 times the mean flow" in only(inlet_pressure_drop(air_case(one, flow_m3_per_h=FLOW))).advice
    many = {**one, "single_cylinder": False}
    assert "pulses" not in only(inlet_pressure_drop(air_case(many, flow_m3_per_h=FLOW))).advice


def test_a_rounded_entry_and_fewer_bars_never_cost_more() -> None:
    plain = only(inlet_pressure_drop(air_case(limited(), flow_m3_per_h=FLOW))).value
    rounded = only(inlet_pressure_drop(air_case(limited(), bellmouth=3.0, flow_m3_per_h=FLOW))).value
    barless = only(inlet_pressure_drop(air_case(limited(), bars=0, flow_m3_per_h=FLOW))).value
    assert plain is not None and rounded is not None and barless is not None
    assert rounded < plain and barless < plain


@settings(deadline=None, derandomize=True, max_examples=25)
@given(st.floats(1.0, 40.0), st.floats(1.0, 40.0), st.floats(20.0, 100.0), st.floats(0.25, 3.9))
def test_thicker_foam_never_lowers_the_drop(a: float, b: float, pores: float, speed: float) -> None:
    thin, thick = (only(inlet_pressure_drop(air_case(limited(1e6), thickness=t, pores_per_inch=pores,
                                                     flow_m3_per_h=speed * 3.6e-3 * OPEN_AREA))).value for t in sorted((a, b)))
    assert thin is not None and thick is not None and thin <= thick


def test_foam_leads_what_is_told() -> None:
    """The foam's share stands in the advice as worked from its own formula."""
    finding = only(inlet_pressure_drop(air_case(limited(), flow_m3_per_h=FLOW)))
    assert finding.value is not None
    share = foam_drop(30.0, 10.0, 1.778).expected_pa / finding.value
    assert f"{share:.0%} of it the foam" in finding.advice
