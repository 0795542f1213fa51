"""Modulus of rubber from its Shore A hardness, and how stiff a bonded strip of it is.

Sources: A. N. Gent, Rubber Chemistry and Technology 31 (1958) 896, constants as in three public codes; values by hand.  Second
fit: log10 E = 0.0235 S - 0.6403, as printed on a public page (attributed to Ruess).  Shape factor: Lindley, Engineering Design
with Natural Rubber, from memory.  Tolerance: the last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.formulas.gasket import (
    GENT_RANGE,
    MODULUS_BAND,
    RUESS_RANGE,
    block_modulus,
    gent_modulus,
    ruess_modulus,
    strip_force,
    strip_modulus,
    strip_shape_factor,
)
from afterpart.formulas.seal import closing_force

PRINTED = {50: ("2.456", 3), 60: ("3.605", 3), 70: ("5.521", 3), 80: ("9.351", 3), 85: ("13.18", 2), 90: ("20.84", 2),
           95: ("43.8", 1)}


@pytest.mark.parametrize("shore", PRINTED)
def test_modulus_as_computed(shore: int) -> None:
    printed, digits = PRINTED[shore]
    assert gent_modulus(shore) == pytest.approx(float(printed), abs=0.51 * 10.0**-digits)


def test_the_other_fit_is_half_again_and_inside_the_band() -> None:
    assert ruess_modulus(60) == pytest.approx(5.884, abs=0.00051)
    ratio = ruess_modulus(60) / gent_modulus(60)
    assert ratio == pytest.approx(1.6, abs=0.051)
    assert MODULUS_BAND[0] < 1 / ratio and ratio == pytest.approx(MODULUS_BAND[1], abs=0.051)


def test_harder_is_stiffer_over_the_whole_scale() -> None:
    values = [gent_modulus(s) for s in range(100)]
    assert all(a < b for a, b in zip(values, values[1:], strict=False))
    assert (GENT_RANGE.low, GENT_RANGE.high) == (20, 80) and (RUESS_RANGE.low, RUESS_RANGE.high) == (30, 60)


def test_strip_as_computed() -> None:
    """6 x 2 mm strip, 85 Shore A: shape factor 1.5, 57.1 N/mm2, at 15 % 51.4 N/mm: 16 times a cord (3.28 N/mm)."""
    shape = strip_shape_factor(6.0, 2.0)
    assert shape == 1.5
    stiff = strip_modulus(gent_modulus(85), shape)
    assert stiff == pytest.approx(57.1, abs=0.051)
    force = strip_force(stiff, 0.15, 6.0)
    assert force == pytest.approx(51.4, abs=0.051)
    assert force / closing_force(3.53, 0.25, gent_modulus(70)) == pytest.approx(16, abs=0.51)
    assert 400 * force == pytest.approx(20e3, rel=0.03)


def test_a_greased_strip_is_the_lower_bound() -> None:
    assert strip_modulus(3.0, 1.5, bonded=False) == pytest.approx(4.0)
    assert strip_modulus(3.0, 0.0) == strip_modulus(3.0, 1.5, bonded=False)
    assert block_modulus(3.0, 0.5, 0.5) == pytest.approx(3.75)
