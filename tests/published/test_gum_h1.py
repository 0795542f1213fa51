"""Calibration of an end gauge: the uncertainty guide's first worked example, from raw figures to expanded uncertainty.

Source: JCGM 100:2008 (Guide to the expression of uncertainty in measurement), annex H.1, table H.1, clauses H.1.6 and H.1.7, and
table G.2 of Student's t; from memory.  The inputs agree with two public programs that carry the same example.  Tolerance: the
last printed digit.  Lengths in nm, temperatures in degrees Celsius.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.geometry.uncertainty import Contribution, combine, coverage_factor, dof_of_doubt, expanded, propagate, slopes

STANDARD, DIFFERENCE, EXPANSION, OFF_20 = 50_000_623.0, 215.0, 11.5e-6, -0.1
VALUES = np.array([STANDARD, DIFFERENCE, EXPANSION, OFF_20, 0.0, 0.0])
"""l_S, d, alpha_S, theta, and the estimates 0 of delta alpha and delta theta."""

U_STANDARD = 75.0 / 3.0
REPEATED = Contribution("repeated observations", 13.0 / math.sqrt(5.0), 24.0)
COMPARATOR_RANDOM = Contribution("comparator, random", 10.0 / coverage_factor(5.0), 5.0)
COMPARATOR_STEADY = Contribution("comparator, systematic", 20.0 / 3.0, dof_of_doubt(0.25))
U_DIFFERENCE, DOF_DIFFERENCE = combine([REPEATED, COMPARATOR_RANDOM, COMPARATOR_STEADY])
U_EXPANSION = 2e-6 / math.sqrt(3.0)
U_TEMPERATURE = math.hypot(0.2, 0.5 / math.sqrt(2.0))
U_DELTA_EXPANSION = 1e-6 / math.sqrt(3.0)
U_DELTA_TEMPERATURE = 0.05 / math.sqrt(3.0)
INPUTS_U = np.array([U_STANDARD, U_DIFFERENCE, U_EXPANSION, U_TEMPERATURE, U_DELTA_EXPANSION, U_DELTA_TEMPERATURE])
INPUTS_DOF = (18.0, DOF_DIFFERENCE, math.inf, math.inf, dof_of_doubt(0.10), dof_of_doubt(0.50))
NAMES = ("standard", "difference", "expansion", "temperature", "difference of expansion", "difference of temperature")


def gauge(x: np.ndarray) -> float:
    """Equation (H.3): l = l_S + d - l_S (delta alpha theta + alpha_S delta theta)."""
    return x[0] + x[1] - x[0] * (x[4] * x[3] + x[2] * x[5])


def budget() -> list[Contribution]:
    """Table H.1: every input's u times its sensitivity coefficient."""
    sensitivity = slopes(gauge, VALUES, INPUTS_U)[0]
    return [Contribution(name, abs(float(c)) * float(u), dof)
            for name, c, u, dof in zip(NAMES, sensitivity, INPUTS_U, INPUTS_DOF, strict=True)]


@pytest.mark.parametrize("found, printed, digit", [
    (REPEATED.u, 5.8, 0.1), (COMPARATOR_RANDOM.u, 3.9, 0.1), (COMPARATOR_STEADY.u, 6.7, 0.1), (COMPARATOR_STEADY.dof, 8, 0.5),
    (U_DIFFERENCE, 9.7, 0.1), (DOF_DIFFERENCE, 25.6, 0.1), (U_EXPANSION * 1e6, 1.2, 0.1), (U_TEMPERATURE, 0.41, 0.01),
    (U_DELTA_EXPANSION * 1e6, 0.58, 0.01), (U_DELTA_TEMPERATURE, 0.029, 0.001), (INPUTS_DOF[4], 50, 0.5),
    (INPUTS_DOF[5], 2, 0.5)])
def test_inputs_as_printed(found: float, printed: float, digit: float) -> None:
    assert found == pytest.approx(printed, abs=0.51 * digit)


@pytest.mark.parametrize("line, printed", list(zip(budget(), (25.0, 9.7, 0.0, 0.0, 2.9, 16.6), strict=True)), ids=NAMES)
def test_lines_of_the_budget_as_printed(line: Contribution, printed: float) -> None:
    assert line.u == pytest.approx(printed, abs=0.051)


def test_value_as_printed() -> None:
    """50.000 838 mm."""
    assert gauge(VALUES) * 1e-6 == pytest.approx(50.000838, abs=5e-7)


def test_combined_uncertainty_as_printed() -> None:
    """u_c^2 = 1002 nm^2, u_c = 32 nm; the budget and the law of propagation say the same."""
    u, _ = combine(budget())
    assert u**2 == pytest.approx(1002.0, abs=0.5) and round(u) == 32
    values, covariance = propagate(gauge, VALUES, np.diag(INPUTS_U**2))
    assert values[0] == pytest.approx(gauge(VALUES)) and math.sqrt(covariance[0, 0]) == pytest.approx(u, rel=1e-6)


def test_effective_degrees_of_freedom_as_printed() -> None:
    """nu_eff = 16.7, cut down to 16."""
    _, dof = combine(budget())
    assert dof == pytest.approx(16.7, abs=0.06) and math.floor(dof) == 16


def test_expanded_uncertainty_as_printed() -> None:
    """U_99 = t_99(16) u_c = 2.92 x 32 nm = 93 nm.  Without the cut of the dof to 16 it is half a nanometre less."""
    u, dof = combine(budget())
    factor = coverage_factor(math.floor(dof), 0.99)
    assert factor == pytest.approx(2.92, abs=0.005)
    assert round(factor * round(u)) == 93
    assert expanded(budget(), 0.99) == pytest.approx(factor * u, rel=0.01)


def test_second_order_terms_as_printed() -> None:
    """H.1.7: two terms of 11.7 and 1.7 nm raise u_c from 32 to 34 nm."""
    _, first = propagate(gauge, VALUES, np.diag(INPUTS_U**2))
    _, both = propagate(gauge, VALUES, np.diag(INPUTS_U**2), second_order=True)
    assert round(math.sqrt(both[0, 0])) == 34
    assert math.sqrt(both[0, 0] - first[0, 0]) == pytest.approx(math.hypot(11.7, 1.7), abs=0.1)


T_95 = {1: 12.71, 2: 4.30, 3: 3.18, 4: 2.78, 5: 2.57, 6: 2.45, 7: 2.36, 8: 2.31, 9: 2.26, 10: 2.23, 16: 2.12, 18: 2.10, 20: 2.09,
        25: 2.06, 30: 2.04, 40: 2.02, 50: 2.01, math.inf: 1.960}
T_99 = {1: 63.66, 2: 9.92, 3: 5.84, 5: 4.03, 8: 3.36, 10: 3.17, 16: 2.92, 20: 2.85, 30: 2.75, 50: 2.68, math.inf: 2.576}


@pytest.mark.parametrize("probability, table", [(0.95, T_95), (0.99, T_99)])
def test_students_t_as_printed(probability: float, table: dict[float, float]) -> None:
    """Table G.2, last digit 0.01 (0.001 at infinity)."""
    for dof, printed in table.items():
        assert coverage_factor(dof, probability) == pytest.approx(printed, abs=0.0051 if math.isfinite(dof) else 0.00051), dof
