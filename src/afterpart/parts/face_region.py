"""The face of a part as a plane region, for placing things on it.

Words: the *region* is what lies inside the outer loop and outside every opening; arcs are drawn as chords no farther than
CHORD from the curve.  It serves to place windows, webs and marks; bodies are built from the loops themselves.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
from shapely.geometry import Point as PlanePoint
from shapely.geometry import Polygon
from shapely.validation import explain_validity

from afterpart.errors import SolidError
from afterpart.geometry.segments import loop_points
from afterpart.model.outline import Circle, Loop, Outline
from afterpart.words import tell

CHORD = 0.01
"""Largest distance of a chord from its arc, mm: a tenth of what a print can show."""


def loop_polygon(loop: Loop) -> Polygon:
    """The inside of a loop.  SolidError: fewer than three points, or it crosses itself."""
    points = loop_points(loop, CHORD) if loop.segments else np.empty((0, 2))
    name = tell("{role} loop of {segments}", role=loop.role, segments=", ".join(s.id for s in loop.segments[:3]))
    if len(points) < 3:
        raise SolidError(f"the {name} has {len(points)} points; a closed loop needs at least three: correct the drawing")
    polygon = Polygon(points)
    if not polygon.is_valid or polygon.area <= 0:
        raise SolidError(f"the {name} cannot be built: {explain_validity(polygon)}; correct the drawing there")
    return polygon


def loops_of_part(outline: Outline, part: int) -> tuple[Loop, tuple[Loop, ...]]:
    """The outer loop and the openings of one part, from the design.  SolidError: not exactly one outer loop."""
    outer = [loop for loop in outline.design if loop.part == part and loop.role == "outer"]
    if len(outer) != 1:
        raise SolidError(
            f"part {part} has {len(outer)} outer loops in the design; exactly one is needed: measure the photo again"
        )
    return outer[0], tuple(loop for loop in outline.design if loop.part == part and loop.role == "opening")


def face_region(outer: Loop, openings: tuple[Loop, ...]) -> Polygon:
    """The region.  SolidError: an opening leaves the outer loop or meets another opening."""
    hull = loop_polygon(outer)
    holes = [loop_polygon(o) for o in openings]
    for i, (loop, hole) in enumerate(zip(openings, holes, strict=True)):
        if not hull.contains(hole):
            raise SolidError(f"the opening of {loop.segments[0].id} is not inside the outer loop; correct the drawing")
        for other, second in zip(openings[:i], holes[:i], strict=True):
            if hole.intersects(second):
                raise SolidError(f"the openings of {other.segments[0].id} and {loop.segments[0].id} meet; correct the drawing")
    region = Polygon(hull.exterior.coords, [h.exterior.coords for h in holes])
    if not region.is_valid:
        raise SolidError(f"the face is no plain region: {explain_validity(region)}; correct the drawing there")
    return region


def opening_center(loop: Loop) -> tuple[float, float]:
    """Centre of a round opening, else the middle of its area."""
    first = loop.segments[0]
    if isinstance(first, Circle):
        return first.center
    middle: PlanePoint = loop_polygon(loop).centroid
    return (middle.x, middle.y)
