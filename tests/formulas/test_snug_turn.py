"""The turn after snug: one formula forwards and backwards, and how it leans on its inputs."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.formulas.screws import force_after_snug
from afterpart.formulas.snug_turn import EIGHTH_DEG, greatest_angle_deg, screw_stiffness, turned_force


def test_screw_stiffness_by_hand() -> None:
    """Core 2.1: 3.4636 mm2 of steel, 205 000 N/mm2; 3 mm of plate and half of 3 mm of thread strain: 157 787 N/mm."""
    assert screw_stiffness(3.0, 2.1, 3.0) == pytest.approx(math.pi / 4 * 2.1**2 * 205_000 / 4.5)
    assert screw_stiffness(3.0, 2.1, 3.0) == pytest.approx(157_787, abs=1.0)


def test_force_of_an_eighth_by_hand() -> None:
    """Head 5.6 on 3.4: 15.551 mm2 of 2100 N/mm2, 3 mm: 10 886 N/mm; with the screw 10 183; 0.15 mm of it: 1527 N."""
    force = turned_force(EIGHTH_DEG, 1.2, 157_787, 5.6, 3.4, 2100.0, 3.0)
    assert force == pytest.approx(0.15 / (1 / 10_886 + 1 / 157_787), rel=1e-4)
    assert force == pytest.approx(1527, abs=1.0)


@given(st.floats(1.0, 1e4), st.floats(0.2, 3.0), st.floats(1e2, 1e5), st.floats(1e2, 1e6))
def test_angle_and_force_are_each_others_inverse(force: float, pitch: float, plastic: float, screw: float) -> None:
    angle = greatest_angle_deg(force, pitch, plastic, screw)
    assert force_after_snug(angle, pitch, plastic, screw) == pytest.approx(force, rel=1e-9)


@given(st.floats(0.0, 90.0), st.floats(0.2, 3.0), st.floats(1.01, 3.0))
def test_a_coarser_pitch_pulls_harder_in_the_same_measure(angle: float, pitch: float, factor: float) -> None:
    def pull(coarse: float) -> float:
        return turned_force(angle, coarse, 157_787, 5.6, 3.4, 2100.0, 3.0)
    assert pull(factor * pitch) == pytest.approx(factor * pull(pitch))


def test_angle_of_the_published_force() -> None:
    """571 N at an eighth of a turn of M3 on 9786 and 137 500 N/mm (tests/published/test_thread_forming.py), backwards."""
    assert greatest_angle_deg(571.0, 0.5, 9786.0, 137_500.0) == pytest.approx(45.0, abs=0.05)
