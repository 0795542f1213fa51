"""Fits and chance: closed form and draws side by side; published values are in tests/published."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.formulas.fits import clearance_for_share, fitting_share, root_sum_square, worst_case
from afterpart.formulas.montecarlo import Normal, Rectangular, share_of


@settings(deadline=None, derandomize=True)
@given(st.floats(-1, 1), st.floats(-1, 1), st.floats(0.01, 0.5), st.floats(0.01, 0.5))
def test_more_clearance_never_lowers_the_share(a: float, b: float, s1: float, s2: float) -> None:
    low, high = sorted((a, b))
    assert fitting_share(low, s1, s2) <= fitting_share(high, s1, s2)


@settings(deadline=None, derandomize=True)
@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=8))
def test_chance_never_exceeds_the_worst_case(deviations: list[float]) -> None:
    assert root_sum_square(deviations) <= worst_case(deviations) + 1e-12


@pytest.mark.parametrize("share", [0.0, 1.0, 1.2])
def test_certainty_cannot_be_bought(share: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        clearance_for_share(share, 0.1)


@pytest.mark.parametrize("share", [0.9, 0.99, 0.999])
def test_the_clearance_for_a_share_gives_it_in_draws(share: float) -> None:
    gap = clearance_for_share(share, 0.12, 0.05)
    found = share_of(lambda x: x[0] - x[1] > 0, (Normal(gap, 0.12), Normal(0.0, 0.05)), 400_000, seed=21)
    assert abs(found.share - share) < 3.5 * (share * (1 - share) / 400_000) ** 0.5


def test_two_rectangular_inputs_have_the_triangles_tail() -> None:
    """x + y > 1.5 of two even draws from 0 to 1: an eighth."""
    found = share_of(lambda x: x[0] + x[1] > 1.5, (Rectangular(0, 1),) * 2, 400_000, seed=22)
    assert abs(found.share - 0.125) < 3.5 * found.standard_error
