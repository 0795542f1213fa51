"""Gaskets: directions, limits, refusals."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.formulas.gasket import (
    beam_beta,
    beta_pitch_for,
    block_modulus,
    cover_bow,
    foundation,
    gent_modulus,
    handbook_pitch,
    largest_pitch,
    leak_gap,
    pressure_ratio,
    ruess_modulus,
    slot_leak,
    strip_force,
    strip_modulus,
)


@settings(deadline=None, derandomize=True)
@given(st.floats(0.0, 0.99))
def test_pitch_for_a_ratio_is_the_inverse(ratio: float) -> None:
    assert pressure_ratio(beta_pitch_for(ratio)) == pytest.approx(ratio, abs=1e-9)


@settings(deadline=None, derandomize=True)
@given(st.floats(1.0, 12.0), st.floats(1.0, 12.0))
def test_a_thicker_cover_never_asks_for_more_bolts(a: float, b: float) -> None:
    thin, thick = sorted((a, b))
    pitches = [largest_pitch(0.8, beam_beta(7.0, 2000.0, 20.0, h)) for h in (thin, thick)]
    assert pitches[0] <= pitches[1]
    assert pitches[1] / pitches[0] == pytest.approx((thick / thin) ** 0.75)


@settings(deadline=None, derandomize=True)
@given(st.floats(20, 90), st.floats(20, 90))
def test_a_softer_gasket_never_asks_for_more_bolts(a: float, b: float) -> None:
    soft, hard = sorted((a, b))
    pitches = [largest_pitch(0.8, beam_beta(foundation(gent_modulus(s), 6.0, 2.0), 2000.0, 20.0, 4.0)) for s in (soft, hard)]
    assert pitches[0] >= pitches[1]


def test_handbook_pitch_scales_as_its_fourth_root() -> None:
    base = handbook_pitch(20, 6, 2000, 4, 0.05, 0.5, 0.8)
    assert handbook_pitch(20, 6, 32_000, 4, 0.05, 0.5, 0.8) == pytest.approx(2 * base)
    assert handbook_pitch(20, 6, 2000, 4, 0.8, 0.5, 0.8) == pytest.approx(2 * base)
    assert handbook_pitch(20, 6, 2000, 4, 0.05, 8.0, 12.8) == pytest.approx(0.5 * base)


def test_bow_is_the_handbooks_at_even_pressure() -> None:
    """With P_min = P_max the handbook's pitch allows exactly the bow of a clamped beam under an even load."""
    pitch = handbook_pitch(20, 6, 2000, 4, 0.05, 0.5, 0.5)
    assert cover_bow(0.5 * 6, pitch, 2000, 20, 4) == pytest.approx(0.05)


def test_leak_closes_when_the_gasket_is_pressed_past_the_roughness() -> None:
    assert leak_gap(0.3, 0.8, 0.05) == 0.0
    assert leak_gap(0.03, 0.5, 0.05) == pytest.approx(0.035)
    assert leak_gap(0.03, -0.2, 0.05) > 0.05


def test_leak_goes_with_the_cube_of_the_gap() -> None:
    """0.05 mm gap under a 6 mm land, 1 kPa of air at 1.8e-5 Pa s: 96 mm3/s per mm by hand."""
    assert slot_leak(1000.0, 0.05, 6.0, 1.8e-5) == pytest.approx(1000 * 0.05**3 / (12 * 1.8e-5 * 6))
    assert slot_leak(1000.0, 0.10, 6.0, 1.8e-5) == pytest.approx(8 * slot_leak(1000.0, 0.05, 6.0, 1.8e-5))
    assert slot_leak(1000.0, 0.05, 6.0, 1.8e-5) == pytest.approx(96.5, abs=0.05)


def test_bonding_stiffens_a_strip_and_a_block() -> None:
    assert strip_modulus(2.0, 2.0) == 5 * strip_modulus(2.0, 2.0, bonded=False)
    assert block_modulus(2.0, 1.0, 1.0) == 6.0
    assert strip_force(10.0, 0.1, 6.0) == 6.0


@pytest.mark.parametrize("call", [lambda: gent_modulus(100), lambda: gent_modulus(-1), lambda: ruess_modulus(101)])
def test_hardness_outside_its_scale_is_refused(call) -> None:
    with pytest.raises(ValueError, match="Shore A"):
        call()


@pytest.mark.parametrize("ratio", [-0.1, 1.0, 1.5])
def test_ratios_that_make_no_sense_are_refused(ratio: float) -> None:
    with pytest.raises(ValueError, match="ratio"):
        beta_pitch_for(ratio)
    with pytest.raises(ValueError, match="beta s"):
        pressure_ratio(-1.0)
