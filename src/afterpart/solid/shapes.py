"""What the kernel's shapes are made of, where they lie and how large they are: plain functions over its own types.

Words: a *share* of an edge is a place between its start (0) and its end (1), by the curve's own parameter and in the edge's
sense.
Conventions: mm; a sub-shape counts once, whatever the sense in which it is used, in the order in which the kernel comes upon it.
Limits: only what the other files of this room ask for.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterable

from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp, BRepGProp_Face
from OCP.BRepTools import BRepTools
from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher as ShapeMap
from OCP.collections import List_TopoDS_Shape
from OCP.GeomAbs import GeomAbs_Torus
from OCP.gp import gp_Pnt, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_REVERSED, TopAbs_SOLID, TopAbs_VERTEX, TopAbs_WIRE
from OCP.TopExp import TopExp
from OCP.TopoDS import TopoDS, TopoDS_Compound, TopoDS_Edge, TopoDS_Face, TopoDS_Shape, TopoDS_Solid, TopoDS_Wire

from afterpart.model.assembly import Point3

_WELL_INSIDE = 1e-3
"""What lies so far inside a box, mm, does not reach it: well over any tolerance of the kernel's."""

_STRAIGHT = 1e-12
"""An axis is upright when its z is this near to 1."""

_ON_QUARTER = 1e-6
"""A bound this share of a quarter past it lies on it."""


def solids(shape: TopoDS_Shape) -> list[TopoDS_Solid]:
    """Its solids."""
    return [TopoDS.Solid(part) for part in _parts(shape, TopAbs_SOLID)]


def faces(shape: TopoDS_Shape) -> list[TopoDS_Face]:
    """Its faces."""
    return [TopoDS.Face(part) for part in _parts(shape, TopAbs_FACE)]


def wires(shape: TopoDS_Shape) -> list[TopoDS_Wire]:
    """Its wires."""
    return [TopoDS.Wire(part) for part in _parts(shape, TopAbs_WIRE)]


def edges(shape: TopoDS_Shape) -> list[TopoDS_Edge]:
    """Its edges."""
    return [TopoDS.Edge(part) for part in _parts(shape, TopAbs_EDGE)]


def _parts(shape: TopoDS_Shape, kind: object) -> list[TopoDS_Shape]:
    found = ShapeMap()
    TopExp.MapShapes_s(shape, kind, found)
    return [found.FindKey(i) for i in range(1, found.Extent() + 1)]


def outer_wire(face: TopoDS_Face) -> TopoDS_Wire:
    """The wire round the face."""
    return BRepTools.OuterWire_s(face)


def inner_wires(face: TopoDS_Face) -> list[TopoDS_Wire]:
    """The wires of its holes."""
    outer = outer_wire(face)
    return [wire for wire in wires(face) if not wire.IsSame(outer)]


def listed(shapes: Iterable[TopoDS_Shape]) -> List_TopoDS_Shape:
    """A list as the kernel's tools ask for it."""
    made = List_TopoDS_Shape()
    for shape in shapes:
        made.Append(shape)
    return made


def compound(parts: Iterable[TopoDS_Shape]) -> TopoDS_Compound:
    """The parts as one shape."""
    made, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(made)
    for part in parts:
        builder.Add(made, part)
    return made


def volume(shape: TopoDS_Shape) -> float:
    """mm3 of its solids."""
    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, found)
    return found.Mass()


def area(face: TopoDS_Face) -> float:
    """mm2 of the face."""
    found = GProp_GProps()
    BRepGProp.SurfaceProperties_s(face, found)
    return found.Mass()


def is_valid(shape: TopoDS_Shape) -> bool:
    """Does the kernel's own check find no fault in the shape or any part of it?"""
    return BRepCheck_Analyzer(shape).IsValid()


def box(shape: TopoDS_Shape) -> tuple[Point3, Point3]:
    """Lowest and highest corner.  Takes the shape's triangles away, as they would widen its box."""
    BRepTools.Clean_s(shape)
    found = Bnd_Box()
    for face in _outermost(shape):
        for part in edges(face) if _is_quarter_round(face) else [face]:
            BRepBndLib.AddOptimal_s(part, found)
    if found.IsVoid():
        BRepBndLib.AddOptimal_s(shape, found)
    return _corners(found)


def _is_quarter_round(face: TopoDS_Face) -> bool:
    """Is it part of one quarter of a ring that stands upright, between its equator and its crown?  Such a face reaches farthest
    at its edges: x = (R + r cos v) cos u has both its slopes zero only where sin v = 0, z = r sin v only where cos v = 0.  A
    tight box of the face itself takes the kernel a hundred times as long."""
    ring = BRepAdaptor_Surface(face)
    if ring.GetType() != GeomAbs_Torus or abs(ring.Torus().Axis().Direction().Z()) < 1.0 - _STRAIGHT:
        return False
    _, _, first, last = BRepTools.UVBounds_s(face)
    quarter = math.pi / 2
    return math.floor(first / quarter + _ON_QUARTER) == math.ceil(last / quarter - _ON_QUARTER) - 1


def _outermost(shape: TopoDS_Shape) -> list[TopoDS_Face]:
    """The faces that may reach the box: all but those whose own rough box, which holds them, lies within that of the shape's
    corners.  A tight box is long in the making, and most faces of a body lie well inside."""
    found, kept = faces(shape), []
    if not found:
        return []
    inner = Bnd_Box()
    for corner in _parts(shape, TopAbs_VERTEX):
        inner.Add(BRep_Tool.Pnt_s(TopoDS.Vertex(corner)))
    if inner.IsVoid():
        return found
    low, high = _corners(inner)
    for face in found:
        rough = Bnd_Box()
        BRepBndLib.Add_s(face, rough)
        under, over = _corners(rough)
        if any(a < b + _WELL_INSIDE for a, b in zip(under, low, strict=True)) or any(
                a > b - _WELL_INSIDE for a, b in zip(over, high, strict=True)):
            kept.append(face)
    return kept


def _corners(found: Bnd_Box) -> tuple[Point3, Point3]:
    return ((found.GetXMin(), found.GetYMin(), found.GetZMin()), (found.GetXMax(), found.GetYMax(), found.GetZMax()))


def curve(edge: TopoDS_Edge) -> BRepAdaptor_Curve:
    """The edge's curve in its place."""
    return BRepAdaptor_Curve(edge)


def point_at(edge: TopoDS_Edge, share: float) -> Point3:
    """The point at this share of the edge."""
    line = BRepAdaptor_Curve(edge)
    first, last = line.FirstParameter(), line.LastParameter()
    way = 1.0 - share if edge.Orientation() == TopAbs_REVERSED else share
    return line.Value(first + way * (last - first)).Coord()


def surface(face: TopoDS_Face) -> BRepAdaptor_Surface:
    """The face's surface in its place, within the face's bounds."""
    return BRepAdaptor_Surface(face)


def normal_at(face: TopoDS_Face, u: float, v: float) -> tuple[gp_Pnt, gp_Vec]:
    """Point and outward unit normal at the surface's parameters."""
    point, normal = gp_Pnt(), gp_Vec()
    BRepGProp_Face(face).Normal(u, v, point, normal)
    return point, normal.Normalized()


def middle(face: TopoDS_Face) -> tuple[gp_Pnt, gp_Vec]:
    """Point and outward unit normal half way along the surface's parameters."""
    first_u, last_u, first_v, last_v = BRepTools.UVBounds_s(face)
    return normal_at(face, (first_u + last_u) / 2, (first_v + last_v) / 2)
