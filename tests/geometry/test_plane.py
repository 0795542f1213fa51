"""Angles, contours and distances, each against a value worked by hand."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.geometry.angles import arc_span_rad, lies_on_span, wrap_rad, wrap_to
from afterpart.geometry.contour import (
    is_counter_clockwise,
    perimeter,
    point_weights,
    resample_closed,
    signed_area,
    signed_curvature,
)
from afterpart.geometry.distance import distance_to_arc, distance_to_circle, distance_to_segment
from afterpart.geometry.robust import mixture_price, mixture_weights, student_weights

SQUARE = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]])


def test_wrapping() -> None:
    assert wrap_rad(3.0 * math.pi) == pytest.approx(math.pi)
    assert wrap_rad(-math.pi) == pytest.approx(math.pi)
    assert wrap_to(math.radians(100.0), math.pi / 2) == pytest.approx(math.radians(10.0))


def test_arc_spans() -> None:
    assert arc_span_rad(0.0, math.pi / 2, True) == pytest.approx(math.pi / 2)
    assert arc_span_rad(0.0, math.pi / 2, False) == pytest.approx(-1.5 * math.pi)
    assert arc_span_rad(1.0, 1.0, True) == pytest.approx(2.0 * math.pi)
    assert list(lies_on_span(np.array([0.1, 3.0, -0.1]), 0.0, 1.0)) == [True, False, False]
    assert list(lies_on_span(np.array([0.1, 3.0, -0.1]), 0.0, -1.0)) == [False, False, True]


def test_square() -> None:
    far = SQUARE + 1e6
    assert signed_area(far) == pytest.approx(12.0, abs=1e-6) and is_counter_clockwise(far)
    assert signed_area(SQUARE[::-1]) == pytest.approx(-12.0)
    assert perimeter(SQUARE) == pytest.approx(14.0)
    assert point_weights(SQUARE).sum() == pytest.approx(14.0)
    assert resample_closed(SQUARE, 14)[4] == pytest.approx([4.0, 0.0])


def test_curvature_of_a_circle_is_signed() -> None:
    t = np.linspace(0.0, 2.0 * math.pi, 100, endpoint=False)
    circle = 5.0 * np.column_stack((np.cos(t), np.sin(t)))
    assert signed_curvature(circle, 4) == pytest.approx(np.full(100, 0.2))
    assert signed_curvature(circle[::-1], 4) == pytest.approx(np.full(100, -0.2))


def test_segment_ends_count() -> None:
    points = np.array([[2.0, 1.0], [-3.0, 4.0], [8.0, 0.0]])
    assert distance_to_segment(points, (0.0, 0.0), (5.0, 0.0)) == pytest.approx([1.0, 5.0, 3.0])
    assert distance_to_segment(points, (1.0, 1.0), (1.0, 1.0))[0] == pytest.approx(1.0)


def test_arc_is_not_its_circle() -> None:
    """A quarter arc about the origin: a point beyond its end is measured to the end, not to the circle."""
    points = np.array([[2.0 / math.sqrt(2.0), 2.0 / math.sqrt(2.0)], [-5.0, 0.0]])
    assert distance_to_arc(points, (0.0, 0.0), 5.0, (5.0, 0.0), (0.0, 5.0), True) == pytest.approx([3.0, math.hypot(5.0, 5.0)])
    assert distance_to_arc(points, (0.0, 0.0), 5.0, (5.0, 0.0), (0.0, 5.0), False)[1] == pytest.approx(0.0, abs=1e-12)
    assert distance_to_circle(points, (0.0, 0.0), 5.0) == pytest.approx([-3.0, 0.0])


def test_weights_fall_and_prices_rise() -> None:
    z = np.linspace(0.0, 40.0, 200)
    assert (np.diff(student_weights(z)) < 0.0).all()
    price = mixture_price(0.01 * z, 0.01, 0.02, 0.15)
    assert price[0] == pytest.approx(0.0, abs=1e-12) and (np.diff(price) > 0.0).all()
    small = 0.01 * z[z < 2.0]
    assert mixture_price(small, 0.01, 0.02, 0.15) == pytest.approx((small / 0.01) ** 2, abs=0.02)


def test_mixture_weight_is_the_slope_of_its_price() -> None:
    """Iteratively weighted least squares solves the mixture: d(price)/de = 2 w e / s2."""
    e = np.linspace(0.002, 0.3, 60)
    step = 1e-7
    slope = (mixture_price(e + step, 0.01, 0.02, 0.15) - mixture_price(e - step, 0.01, 0.02, 0.15)) / (2.0 * step)
    assert mixture_weights(e, 0.01, 0.02, 0.15) == pytest.approx(slope * 0.01**2 / (2.0 * e), rel=1e-4)
