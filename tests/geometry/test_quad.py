"""Rectangles seen aslant: every one a camera can see up to 45 degrees is accepted, what is none is not.

The pictures are those of a pinhole camera (closed form); angles of plain shapes are known.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from afterpart.geometry.quad import in_order, inner_angles_deg, is_in_line, is_like_rectangle, side_ratio


def seen(width: float, height: float, tilt_deg: float, azimuth_deg: float, distance: float) -> list[tuple[float, float]]:
    """Corners of a rectangle about zero, by a pinhole of unit focal length `distance` away that looks at its middle."""
    a, b = math.radians(azimuth_deg), math.radians(tilt_deg)
    corners = np.array([[x * width / 2, y * height / 2, 0.0] for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))])
    spin = np.array([[math.cos(a), -math.sin(a), 0], [math.sin(a), math.cos(a), 0], [0, 0, 1]])
    lean = np.array([[1, 0, 0], [0, math.cos(b), -math.sin(b)], [0, math.sin(b), math.cos(b)]])
    p = corners @ spin.T @ lean.T
    return [(float(x / (distance + z)), float(y / (distance + z))) for x, y, z in p]


def test_every_sheet_a_camera_sees_up_to_45_degrees_aslant_is_like_a_rectangle() -> None:
    for tilt, azimuth, (w, h) in itertools.product((0.0, 20.0, 45.0), range(0, 180, 7), ((210.0, 297.0), (297.0, 420.0))):
        corners = seen(w, h, tilt, float(azimuth), 2.0 * max(w, h))
        assert is_like_rectangle(in_order(corners)), (tilt, azimuth)


def test_order_is_round_the_middle_whatever_the_order_given() -> None:
    corners = seen(210.0, 297.0, 30.0, 40.0, 700.0)
    rounds = {in_order(given) for given in itertools.permutations(corners)}
    assert len(rounds) == 4 and all(one[0] in corners for one in rounds), "one way round, begun at each corner"
    for one in rounds:
        assert sum(inner_angles_deg(one)) == pytest.approx(360.0) and all(angle < 180 for angle in inner_angles_deg(one))


def test_angles_and_sides_of_known_shapes() -> None:
    assert inner_angles_deg(((0, 0), (3, 0), (3, 2), (0, 2))) == pytest.approx((90.0,) * 4)
    kite = in_order(((0.0, 0.0), (1.0, math.sqrt(3)), (0.0, 4.0), (-1.0, math.sqrt(3))))
    assert sorted(inner_angles_deg(kite))[0] < 60.0 < 120.0
    assert side_ratio(((0, 0), (4, 0), (3, 1), (2, 1))) == pytest.approx(4.0)
    assert side_ratio(((0, 0), (4, 0), (2, 1), (2, 1))) == math.inf


@pytest.mark.parametrize("inner", [(0.5, 0.0), (0.5, 0.05), (0.4, 0.3)])
def test_a_corner_on_the_line_of_two_others_or_within_all_three_is_told(inner: tuple[float, float]) -> None:
    corners = in_order(((0.0, 0.0), (1.0, 0.0), (0.5, 1.0), inner))
    assert is_in_line(corners) and not is_like_rectangle(corners)
