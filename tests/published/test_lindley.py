"""Force to close a round cord: Lindley's form, with the modulus from the hardness by Gent.

Sources: P. B. Lindley, Journal of the IRI, 1967, in the form used by later work (from memory); values computed with it by hand.
Published bands: a seal maker's page on low hardness materials, 0.070 in cord at 20 % squeeze: 70 Shore A 5 to 18 lbf/in,
90 Shore A 9 to 25 lbf/in.  Tolerance: the last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.formulas.gasket import gent_modulus
from afterpart.formulas.seal import FORCE_BAND, closing_force, closing_force_band, cord_stiffness

POUND_PER_INCH = 4.4482216 / 25.4

CASES = [(1.78, 70, 0.20, 1.130), (1.78, 90, 0.20, 4.267), (3.53, 70, 0.25, 3.283), (2.62, 50, 0.20, 0.740)]
"""cord [mm], Shore A, squeeze, force [N/mm]."""


@pytest.mark.parametrize("diameter, shore, share, printed", CASES)
def test_force_as_computed(diameter: float, shore: float, share: float, printed: float) -> None:
    assert closing_force(diameter, share, gent_modulus(shore)) == pytest.approx(printed, abs=0.00051)


@pytest.mark.parametrize("shore, printed, low, high", [(70, 6.45, 5, 18), (90, 24.4, 9, 25)])
def test_force_lies_in_the_published_band(shore: float, printed: float, low: float, high: float) -> None:
    force = closing_force(1.78, 0.20, gent_modulus(shore)) / POUND_PER_INCH
    assert force == pytest.approx(printed, abs=0.051)
    assert low < force < high


def test_stated_band_overlaps_the_published_one() -> None:
    low, high = (f / POUND_PER_INCH for f in closing_force_band(1.78, 0.20, gent_modulus(70)))
    assert low < 5 and 12 < high < 18 and FORCE_BAND == (0.6, 2.0)


def test_tangent_stiffness_as_computed_and_as_the_slope() -> None:
    """3.53 mm, 70 Shore A, 25 %: 6.79 N/mm2; and the slope of the force over the closing d C."""
    modulus = gent_modulus(70)
    assert cord_stiffness(0.25, modulus) == pytest.approx(6.79, abs=0.0051)
    step = 1e-5
    slope = (closing_force(3.53, 0.25 + step, modulus) - closing_force(3.53, 0.25 - step, modulus)) / (2 * step * 3.53)
    assert cord_stiffness(0.25, modulus) == pytest.approx(slope, rel=1e-6)
