"""Stacks of tolerances as another program prints them: worst case, by chance, and the share within a limit.

Source: the worked example printed in the read-me file of the library dimstack (MIT), repository phcreery/dimstack at commit
0334f4a8c3c4fcf4669c4b5c42b996423080a915, and its figures for 8 +- 0.1 less 7.9 +- 0.05 (version 0.9.0).  The library itself is
called in test_dimstack.py; here its printed figures are recomputed.  Its two further sums (one inflated by a factor, one by
process sigmas) are its own and are left out.
Tolerance: the last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from statistics import NormalDist

import pytest

from afterpart.formulas.fits import fitting_share, root_sum_square, worst_case
from afterpart.formulas.montecarlo import Normal, share_of

STACK = ((208.0, 0.036, 0.036), (-1.75, 0.06, 0.0), (-23.0, 0.12, 0.0), (20.0, 0.026, 0.026), (-200.0, 0.145, 0.145),
         (20.0, 0.026, 0.026), (-23.0, 0.12, 0.0))
"""Shaft, retainer ring, bearing, sleeve, case, sleeve, bearing: signed length, and by how much it may be smaller and larger as
signed (a ring of 1.75 +0.06 / 0 that is taken off may only make the sum smaller)."""

MIDDLES = [length + 0.5 * (more - less) for length, less, more in STACK]
HALVES = [0.5 * (more + less) for _, less, more in STACK]


def test_closed_sum_as_printed() -> None:
    """0.25 + 0.233 / - 0.533: between -0.283 and 0.483."""
    assert sum(length for length, _, _ in STACK) == pytest.approx(0.25, abs=1e-9)
    assert sum(more for _, _, more in STACK) == pytest.approx(0.233, abs=1e-9)
    assert sum(less for _, less, _ in STACK) == pytest.approx(0.533, abs=1e-9)


def test_worst_case_as_printed() -> None:
    """0.1 +- 0.383."""
    assert sum(MIDDLES) == pytest.approx(0.1, abs=1e-9)
    assert worst_case(HALVES) == pytest.approx(0.383, abs=0.00051)
    assert sum(MIDDLES) - worst_case(HALVES) == pytest.approx(-0.283, abs=0.00051)
    assert sum(MIDDLES) + worst_case(HALVES) == pytest.approx(0.483, abs=0.00051)


def test_root_sum_square_as_printed() -> None:
    """0.1 +- 0.17825."""
    assert root_sum_square(HALVES) == pytest.approx(0.17825, abs=0.0000051)
    assert root_sum_square(HALVES) < worst_case(HALVES) < math.sqrt(len(HALVES)) * root_sum_square(HALVES)


def test_the_two_part_stack_as_printed() -> None:
    """8 +- 0.1 less 7.9 +- 0.05: 0.1 +- 0.15 at worst, +- 0.1118 by chance."""
    assert worst_case((0.1, 0.05)) == pytest.approx(0.15)
    assert root_sum_square((0.1, 0.05)) == pytest.approx(0.1118, abs=0.000051)


def test_a_mean_that_has_moved_as_printed() -> None:
    """Shaft 208 +- 0.036, mean 208.009, sigma 0.006: 4.5 sigma to the nearer limit, 99.99966023 % within, 3.4 in a million out.

    The farther limit, 7.5 sigma away, takes nothing that is printed."""
    within = fitting_share(0.036 - 0.009, 0.006)
    assert 100 * within == pytest.approx(99.99966023, abs=5.1e-9)
    assert 1e6 * (1 - within) == pytest.approx(3.4, abs=0.051)
    assert NormalDist().cdf(-(0.036 + 0.009) / 0.006) < 1e-13


def test_both_limits_as_printed() -> None:
    """Mean 0.1, sigma 0.036 / 4.5 = 0.008: within +- 0.036 99.99932047 % (6.8 in a million out), above 0.05 99.99999998 %."""
    sigma = 0.036 / 4.5
    assert sigma == pytest.approx(0.008)
    outside = 2 * (1 - fitting_share(0.036, sigma))
    assert 100 * (1 - outside) == pytest.approx(99.99932047, abs=5.1e-9) and 1e6 * outside == pytest.approx(6.8, abs=0.051)
    assert 100 * fitting_share(0.1 - 0.05, sigma) == pytest.approx(99.99999998, abs=5.1e-9)


def test_draws_of_the_whole_stack_agree_with_its_root_sum_square() -> None:
    """Limits read as three standard deviations: the share of stacks above 0 by draws, within three of its standard errors."""
    sigmas = [half / 3 for half in HALVES]
    found = share_of(lambda x: x.sum(axis=0) > 0.0, tuple(map(Normal, MIDDLES, sigmas)), 200_000, seed=8)
    assert abs(found.share - fitting_share(0.1, root_sum_square(HALVES) / 3)) < 3.0 * found.standard_error
