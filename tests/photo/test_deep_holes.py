"""Light on the wall of a deep hole, and how far a probe looks into one.

View factor of a ring of a cylinder's wall to its open end at a depth of x diameters: F = (x^2 + 1/2) / sqrt(x^2 + 1) - x
(closed form of the handbooks on heat radiation, from memory), held here against its own definition: the share of a diffuse
element's rays that leave by the end, summed over the end's disc by numbers.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.photo.profile import RimShape, Spread, rim_patterns


def _seen_share(x: float) -> float:
    """Integral of cos a cos b / (pi s^2) over the end's disc, from a wall element x diameters below it (diameter 1)."""
    radius = (np.arange(600) + 0.5) / 600 * 0.5
    angle = (np.arange(1200) + 0.5) / 1200 * 2 * np.pi
    r, a = np.meshgrid(radius, angle, indexing="ij")
    inward = 0.5 - r * np.cos(a)
    square = inward**2 + (r * np.sin(a)) ** 2 + x * x
    return float((inward * x / (np.pi * square**2) * r).sum() * (0.5 / 600) * (2 * np.pi / 1200))


@pytest.mark.parametrize("depth", [0.1, 0.25, 0.5, 1.0])
def test_wall_of_a_bore_darkens_as_it_sees_its_mouth(depth: float) -> None:
    slope, bore, step = 0.1, 5.0, 0.001
    shape = RimShape(40.0, 0.0, 0.0, 800.0, bore)
    pattern = rim_patterns(shape, np.array([slope]), np.array([4.0]), 0.001, Spread(0.5, 0.0), 0.0, step, 900)[0, 1]
    at = round(slope * depth * bore / step)
    mouth = 0.5
    assert pattern[at] * mouth == pytest.approx(_seen_share(depth), abs=0.004)


def test_other_rims_keep_an_evenly_lit_wall() -> None:
    args = (np.array([0.1]), np.array([4.0]), 0.05, Spread(), -1.0, 0.05, 120)
    plain = rim_patterns(RimShape(40.0, 0.4, 0.0, 800.0), *args)[0]
    deep = rim_patterns(RimShape(40.0, 0.4, 0.0, 800.0, 5.0), *args)[0]
    before_the_wall = slice(0, 12)
    np.testing.assert_array_equal(plain[:, before_the_wall], deep[:, before_the_wall])
    assert plain[1, 60] == pytest.approx(1.0, abs=1e-6)
    assert deep[1, 60] < 0.1
