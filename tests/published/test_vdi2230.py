"""Torque and assembly load of bolts against a printed table, and the working cases of a cover's bolts.

Sources: VDI 2230 part 1, formulas from memory; a fastener handbook's table of assembly loads at 90 % of the yield (its page 685,
class 8.8, R_p 640): M8 x 1 and M10 x 1.25.  Bearing and hole diameters 11.63 / 9 and 14.63 / 11 mm from memory.  The same
handbook, page 678: limiting pressures of metals.  Cases of a 2.5 N m cover bolt: computed with K = 0.2 by hand.
Tolerance: the last printed digit, or for the table half a percent (its last digit is 0.5 % of the smaller values).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import pytest

from afterpart.formulas.bolted import (
    PROOF_SHARE,
    PROOF_SHARE_SOURCE,
    bearing_stress,
    bolt_stiffness,
    equivalent_k,
    load_of_torque,
    part_stiffness,
    proof_load,
    remaining_share,
    sleeve_stress,
    torque_of_load,
    vdi_greatest_load,
    vdi_torque,
)
from afterpart.standards.fasteners import bolt, head, property_class, sleeve, washer
from afterpart.standards.friction import WRENCH_SCATTER, WRENCH_SOURCE


def fine(nominal: float, pitch: float) -> tuple[float, float]:
    """Pitch and core diameter of a fine thread, rounded to 0.001 as thread tables print them."""
    return round(nominal - 3 * math.sqrt(3) / 8 * pitch, 3), round(nominal - 17 * math.sqrt(3) / 24 * pitch, 3)


def fine_bolt(nominal: float, pitch: float):
    d2, d3 = fine(nominal, pitch)
    return replace(bolt(f"M{nominal:g}"), pitch=pitch, pitch_diameter=d2, core_diameter=d3)


@pytest.mark.parametrize("nominal, pitch, friction, load_kn, load_exact, torque, torque_exact, bearing, hole", [
    (8, 1.0, 0.10, 20.7, 20.73, 22.8, 22.84, 11.63, 9), (8, 1.0, 0.12, 20.2, 20.24, 26.1, 26.12, 11.63, 9),
    (8, 1.0, 0.14, 19.7, 19.73, 29.2, 29.18, 11.63, 9), (10, 1.25, 0.12, 31.6, 31.63, 51, 50.87, 14.63, 11)])
def test_assembly_load_and_torque_as_printed(nominal, pitch, friction, load_kn, load_exact, torque, torque_exact, bearing, hole):
    load = vdi_greatest_load(pitch, *fine(nominal, pitch), 640.0, friction)
    assert load / 1000 == pytest.approx(load_kn, abs=0.051)
    assert load / 1000 == pytest.approx(load_exact, abs=0.0051)
    found = vdi_torque(fine_bolt(nominal, pitch), load, friction, friction, bearing, hole)
    assert found == pytest.approx(torque, abs=0.51 if torque == 51 else 0.051)
    assert found == pytest.approx(torque_exact, abs=0.0051)


@pytest.mark.parametrize("friction, printed", [(0.10, 0.15), (0.14, 0.20), (0.20, 0.27)])
def test_equivalent_k(friction: float, printed: float) -> None:
    """About those of the short form; they move by 0.01 between sizes."""
    for size, hole in (("M5", 5.5), ("M6", 6.6), ("M8", 9.0)):
        found = equivalent_k(bolt(size), friction, head("ISO 4762", size).bearing_diameter, hole)
        assert found == pytest.approx(printed, abs=0.012)


HOLES = {"M4": 4.5, "M5": 5.5, "M6": 6.6}


@pytest.mark.parametrize("size, load, bare, small, large", [
    ("M4", 3125, 178, 65.5, 32.2), ("M5", 2500, 93.0, 45.6, 16.3), ("M6", 2083, 59.7, 26.4, 9.5)])
def test_a_cover_bolt_at_two_and_a_half_newton_metres(size: str, load: float, bare: float, small: float, large: float) -> None:
    """N/mm2 under an ISO 4762 head, an ISO 7089 and an ISO 7093 washer, without sleeve, K = 0.2."""
    force = load_of_torque(2.5, bolt(size).nominal, 0.2)
    assert force == pytest.approx(load, abs=0.51)
    outsides = (head("ISO 4762", size).bearing_diameter, washer("ISO 7089", size).outside, washer("ISO 7093", size).outside)
    for outside, printed in zip(outsides, (bare, small, large), strict=True):
        assert bearing_stress(force, outside, HOLES[size]) == pytest.approx(printed, abs=0.51 if printed > 100 else 0.051)
    assert torque_of_load(force, bolt(size).nominal, 0.2) == pytest.approx(2.5)


def test_head_diameter_instead_of_what_bears_would_flatter() -> None:
    """M4: 138 N/mm2 with the plain head's nominal diameter 7.0, 178 with what really presses."""
    assert bearing_stress(3125, 7.0, 4.5) == pytest.approx(138, abs=0.51)
    assert head("ISO 4762", "M4").bearing_diameter < 7.0 < head("ISO 4762", "M4").diameter


def test_load_over_the_band_of_k() -> None:
    """M5 at 2.5 N m: 3333 N at K 0.15, 1667 N at 0.30."""
    assert load_of_torque(2.5, 5, 0.15) == pytest.approx(3333, abs=0.51)
    assert load_of_torque(2.5, 5, 0.30) == pytest.approx(1667, abs=0.51)


def test_sleeve_of_eight_by_five_and_a_half() -> None:
    assert (sleeve("M5").outside, sleeve("M5").inside) == (8.0, 5.5)
    assert sleeve_stress(2500, sleeve("M5")) == pytest.approx(94, abs=0.51)


@pytest.mark.parametrize("modulus, later, printed", [(2000, 800, 0.434), (6000, 4200, 0.772)])
def test_what_is_left_of_the_clamp_load(modulus: float, later: float, printed: float) -> None:
    """M5, grip 5, strained length 20, washer 10 on a 5.5 mm hole; modulus falling from the first to the second value."""
    k_bolt = bolt_stiffness(14.2, 20.0)
    k_part = part_stiffness(10.0, 5.5, modulus, 5.0)
    assert remaining_share(k_bolt, k_part, later / modulus) == pytest.approx(printed, abs=0.0011)


def test_proof_of_an_m5() -> None:
    """14.2 mm2 at 580 N/mm2: 8236 N; our stress area is not rounded (14.18)."""
    assert 14.2 * property_class("8.8").proof == pytest.approx(8236, abs=0.51)
    assert proof_load(bolt("M5"), property_class("8.8")) == pytest.approx(8236, rel=0.0015)


def test_shares_of_the_suppliers_as_printed() -> None:
    """Clamp load about 75 % of the proof load (guides to compression limiters); a torque wrench strays by 30 % (a tool maker)."""
    assert (PROOF_SHARE, WRENCH_SCATTER) == (0.75, 0.30)
    assert not PROOF_SHARE_SOURCE.from_memory and not WRENCH_SOURCE.from_memory
