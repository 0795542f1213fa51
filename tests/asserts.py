"""Assertions about drawings, with a stated tolerance.

Two outlines are *the same* within d when every point of one lies within d of the other and the other way round, loop by loop of
the same role.  Limits: compares shapes, not ids or dimensions.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from afterpart.model.outline import Arc, Circle, Line, Loop, Segment


def assert_within(found: float, expected: float, tolerance: float, what: str = "value") -> None:
    """found lies within tolerance of expected."""
    assert abs(found - expected) <= tolerance, f"{what}: found {found:.6g}, expected {expected:.6g} within {tolerance:g}"


def assert_closed(loop: Loop, within_mm: float = 1e-9) -> None:
    """Each segment begins where the one before ends, arcs start and end on their circle."""
    segments = loop.segments
    if len(segments) == 1 and isinstance(segments[0], Circle):
        return
    for before, after in zip((segments[-1], *segments[:-1]), segments, strict=True):
        assert not isinstance(before, Circle) and not isinstance(after, Circle), "a circle stands alone in its loop"
        gap = math.dist(before.end, after.start)
        assert gap <= within_mm, f"{before.id} ends {gap:g} from {after.id}"
        if isinstance(after, Arc):
            for point in (after.start, after.end):
                assert_within(math.dist(point, after.center), after.radius, within_mm, f"{after.id}: distance from its centre")


def assert_same_outline(found: Sequence[Loop], expected: Sequence[Loop], within_mm: float, step: float = 0.1) -> None:
    """Same number of loops of each role, and each loop within `within_mm` of its nearest counterpart, both ways."""
    assert sorted(loop.role for loop in found) == sorted(loop.role for loop in expected)
    left = list(found)
    for loop in expected:
        points = sample(loop, step)
        distances = [(_apart(points, sample(other, step)), other) for other in left if other.role == loop.role]
        nearest, other = min(distances, key=lambda pair: pair[0])
        assert nearest <= within_mm + step / 2, f"a {loop.role} lies {nearest:.4f} mm from its nearest counterpart"
        left.remove(other)


def sample(loop: Loop, step: float) -> np.ndarray:
    """(n, 2) points along the loop, about `step` apart."""
    return np.concatenate([_sample_segment(segment, step) for segment in loop.segments])


def _sample_segment(segment: Segment, step: float) -> np.ndarray:
    if isinstance(segment, Line):
        along = np.linspace(0.0, 1.0, max(2, math.ceil(math.dist(segment.start, segment.end) / step)))[:, None]
        return np.array(segment.start) * (1 - along) + np.array(segment.end) * along
    if isinstance(segment, Circle):
        begin, sweep = 0.0, 2 * math.pi
    else:
        begin = math.atan2(segment.start[1] - segment.center[1], segment.start[0] - segment.center[0])
        finish = math.atan2(segment.end[1] - segment.center[1], segment.end[0] - segment.center[0])
        sweep = (finish - begin) % (2 * math.pi) if segment.ccw else -((begin - finish) % (2 * math.pi))
    angles = begin + sweep * np.linspace(0.0, 1.0, max(8, math.ceil(abs(sweep) * segment.radius / step)))
    return np.array(segment.center) + segment.radius * np.column_stack([np.cos(angles), np.sin(angles)])


def _apart(a: np.ndarray, b: np.ndarray) -> float:
    """The larger of the two one-way greatest distances (Hausdorff distance) of two point sets."""
    distance = np.hypot(a[:, None, 0] - b[None, :, 0], a[:, None, 1] - b[None, :, 1])
    return float(max(distance.min(axis=0).max(), distance.min(axis=1).max()))
