"""Distance of points to lines, circles and arcs, the ends of the span minded.

Beyond the ends of a segment or a span the distance is the one to the nearer end.  All functions take points (n, 2) and give (n,).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.geometry.angles import arc_span_rad, lies_on_span


def distance_to_segment(points: np.ndarray, start: tuple[float, float], end: tuple[float, float]) -> np.ndarray:
    """Distance to the straight segment from start to end."""
    a, b = np.asarray(start, float), np.asarray(end, float)
    run = b - a
    square = float(run @ run)
    share = np.clip((points - a) @ run / square, 0.0, 1.0) if square > 0.0 else np.zeros(len(points))
    gap = points - (a + share[:, None] * run)
    return np.asarray(np.hypot(gap[:, 0], gap[:, 1]))


def distance_to_circle(points: np.ndarray, center: tuple[float, float], radius: float) -> np.ndarray:
    """Signed: positive outside the circle."""
    return np.hypot(points[:, 0] - center[0], points[:, 1] - center[1]) - radius


def distance_to_arc(
    points: np.ndarray,
    center: tuple[float, float],
    radius: float,
    start: tuple[float, float],
    end: tuple[float, float],
    ccw: bool,
) -> np.ndarray:
    """Distance to the arc; a point whose direction from the centre misses the span is measured to the nearer end."""
    start_rad = math.atan2(start[1] - center[1], start[0] - center[0])
    span_rad = arc_span_rad(start_rad, math.atan2(end[1] - center[1], end[0] - center[0]), ccw)
    direction_rad = np.arctan2(points[:, 1] - center[1], points[:, 0] - center[0])
    on = lies_on_span(direction_rad, start_rad, span_rad)
    to_ends = np.minimum(
        np.hypot(points[:, 0] - start[0], points[:, 1] - start[1]), np.hypot(points[:, 0] - end[0], points[:, 1] - end[1])
    )
    return np.where(on, np.abs(distance_to_circle(points, center, radius)), to_ends)
