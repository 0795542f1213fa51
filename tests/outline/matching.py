"""Hold an outline against the invented drawing it came from: nearest circles and arcs in the photo frame, then sizes and
distances.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.model.outline import Arc, Circle, Loop, Outline


@dataclass(frozen=True)
class Score:
    """right and all: diameters within 0.006, centre distances within 0.012, radii within 0.006; invented: circles of no truth."""

    right: int
    total: int
    invented: int


def design_score(outline: Outline, drawing: list[list[tuple]], angle_rad: float, shift: tuple[float, float]) -> Score:
    """The drawing was turned by angle_rad and moved by shift to make the rims (scale near one)."""
    circles = [
        (p, 2.0 * s.radius) for s in _segments(outline.design, Circle) for p in [_back(outline, s.center, angle_rad, shift)]
    ]
    arcs = [(_back(outline, s.center, angle_rad, shift), s.radius) for s in _segments(outline.design, Arc)]
    true_circles = [(np.array(loop[0][1]), 2.0 * loop[0][2]) for loop in drawing if loop[0][0] == "circle"]
    true_arcs = [(np.array(s[3]), math.dist(s[1], s[3])) for loop in drawing for s in loop if s[0] == "arc"]
    right = total = 0
    found: list[int | None] = []
    for center, diameter in true_circles:
        total += 1
        gaps = [math.hypot(*(p - center)) + abs(d - diameter) for p, d in circles]
        best = int(np.argmin(gaps)) if gaps else None
        found.append(best if best is not None and gaps[best] < 1.0 else None)
        right += found[-1] is not None and abs(circles[found[-1]][1] - diameter) < 0.006
    for i in range(len(true_circles)):
        for j in range(i + 1, len(true_circles)):
            total += 1
            a, b = found[i], found[j]
            if a is not None and b is not None:
                true = math.hypot(*(true_circles[i][0] - true_circles[j][0]))
                right += abs(math.hypot(*(circles[a][0] - circles[b][0])) - true) < 0.012
    for center, radius in true_arcs:
        total += 1
        right += any(math.hypot(*(p - center)) < 1.0 and abs(r - radius) < 0.006 for p, r in arcs)
    return Score(right, total, len(circles) - len({k for k in found if k is not None}))


def _segments(loops: tuple[Loop, ...], kind: type) -> list:
    return [s for loop in loops for s in loop.segments if isinstance(s, kind)]


def _back(outline: Outline, point: tuple[float, float], angle_rad: float, shift: tuple[float, float]) -> np.ndarray:
    """A point of the datum frame in the drawing's own frame (the small scale error left in)."""
    turn = math.radians(outline.datum.angle_deg)
    x, y = point
    photo = np.array(
        [
            outline.datum.origin[0] + x * math.cos(turn) - y * math.sin(turn) - shift[0],
            outline.datum.origin[1] + x * math.sin(turn) + y * math.cos(turn) - shift[1],
        ]
    )
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    return np.array([photo[0] * cos + photo[1] * sin, photo[1] * cos - photo[0] * sin])


def worst_gap(loops: tuple[Loop, ...]) -> float:
    """Largest departure from closed (ends equal), from arcs' ends on their circle, over all loops."""
    worst = 0.0
    for loop in loops:
        if isinstance(loop.segments[0], Circle):
            continue
        for one, two in zip(loop.segments, loop.segments[1:] + loop.segments[:1], strict=True):
            worst = max(worst, math.dist(one.end, two.start) * 1e9)
            if isinstance(one, Arc):
                worst = max(
                    worst, abs(math.dist(one.start, one.center) - one.radius), abs(math.dist(one.end, one.center) - one.radius)
                )
    return worst


def worst_kink_deg(outline: Outline, loops: tuple[Loop, ...]) -> float:
    """Largest angle, in degrees, at the junctions the outline calls tangent."""
    by_id = {s.id: s for loop in loops for s in loop.segments}
    worst = 0.0
    for relation in outline.relations:
        if relation.kind == "tangent":
            one, two = by_id[relation.of[0]], by_id[relation.of[1]]
            worst = max(worst, abs(math.degrees(math.remainder(_leave(one, True) - _leave(two, False), 2.0 * math.pi))))
    return worst


def _leave(segment, at_end: bool) -> float:
    """Direction of travel (radians) at an end of a segment."""
    if isinstance(segment, Arc):
        x, y = segment.end if at_end else segment.start
        return math.atan2(y - segment.center[1], x - segment.center[0]) + (0.5 if segment.ccw else -0.5) * math.pi
    return math.atan2(segment.end[1] - segment.start[1], segment.end[0] - segment.start[0])
