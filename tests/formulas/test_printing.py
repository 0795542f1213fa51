"""Printing: directions and refusals; published values are in tests/published."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.formulas.printing import circumscribed_radius, facet_shrink, lip_root_stress, plate_sag, print_minutes


@settings(deadline=None, derandomize=True)
@given(st.integers(3, 500), st.floats(0.5, 50.0))
def test_sides_of_the_circumscribed_polygon_touch_the_circle(sides: int, radius: float) -> None:
    angles = 2 * math.pi * np.arange(sides) / sides
    corners = circumscribed_radius(radius, sides) * np.column_stack((np.cos(angles), np.sin(angles)))
    middles = 0.5 * (corners + np.roll(corners, -1, axis=0))
    assert np.hypot(*middles.T) == pytest.approx(np.full(sides, radius))


def test_more_sides_never_shrink_more() -> None:
    shrinks = [facet_shrink(n) for n in range(3, 200)]
    assert shrinks == sorted(shrinks) and shrinks[-1] < 1.0
    with pytest.raises(ValueError, match="3 sides"):
        facet_shrink(2)


def test_sag_goes_with_the_fourth_power_and_the_square() -> None:
    assert plate_sag(200, 2, 2000, 1.24) == pytest.approx(16 * plate_sag(100, 2, 2000, 1.24))
    assert plate_sag(100, 1, 2000, 1.24) == pytest.approx(4 * plate_sag(100, 2, 2000, 1.24))


def test_stress_and_time_scale() -> None:
    assert lip_root_stress(10, 2, 10, 1) == pytest.approx(2 * lip_root_stress(10, 1, 10, 1))
    assert lip_root_stress(10, 1, 10, 2) == pytest.approx(lip_root_stress(10, 1, 10, 1) / 4)
    assert print_minutes(6000, 5.0) == pytest.approx(20.0)
