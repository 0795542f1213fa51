"""Cuts through a body by a plane, as the kernel sees them.

Conventions: mm, z up; an upright cut has its own axes, s along its direction and z.
Limits: curves that are neither lines nor circles are answered as short lines within CURVE_CHORD.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import build123d as b

from afterpart.model.outline import Arc, Circle, Line, Point, Segment
from afterpart.solid.body import Section

CURVE_CHORD = 1e-4
"""Largest distance of the short lines from the curve they stand for, mm."""


def section_area(shape: b.Shape, z: float) -> float:
    """Area of the level cut through the shape at height z, mm2; 0 where it misses."""
    box = shape.bounding_box()
    plane = b.Plane((box.center().X, box.center().Y, z))
    return float(sum(face.area for face in _cut_faces(shape, plane)))


def profile(shape: b.Shape, point: Point, direction_deg: float) -> Section:
    """The upright cut through the shape along direction_deg through point (x, y); no loops where it misses."""
    turn = math.radians(direction_deg)
    along = (math.cos(turn), math.sin(turn), 0.0)
    middle = shape.bounding_box().center()
    # Cut about the body's middle, so that the plane reaches all of it; told from the asked point.
    s = (middle.X - point[0]) * along[0] + (middle.Y - point[1]) * along[1]
    origin = (point[0] + s * along[0], point[1] + s * along[1], middle.Z)
    faces = _cut_faces(shape, b.Plane(origin, along, (along[1], -along[0], 0.0)))
    frame = b.Plane((*point, 0.0), along, (along[1], -along[0], 0.0))
    loops = [_loop(frame, face.outer_wire(), True) for face in faces]
    loops += [_loop(frame, wire, False) for face in faces for wire in face.inner_wires()]
    return Section(point, direction_deg, tuple(loops), float(sum(face.area for face in faces)))


def _cut_faces(shape: b.Shape, plane: b.Plane) -> list[b.Face]:
    reach = 2 * (shape.bounding_box().diagonal + 1)
    cut = b.Face.make_rect(reach, reach, plane).intersect(shape)
    if cut is None:
        return []
    return [face for part in (cut if isinstance(cut, list) else [cut]) for face in part.faces()]


def _loop(frame: b.Plane, wire: b.Wire, outer: bool) -> tuple[Segment, ...]:
    """The wire as a chain with the material on its left."""
    chain = tuple(segment for edge in wire.order_edges() for segment in _segments(frame, edge))
    return chain if (_turned_area(chain) > 0) == outer or isinstance(chain[0], Circle) else _reversed(chain)


def _turned_area(chain: tuple[Segment, ...]) -> float:
    """Twice the area the chain runs round counter-clockwise, its arcs as two chords each."""
    points: list[Point] = []
    for segment in chain:
        if not isinstance(segment, Circle):
            points += [segment.start, _middle(segment)] if isinstance(segment, Arc) else [segment.start]
    return sum(a[0] * c[1] - a[1] * c[0] for a, c in zip(points, points[1:] + points[:1], strict=True))


def _middle(arc: Arc) -> Point:
    first = math.atan2(arc.start[1] - arc.center[1], arc.start[0] - arc.center[0])
    last = math.atan2(arc.end[1] - arc.center[1], arc.end[0] - arc.center[0])
    half = ((last - first) % math.tau if arc.ccw else (last - first) % math.tau - math.tau) / 2
    return (arc.center[0] + arc.radius * math.cos(first + half), arc.center[1] + arc.radius * math.sin(first + half))


def _reversed(chain: tuple[Segment, ...]) -> tuple[Segment, ...]:
    turned: list[Segment] = []
    for segment in reversed(chain):
        match segment:
            case Line(name, start, end):
                turned.append(Line(name, end, start))
            case Arc(name, start, end, center, radius, ccw):
                turned.append(Arc(name, end, start, center, radius, not ccw))
    return tuple(turned)


def _segments(frame: b.Plane, edge: b.Edge) -> list[Segment]:
    def at(point: b.Vector) -> Point:
        local = frame.to_local_coords(point)
        return (local.X, local.Y)

    start, end = at(edge @ 0), at(edge @ 1)
    if edge.geom_type == b.GeomType.LINE:
        return [Line("line", start, end)]
    if edge.geom_type == b.GeomType.CIRCLE:
        center, radius = at(edge.arc_center), float(edge.radius)
        if edge.is_closed:
            return [Circle("circle", center, radius)]
        return [Arc("arc", start, end, center, radius, _is_left(start, at(edge @ 0.5), end))]
    # A chord over the n-th part of a curve errs by no more than its length^2 / (8 n^2 R); R is taken as a tenth of the length.
    count = max(8, math.ceil(math.sqrt(10 * edge.length / (8 * CURVE_CHORD))))
    points = [at(edge @ (i / count)) for i in range(count + 1)]
    return [Line("curve", a, c) for a, c in zip(points, points[1:], strict=False)]


def _is_left(start: Point, middle: Point, end: Point) -> bool:
    """Does the way from start over middle to end turn left?  An arc of half a turn or more turns as its first half does."""
    return (middle[0] - start[0]) * (end[1] - middle[1]) - (middle[1] - start[1]) * (end[0] - middle[0]) > 0
