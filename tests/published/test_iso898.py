"""Strength of bolts: stress areas, least tensile loads, and the torque that breaks them.

Sources: ISO 898-1 stress areas and least tensile loads of class 8.8 as printed by a supplier (and proof stress 580 on a second
public page); ISO 898-7:1992 formula M_B = X R_m pi d3^3 / 16 as printed publicly, X and the standard's rounded torques from
memory; least pitch diameters (6g) from a fastener handbook, page 711.  Tolerance: the last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.formulas.screws import breaking_torque
from afterpart.standards.fasteners import BOLTS, bolt, property_class

AREAS = {"M3": 5.03, "M4": 8.78, "M5": 14.2, "M6": 20.1, "M8": 36.6}
TENSILE_LOADS = {"M3": 4020, "M4": 7020, "M5": 11350, "M6": 16100, "M8": 29200}
PITCH_DIAMETERS = {"M3": 2.580, "M4": 3.433, "M5": 4.361, "M6": 5.212}
CLASSES = ("8.8", "9.8", "10.9", "12.9")
TORQUES = {"M3": (1.55, 1.69, 1.89, 2.11), "M4": (3.57, 3.90, 4.36, 4.86), "M5": (7.64, 8.34, 9.34, 10.40),
           "M6": (12.8, 14.0, 15.7, 17.4)}
ROUNDED_IN_THE_STANDARD = {"M3": (1.5, 1.7, 1.9, 2.1)}


@pytest.mark.parametrize("size", AREAS)
def test_stress_area_as_printed(size: str) -> None:
    printed = AREAS[size]
    assert bolt(size).stress_area == pytest.approx(printed, abs=0.0051 if printed < 10 else 0.051)


@pytest.mark.parametrize("size", TENSILE_LOADS)
def test_least_tensile_load_of_class_8_8(size: str) -> None:
    """The standard multiplies the rounded area and rounds to three or four figures."""
    assert AREAS[size] * property_class("8.8").tensile == pytest.approx(TENSILE_LOADS[size], rel=0.003)
    assert bolt(size).stress_area * property_class("8.8").tensile == pytest.approx(TENSILE_LOADS[size], rel=0.003)


@pytest.mark.parametrize("name, proof", [("8.8", 580), ("10.9", 830), ("12.9", 970)])
def test_proof_stress_as_printed(name: str, proof: float) -> None:
    assert property_class(name).proof == proof


@pytest.mark.parametrize("size", PITCH_DIAMETERS)
def test_least_pitch_diameter_as_printed(size: str) -> None:
    item = bolt(size)
    assert item.pitch_diameter_least == PITCH_DIAMETERS[size] and not item.source.from_memory
    assert item.core_diameter_least == pytest.approx(item.pitch_diameter_least - 0.6160 * item.pitch)


@pytest.mark.parametrize("size", TORQUES)
def test_breaking_torque_as_computed(size: str) -> None:
    for name, printed in zip(CLASSES, TORQUES[size], strict=True):
        assert breaking_torque(bolt(size), property_class(name)) == pytest.approx(printed, abs=0.0051 if printed < 11 else 0.051)


def test_rounding_of_the_standard() -> None:
    for name, rounded in zip(CLASSES, ROUNDED_IN_THE_STANDARD["M3"], strict=True):
        assert breaking_torque(bolt("M3"), property_class(name)) == pytest.approx(rounded, abs=0.051)


def test_two_and_a_half_newton_metres_break_every_m3() -> None:
    for name in (*CLASSES, "A2-50", "A2-70", "A4-80"):
        assert breaking_torque(bolt("M3"), property_class(name)) < 2.5


def test_threads_are_consistent() -> None:
    """Every size: core below pitch below nominal diameter, limits below the basic sizes, larger sizes stronger."""
    for item in BOLTS:
        assert item.core_diameter < item.pitch_diameter < item.nominal
        assert item.core_diameter_least < item.core_diameter
        assert item.pitch_diameter - 0.2 < item.pitch_diameter_least < item.pitch_diameter
    areas = [item.stress_area for item in BOLTS]
    assert areas == sorted(areas)
