"""Printed rings: the arch from the strain energy of its bending, the bead from the cord it is half of."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from afterpart.formulas.gasket import gent_modulus, strip_force, strip_modulus, strip_shape_factor
from afterpart.formulas.printed_ring import RING_FACTOR, arch_force, bead_force
from afterpart.formulas.seal import closing_force


def test_ring_factor_from_the_energy_of_bending() -> None:
    """Unit load on a thin ring of R = E I = 1: M(a) = (sin a) / 2 - 1 / pi from the load down; no turn at the load.

    Castigliano: the shortening is four quarters of the integral of M dM/dW, W = 1.
    """
    def moment(a: float) -> float:
        return 0.5 * math.sin(a) - 1.0 / math.pi
    assert quad(moment, 0.0, math.pi / 2)[0] == pytest.approx(0.0, abs=1e-12)
    assert 4 * quad(lambda a: moment(a) ** 2, 0.0, math.pi / 2)[0] == pytest.approx(RING_FACTOR, rel=1e-10)
    assert RING_FACTOR == pytest.approx(0.1488, abs=0.000051)


def test_a_bead_is_half_a_cord() -> None:
    """The cord's both halves give alike: closing it by twice as much takes the same force."""
    assert bead_force(1.5, 0.3, 5.0) == pytest.approx(closing_force(3.0, 0.6 / 3.0, 5.0))
    assert bead_force(1.5, 0.0, 5.0) == 0.0
    with pytest.raises(ValueError, match="more than 0"):
        bead_force(0.0, 0.3, 5.0)


def test_least_force_is_the_hollow_ring_then_the_bead_then_the_strip() -> None:
    """A channel 3.6 wide and 2.0 deep, 85 Shore A, closed by 0.27 mm: what a dust seal gains by its section."""
    modulus = gent_modulus(85)
    strip = strip_force(strip_modulus(modulus, strip_shape_factor(3.4, 2.27)), 0.27 / 2.27, 3.4)
    bead, arch = bead_force(1.5, 0.27, modulus), arch_force(1.3, 0.8, 0.27, modulus)
    assert arch < bead < strip


@settings(deadline=None, derandomize=True)
@given(st.floats(0.5, 5.0), st.floats(0.0, 0.3), st.floats(0.0, 0.3), st.floats(1.0, 50.0))
def test_more_closing_never_takes_less_force(radius: float, a: float, b: float, modulus: float) -> None:
    low, high = sorted((a * radius, b * radius))
    assert bead_force(radius, low, modulus) <= bead_force(radius, high, modulus)
    assert arch_force(radius, 0.3 * radius, low, modulus) <= arch_force(radius, 0.3 * radius, high, modulus)


def test_arch_goes_with_the_cube_of_wall_over_radius() -> None:
    assert arch_force(1.0, 0.8, 0.1, 10.0) == pytest.approx(8 * arch_force(1.0, 0.4, 0.1, 10.0))
    assert arch_force(2.0, 0.8, 0.1, 10.0) == pytest.approx(arch_force(1.0, 0.4, 0.1, 10.0))
    assert arch_force(1.0, 0.8, -0.1, 10.0) == 0.0
    with pytest.raises(ValueError, match="wall"):
        arch_force(1.0, 0.0, 0.1, 10.0)
