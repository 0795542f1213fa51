"""Cuts through a body by a plane, as the kernel sees them.

Conventions: mm, z up; an upright cut has its own axes, s along its direction and z.
Limits: curves that are neither lines nor circles are answered as short lines within CURVE_CHORD.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
from OCP.BRepTools import BRepTools_WireExplorer
from OCP.GCPnts import GCPnts_AbscissaPoint
from OCP.GeomAbs import GeomAbs_Circle, GeomAbs_Line
from OCP.gp import gp_Ax3, gp_Dir, gp_Pln, gp_Pnt
from OCP.TopAbs import TopAbs_REVERSED
from OCP.TopoDS import TopoDS_Edge, TopoDS_Face, TopoDS_Shape, TopoDS_Wire

from afterpart.model.assembly import Point3
from afterpart.model.outline import Arc, Circle, Line, Point, Segment
from afterpart.solid import booleans, shapes
from afterpart.solid.body import Section

CURVE_CHORD = 1e-4
"""Largest distance of the short lines from the curve they stand for, mm."""


def section_area(shape: TopoDS_Shape, z: float) -> float:
    """Area of the level cut through the shape at height z, mm2; 0 where it misses."""
    low, high = shapes.box(shape)
    plane = gp_Ax3(gp_Pnt((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, z), gp_Dir(0, 0, 1), gp_Dir(1, 0, 0))
    return float(sum(map(shapes.area, _cut_faces(shape, plane, math.dist(low, high)))))


def profile(shape: TopoDS_Shape, point: Point, direction_deg: float) -> Section:
    """The upright cut through the shape along direction_deg through point (x, y); no loops where it misses."""
    turn = math.radians(direction_deg)
    frame = _Frame(point, (math.cos(turn), math.sin(turn)))
    low, high = shapes.box(shape)
    middle = [(a + c) / 2 for a, c in zip(low, high, strict=True)]
    # Cut about the body's middle, so that the plane reaches all of it; told from the asked point.
    s = frame.at((middle[0], middle[1], 0.0))[0]
    origin = gp_Pnt(point[0] + s * frame.along[0], point[1] + s * frame.along[1], middle[2])
    plane = gp_Ax3(origin, gp_Dir(frame.along[1], -frame.along[0], 0.0), gp_Dir(*frame.along, 0.0))
    faces = _cut_faces(shape, plane, math.dist(low, high))
    loops = [_loop(frame, shapes.outer_wire(face), face, True) for face in faces]
    loops += [_loop(frame, wire, face, False) for face in faces for wire in shapes.inner_wires(face)]
    return Section(point, direction_deg, tuple(loops), float(sum(map(shapes.area, faces))))


@dataclass(frozen=True)
class _Frame:
    """The axes of an upright cut: s along the direction from the point, and z."""

    point: Point
    along: Point

    def at(self, place: Point3) -> Point:
        """(s, z) of a place."""
        x, y, z = place
        return ((x - self.point[0]) * self.along[0] + (y - self.point[1]) * self.along[1], z)


def _cut_faces(shape: TopoDS_Shape, plane: gp_Ax3, diagonal: float) -> list[TopoDS_Face]:
    reach = diagonal + 1
    return shapes.faces(booleans.common(shape, BRepBuilderAPI_MakeFace(gp_Pln(plane), -reach, reach, -reach, reach).Face()))


def _loop(frame: _Frame, wire: TopoDS_Wire, face: TopoDS_Face, outer: bool) -> tuple[Segment, ...]:
    """The wire as a chain with the material on its left."""
    chain = tuple(segment for edge in _in_order(wire, face) for segment in _segments(frame, edge))
    return chain if (_turned_area(chain) > 0) == outer or isinstance(chain[0], Circle) else _reversed(chain)


def _in_order(wire: TopoDS_Wire, face: TopoDS_Face) -> list[TopoDS_Edge]:
    """Its edges one after the other, each in the wire's sense."""
    found, walk = [], BRepTools_WireExplorer(wire, face)
    while walk.More():
        found.append(walk.Current())
        walk.Next()
    return found


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


def _segments(frame: _Frame, edge: TopoDS_Edge) -> list[Segment]:
    line = shapes.curve(edge)
    start, end = frame.at(shapes.point_at(edge, 0.0)), frame.at(shapes.point_at(edge, 1.0))
    if line.GetType() == GeomAbs_Line:
        return [Line("line", start, end)]
    if line.GetType() == GeomAbs_Circle:
        circle = line.Circle()
        center, radius = frame.at(circle.Location().Coord()), circle.Radius()
        if math.isclose(line.LastParameter() - line.FirstParameter(), math.tau):
            return [Circle("circle", center, radius)]
        return [Arc("arc", start, end, center, radius, _is_left(start, frame.at(shapes.point_at(edge, 0.5)), end))]
    # A chord over the n-th part of a curve errs by no more than its length^2 / (8 n^2 R); R is taken as a tenth of the length.
    length = GCPnts_AbscissaPoint.Length_s(line)
    count = max(8, math.ceil(math.sqrt(10 * length / (8 * CURVE_CHORD))))
    ways = [GCPnts_AbscissaPoint(line, length * i / count, line.FirstParameter()).Parameter() for i in range(count + 1)]
    points = [frame.at(line.Value(way).Coord()) for way in ways]
    points = points[::-1] if edge.Orientation() == TopAbs_REVERSED else points
    return [Line("curve", a, c) for a, c in zip(points, points[1:], strict=False)]


def _is_left(start: Point, middle: Point, end: Point) -> bool:
    """Does the way from start over middle to end turn left?  An arc of half a turn or more turns as its first half does."""
    return (middle[0] - start[0]) * (end[1] - middle[1]) - (middle[1] - start[1]) * (end[0] - middle[0]) > 0
