"""A cover between bolts: beam on elastic foundation, and the handbook's pitch.

Sources: M. Hetenyi, Beams on Elastic Foundation (1946), differential equation E I w'''' + k w = 0 with zero slope at bolt and
midspan; ratios computed from the closed form, here also found by finite differences of the equation itself.  The lift-off root
is that of cosh x cos x = 1 (clamped vibrating beam: 4.7300, tabulated in every handbook).  Handbook's pitch: an engineering
handbook page on gasket cover compression (variables), its constants proven here by the clamped beam under a parabolic load.
Tolerance: the last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from afterpart.formulas.gasket import (
    LIFT_OFF,
    beam_beta,
    beta_pitch_for,
    foundation,
    gent_modulus,
    handbook_pitch,
    largest_pitch,
    mean_pressure_ratio,
    pressure_ratio,
    strip_modulus,
)
from afterpart.formulas.seal import cord_stiffness


def by_differences(beta_pitch: float, cells: int = 800) -> tuple[float, float]:
    """Midspan and mean deflection over that at the bolt, from w'''' + 4 w = 0 over beta x, by second differences.

    Half a pitch, midspan at 0, bolt at l; mirror points give zero slope at both ends; w = 1 at the bolt takes the place of the
    unknown bolt force, w''' = 0 at midspan is the mirror symmetry.
    """
    length = 0.5 * beta_pitch
    step = length / cells
    n = cells + 1
    matrix, right = np.zeros((n, n)), np.zeros(n)
    def mirrored(i: int) -> int:
        return -i if i < 0 else (2 * cells - i if i > cells else i)
    for i in range(cells):
        for shift, weight in zip(range(-2, 3), (1.0, -4.0, 6.0, -4.0, 1.0), strict=True):
            matrix[i, mirrored(i + shift)] += weight / step**4
        matrix[i, i] += 4.0
    matrix[cells, cells] = right[cells] = 1.0
    w = np.linalg.solve(matrix, right)
    return w[0], np.trapezoid(w, dx=step) / length


@pytest.mark.parametrize("half, printed, digits", [(0.5, 0.98967, 5), (1.0, 0.85245, 5)])
def test_ratio_as_computed(half: float, printed: float, digits: int) -> None:
    assert pressure_ratio(2 * half) == pytest.approx(printed, abs=0.51 * 10.0**-digits)


@pytest.mark.parametrize("ratio, printed", [(0.9, 1.796), (0.8, 2.184), (0.7, 2.476), (0.5, 2.979)])
def test_pitch_for_a_ratio_as_computed(ratio: float, printed: float) -> None:
    assert beta_pitch_for(ratio) == pytest.approx(printed, abs=0.00051)


def test_lift_off_is_the_root_of_the_clamped_beam() -> None:
    assert LIFT_OFF == pytest.approx(4.7300, abs=0.000051)
    assert math.cosh(LIFT_OFF) * math.cos(LIFT_OFF) == pytest.approx(1.0, abs=1e-9)
    assert pressure_ratio(LIFT_OFF) == pytest.approx(0.0, abs=1e-12)
    assert pressure_ratio(4.9) < 0.0 < pressure_ratio(4.6)


@pytest.mark.parametrize("beta_pitch", [0.6, 1.5, 2.5, 3.5, 4.5])
def test_closed_form_solves_the_differential_equation(beta_pitch: float) -> None:
    middle, mean = by_differences(beta_pitch)
    assert pressure_ratio(beta_pitch) == pytest.approx(middle, abs=2e-4)
    assert mean_pressure_ratio(beta_pitch) == pytest.approx(mean, abs=2e-4)


def test_pressure_falls_with_the_pitch_and_its_mean_lies_between() -> None:
    last = 1.0
    for pitch in np.linspace(0.1, 4.7, 60):
        ratio = pressure_ratio(pitch)
        assert ratio < last and ratio < mean_pressure_ratio(pitch) < 1.0
        last = ratio


def test_pitch_of_strip_and_cord_as_computed() -> None:
    """R = 0.8, cover E 2000, 4 mm, flange 20: strip 6 x 2 of 85 Shore A 18 mm; cord 3.53 of 70 at 25 % 41 mm."""
    strip = foundation(strip_modulus(gent_modulus(85), 1.5), 6.0, 2.0)
    assert largest_pitch(0.8, beam_beta(strip, 2000, 20, 4)) == pytest.approx(18, abs=0.51)
    assert largest_pitch(0.8, beam_beta(cord_stiffness(0.25, gent_modulus(70)), 2000, 20, 4)) == pytest.approx(41, abs=0.51)


def test_handbook_constants_are_the_clamped_beam_under_a_parabola() -> None:
    """Midspan sag of a clamped beam, q = q_min + (q_max - q_min)(2x/s - 1)^2: (13 q_min + 2 q_max) / 15 s^4 / 384 EI."""
    def sag_of(load) -> float:  # influence line of the midspan of a clamped beam of length 1: a^2 (3 - 4 a) / 48, a <= 1/2
        return 2 * quad(lambda a: load(a) * a * a * (3 - 4 * a) / 48, 0, 0.5)[0]
    assert sag_of(lambda x: 1.0) == pytest.approx(1 / 384, rel=1e-12)
    assert sag_of(lambda x: 1 - (2 * x - 1) ** 2) * 384 == pytest.approx(13 / 15, rel=1e-10)
    assert sag_of(lambda x: (2 * x - 1) ** 2) * 384 == pytest.approx(2 / 15, rel=1e-10)


def test_handbook_pitch_gives_back_the_sag() -> None:
    """With I = a h^3 / 12 and pressure on the width b, the sag at that pitch is the allowed one: 480 = 32 x 15."""
    a, b, e, h, left, low, high = 20.0, 6.0, 2000.0, 4.0, 0.05, 0.5, 0.8
    s = handbook_pitch(a, b, e, h, left, low, high)
    sag = (13 * low + 2 * high) / 15 * b * s**4 / (384 * e * a * h**3 / 12)
    assert sag == pytest.approx(left, rel=1e-12)
