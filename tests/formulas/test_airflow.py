"""Airflow: directions and refusals; published values are in tests/published."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.formulas.airflow import (
    engine_demand,
    entry_loss,
    face_velocity,
    foam_drop,
    loss_pressure,
    power_loss,
    squeezed_porosity,
    squeezed_ratios,
    standard_air,
)


@settings(deadline=None, derandomize=True)
@given(st.floats(1, 40), st.floats(1, 40), st.floats(20, 100), st.floats(0.2, 4.0))
def test_thicker_foam_never_lowers_the_drop(a: float, b: float, pores: float, speed: float) -> None:
    thin, thick = sorted((a, b))
    first, second = foam_drop(pores, thin, speed), foam_drop(pores, thick, speed)
    assert first.expected_pa <= second.expected_pa
    assert first.least_pa <= second.least_pa and first.greatest_pa <= second.greatest_pa


@settings(deadline=None, derandomize=True)
@given(st.floats(1, 500), st.floats(100, 20_000))
def test_face_velocity_times_area_is_the_flow(flow: float, area: float) -> None:
    assert face_velocity(flow, area) * 1e-6 * area * 3600 == pytest.approx(flow)


@settings(deadline=None, derandomize=True)
@given(st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_a_larger_rounding_never_raises_the_loss(a: float, b: float) -> None:
    small, large = sorted((a, b))
    assert entry_loss(small, 50.0) >= entry_loss(large, 50.0) - 1e-12


@settings(deadline=None, derandomize=True)
@given(st.floats(0.1, 1.0), st.floats(0.1, 1.0))
def test_more_squeeze_never_lowers_either_drop(a: float, b: float) -> None:
    tight, loose = sorted((a, b))
    for first, second in zip(squeezed_ratios(0.97, tight), squeezed_ratios(0.97, loose), strict=True):
        assert first >= second - 1e-12
    assert squeezed_porosity(0.97, tight) <= squeezed_porosity(0.97, loose)


def test_thin_air_costs_more_power_for_the_same_drop() -> None:
    assert power_loss(1000.0, standard_air(2000)) > power_loss(1000.0, standard_air(0))
    assert loss_pressure(0.5, 20.0, standard_air(2000)) < loss_pressure(0.5, 20.0, standard_air(0))


def test_demand_scales_with_size_speed_and_filling() -> None:
    base = engine_demand(100, 3000, 0.8, four_stroke=True)
    assert engine_demand(200, 3000, 0.8, four_stroke=True) == pytest.approx(2 * base)
    assert engine_demand(100, 6000, 0.4, four_stroke=True) == pytest.approx(base)


@pytest.mark.parametrize("call", [lambda: face_velocity(10, 0.0), lambda: entry_loss(-1.0, 10.0), lambda: entry_loss(1.0, 0.0),
                                  lambda: squeezed_porosity(0.97, 1.2), lambda: standard_air(-5000)])
def test_impossible_figures_are_refused(call) -> None:
    with pytest.raises(ValueError, match="found"):
        call()
