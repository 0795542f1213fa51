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

import build123d as b
from OCP.collections import IndexedDataMap_TopoDS_Shape_List_TopoDS_Shape_TopTools_ShapeMapHasher as EdgeFaces
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE
from OCP.TopExp import TopExp

from afterpart.errors import SolidError
from afterpart.model.outline import Arc, Circle, Line, Point, Segment
from afterpart.model.piece import TreatLoop
from afterpart.solid.refusals import KERNEL_REFUSALS

ON_CHAIN = 1e-4
"""An edge within this distance of a chain lies on it, mm."""

_NARROWER = (1.0, 0.75, 0.5)
"""Shares of the asked chamfer width tried in turn."""

_FLAT = 1e-6 - math.cos(math.radians(45.0))
"""Upward part of the unit normal of a face beside the bed, up to which it leans 45 degrees or less from the bed."""

_SAMPLES = (0.0, 0.25, 0.5, 0.75, 1.0)


def treated(solid: b.Shape, edges: Sequence[b.Edge], kind: str, size: float) -> b.Solid | None:
    """The solid with these edges rounded or bevelled, or None where the kernel cannot make it valid."""
    try:
        made = solid.fillet(size, edges) if kind == "round" else solid.chamfer(size, None, edges)
    except KERNEL_REFUSALS:
        return None
    solids = made.solids()
    return solids[0] if len(solids) == 1 and made.is_valid and solids[0].volume > 0 else None


def treat_loop(shape: b.Shape, step: TreatLoop) -> tuple[b.Shape, list[str]]:
    """Treat the body's edges that lie on the chain at height z; a remark where they cover only part of the chain.

    SolidError: no edge lies there, or the kernel cannot make the treatment; both name the place.
    """
    place = _place(step)
    solids = shape.solids()
    if step.kind not in ("round", "bevel") or step.size <= 0:
        raise SolidError(f"{place}: kind {step.kind!r}, size {step.size:g} mm; give \"round\" or \"bevel\" and a size above 0")
    if len(solids) != 1:
        raise SolidError(f"{place}: edges are treated on one connected body; found {len(solids)}")
    edges = [edge for edge in solids[0].edges() if _lies_on(edge, step)]
    if not edges:
        raise SolidError(f"{place}: the body has no edge there; check the loop, and that its height is {step.z:g}")
    made = treated(solids[0], edges, step.kind, step.size)
    if made is None:
        smaller = next((s for s in (0.9, 0.75, 0.5, 0.25) if treated(solids[0], edges, step.kind, s * step.size)), None)
        advice = f"{smaller * step.size:.2f} mm works" if smaller else "round the loop's sharp corners first"
        raise SolidError(f"{place}: the kernel cannot make a {step.kind} of {step.size:g} mm there; {advice}")
    share = sum(edge.length for edge in edges) / sum(_length(s) for s in step.chain)
    told = [f"{place}: only {share:.0%} of the loop is an edge of the body; the rest has no {step.kind}"] if share < 0.99 else []
    return made, told


def chamfer_first_layer(shape: b.Shape, width: float) -> tuple[b.Shape, list[str]]:
    """Chamfer every edge of the faces on the bed, but those beside a face that already leans 45 degrees or less from the bed.

    Answers the shape and remarks.  SolidError: several bodies.
    """
    solid = shape.solid() if len(shape.solids()) == 1 else None
    if solid is None:
        raise SolidError("a first-layer chamfer needs one connected body; found several")
    edges = [edge for face in _bed_faces(solid) for edge in _sharp(solid, face, face.edges())]
    if not edges:
        return solid, []
    try:
        made = solid.chamfer(width, None, edges)
        if made.is_valid:
            return made, []
    except KERNEL_REFUSALS:
        pass
    return _chamfer_loop_by_loop(solid, width)


def distance_to_chain(point: Point, chain: tuple[Segment, ...]) -> float:
    """Distance in the plane from the point to the nearest segment, mm."""
    return min(_distance(point, segment) for segment in chain)


def _place(step: TreatLoop) -> str:
    first = step.chain[0]
    at = first.center if isinstance(first, Circle) else first.start
    return f"the loop at ({at[0]:.1f}, {at[1]:.1f}), z = {step.z:g}"


def _lies_on(edge: b.Edge, step: TreatLoop) -> bool:
    points = [edge @ u for u in _SAMPLES]
    return all(abs(p.Z - step.z) < ON_CHAIN for p in points) and all(
        distance_to_chain((p.X, p.Y), step.chain) < ON_CHAIN for p in points
    )


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


def _bed_faces(solid: b.Solid) -> list[b.Face]:
    faces = solid.faces().sort_by(b.Axis.Z)
    low = faces[0].center().Z
    return [f for f in faces if f.center().Z < low + ON_CHAIN and f.normal_at().Z < -1 + 1e-9]


def _sharp(solid: b.Solid, bed_face: b.Face, edges: Sequence[b.Edge]) -> list[b.Edge]:
    """Those of the edges whose other face stands steeper on the bed than 45 degrees."""
    beside = EdgeFaces()
    TopExp.MapShapesAndAncestors_s(solid.wrapped, TopAbs_EDGE, TopAbs_FACE, beside)
    kept = []
    for edge in edges:
        faces = (b.Face(face) for face in beside.FindFromKey(edge.wrapped))
        others = [face for face in faces if not face.is_same(bed_face)]
        if all(face.normal_at(edge @ 0.5).Z > _FLAT for face in others):
            kept.append(edge)
    return kept


def _chamfer_loop_by_loop(solid: b.Solid, width: float) -> tuple[b.Shape, list[str]]:
    """Chamfer the loops one after the other, each as wide as the kernel can make it."""
    remarks = []
    middles = [wire.edges()[0] @ 0.5 for face in _bed_faces(solid) for wire in face.wires()]
    for middle in middles:
        edges = _loop_through(solid, middle)
        if not edges:
            continue
        for share in _NARROWER:
            try:
                made = solid.chamfer(width * share, None, edges)
            except KERNEL_REFUSALS:
                continue
            if made.is_valid and made.volume < solid.volume:
                solid = made.solid()
                if share < 1:
                    remarks.append(
                        f"the first-layer edge through ({middle.X:.1f}, {middle.Y:.1f}) has a chamfer of "
                        f"{width * share:.2f} mm instead of {width:.2f} mm: its curves are too tight for more"
                    )
                break
        else:
            remarks.append(
                f"the first-layer edge through ({middle.X:.1f}, {middle.Y:.1f}) stays sharp: no chamfer fits its "
                "curves; take off the first layer's bulge there with a knife"
            )
    return solid, remarks


def _loop_through(solid: b.Solid, point: b.Vector) -> list[b.Edge]:
    wires = [(face, wire) for face in _bed_faces(solid) for wire in face.wires()]
    face, nearest = min(wires, key=lambda w: w[1].distance_to(b.Vertex(point)))
    return _sharp(solid, face, nearest.edges())
