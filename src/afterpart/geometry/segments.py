"""Points along segments, and the box of a drawing: arcs are circles *and a span* here.

Conventions: mm (or the drawing's unit), x right, y up; a segment runs from its start to its end, a circle counter-clockwise
from its rightmost point.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from afterpart.errors import SolidError
from afterpart.geometry.angles import arc_span_rad
from afterpart.model.outline import Arc, Circle, Line, Loop, Segment


def arc_angles_rad(arc: Arc) -> tuple[float, float]:
    """Direction of an arc's start from its centre, and its signed turn (counter-clockwise positive)."""
    first = math.atan2(arc.start[1] - arc.center[1], arc.start[0] - arc.center[0])
    last = math.atan2(arc.end[1] - arc.center[1], arc.end[0] - arc.center[0])
    return first, arc_span_rad(first, last, arc.ccw)


def segment_points(segment: Segment, chord: float = 0.01) -> np.ndarray:
    """Points (n, 2) along a segment, its end left out, no farther apart than gives a chord error of `chord`."""
    match segment:
        case Line(start=start):
            return np.array([start], dtype=float)
        case Circle(center=center, radius=radius):
            first, turn = 0.0, math.tau
        case Arc(center=center, radius=radius):
            first, turn = arc_angles_rad(segment)
    step_rad = max(2 * math.acos(max(1 - chord / max(radius, chord), 0.0)), 1e-3)
    count = max(math.ceil(abs(turn) / step_rad), 2)
    angles_rad = first + turn * np.arange(count) / count
    points = np.column_stack([center[0] + radius * np.cos(angles_rad), center[1] + radius * np.sin(angles_rad)])
    if isinstance(segment, Arc):
        points[0] = segment.start
    return points


def lines_and_arcs(segments: Iterable[Segment]) -> tuple[Line | Arc, ...]:
    """The segments, told to be lines and arcs, which have ends.  SolidError: a circle is among them; it closes on itself and can
    only be a chain of its own."""
    found = []
    for segment in segments:
        if isinstance(segment, Circle):
            raise SolidError(f"found a circle about ({segment.center[0]:.4g}, {segment.center[1]:.4g}) among lines and arcs; "
                             "a circle must be a chain of its own")
        found.append(segment)
    return tuple(found)


def loop_points(loop: Loop, chord: float = 0.01) -> np.ndarray:
    """Points (n, 2) once round a loop, the first not repeated."""
    return np.vstack([segment_points(s, chord) for s in loop.segments])


def segment_middle(segment: Segment) -> tuple[float, float]:
    """The point halfway along a line or arc; a circle's rightmost point."""
    match segment:
        case Line(start=start, end=end):
            return ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        case Circle(center=center, radius=radius):
            return (center[0] + radius, center[1])
        case Arc(center=center, radius=radius):
            first, turn = arc_angles_rad(segment)
            return (center[0] + radius * math.cos(first + turn / 2), center[1] + radius * math.sin(first + turn / 2))


def segments_box(segments: Iterable[Segment]) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of the segments, exact for arcs.  ValueError: no segment."""
    xs, ys = [], []
    for segment in segments:
        match segment:
            case Line(start=start, end=end):
                ends = [start, end]
            case Circle(center=(x, y), radius=r):
                ends = [(x - r, y - r), (x + r, y + r)]
            case Arc(start=start, end=end, center=(x, y), radius=r):
                first, turn = arc_angles_rad(segment)
                low, high = min(first, first + turn), max(first, first + turn)
                quarters = range(math.ceil(low / (math.pi / 2)), math.floor(high / (math.pi / 2)) + 1)
                ends = [
                    start,
                    end,
                    *((x + r * round(math.cos(q * math.pi / 2)), y + r * round(math.sin(q * math.pi / 2))) for q in quarters),
                ]
        xs += [p[0] for p in ends]
        ys += [p[1] for p in ends]
    if not xs:
        raise ValueError("no segment: an empty drawing has no box")
    return min(xs), min(ys), max(xs), max(ys)
