"""Face velocity: worked by hand on a rectangular seat, edges, missing keys, solved changes."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.checks.air_way import air_way, demand
from afterpart.checks.face_velocity import face_velocity
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, PASSES
from tests.checks.air_cases import OPEN_AREA, air_case, only, without_filter


def test_worked_by_hand() -> None:
    """15.552 m3/h = 0.00432 m3/s through 54 x 40 mm2: 2 m/s."""
    finding = only(face_velocity(air_case(flow_m3_per_h=15.552, face_velocity_limit_m_per_s=2.5)))
    assert finding.value == pytest.approx(2.0)
    assert (finding.verdict, finding.unit) == (PASSES, "m/s")
    assert finding.margin == pytest.approx(0.2)


def test_the_printers_spread_is_carried_to_the_area() -> None:
    """Three windows of 18, 37 - 3/2 - 3/2 ... 54 in all by 40: walls of 2 x 54 + 6 x 40 = 348 mm, each off by 0.05 mm."""
    way = air_way(air_case(flow_m3_per_h=10.0))
    assert way is not None
    assert way.face_area == pytest.approx(OPEN_AREA)
    assert way.face_area_u == pytest.approx(348.0 * 0.05)
    finding = only(face_velocity(air_case(flow_m3_per_h=15.552, face_velocity_limit_m_per_s=2.0001)))
    assert finding.u == pytest.approx(2.0 * 348.0 * 0.05 / OPEN_AREA)
    assert finding.verdict == ATTENTION


def test_bars_of_a_turned_frame_are_turned_back() -> None:
    """A frame's own frame has y mirrored: a bar that runs low in it stands high in the drawing."""
    case = air_case(flow_m3_per_h=10.0)
    cover, holder = case.build.pieces
    bars = tuple(replace(f, start=(-30.0, -18.5), end=(30.0, -18.5)) if type(f).__name__ == "Bar" else f for f in holder.features)
    way = air_way(replace(case, build=replace(case.build, pieces=(cover, replace(holder, features=bars)))))
    assert way is not None and way.bars.centroid.y == pytest.approx(18.5)
    assert way.face_area == pytest.approx(60.0 * 37.0)


def test_too_fast_fails_and_says_how_much_face_is_wanted() -> None:
    """2 m/s against 1.8: 11 % more; two cuts give 65 x 40 of 60 x 40, 8 % more; four give 70 x 50, enough."""
    finding = only(face_velocity(air_case(flow_m3_per_h=15.552, face_velocity_limit_m_per_s=1.8)))
    assert finding.verdict == FAILS and "11%" in finding.advice
    assert [(s.key, s.to) for s in finding.suggestions if s.key == "filter.cuts"] == [("filter.cuts", 4)]


def test_the_solved_rim_stands_at_the_limit() -> None:
    case = air_case(flow_m3_per_h=15.552, face_velocity_limit_m_per_s=1.8)
    rim = next(s.to for s in only(face_velocity(case)).suggestions if s.key == "filter.rim")
    assert isinstance(rim, float)
    x = 5.0 - rim
    way = air_way(case)
    assert way is not None
    assert way.with_rim(rim).face_area == pytest.approx((54.0 + 2 * x) * (40.0 + 2 * x))
    assert 15.552 / 3.6e-3 / way.with_rim(rim).face_area == pytest.approx(1.8)


def test_missing_keys_are_named() -> None:
    assert only(face_velocity(air_case())).missing == ("filter.flow_m3_per_h",)
    finding = only(face_velocity(air_case(flow_m3_per_h=15.552)))
    assert finding.verdict == NOT_JUDGED and finding.missing == ("filter.face_velocity_limit_m_per_s",)
    assert "2.00 m/s" in finding.advice
    assert only(face_velocity(air_case({"speed_rpm": 1000.0}))).missing == ("machine.displacement_cm3", "machine.kind")


def test_a_job_without_a_filter_is_not_asked() -> None:
    assert face_velocity(without_filter(air_case(flow_m3_per_h=10.0))) == ()


@pytest.mark.parametrize("kind, factor", [("engine four-stroke", 1.0), ("engine two-stroke", 2.0), ("compressor", 2.0),
                                          ("vacuum pump", 2.0)])
def test_demand_from_displacement(kind: str, factor: float) -> None:
    """125 cm3, 8000 1/min, 0.9, four strokes: 0.0075 m3/s = 27 m3/h; twice that where each turn breathes."""
    case = air_case({"kind": kind, "displacement_cm3": 125.0, "speed_rpm": 8000.0, "volumetric_efficiency": 0.9})
    asked = demand(case)
    assert asked.flow_m3_per_h == pytest.approx(27.0 * factor)
    assert not asked.from_memory and (asked.pulse is None) == (kind == "vacuum pump")


def test_an_engine_whose_strokes_are_not_told() -> None:
    case = air_case({"kind": "engine", "displacement_cm3": 125.0, "speed_rpm": 8000.0})
    assert only(face_velocity(case)).missing == ("machine.kind",)


def test_a_usual_filling_counts_as_from_memory() -> None:
    case = air_case({"kind": "compressor", "displacement_cm3": 125.0, "speed_rpm": 3000.0}, face_velocity_limit_m_per_s=50.0)
    assert only(face_velocity(case)).verdict == ATTENTION


def test_the_largest_stated_flow_leads() -> None:
    assert demand(air_case({"flow_m3_per_h": 30.0}, flow_m3_per_h=24.0)).flow_m3_per_h == 30.0


@settings(deadline=None, derandomize=True, max_examples=20)
@given(st.floats(1.0, 200.0), st.floats(1.0, 200.0))
def test_more_flow_is_never_slower(a: float, b: float) -> None:
    slow, fast = (only(face_velocity(air_case(flow_m3_per_h=q, face_velocity_limit_m_per_s=2.0))).value for q in sorted((a, b)))
    assert slow is not None and fast is not None and slow <= fast
