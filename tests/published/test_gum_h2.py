"""Resistance and reactance measured at once: correlated inputs, three correlated results.

Source: JCGM 100:2008 (Guide to the expression of uncertainty in measurement), annex H.2, tables H.2 (five sets of observations),
H.3 and H.4 (results by both approaches); from memory.  The means of the observations and their correlations, which other
public programs carry too, are checked as printed before anything is made of them.  Tolerance: the last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.geometry.uncertainty import propagate, propagate_samples

OBSERVED = np.array([  # volts, milliamperes, radians
    [5.007, 19.663, 1.0456],
    [4.994, 19.639, 1.0438],
    [5.005, 19.640, 1.0468],
    [4.990, 19.685, 1.0428],
    [4.999, 19.678, 1.0433],
])
MEAN = OBSERVED.mean(0)
COVARIANCE = np.cov(OBSERVED.T) / len(OBSERVED)
"""Of the means."""


def impedance(x: np.ndarray) -> np.ndarray:
    """Resistance V cos phi / I, reactance V sin phi / I and impedance V / I, in ohms."""
    volts, amperes, phase = x[0], 1e-3 * x[1], x[2]
    return np.array([volts * np.cos(phase) / amperes, volts * np.sin(phase) / amperes, volts / amperes])


def correlation(covariance: np.ndarray) -> np.ndarray:
    u = np.sqrt(np.diag(covariance))
    return covariance / np.outer(u, u)


def test_means_as_printed() -> None:
    assert MEAN == pytest.approx([4.9990, 19.6610, 1.04446], abs=5e-6)
    u = np.sqrt(np.diag(COVARIANCE))
    assert u == pytest.approx([0.0032, 0.0095, 0.00075], rel=0.016)


def test_correlations_of_the_means_as_printed() -> None:
    """Table H.2: r(V, I) = -0.36, r(V, phi) = 0.86, r(I, phi) = -0.65."""
    r = correlation(COVARIANCE)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.36, 0.86, -0.65], abs=0.0051)


def test_results_and_uncertainties_as_printed() -> None:
    """R = 127.732, u 0.071; X = 219.847, u 0.295; Z = 254.260, u 0.236 ohm.

    From the same observations u(X) is 0.2956 with all digits kept: one unit of the last printed digit is allowed.
    """
    values, covariance = propagate(impedance, MEAN, COVARIANCE)
    assert values == pytest.approx([127.732, 219.847, 254.260], abs=0.00051)
    assert np.sqrt(np.diag(covariance)) == pytest.approx([0.071, 0.295, 0.236], abs=0.001)


def test_correlations_of_the_results_as_printed() -> None:
    """r(R, X) = -0.588, r(R, Z) = -0.485, r(X, Z) = 0.993."""
    _, covariance = propagate(impedance, MEAN, COVARIANCE)
    r = correlation(covariance)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.588, -0.485, 0.993], abs=0.00051)


def test_leaving_out_the_correlations_misleads() -> None:
    """What the example is there to show: without them u(R) is more than twice as large."""
    _, right = propagate(impedance, MEAN, COVARIANCE)
    _, wrong = propagate(impedance, MEAN, np.diag(np.diag(COVARIANCE)))
    assert wrong[0, 0] > 4.0 * right[0, 0]


def test_second_approach_as_printed() -> None:
    """Table H.4's second approach: each set of observations by itself, then the mean; the same to the printed digits."""
    each = propagate_samples(impedance, OBSERVED, 0.5)
    assert each.mean == pytest.approx([127.732, 219.847, 254.260], abs=0.00051)
    assert each.u / np.sqrt(len(OBSERVED)) == pytest.approx([0.071, 0.295, 0.236], abs=0.001)


def test_inputs_rounded_as_printed_give_the_results_within_their_rounding() -> None:
    """From the table's own u (0.0032 V, 0.0095 mA, 0.00075 rad) and correlations (-0.36, 0.86, -0.65): values to the last digit,
    u 0.070, 0.296, 0.237 ohm (by hand) against the printed 0.071, 0.295, 0.236: two digits of input carry no more than that."""
    u = np.array([0.0032, 0.0095, 0.00075])
    r = np.array([[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]])
    values, covariance = propagate(impedance, np.array([4.9990, 19.6610, 1.04446]), r * np.outer(u, u))
    found = np.sqrt(np.diag(covariance))
    assert values == pytest.approx([127.732, 219.847, 254.260], abs=0.00051)
    assert found == pytest.approx([0.070, 0.296, 0.237], abs=0.00051)
    assert found == pytest.approx([0.071, 0.295, 0.236], rel=0.02)
