"""Cubic polynomials in the plane: smooth displacement fields by ten factors a coordinate.

Order of the terms: 1, x, y, x2, xy, y2, x3, x2y, xy2, y3.  Coordinates are taken about the field's middle and divided by its
reach, so that the terms are of like size.  What pose, lens and scale can do to a face is smooth enough for degree three.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np


def cubic_terms(xy: np.ndarray) -> np.ndarray:
    """(n, 10) the terms at places xy (n, 2)."""
    x, y = np.asarray(xy, float).T
    return np.column_stack([np.ones_like(x), x, y, x * x, x * y, y * y, x**3, x * x * y, x * y * y, y**3])


def cubic_slopes(xy: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(n, 10) twice: derivatives of the terms by x and by y at places xy (n, 2)."""
    x, y = np.asarray(xy, float).T
    o, n = np.ones_like(x), np.zeros_like(x)
    by_x = np.column_stack([n, o, n, 2 * x, y, n, 3 * x * x, 2 * x * y, y * y, n])
    by_y = np.column_stack([n, n, o, n, x, 2 * y, n, x * x, 2 * x * y, 3 * y * y])
    return by_x, by_y
