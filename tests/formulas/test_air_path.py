"""The way of the air as a whole: sums, the way round turned round, and what is refused."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.formulas.air_path import (
    AirPath,
    RimPath,
    climb_m,
    foam_depth,
    foam_room,
    path_drop,
    path_holds,
    rim_drop,
    rim_flows,
    squeezed_resistance,
)
from afterpart.formulas.airflow import squeezed_porosity, standard_air

AIR = standard_air()
PATH = AirPath(2400.0, 200.0, 0.0, 0.9, 2160.0, 30.0, 10.0)
RIM = RimPath(200.0, 5.0, 5.0, 0.5, 4.0)


def test_parts_add_up() -> None:
    drop = path_drop(PATH, 12.0, AIR)
    assert drop.expected_pa == pytest.approx(drop.entry_pa + drop.bars_pa + drop.exit_pa + drop.foam.expected_pa)
    assert drop.least_pa < drop.expected_pa < drop.greatest_pa


@settings(deadline=None, derandomize=True)
@given(st.floats(1.0, 60.0), st.floats(1.0, 60.0))
def test_more_flow_never_lowers_the_drop(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert path_drop(PATH, low, AIR).expected_pa <= path_drop(PATH, high, AIR).expected_pa


@settings(deadline=None, derandomize=True)
@given(st.floats(1.0, 200.0), st.floats(0.0, 0.9), st.floats(0.1, 10.0))
def test_the_way_round_turned_round(drop: float, squeeze: float, gap: float) -> None:
    rim = replace(RIM, squeeze=squeeze, gap=gap)
    flows = rim_flows(rim, 30.0, drop, AIR)
    resistances = sorted(squeezed_resistance(0.97, squeeze), reverse=True)
    least, most = (rim_drop(rim, r, 30.0, flow, AIR) for r, flow in zip(resistances, flows, strict=True))
    assert least == pytest.approx(drop, rel=1e-6) and most == pytest.approx(drop, rel=1e-6)
    assert flows[0] <= flows[1]


def test_no_gap_no_flow() -> None:
    assert rim_flows(replace(RIM, gap=0.0), 30.0, 20.0, AIR) == (0.0, 0.0)


@settings(deadline=None, derandomize=True)
@given(st.floats(0.5, 0.995), st.floats(0.0, 0.45), st.floats(1.0, 20.0))
def test_squeezed_foam_keeps_its_solid(porosity: float, squeeze: float, width: float) -> None:
    solid = 1.0 - squeezed_porosity(porosity, 1.0 - squeeze)
    assert foam_depth(width, squeeze) == pytest.approx(width * solid / (1.0 - porosity))


def test_room_for_oil_and_height() -> None:
    assert foam_room(3.0, 20.0, 43.0) == pytest.approx(2.0)
    assert climb_m(1.2250 * 9.80665 * 10.0, AIR) == pytest.approx(10.0, rel=1e-4)


def test_a_hundred_metres_up_as_the_atmosphere_says() -> None:
    """The standard atmosphere's own pressure 100 m up, to the half percent by which its density falls."""
    assert climb_m(AIR.pressure_pa - standard_air(100.0).pressure_pa, AIR) == pytest.approx(100.0, rel=0.006)


def test_what_is_refused() -> None:
    assert not path_holds(replace(PATH, open_share=0.19)) and path_holds(replace(PATH, open_share=0.2))
    with pytest.raises(ValueError, match="found 1.0"):
        foam_depth(5.0, 1.0)
