"""How many pairs go together, and deviations that add.

Sources: closed form P = Phi(mean / sqrt(sum sigma^2)) computed by hand; stacks as another program prints them stand in
test_tolerance_stacks.py.  Thermal growth and lattice evidence by hand.  Tolerance: the last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.formulas.fits import clearance_for_share, fitting_share, root_sum_square, thermal_growth, worst_case
from afterpart.formulas.montecarlo import Normal, share_of


@pytest.mark.parametrize("gap, printed", [(0.3, 0.98305), (0.2, 0.92135)])
def test_share_as_computed(gap: float, printed: float) -> None:
    assert fitting_share(gap, 0.1, 0.1) == pytest.approx(printed, abs=0.0000051)


@pytest.mark.parametrize("gap, printed", [(0.3, 0.98305), (0.2, 0.92135), (0.0, 0.5)])
def test_chance_by_draws_agrees_within_its_standard_error(gap: float, printed: float) -> None:
    found = share_of(lambda x: x[0] > x[1], (Normal(10.0 + gap, 0.1), Normal(10.0, 0.1)), 1_000_000, seed=5)
    assert abs(found.share - fitting_share(gap, 0.1, 0.1)) < 3.0 * found.standard_error
    assert found.share == pytest.approx(printed, abs=0.002)


def test_clearance_for_a_share_is_the_inverse() -> None:
    for share in (0.5, 0.9, 0.99, 0.999):
        assert fitting_share(clearance_for_share(share, 0.1, 0.07), 0.1, 0.07) == pytest.approx(share, abs=1e-12)


def test_deviations_as_computed() -> None:
    assert root_sum_square((0.1, 0.2, 0.05)) == pytest.approx(0.22913, abs=0.0000051)
    assert worst_case((0.1, 0.05)) == pytest.approx(0.15)
    assert root_sum_square((0.1, 0.05)) == pytest.approx(0.1118, abs=0.000051)


def test_more_clearance_never_lowers_the_share() -> None:
    shares = [fitting_share(gap, 0.1, 0.05) for gap in np.linspace(-0.5, 0.5, 101)]
    assert all(a < b for a, b in zip(shares, shares[1:], strict=False))
    assert fitting_share(0.1) == 1.0 and fitting_share(-0.1) == 0.0 and fitting_share(0.0) == 0.5


def test_growth_of_a_hundred_millimetres_of_abs() -> None:
    """90e-6 per kelvin (from memory), 20 K: 0.18 mm."""
    assert thermal_growth(100, 90e-6, 20) == pytest.approx(0.18)
