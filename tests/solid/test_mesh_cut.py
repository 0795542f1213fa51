"""Upright cuts through meshes whose cuts are known in closed form."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.errors import SolidError
from afterpart.model.assembly import Item
from afterpart.solid.body import Mesh
from afterpart.solid.hardware import SIDES, foam_block, hardware
from afterpart.solid.mesh_cut import ring_area, upright_cut

WIDE = ((-50.0, -50.0), (50.0, 50.0))
BOX = foam_block(((-6.0, -4.0), (6.0, -4.0), (6.0, 4.0), (-6.0, 4.0)), -2.0, 3.0)


@pytest.mark.parametrize("turn_deg", [0.0, 20.0, 90.0, 135.0, -40.0])
def test_a_box_is_cut_as_long_as_the_chord_through_it(turn_deg: float) -> None:
    """Through its middle a box of 12 x 8 is min(12 / |cos|, 8 / |sin|) long."""
    c, s = abs(math.cos(math.radians(turn_deg))), abs(math.sin(math.radians(turn_deg)))
    length = min(12.0 / c if c > 1e-9 else math.inf, 8.0 / s if s > 1e-9 else math.inf)
    (ring,) = upright_cut(BOX, (0.0, 0.0), turn_deg, *WIDE)
    points = np.array(ring)
    assert abs(ring_area(ring)) == pytest.approx(5.0 * length, rel=1e-5)
    assert np.ptp(points, axis=0) == pytest.approx((length, 5.0), abs=1e-4)
    assert points.min(axis=0) == pytest.approx((-length / 2, -2.0), abs=1e-4)


def test_s_and_z_are_told_from_the_asked_point() -> None:
    (ring,) = upright_cut(BOX, (4.0, 1.0), 0.0, *WIDE)
    assert np.array(ring).min(axis=0) == pytest.approx((-10.0, -2.0)) and np.array(ring).max(axis=0) == pytest.approx((2.0, 3.0))


def test_a_washer_is_cut_into_two_and_a_bolt_as_its_profile() -> None:
    washer = Item("washer", "w", ((10.0, 5.0, 0.0),), (0.0, 0.0, 1.0), 6.4, 1.6, 12.0, 1.6, (0.0, 0.0, -1.0), (), 1)
    (mesh,) = hardware(washer)
    left, right = upright_cut(mesh, (10.0, 5.0), 360.0 / SIDES * 3, *WIDE)
    for ring in (left, right):
        assert abs(ring_area(ring)) == pytest.approx((12.0 - 6.4) / 2 * 1.6, rel=1e-4)
    assert np.array(left)[:, 0].max() == pytest.approx(-3.2, abs=1e-4)
    assert np.array(right)[:, 0].min() == pytest.approx(3.2, abs=1e-4)
    bolt = Item("bolt", "b", ((0.0, 0.0, -5.0),), (0.0, 0.0, 1.0), 6.0, 20.0, 10.0, 6.0, (0.0, 0.0, -1.0), (), 1)
    (ring,) = upright_cut(hardware(bolt)[0], (0.0, 0.0), 0.0, *WIDE)
    assert abs(ring_area(ring)) == pytest.approx(6.0 * 20.0 + 10.0 * 6.0, rel=1e-4)


def test_only_what_lies_in_the_frame_is_told() -> None:
    (ring,) = upright_cut(BOX, (0.0, 0.0), 0.0, (1.0, -1.0), (50.0, 50.0))
    assert abs(ring_area(ring)) == pytest.approx(5.0 * 4.0)
    assert upright_cut(BOX, (0.0, 4.5), 0.0, *WIDE) == () == upright_cut(BOX, (0.0, 0.0), 0.0, (7.0, -1.0), (9.0, 1.0))


def test_the_same_mesh_in_another_order_gives_the_same_cut() -> None:
    shuffled = Mesh(BOX.vertices, BOX.triangles[::-1])
    assert upright_cut(BOX, (0.0, 0.0), 33.0, *WIDE) == upright_cut(shuffled, (0.0, 0.0), 33.0, *WIDE)


def test_an_open_mesh_is_refused_in_words() -> None:
    with pytest.raises(SolidError, match="no closed body"):
        upright_cut(Mesh(BOX.vertices, BOX.triangles[:-1]), (0.0, 0.0), 0.0, *WIDE)
