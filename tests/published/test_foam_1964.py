"""Foam as an air filter: the two published points, what lies between, and foam that is squeezed.

Sources: a museum service's page of 1964: pad of 12.7 mm at 350 ft/min (1.778 m/s), 0.045 in water at 20 and 1.0 in at 100 pores
per inch, in proportion to thickness; values between by the power law through both, by hand.  Squeezed foam: Ergun's scaling.
Metal foam of 20 pores per inch (K 1e-7 m2, f 0.09; Bhattacharya and others 2002, from memory).  Tolerance: last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest

from afterpart.formulas.airflow import (
    densification_strain,
    foam_drop,
    porous_drop,
    squeezed_porosity,
    squeezed_ratios,
    squeezed_speed_shares,
    standard_air,
)
from afterpart.standards.foam import FOAM_POINTS, PASCAL_PER_INCH_WATER

SPEED = 1.778


def test_speed_of_the_points() -> None:
    assert 350 * 0.3048 / 60 == pytest.approx(SPEED, abs=0.00051)
    assert {point.velocity_m_per_s for point in FOAM_POINTS} == {SPEED}


@pytest.mark.parametrize("pores, printed", [(20, 11.2), (100, 249.1), (30, 24.5), (45, 53.5), (60, 93.1)])
def test_drop_of_the_pad(pores: float, printed: float) -> None:
    drop = foam_drop(pores, 12.7, SPEED)
    assert drop.expected_pa == pytest.approx(printed, abs=0.051)
    assert drop.least_pa == pytest.approx(0.5 * drop.expected_pa) and drop.greatest_pa == pytest.approx(1.5 * drop.expected_pa)
    assert drop.in_range


def test_power_of_the_pores() -> None:
    """11.21 (ppi / 20)^1.927."""
    assert math.log(1.0 / 0.045) / math.log(5.0) == pytest.approx(1.927, abs=0.00051)
    assert foam_drop(20, 12.7, SPEED).expected_pa == pytest.approx(11.21, abs=0.0051)
    assert 0.045 * PASCAL_PER_INCH_WATER == pytest.approx(11.21, abs=0.0051)


def test_drop_grows_with_thickness_pores_and_speed() -> None:
    assert foam_drop(30, 20, 1.0).expected_pa == pytest.approx(2 * foam_drop(30, 10, 1.0).expected_pa)
    for a, b in ((foam_drop(30, 10, 1.0), foam_drop(40, 10, 1.0)), (foam_drop(30, 10, 1.0), foam_drop(30, 10, 1.2))):
        assert a.least_pa < b.least_pa and a.expected_pa < b.expected_pa and a.greatest_pa < b.greatest_pa


def test_band_holds_the_expected_and_widens_away_from_the_published_speed() -> None:
    for speed in (0.3, 1.0, 1.778, 3.0):
        drop = foam_drop(30, 10, speed)
        assert drop.least_pa < drop.expected_pa < drop.greatest_pa
    near, far = foam_drop(30, 10, 1.778), foam_drop(30, 10, 0.5)
    assert far.greatest_pa / far.least_pa > near.greatest_pa / near.least_pa
    assert not foam_drop(10, 10, 1.0).in_range and not foam_drop(30, 10, 8.0).in_range


@pytest.mark.parametrize("pa, printed", [(0.045 * 249.089, 3.6e-8), (249.089, 1.6e-9)])
def test_least_permeability_of_the_points(pa: float, printed: float) -> None:
    """K is at least mu V / (dp / L), all of it taken as viscous."""
    assert 1.7894e-5 * SPEED / (pa / 12.7e-3) == pytest.approx(printed, rel=0.02)


def test_metal_foam_is_of_the_same_order() -> None:
    """20 pores per inch, K 1e-7 m2, f 0.09: 18.0 Pa at the anchor; C = f / sqrt(K)."""
    drop = porous_drop(SPEED, 12.7, 1e-7, 0.09 / math.sqrt(1e-7), standard_air())
    assert drop == pytest.approx(18.0, abs=0.051)
    assert 0.5 < drop / foam_drop(20, 12.7, SPEED).expected_pa < 2.0


def test_upholstery_foam_is_far_tighter() -> None:
    """A thesis' table 3.3: K 4.7e-9 m2 with open membranes; the filter foam has at least 7.7 times that."""
    assert 3.6e-8 / 4.7e-9 == pytest.approx(7.7, abs=0.051)


def test_squeezed_to_half() -> None:
    """Porosity 0.97 to 0.94; viscous drop of the thinner pad 2.20 times, inertial 1.10 times."""
    assert squeezed_porosity(0.97, 0.5) == pytest.approx(0.94)
    viscous, inertial = squeezed_ratios(0.97, 0.5)
    assert viscous == pytest.approx(2.20, abs=0.0051) and inertial == pytest.approx(1.10, abs=0.0051)
    assert 0.5 / viscous == pytest.approx(0.2275, abs=0.000051) and 2 * inertial == pytest.approx(2.198, abs=0.00051)
    assert squeezed_ratios(0.97, 1.0) == pytest.approx((1.0, 1.0))
    assert squeezed_speed_shares(0.97, 0.5) == pytest.approx((1 / 2.198, 1 / math.sqrt(1.099)), rel=1e-3)


def test_half_is_safe_before_it_turns_solid() -> None:
    assert densification_strain(0.97) == pytest.approx(0.958, abs=0.00051)
    with pytest.raises(ValueError, match="0.03"):
        squeezed_porosity(0.97, 0.03)


@pytest.mark.parametrize("permeability, length, printed", [(4.7e-9, 2.65e-4, 272), (2.5e-9, 0.32e-4, 1699)])
def test_upholstery_foam_in_the_filters_place(permeability: float, length: float, printed: float) -> None:
    """The thesis' foam with open and with whole membranes (K, B; C = 1 / B): 24 and 152 times the drop of 20 pores per inch."""
    drop = porous_drop(SPEED, 12.7, permeability, 1 / length, standard_air())
    assert drop == pytest.approx(printed, abs=0.51)
    assert drop > foam_drop(100, 12.7, SPEED).expected_pa
    assert drop / foam_drop(20, 12.7, SPEED).expected_pa == pytest.approx({272: 24, 1699: 152}[printed], abs=0.51)
