"""Angles in one place: wrapping, and the span of an arc.

Words: an *arc* is a circle and a span; its span is the turn from start to end, positive counter-clockwise.
Angles here are radians and end in `_rad`, except where a name says `_deg`.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

TURN_RAD = 2.0 * math.pi


def wrap_rad(angle_rad: float | np.ndarray) -> float | np.ndarray:
    """The same direction in (-pi, pi]."""
    return np.pi - np.mod(np.pi - angle_rad, TURN_RAD)


def wrap_to(angle_rad: float, period_rad: float) -> float:
    """The angle modulo `period_rad`, in (-period/2, period/2]."""
    half = 0.5 * period_rad
    return half - (half - angle_rad) % period_rad


def arc_span_rad(start_rad: float, end_rad: float, ccw: bool) -> float:
    """Signed turn from start to end: in (0, 2 pi] counter-clockwise, in [-2 pi, 0) clockwise."""
    turn = (end_rad - start_rad) % TURN_RAD
    if ccw:
        return turn if turn > 0.0 else TURN_RAD
    turn -= TURN_RAD
    return turn if turn < 0.0 else -TURN_RAD


def lies_on_span(angle_rad: np.ndarray, start_rad: float, span_rad: float) -> np.ndarray:
    """True where the angle lies on the span that begins at start_rad and turns by span_rad (signed)."""
    turned = np.mod((angle_rad - start_rad) * math.copysign(1.0, span_rad), TURN_RAD)
    return turned <= abs(span_rad)
