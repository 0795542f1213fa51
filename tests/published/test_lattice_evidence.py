"""What one value says for whole numbers: the Bayes factor of a lattice against a uniform alternative.

Source: BF = g / (sigma sqrt(2 pi)) sum exp(-(x - m)^2 / (2 sigma^2)), by hand for a step of 1; the outline's own evidence keeps
the nearest point only and mixes a share of wider errors in.  Tolerance: the last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.outline.nominals import WIDE_FACTOR, WIDE_SHARE, lattice_evidence


def factor(off: float, sigma: float, step: float = 1.0, points: int = 50) -> float:
    places = step * np.arange(-points, points + 1)
    return step / (sigma * math.sqrt(2 * math.pi)) * float(np.exp(-0.5 * ((off - places) / sigma) ** 2).sum())


@pytest.mark.parametrize("off, sigma, printed", [(0.0, 0.1, 3.989), (0.1, 0.1, 2.420), (0.0, 0.3, 1.340), (0.0, 0.5, 1.014)])
def test_factor_as_computed(off: float, sigma: float, printed: float) -> None:
    assert factor(off, sigma) == pytest.approx(printed, abs=0.00051)


def test_single_term_at_a_wide_error() -> None:
    assert factor(0.0, 0.5, points=0) == pytest.approx(0.798, abs=0.00051)


@pytest.mark.parametrize("off, sigma", [(0.0, 0.1), (0.1, 0.1), (0.2, 0.1), (0.0, 0.3)])
def test_the_outlines_evidence_is_the_nearest_terms_mixture(off: float, sigma: float) -> None:
    found = lattice_evidence(np.array([40.0 + off]), np.array([sigma]), np.array([1.0]))[0, 0]
    mixed = (1 - WIDE_SHARE) * factor(off, sigma, points=0) + WIDE_SHARE * factor(off, WIDE_FACTOR * sigma, points=0)
    assert found == pytest.approx(mixed, rel=1e-9)


def test_a_value_that_cannot_tell_says_nothing() -> None:
    assert lattice_evidence(np.array([40.2]), np.array([0.45]), np.array([1.0]))[0, 0] == 1.0


def test_even_odds_reach_ninety_five_in_a_hundred_only_below_a_fiftieth() -> None:
    """0.95 asks for a factor of 19: sigma at most 0.021 of the step."""
    assert factor(0.0, 0.021) == pytest.approx(19.0, abs=0.051)
