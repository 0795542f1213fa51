"""Rounding and bevelling edges of a body: the edges on a chain, and everything the first layer touches.

Words: an edge is *treated* by a round (a rolling ball) or a bevel (45 degrees, equal widths on both faces); the *bed* is the
plane of the lowest faces.  Conventions: mm.
Limits: a first-layer chamfer that fails on all edges together is tried loop by loop, then narrower; what stays sharp is
remarked.  A treatment on a chain is all or nothing.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence

from OCP.BRep import BRep_Tool
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepFilletAPI import BRepFilletAPI_MakeChamfer, BRepFilletAPI_MakeFillet
from OCP.collections import IndexedDataMap_TopoDS_Shape_List_TopoDS_Shape_TopTools_ShapeMapHasher as EdgeFaces
from OCP.GCPnts import GCPnts_AbscissaPoint
from OCP.GeomAPI import GeomAPI_ProjectPointOnSurf
from OCP.gp import gp_Pnt
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE
from OCP.TopExp import TopExp
from OCP.TopoDS import TopoDS, TopoDS_Edge, TopoDS_Face, TopoDS_Shape, TopoDS_Solid, TopoDS_Wire

from afterpart.errors import SolidError
from afterpart.model.outline import Arc, Circle, Line, Point, Segment
from afterpart.model.piece import TreatLoop
from afterpart.solid import booleans, shapes
from afterpart.solid.refusals import KERNEL_REFUSALS

ON_CHAIN = 1e-4
"""An edge within this distance of a chain lies on it, mm."""

_NARROWER = (1.0, 0.75, 0.5)
"""Shares of the asked chamfer width tried in turn."""

_FLAT = 1e-6 - math.cos(math.radians(45.0))
"""Upward part of the unit normal of a face beside the bed, up to which it leans 45 degrees or less from the bed."""

_SAMPLES = (0.0, 0.25, 0.5, 0.75, 1.0)


def treated(solid: TopoDS_Shape, edges: Sequence[TopoDS_Edge], kind: str, size: float) -> TopoDS_Solid | None:
    """The solid with these edges rounded or bevelled, or None where the kernel cannot make it valid."""
    try:
        made = _rounded(solid, edges, size) if kind == "round" else _bevelled(solid, edges, size)
    except KERNEL_REFUSALS:
        return None
    found = shapes.solids(made)
    return found[0] if len(found) == 1 and shapes.is_valid(made) and shapes.volume(found[0]) > 0 else None


def _rounded(solid: TopoDS_Shape, edges: Sequence[TopoDS_Edge], radius: float) -> TopoDS_Shape:
    builder = BRepFilletAPI_MakeFillet(solid)
    for edge in edges:
        builder.Add(radius, edge)
    return booleans.unwrapped(builder.Shape())


def _bevelled(solid: TopoDS_Shape, edges: Sequence[TopoDS_Edge], width: float) -> TopoDS_Shape:
    beside = _faces_beside(solid)
    builder = BRepFilletAPI_MakeChamfer(solid)
    for edge in edges:
        builder.Add(width, width, edge, TopoDS.Face(beside.FindFromKey(edge).First()))
    return booleans.unwrapped(builder.Shape())


def _faces_beside(solid: TopoDS_Shape) -> EdgeFaces:
    """The faces that meet in each edge."""
    beside = EdgeFaces()
    TopExp.MapShapesAndAncestors_s(solid, TopAbs_EDGE, TopAbs_FACE, beside)
    return beside


def treat_loop(shape: TopoDS_Shape, step: TreatLoop) -> tuple[TopoDS_Shape, list[str]]:
    """Treat the body's edges that lie on the chain at height z; a remark where they cover only part of the chain.

    SolidError: no edge lies there, or the kernel cannot make the treatment; both name the place.
    """
    place = _place(step)
    solids = shapes.solids(shape)
    if step.kind not in ("round", "bevel") or step.size <= 0:
        raise SolidError(f"{place}: kind {step.kind!r}, size {step.size:g} mm; give \"round\" or \"bevel\" and a size above 0")
    if len(solids) != 1:
        raise SolidError(f"{place}: edges are treated on one connected body; found {len(solids)}")
    edges = [edge for edge in shapes.edges(solids[0]) if _lies_on(edge, step)]
    if not edges:
        raise SolidError(f"{place}: the body has no edge there; check the loop, and that its height is {step.z:g}")
    made = treated(solids[0], edges, step.kind, step.size)
    if made is None:
        smaller = next((s for s in (0.9, 0.75, 0.5, 0.25) if treated(solids[0], edges, step.kind, s * step.size)), None)
        advice = f"{smaller * step.size:.2f} mm works" if smaller else "round the loop's sharp corners first"
        raise SolidError(f"{place}: the kernel cannot make a {step.kind} of {step.size:g} mm there; {advice}")
    share = sum(map(_edge_length, edges)) / sum(_length(s) for s in step.chain)
    told = [f"{place}: only {share:.0%} of the loop is an edge of the body; the rest has no {step.kind}"] if share < 0.99 else []
    return made, told


def chamfer_first_layer(shape: TopoDS_Shape, width: float) -> tuple[TopoDS_Shape, list[str]]:
    """Chamfer every edge of the faces on the bed, but those beside a face that already leans 45 degrees or less from the bed.

    Answers the shape and remarks.  SolidError: several bodies.
    """
    found = shapes.solids(shape)
    if len(found) != 1:
        raise SolidError("a first-layer chamfer needs one connected body; found several")
    solid = found[0]
    edges = [edge for face in _bed_faces(solid) for edge in _sharp(solid, face, shapes.edges(face))]
    if not edges:
        return solid, []
    made = _chamfered(solid, edges, width)
    return _chamfer_loop_by_loop(solid, width) if made is None else (made, [])


def _chamfered(solid: TopoDS_Shape, edges: Sequence[TopoDS_Edge], width: float) -> TopoDS_Shape | None:
    """None where the kernel cannot make it valid."""
    try:
        made = _bevelled(solid, edges, width)
    except KERNEL_REFUSALS:
        return None
    return made if shapes.is_valid(made) else None


def distance_to_chain(point: Point, chain: tuple[Segment, ...]) -> float:
    """Distance in the plane from the point to the nearest segment, mm."""
    return min(_distance(point, segment) for segment in chain)


def _place(step: TreatLoop) -> str:
    first = step.chain[0]
    at = first.center if isinstance(first, Circle) else first.start
    return f"the loop at ({at[0]:.1f}, {at[1]:.1f}), z = {step.z:g}"


def _lies_on(edge: TopoDS_Edge, step: TreatLoop) -> bool:
    """Asked point by point, so that most edges are told off by their first."""
    points = (shapes.point_at(edge, share) for share in _SAMPLES)
    return all(abs(z - step.z) < ON_CHAIN and distance_to_chain((x, y), step.chain) < ON_CHAIN for x, y, z in points)


def _edge_length(edge: TopoDS_Edge) -> float:
    return GCPnts_AbscissaPoint.Length_s(shapes.curve(edge))


def _length(segment: Segment) -> float:
    match segment:
        case Line(_, start, end):
            return math.dist(start, end)
        case Circle(_, _, radius):
            return math.tau * radius
        case Arc(_, start, end, center, radius, ccw):
            return radius * _sweep(start, end, center, ccw)


def _sweep(start: Point, end: Point, center: Point, ccw: bool) -> float:
    first = math.atan2(start[1] - center[1], start[0] - center[0])
    last = math.atan2(end[1] - center[1], end[0] - center[0])
    return (last - first) % math.tau if ccw else (first - last) % math.tau


def _distance(point: Point, segment: Segment) -> float:
    match segment:
        case Line(_, start, end):
            along = (end[0] - start[0], end[1] - start[1])
            square = along[0] ** 2 + along[1] ** 2
            share = ((point[0] - start[0]) * along[0] + (point[1] - start[1]) * along[1]) / square if square else 0.0
            share = min(1.0, max(0.0, share))
            return math.dist(point, (start[0] + share * along[0], start[1] + share * along[1]))
        case Circle(_, center, radius):
            return abs(math.dist(point, center) - radius)
        case Arc(_, start, end, center, radius, ccw):
            on_span = _sweep(start, point, center, ccw) <= _sweep(start, end, center, ccw)
            return abs(math.dist(point, center) - radius) if on_span else min(math.dist(point, start), math.dist(point, end))


def _bed_faces(solid: TopoDS_Shape) -> list[TopoDS_Face]:
    """The plane faces that look down, at the height of the lowest face."""
    found = [(face, *shapes.middle(face)) for face in shapes.faces(solid)]
    low = min(point.Z() for _, point, _ in found)
    return [face for face, point, normal in found if point.Z() < low + ON_CHAIN and normal.Z() < -1 + 1e-9]


def _sharp(solid: TopoDS_Shape, bed_face: TopoDS_Face, edges: Sequence[TopoDS_Edge]) -> list[TopoDS_Edge]:
    """Those of the edges whose other face stands steeper on the bed than 45 degrees."""
    beside = _faces_beside(solid)
    kept = []
    for edge in edges:
        others = [TopoDS.Face(face) for face in beside.FindFromKey(edge) if not face.IsSame(bed_face)]
        if all(_up_at(face, shapes.point_at(edge, 0.5)) > _FLAT for face in others):
            kept.append(edge)
    return kept


def _up_at(face: TopoDS_Face, point: tuple[float, float, float]) -> float:
    """Upward part of the face's unit normal at a point on it."""
    u, v = GeomAPI_ProjectPointOnSurf(gp_Pnt(*point), BRep_Tool.Surface_s(face)).LowerDistanceParameters()
    return shapes.normal_at(face, u, v)[1].Z()


def _chamfer_loop_by_loop(solid: TopoDS_Shape, width: float) -> tuple[TopoDS_Shape, list[str]]:
    """Chamfer the loops one after the other, each as wide as the kernel can make it."""
    remarks = []
    middles = [shapes.point_at(shapes.edges(wire)[0], 0.5) for face in _bed_faces(solid) for wire in shapes.wires(face)]
    for middle in middles:
        edges = _loop_through(solid, middle)
        if not edges:
            continue
        x, y, _ = middle
        for share in _NARROWER:
            made = _chamfered(solid, edges, width * share)
            if made is not None and shapes.volume(made) < shapes.volume(solid):
                solid = shapes.solids(made)[0]
                if share < 1:
                    remarks.append(
                        f"the first-layer edge through ({x:.1f}, {y:.1f}) has a chamfer of "
                        f"{width * share:.2f} mm instead of {width:.2f} mm: its curves are too tight for more"
                    )
                break
        else:
            remarks.append(
                f"the first-layer edge through ({x:.1f}, {y:.1f}) stays sharp: no chamfer fits its "
                "curves; take off the first layer's bulge there with a knife"
            )
    return solid, remarks


def _loop_through(solid: TopoDS_Shape, point: tuple[float, float, float]) -> list[TopoDS_Edge]:
    dot = BRepBuilderAPI_MakeVertex(gp_Pnt(*point)).Vertex()

    def away(wire: TopoDS_Wire) -> float:
        return BRepExtrema_DistShapeShape(wire, dot).Value()

    found = [(face, wire) for face in _bed_faces(solid) for wire in shapes.wires(face)]
    face, nearest = min(found, key=lambda one: away(one[1]))
    return _sharp(solid, face, shapes.edges(nearest))
