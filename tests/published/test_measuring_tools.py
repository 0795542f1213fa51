"""What callipers and rules may be off, and what that makes of a reading.

Sources: DIN 862 as a public table prints it (digital, 0.01 step: 20 um to 100 mm, about 30 um to 400 mm; vernier 0.05: 50 um to
300 mm; 20 um more inside; the ends of the steps from memory).  Rules: UK Measuring Instruments Regulations 2016 (S.I. 2016/1153),
schedule 1I.  Uncertainties by hand.  Tolerance: the last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest

from afterpart.geometry.uncertainty import Contribution, combine
from afterpart.standards.measuring_tools import RULE_CLASSES, calliper_error, rectangular_u, resolution_u, rule_error


@pytest.mark.parametrize("length, tool, printed", [
    (50, "digital calliper", 0.02), (100, "digital calliper", 0.02), (150, "digital calliper", 0.03),
    (200, "vernier calliper", 0.05)])
def test_calliper_as_printed(length: float, tool: str, printed: float) -> None:
    assert calliper_error(length, tool) == printed
    assert calliper_error(length, tool, inside=True) == pytest.approx(printed + 0.02)


def test_calliper_outside_its_table() -> None:
    with pytest.raises(ValueError, match="400"):
        calliper_error(500)
    with pytest.raises(KeyError):
        calliper_error(50, "thumb")


@pytest.mark.parametrize("name, a, b, end, marks", [
    ("I", 0.1, 0.1, 0.1, 0.1), ("II", 0.3, 0.2, 0.2, 0.2), ("III", 0.6, 0.4, 0.3, 0.3)])
def test_rule_as_printed(name: str, a: float, b: float, end: float, marks: float) -> None:
    assert RULE_CLASSES[name] == (a, b, end, marks)
    assert rule_error(1000, name) == pytest.approx(a + b) and rule_error(1001, name) == pytest.approx(a + 2 * b)
    assert rule_error(150, name) == pytest.approx(a + b)
    assert rule_error(1000, name, from_end=True) == pytest.approx(a + b + end)


def test_class_two_to_a_metre() -> None:
    assert rule_error(800, "II") == pytest.approx(0.5)
    assert rectangular_u(rule_error(800, "II")) == pytest.approx(0.289, abs=0.00051)


def test_uncertainty_of_a_reading() -> None:
    """0.01 step 0.00289; limit 0.03 0.0173; 0.02 / sqrt 3, step and repeat of 0.02 together 0.0233."""
    assert resolution_u(0.01) == pytest.approx(0.00289, abs=0.0000051)
    assert rectangular_u(0.03) == pytest.approx(0.0173, abs=0.000051)
    lines = (Contribution("tool", rectangular_u(0.02)), Contribution("step", resolution_u(0.01)), Contribution("repeat", 0.02))
    assert combine(lines)[0] == pytest.approx(0.0233, abs=0.000051)
    assert math.hypot(*(line.u for line in lines)) == pytest.approx(combine(lines)[0])


def test_no_limit_lies_below_the_step_of_a_digital_calliper() -> None:
    """ISO 13385-1, as an extract prints it: the maker states the limit, never less than the digital step (0.01 mm)."""
    assert min(calliper_error(length) for length in range(1, 401)) >= 0.01
