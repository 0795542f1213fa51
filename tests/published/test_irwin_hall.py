"""The engine of chance against closed forms and against the library GTC.

Sources: the sum of four rectangular inputs of u = 1 has the tail (2 - y / (2 sqrt 3))^4 / 24 (Irwin and Hall): 95 % lies within
3.8794; JCGM 101:2008 9.2.3 prints 3.88 and 3.92 (from memory).  GUM H.1 with GTC 1.5.1 (MIT): u 31.71 nm, 16.66 degrees of
freedom, k 2.9208, U 92.6 nm with the freedom cut to 16.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import GTC
import numpy as np
import pytest

from afterpart.formulas.montecarlo import BLOCK, Normal, Rectangular, Triangular, draws, share_of, spread_of
from afterpart.geometry.uncertainty import Contribution, combine, coverage_factor

ROOT3 = math.sqrt(3.0)
EXACT = 2 * ROOT3 * (2.0 - (24 * 0.025) ** 0.25)


def total(x: np.ndarray) -> np.ndarray:
    return x.sum(0)


def test_closed_form_as_computed() -> None:
    assert EXACT == pytest.approx(3.8794, abs=0.000051)


def test_four_rectangular_inputs() -> None:
    """Ends of the interval scatter by sqrt(p q / N) / density: 0.0036 at a million trials; asked for three of them."""
    found = spread_of(total, (Rectangular(-ROOT3, ROOT3),) * 4, 1_000_000, seed=11)
    assert found.u == pytest.approx(2.0, abs=0.006) and found.mean == pytest.approx(0.0, abs=0.006)
    density = (2 - EXACT / (2 * ROOT3)) ** 3 / (6 * 2 * ROOT3)
    scatter = math.sqrt(0.025 * 0.975 / 1e6) / density
    assert abs(found.high - EXACT) < 3 * scatter and abs(found.low + EXACT) < 3 * scatter
    assert coverage_factor(math.inf) * 2.0 == pytest.approx(3.92, abs=0.0051)


def test_share_beyond_a_bound_within_its_standard_error() -> None:
    found = share_of(lambda x: total(x) > EXACT, (Rectangular(-ROOT3, ROOT3),) * 4, 1_000_000, seed=12)
    assert abs(found.share - 0.025) < 3 * found.standard_error
    assert found.standard_error == pytest.approx(math.sqrt(0.025 * 0.975 / 1e6), rel=0.01)


def test_triangular_inputs_have_their_spread() -> None:
    found = spread_of(total, (Triangular(-1.0, 1.0),), 400_000, seed=13)
    assert found.u == pytest.approx(1 / math.sqrt(6.0), rel=0.005)
    assert found.high == pytest.approx(1 - math.sqrt(0.05), abs=0.005)


def test_same_seed_same_draws_and_blocks_join() -> None:
    inputs = (Normal(1.0, 0.5), Rectangular(0.0, 1.0))
    first = list(draws(inputs, BLOCK + 7, seed=3))
    again = list(draws(inputs, BLOCK + 7, seed=3))
    assert [block.shape for block in first] == [(2, BLOCK), (2, 7)]
    assert all(np.array_equal(a, b) for a, b in zip(first, again, strict=True))
    assert not np.array_equal(first[0], next(draws(inputs, BLOCK, seed=4)))


@pytest.mark.parametrize("inputs, trials", [((Normal(0, -1),), 10), ((Rectangular(1, 0),), 10), ((Normal(0, 1),), 0)])
def test_impossible_inputs_are_refused(inputs: tuple, trials: int) -> None:
    with pytest.raises(ValueError):
        list(draws(inputs, trials, seed=1))


def end_gauge() -> tuple[float, float]:
    """GUM H.1 in GTC: u [nm] and effective degrees of freedom."""
    standard = GTC.ureal(50_000_623.0, 25.0, 18)
    difference = GTC.ureal(215.0, 9.7, 25.6)
    expansion = GTC.ureal(11.5e-6, 1.2e-6)
    off_20 = GTC.ureal(-0.1, 0.41)
    expansions = GTC.ureal(0.0, 0.58e-6, 50)
    temperatures = GTC.ureal(0.0, 0.029, 2)
    length = standard + difference - standard * (expansions * off_20 + expansion * temperatures)
    assert GTC.value(length) == pytest.approx(50_000_838.0)
    return GTC.uncertainty(length), GTC.dof(length)


def test_gum_h1_as_the_library() -> None:
    u, dof = end_gauge()
    assert u == pytest.approx(31.71, abs=0.0051) and dof == pytest.approx(16.66, abs=0.0051)
    l_s = 50_000_623.0
    ours = combine((Contribution("standard", 25.0, 18), Contribution("difference", 9.7, 25.6),
                    Contribution("expansions", l_s * 0.1 * 0.58e-6, 50), Contribution("temperatures", l_s * 11.5e-6 * 0.029, 2)))
    assert ours == pytest.approx((u, dof), rel=1e-6)
    k = coverage_factor(math.floor(dof), 0.99)
    assert k == pytest.approx(2.9208, abs=0.000051) and k * u == pytest.approx(92.6, abs=0.051)
    assert k == pytest.approx(GTC.reporting.k_factor(16, 99), rel=1e-6)


@pytest.mark.parametrize("probability, printed", [(0.95, 2.12), (0.9545, 2.17), (0.99, 2.92)])
def test_table_g2_at_sixteen(probability: float, printed: float) -> None:
    assert coverage_factor(16, probability) == pytest.approx(printed, abs=0.0051)
