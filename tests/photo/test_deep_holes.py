"""Deep holes: a probe ends within the hole, and the circle comes back from a painted one; other rims are read as before.

Painted as its definition says: a face of even brightness, a bore of 5 mm, 40 mm deep, whose wall fades with depth, seen by a
camera that looks straight down from 0.8 m, 70 mm beside it; blurred by one pixel.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np
import pytest

from afterpart.model.camera import Camera
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.rimprobe import DARK_FROM, FINE, Course, read_probes
from afterpart.photo.roundrim import circle_chain
from afterpart.photo.shape import RimLook
from afterpart.photo.trace import trace_circles

HEIGHT, ABOVE, PX = 40.0, 800.0, 0.1
RADIUS, PLACE = 2.5, np.array([70.0, 3.0])
SHAPE = RimShape(HEIGHT, 0.0, 0.0, ABOVE)
DOWN = ((1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0))
CAMERA = Camera(1800, 400, (ABOVE - HEIGHT) / PX, 0.0, 0.0, DOWN, (0.0, 0.0, ABOVE))
FACE, TOP_OF_WALL, DARK, FINER = 40.0, 24.0, 2.0, 4


def _painted(fade: float) -> np.ndarray:
    """The picture in linear light; fade: depth in mm over which the wall's brightness falls to 1 / e."""
    column, row = np.meshgrid((np.arange(1800 * FINER) + 0.5) / FINER, (np.arange(400 * FINER) + 0.5) / FINER)
    x, y = (column - 900.0) * PX, (200.0 - row) * PX
    out = np.hypot(x, y) + 1e-9
    # from a place in the mouth the sight line goes on outwards by out / (ABOVE - HEIGHT) for each mm of depth
    off_x, off_y = x - PLACE[0], y - PLACE[1]
    along = (off_x * x + off_y * y) / out
    to_wall = -along + np.sqrt(np.maximum(along**2 - off_x**2 - off_y**2 + RADIUS**2, 0.0))
    depth = np.maximum(to_wall, 0.0) * (ABOVE - HEIGHT) / out
    hole = DARK + (TOP_OF_WALL - DARK) * np.exp(-depth / fade)
    fine = np.where(off_x**2 + off_y**2 < RADIUS**2, hole, FACE).astype(np.float32)
    plain = cv2.resize(fine, (1800, 400), interpolation=cv2.INTER_AREA)
    noise = 0.3 * np.random.default_rng(1).standard_normal(plain.shape)
    return (cv2.GaussianBlur(plain, (0, 0), 1.0) + noise).astype(np.float32)


@pytest.mark.parametrize("fade", [1.0, 3.0, 8.0])
def test_a_deep_hole_comes_back_however_far_its_wall_is_lit(fade: float) -> None:
    """To a third of a pixel, centre and radius."""
    look = RimLook(SHAPE, Spread(1.0, 0.0), True, np.zeros((0, 1)), np.zeros((0, 2)))
    rim, = trace_circles(_painted(fade), CAMERA, [(PLACE + (0.1, -0.08), RADIUS - 0.1, True)], look, PX)
    assert rim is not None and rim.centre is not None
    assert np.hypot(*(rim.centre - PLACE)) < 0.03
    assert abs(rim.radius - RADIUS) < 0.03


def test_probes_of_a_deep_hole_stay_on_their_own_side() -> None:
    light, chain = _painted(3.0), circle_chain(PLACE, RADIUS, 80, True)
    course = Course(chain, 3.5, 3.0, 0.0, 0.0)
    deep = read_probes(light, CAMERA, [course], RimShape(HEIGHT, 0.0, 0.0, ABOVE, 2.0 * RADIUS), PX, FINE)
    plain = read_probes(light, CAMERA, [course], SHAPE, PX, FINE)
    assert plain.foot.max() > 1.2 * RADIUS
    assert deep.foot.max() <= DARK_FROM * 2.0 * RADIUS + PX
    reach = deep.t0 + deep.step * deep.values.shape[1]
    assert reach < 2.0 * RADIUS < plain.t0 + plain.step * plain.values.shape[1] + 3.5 * PX + 2.0
