"""Closed contours as ordered points: length, area, orientation, resampling, curvature.

A contour is an (n, 2) array, in order, the first point not repeated.  Counter-clockwise area is positive.
Knows no photographs and no drawing; unit of the points throughout.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np


def edge_lengths(points: np.ndarray) -> np.ndarray:
    """(n,) distance from each point to the next, the last one back to the first."""
    step = np.roll(points, -1, axis=0) - points
    return np.asarray(np.hypot(step[:, 0], step[:, 1]))


def perimeter(points: np.ndarray) -> float:
    """Length once round."""
    return float(edge_lengths(points).sum())


def signed_area(points: np.ndarray) -> float:
    """Area by the shoelace sum, positive when counter-clockwise.  Taken about the mean, so that far origins lose no digits."""
    x, y = (points - points.mean(axis=0)).T
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def is_counter_clockwise(points: np.ndarray) -> bool:
    """True when the points run counter-clockwise."""
    return signed_area(points) > 0.0


def point_weights(points: np.ndarray) -> np.ndarray:
    """(n,) length of contour that each point stands for: half of the two edges that meet in it."""
    length = edge_lengths(points)
    return np.asarray(0.5 * (length + np.roll(length, 1)))


def resample_closed(points: np.ndarray, count: int) -> np.ndarray:
    """(count, 2) points at equal steps along the contour, by straight lines between the given ones; starts at the first."""
    length = edge_lengths(points)
    along = np.concatenate(([0.0], np.cumsum(length)))
    closed = np.vstack((points, points[:1]))
    at = np.arange(count) * (along[-1] / count)
    return np.column_stack((np.interp(at, along, closed[:, 0]), np.interp(at, along, closed[:, 1])))


def signed_curvature(points: np.ndarray, reach: int) -> np.ndarray:
    """(n,) curvature of the circle through each point and the ones `reach` before and after (1/unit, positive to the left).

    Menger curvature: 2 * cross(b - a, c - a) / (|ab| |bc| |ca|).
    """
    before, after = np.roll(points, reach, axis=0), np.roll(points, -reach, axis=0)
    ab, ac, bc = points - before, after - before, after - points
    cross = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    product = np.hypot(*ab.T) * np.hypot(*bc.T) * np.hypot(*ac.T)
    return np.where(product > 0.0, 2.0 * cross / np.maximum(product, 1e-300), 0.0)
