"""The additive model of the Monte Carlo supplement: where the law of propagation holds and where it does not.

Source: JCGM 101:2008 (Supplement 1 to the Guide to the expression of uncertainty in measurement), clause 9.2: the sum of four
inputs, normal ones (9.2.2, table 2), rectangular ones (9.2.3, table 3) and rectangular ones of which the fourth is ten times
as wide (9.2.4, table 4); from memory.  Where a quantile has a closed form it is checked too.  Tolerance: the last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.geometry.uncertainty import coverage_factor, propagate, propagate_samples

TRIALS = 2_000_000
"""Twice those of the standard: an end of the interval then scatters by 0.004 (normal inputs)."""

CASES = {
    "9.2.2 normal": ("normal", (1.0, 1.0, 1.0, 1.0), 2.0, 3.92, 3.92),
    "9.2.3 rectangular": ("rectangular", (1.0, 1.0, 1.0, 1.0), 2.0, 3.92, 3.88),
    "9.2.4 rectangular, one dominates": ("rectangular", (1.0, 1.0, 1.0, 10.0), 10.1, 19.9, 17.0),
}
"""Kind and standard deviations of the inputs; printed u, half-width by the law of propagation, half-width by Monte Carlo."""


def total(x: np.ndarray) -> np.ndarray:
    return x[0] + x[1] + x[2] + x[3]


def drawn(kind: str, deviations: tuple[float, ...], trials: int) -> np.ndarray:
    rng = np.random.default_rng(20080901)
    unit = rng.normal(size=(trials, 4)) if kind == "normal" else rng.uniform(-math.sqrt(3.0), math.sqrt(3.0), (trials, 4))
    return unit * deviations


@pytest.mark.parametrize("case", CASES)
def test_monte_carlo_as_printed(case: str) -> None:
    kind, deviations, u, _, half = CASES[case]
    digit = 0.1 if half > 10.0 else 0.01
    found = propagate_samples(total, drawn(kind, deviations, TRIALS))
    assert found.mean == pytest.approx(0.0, abs=0.51 * (0.1 if u > 10.0 else 0.01))
    assert found.u == pytest.approx(u, abs=0.051)
    assert (found.low, found.high) == (pytest.approx(-half, abs=digit), pytest.approx(half, abs=digit))


@pytest.mark.parametrize("case", CASES)
def test_law_of_propagation_as_printed(case: str) -> None:
    _, deviations, u, half, _ = CASES[case]
    _, covariance = propagate(total, np.zeros(4), np.diag(np.square(deviations)))
    found = math.sqrt(covariance[0, 0])
    assert found == pytest.approx(u, abs=0.051)
    assert coverage_factor(math.inf) * found == pytest.approx(half, abs=0.051 if half > 10.0 else 0.0051)


def test_interval_of_four_rectangular_inputs_is_the_closed_form() -> None:
    """The sum of four equal rectangular inputs has the tail (2 - y / (2 sqrt 3))^4 / 24: 2.5 % at 3.880."""
    exact = 2.0 * math.sqrt(3.0) * (2.0 - (24.0 * 0.025) ** 0.25)
    assert exact == pytest.approx(3.88, abs=0.0051)
    found = propagate_samples(total, drawn("rectangular", (1.0, 1.0, 1.0, 1.0), TRIALS))
    assert 0.5 * (found.high - found.low) == pytest.approx(exact, abs=0.006)


def test_shortest_interval_is_the_symmetric_one_here() -> None:
    """All three cases are symmetric about zero: the shortest interval is no more than a few hundredths shorter or off."""
    for kind, deviations, u, _, half in CASES.values():
        found = propagate_samples(total, drawn(kind, deviations, 200_000), shortest=True)
        assert 0.5 * (found.high - found.low) == pytest.approx(half, rel=0.01)
        assert abs(found.high + found.low) < 0.2 * u
