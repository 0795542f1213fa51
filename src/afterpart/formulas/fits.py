"""Fits: tolerance by formula, clearance in the worst case and by chance, and how many pairs will go together.

Words: *clearance* is hole less shaft; *share* the part of all pairs that go together; worst case adds deviations, chance adds
their squares.
Book letters: i tolerance unit [um], D geometric mean of a size step [mm], mu means, sigma standard deviations [mm].
Limits: independent, normal deviations.  Real populations have a shifted mean (another mould, another spool): test both.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

from afterpart.sources import Source
from afterpart.standards.table import Range

UNIT_SOURCE = Source("ISO 286-1 Limits and fits: formula of the tolerance unit, as printed on public pages",
                     place="i = 0.45 D^(1/3) + 0.001 D; IT6 to IT16 as multiples")

UNIT_RANGE = Range(1.0, 500.0, "mm")

GRADE_UNITS = {"IT6": 10, "IT7": 16, "IT8": 25, "IT9": 40, "IT10": 64, "IT11": 100, "IT12": 160, "IT13": 250, "IT14": 400,
               "IT15": 640, "IT16": 1000}
"""Tolerance of a grade in units i (UNIT_SOURCE)."""


def tolerance_unit(step_low: float, step_high: float) -> float:
    """i = 0.45 D^(1/3) + 0.001 D in um, D = sqrt(D1 D2) of the size step (mm); the first step runs from 1 to 3."""
    d = math.sqrt(step_low * step_high)
    return 0.45 * d ** (1.0 / 3.0) + 0.001 * d


def grade_by_formula(step_low: float, step_high: float, grade: str) -> float:
    """Tolerance of a grade (um) by the formula, unrounded: where the table exists, the table rules."""
    return GRADE_UNITS[grade] * tolerance_unit(step_low, step_high)


def worst_case(deviations: Sequence[float]) -> float:
    """Sum of the greatest deviations either way, mm."""
    return math.fsum(abs(d) for d in deviations)


def root_sum_square(deviations: Sequence[float]) -> float:
    """sqrt(sum of squares), mm: the same by chance, for independent deviations of one coverage."""
    return math.hypot(*deviations)


def fitting_share(mean_clearance: float, *sigmas: float) -> float:
    """Share of pairs with clearance above 0: P = Phi(mean / sqrt(sum sigma^2)).  Without any spread: 1, 0, or 0.5 at zero."""
    spread = math.hypot(*sigmas)
    if spread == 0.0:
        return 0.5 if mean_clearance == 0.0 else float(mean_clearance > 0.0)
    return NormalDist().cdf(mean_clearance / spread)


def clearance_for_share(share: float, *sigmas: float) -> float:
    """Mean clearance (mm) at which this share of pairs fits.  Raises ValueError unless 0 < share < 1."""
    if not 0.0 < share < 1.0:
        raise ValueError(f"share must lie between 0 and 1, found {share!r}")
    return NormalDist().inv_cdf(share) * math.hypot(*sigmas)


def thermal_growth(length: float, expansion_per_k: float, kelvin: float) -> float:
    """alpha L dT, mm."""
    return expansion_per_k * length * kelvin
