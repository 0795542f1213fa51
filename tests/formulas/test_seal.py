"""Cord and groove: identities and directions that hold for every size."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.formulas.seal import (
    closing_force,
    closing_force_band,
    cord_stiffness,
    groove_fill,
    groove_from,
    least_corner_radius,
    preferred_corner_radius,
    ring_stretch,
    squeeze,
    stretched_cord,
    worst_cases,
)
from afterpart.standards.orings import CORDS, GROOVES, cord, cord_for_width, groove_for_cord

DIAMETERS = st.floats(0.5, 12.0)
SHARES = st.floats(0.05, 0.9)


@settings(deadline=None, derandomize=True)
@given(DIAMETERS, SHARES, SHARES)
def test_the_groove_has_the_shares_it_was_made_for(diameter: float, share: float, fill: float) -> None:
    depth, width = groove_from(diameter, share, fill)
    assert squeeze(diameter, depth) == pytest.approx(share, abs=1e-9)
    assert groove_fill(diameter, width, depth) == pytest.approx(fill, rel=1e-9)


@settings(deadline=None, derandomize=True)
@given(DIAMETERS, st.floats(0.0, 0.5))
def test_a_stretched_cord_keeps_its_volume(diameter: float, stretch: float) -> None:
    thin = stretched_cord(diameter, stretch)
    assert thin <= diameter
    assert math.pi / 4 * thin**2 * (1 + stretch) == pytest.approx(math.pi / 4 * diameter**2, rel=1e-12)


@settings(deadline=None, derandomize=True)
@given(st.floats(10, 1000), st.floats(0.0, 0.5))
def test_stretch_of_a_ring(length: float, stretch: float) -> None:
    assert ring_stretch(length * (1 + stretch), length) == pytest.approx(stretch, abs=1e-12)


@pytest.mark.parametrize("groove", GROOVES, ids=lambda g: f"{g.cord:.2f}")
def test_worst_cases_hold_every_combination(groove) -> None:
    item = cord(groove.cord)
    depths, widths = (groove.depth, groove.depth + groove.depth_plus), (groove.width, groove.width + groove.width_plus)
    band = worst_cases(item, depths, widths)
    for d in (item.least, item.diameter, item.greatest):
        for h in depths:
            assert band.squeeze_loose - 1e-12 <= squeeze(d, h) <= band.squeeze_tight + 1e-12
            for b in widths:
                assert band.fill_least - 1e-12 <= groove_fill(d, b, h) <= band.fill_greatest + 1e-12
    stretched = worst_cases(item, depths, widths, stretch=0.03)
    assert stretched.squeeze_loose < band.squeeze_loose and stretched.fill_greatest < band.fill_greatest


@settings(deadline=None, derandomize=True)
@given(DIAMETERS, st.floats(0.0, 0.35), st.floats(0.0, 0.35), st.floats(1.0, 50.0))
def test_more_squeeze_never_takes_less_force(diameter: float, a: float, b: float, modulus: float) -> None:
    low, high = sorted((a, b))
    assert closing_force(diameter, low, modulus) <= closing_force(diameter, high, modulus)
    least, most = closing_force_band(diameter, high, modulus)
    assert least <= closing_force(diameter, high, modulus) <= most
    assert cord_stiffness(low, modulus) <= cord_stiffness(high, modulus)


def test_no_squeeze_no_force() -> None:
    assert closing_force(3.53, 0.0, 5.0) == 0.0 == closing_force(3.53, -0.2, 5.0)
    assert squeeze(2.65, 3.0) < 0.0


def test_corners_in_cords() -> None:
    for item in CORDS:
        assert least_corner_radius(item.diameter) == pytest.approx(3 * item.diameter)
        assert preferred_corner_radius(item.diameter) == pytest.approx(6 * item.diameter)


@pytest.mark.parametrize("call", [lambda: squeeze(0.0, 1.0), lambda: squeeze(2.0, -1.0), lambda: groove_fill(2.0, 0.0, 1.0),
                                  lambda: groove_from(2.0, 0.0, 0.7), lambda: groove_from(2.0, 0.2, 1.0),
                                  lambda: stretched_cord(2.0, -1.0), lambda: squeeze(math.nan, 1.0)])
def test_impossible_sizes_are_refused(call) -> None:
    with pytest.raises(ValueError, match="must"):
        call()


@pytest.mark.parametrize("width, found", [
    (2.5, None), (2.6, 1.80), (2.8, 2.00), (3.6, 2.00), (3.8, 2.65), (6.0, 4.00), (30.0, 7.00)])
def test_thickest_cord_for_a_channel(width: float, found: float | None) -> None:
    groove = cord_for_width(width)
    assert (groove.cord if groove else None) == found


def test_an_unknown_cord_lists_the_known() -> None:
    with pytest.raises(KeyError, match="2.65"):
        groove_for_cord(2.7)
