"""JCGM 100:2008, H.3: calibration of a thermometer by a straight line through 11 corrections.

Data of table H.6 and the results of H.3.3 and H.3.4 from memory, checked by recomputation: every printed figure is met within
its last digit.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.formulas.print_scale import least_squares

TEMPERATURES_C = (21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511)
CORRECTIONS_C = (-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160)
ORIGIN_C = 20.0


def test_line_of_the_thermometer() -> None:
    t, b = np.array(TEMPERATURES_C), np.array(CORRECTIONS_C)
    solved = least_squares(np.column_stack([np.ones_like(t), t - ORIGIN_C]), b)
    u = solved.scatter * np.sqrt(np.diag(solved.unit_covariance))
    correlation = solved.unit_covariance[0, 1] / np.sqrt(np.prod(np.diag(solved.unit_covariance)))
    assert solved.values[0] == pytest.approx(-0.1712, abs=0.00005)
    assert solved.values[1] == pytest.approx(0.00218, abs=0.000005)
    assert u[0] == pytest.approx(0.0029, abs=0.00005) and u[1] == pytest.approx(0.00067, abs=0.000005)
    assert correlation == pytest.approx(-0.930, abs=0.0005)
    assert solved.scatter == pytest.approx(0.0035, abs=0.00005)


def test_correction_predicted_at_30_degrees() -> None:
    t, b = np.array(TEMPERATURES_C), np.array(CORRECTIONS_C)
    solved = least_squares(np.column_stack([np.ones_like(t), t - ORIGIN_C]), b)
    value, u = solved.value_at(np.array([1.0, 10.0]))
    assert value == pytest.approx(-0.1494, abs=0.00005) and u == pytest.approx(0.0041, abs=0.00005)
