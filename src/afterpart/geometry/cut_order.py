"""In which order the straight sides of an element are best cut.

First the sides that lie along or square to the element's main direction (a rectangle's own sides: rule and square mark them out),
the longest first and then round; then the slanted ones, counter-clockwise from the first cut.
Words: the *main direction* is the one in which, together with the one square to it, most of the outline runs.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.model.outline import Point

_SAME_DIRECTION_DEG = 0.5


def order_of_cuts(corners: tuple[Point, ...]) -> tuple[int, ...]:
    """Numbers of the sides (from corner i to the next) in the order of cutting.  ValueError: fewer than three corners."""
    if len(corners) < 3:
        raise ValueError(f"{len(corners)} corners enclose nothing")
    ring = np.asarray(corners)
    run = np.roll(ring, -1, axis=0) - ring
    length = np.hypot(run[:, 0], run[:, 1])
    angle_deg = np.degrees(np.arctan2(run[:, 1], run[:, 0]))
    apart = np.abs((angle_deg[:, None] - angle_deg[None, :] + 45.0) % 90.0 - 45.0)
    main = int(np.round((apart < _SAME_DIRECTION_DEG) @ length, 6).argmax())
    square = apart[main] < _SAME_DIRECTION_DEG
    first = int(np.where(square, np.round(length, 6), -math.inf).argmax())
    round_it = [(first + i) % len(corners) for i in range(len(corners))]
    return tuple([i for i in round_it if square[i]] + [i for i in round_it if not square[i]])


def direction_deg(corners: tuple[Point, ...]) -> float:
    """Direction of the first cut, degrees from x, above -90 and up to 90."""
    i = order_of_cuts(corners)[0]
    (x0, y0), (x1, y1) = corners[i], corners[(i + 1) % len(corners)]
    angle_deg = math.degrees(math.atan2(y1 - y0, x1 - x0))
    turned = (angle_deg + 90.0) % 180.0 - 90.0
    return 90.0 if math.isclose(turned, -90.0, abs_tol=1e-9) else turned
