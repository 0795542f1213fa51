"""A seal groove measured on the solid: depth, width and floor radius, on a straight and at the tightest bend.

The body is cut upright across the groove's centre line (worker.Workshop.profile); the void about the cut's middle is the groove.
Depth is from the face down to the floor at the centre line, width between the walls half way down, the radius that of the arcs
between walls and floor, or how far another curve rises there (0 where the floor's corners are sharp).
Conventions: mm; frame of the piece.  Limits: one groove at the place; walls upright.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable

from afterpart.model.case import GrooveSection
from afterpart.model.feature import Groove
from afterpart.model.outline import Arc, Circle, Line, Point, Segment
from afterpart.solid.body import Section

Cut = Callable[[Point, float], Section]
"""The upright cut through a point in a direction (degrees)."""


def groove_sections(groove: Groove, cut: Cut) -> tuple[GrooveSection, ...]:
    """On the longest straight and in the tightest bend of its centre line, as far as it has them; () where the cut finds no
    groove there."""
    found = (_measured(groove, place, cut(place, direction)) for place, direction in _places(groove.centre))
    return tuple(section for section in found if section is not None)


def _places(centre: tuple[Segment, ...]) -> list[tuple[Point, float]]:
    """Where to cut, and the direction across the line there."""
    places = []
    lines = [s for s in centre if isinstance(s, Line)]
    if lines:
        line = max(lines, key=lambda s: math.dist(s.start, s.end))
        (x0, y0), (x1, y1) = line.start, line.end
        places.append((((x0 + x1) / 2, (y0 + y1) / 2), math.degrees(math.atan2(y1 - y0, x1 - x0)) + 90.0))
    bends = [s for s in centre if isinstance(s, Arc | Circle)]
    if bends:
        bend = min(bends, key=lambda s: s.radius)
        angle = _middle_rad(bend)
        (x, y), r = bend.center, bend.radius
        places.append(((x + r * math.cos(angle), y + r * math.sin(angle)), math.degrees(angle)))
    return places


def _middle_rad(bend: Arc | Circle) -> float:
    """Direction from the centre to the middle of the bend."""
    if isinstance(bend, Circle):
        return 0.0
    first = math.atan2(bend.start[1] - bend.center[1], bend.start[0] - bend.center[0])
    last = math.atan2(bend.end[1] - bend.center[1], bend.end[0] - bend.center[0])
    sweep = (last - first) % math.tau
    return first + (sweep if bend.ccw else sweep - math.tau) / 2


def _measured(groove: Groove, place: Point, section: Section) -> GrooveSection | None:
    floors = [z for z in _crossings(section, 0, 0.0) if z < groove.face - 1e-6]
    if not floors:
        return None
    floor = max(floors)
    walls = _crossings(section, 1, (floor + groove.face) / 2)
    left, right = max((s for s in walls if s < 0), default=None), min((s for s in walls if s > 0), default=None)
    if left is None or right is None:
        return None
    return GrooveSection(place, groove.face - floor, right - left, _floor_radius(section, left, right, floor, groove.face))


def _floor_radius(section: Section, left: float, right: float, floor: float, face: float) -> float:
    """Mean radius between floor and walls: of arcs as they are, of other curves as high as they reach above the floor."""
    def is_inside(segment: Line | Arc) -> bool:
        ends = (segment.start, segment.end)
        return all(left - 1e-3 <= s <= right + 1e-3 and floor - 1e-3 <= z <= face - 1e-3 for s, z in ends)

    inside = [s for s in section.segments if not isinstance(s, Circle) and is_inside(s)]
    radii = [s.radius for s in inside if isinstance(s, Arc)]
    curves = [s for s in inside if isinstance(s, Line) and s.id == "curve"]
    middle = (left + right) / 2
    for side in (-1.0, 1.0):
        tops = [max(s.start[1], s.end[1]) - floor for s in curves if (s.start[0] - middle) * side > 0]
        radii += [max(tops)] if tops else []
    return sum(radii) / len(radii) if radii else 0.0


def _crossings(section: Section, axis: int, level: float) -> list[float]:
    """Where the section's boundary crosses s = level (axis 0) or z = level (axis 1), on the other axis."""
    found = []
    for segment in section.segments:
        if isinstance(segment, Circle):
            found += _on_circle(segment.center, segment.radius, axis, level)
            continue
        a, b = segment.start[axis] - level, segment.end[axis] - level
        if (a > 0) == (b > 0):
            continue
        if isinstance(segment, Arc):
            found += [v for v in _on_circle(segment.center, segment.radius, axis, level)
                      if min(segment.start[1 - axis], segment.end[1 - axis]) - 1e-6 <= v
                      <= max(segment.start[1 - axis], segment.end[1 - axis]) + 1e-6]
        else:
            share = a / (a - b)
            found.append(segment.start[1 - axis] * (1 - share) + segment.end[1 - axis] * share)
    return found


def _on_circle(center: Point, radius: float, axis: int, level: float) -> list[float]:
    away = level - center[axis]
    if abs(away) > radius:
        return []
    half = math.sqrt(radius**2 - away**2)
    return [center[1 - axis] - half, center[1 - axis] + half]
