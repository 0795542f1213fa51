"""Chains of segments as the kernel's edges and wires, and prisms and cones as its solids.

Words: a *chain* is a closed run of segments in order, or a single Circle; the *bottom* and *top* edges of a prism are those of
its two plane faces.  Conventions: mm, z up.
Limits: edges of a prism are rounded or bevelled with the asked size, or up to ALLOWANCE less where the kernel cannot close two
rounds that meet in one line (a round of exactly half the width); what needs less than that is refused.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterable

from OCP.BRep import BRep_Tool
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_DisconnectedWire,
    BRepBuilderAPI_EmptyWire,
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepLib import BRepLib_FindSurface
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakePrism
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pnt, gp_Vec
from OCP.ShapeFix import ShapeFix_Face, ShapeFix_Shape
from OCP.TopoDS import TopoDS, TopoDS_Edge, TopoDS_Face, TopoDS_Solid, TopoDS_Wire

from afterpart.errors import SolidError
from afterpart.model.outline import Arc, Circle, Line, Point, Segment
from afterpart.model.piece import Cone, Prism, Solid
from afterpart.solid import booleans, shapes
from afterpart.solid.edges import treated
from afterpart.solid.refusals import KERNEL_REFUSALS

ALLOWANCE = 0.01
"""Most a round or bevel may fall short of what was asked, mm: a twentieth of a usual layer."""


def edge_of(segment: Segment, z: float) -> TopoDS_Edge:
    """The segment at height z."""
    match segment:
        case Line(_, start, end):
            return BRepBuilderAPI_MakeEdge(gp_Pnt(*start, z), gp_Pnt(*end, z)).Edge()
        case Circle(_, center, radius):
            return BRepBuilderAPI_MakeEdge(gp_Circ(upright(center, z), radius)).Edge()
        case Arc(_, start, end, center, radius, ccw):
            first = math.atan2(start[1] - center[1], start[0] - center[0])
            last = math.atan2(end[1] - center[1], end[0] - center[0])
            sweep = (last - first) % math.tau if ccw else -((first - last) % math.tau)
            middle = first + sweep / 2
            through = gp_Pnt(center[0] + radius * math.cos(middle), center[1] + radius * math.sin(middle), z)
            return BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(gp_Pnt(*start, z), through, gp_Pnt(*end, z)).Value()).Edge()


def upright(at: Point, z: float) -> gp_Ax2:
    """Axes at that place with z up and x along x."""
    return gp_Ax2(gp_Pnt(*at, z), gp_Dir(0, 0, 1), gp_Dir(1, 0, 0))


def wire_of(segments: Iterable[Segment], z: float) -> TopoDS_Wire:
    """The chain at height z as one closed wire.  SolidError: it does not close."""
    chain = tuple(segments)
    try:
        wire = _joined([edge_of(s, z) for s in chain])
    except KERNEL_REFUSALS as error:
        at = start_of(chain)
        raise SolidError(
            f"the loop of {_named(chain)} ... at ({at[0]:.1f}, {at[1]:.1f}) makes no wire ({error}); look for a segment of no "
            "length or a gap"
        ) from error
    if not BRep_Tool.IsClosed_s(wire):
        raise SolidError(f"the loop of {_named(chain)} ... is not closed")
    return wire


def _joined(edges: list[TopoDS_Edge]) -> TopoDS_Wire:
    builder = BRepBuilderAPI_MakeWire()
    builder.Add(shapes.listed(edges))
    builder.Build()
    if not builder.IsDone() and builder.Error() == BRepBuilderAPI_EmptyWire:
        raise ValueError("it is empty")
    if not builder.IsDone() and builder.Error() == BRepBuilderAPI_DisconnectedWire:
        raise ValueError("its edges do not meet")
    return builder.Wire()


def solid_of(solid: Solid) -> TopoDS_Solid:
    """A prism, its bottom and top edges treated, or a cone.

    SolidError: loops that cross, impossible radii or heights, or a treatment the kernel cannot make, with its place.
    """
    match solid:
        case Cone():
            return _cone(solid)
        case Prism():
            return _treated_prism(solid, extruded(solid))


def extruded(prism: Prism) -> TopoDS_Solid:
    """The prism with sharp edges.  SolidError: a loop crosses itself, or an opening leaves its outer loop."""
    outer, openings = wire_of(prism.outer, prism.bottom), [wire_of(o, prism.bottom) for o in prism.openings]
    face = _flat_face(outer, openings)
    up = shapes.middle(face)[1].Z()
    made = BRepPrimAPI_MakePrism(face if up > 0 else face.Complemented(), gp_Vec(0, 0, prism.top - prism.bottom)).Shape()
    solid = TopoDS.Solid(made)
    # Upright walls cross only where the outline does, and asking the face alone takes a quarter of the time.
    if not shapes.is_valid(face) or shapes.volume(solid) <= 0:
        raise SolidError(
            "a loop crosses itself or an opening leaves its outer loop: no valid prism comes of it; correct the drawing"
        )
    return solid


def _flat_face(outer: TopoDS_Wire, inner: list[TopoDS_Wire]) -> TopoDS_Face:
    """A plane face with holes, its wires put right.  ValueError: the wires lie in no plane."""
    if not BRepLib_FindSurface(shapes.compound([outer, *inner]), OnlyPlane=True).Found():
        raise ValueError("its wires do not lie in one plane")
    builder = BRepBuilderAPI_MakeFace(_put_right(outer), True)
    for wire in inner:
        builder.Add(_put_right(wire))
    builder.Build()
    if not builder.IsDone():
        raise ValueError(f"the wires make no face: {builder.Error()}")
    fix = ShapeFix_Face(builder.Face())
    fix.FixOrientation()
    fix.Perform()
    return TopoDS.Face(fix.Result())


def _put_right(wire: TopoDS_Wire) -> TopoDS_Wire:
    fix = ShapeFix_Shape(wire)
    fix.Perform()
    return TopoDS.Wire(fix.Shape())


def start_of(chain: tuple[Segment, ...]) -> Point:
    """A point that names the chain's place in messages: its first segment's start, or a circle's centre."""
    first = chain[0]
    return first.center if isinstance(first, Circle) else first.start


def _named(chain: tuple[Segment, ...]) -> str:
    return ", ".join(s.id or type(s).__name__ for s in chain[:4])


def _cone(cone: Cone) -> TopoDS_Solid:
    height = cone.top - cone.bottom
    low, high = cone.bottom_radius, cone.top_radius
    if height <= 0 or min(low, high) < 0 or max(low, high) <= 0:
        raise SolidError(
            f"the cone at ({cone.center[0]:.1f}, {cone.center[1]:.1f}) has radii {low:g} and {high:g} mm between z = "
            f"{cone.bottom:g} and {cone.top:g}; give its top above its bottom and one radius above zero"
        )
    base = upright(cone.center, cone.bottom)
    made = (BRepPrimAPI_MakeCylinder(base, low, height, math.tau) if low == high
            else BRepPrimAPI_MakeCone(base, low, high, height, math.tau))
    return TopoDS.Solid(made.Shape())


def _treated_prism(prism: Prism, solid: TopoDS_Solid) -> TopoDS_Solid:
    for name, at_top, kind, size in (
        ("bottom_round", False, "round", prism.bottom_round),
        ("bottom_bevel", False, "bevel", prism.bottom_bevel),
        ("top_round", True, "round", prism.top_round),
        ("top_bevel", True, "bevel", prism.top_bevel),
    ):
        if size != 0:
            solid = _end_treated(prism, solid, name, at_top, kind, size)
    return solid


def _end_treated(prism: Prism, solid: TopoDS_Solid, name: str, at_top: bool, kind: str, size: float) -> TopoDS_Solid:
    z = prism.top if at_top else prism.bottom
    where = start_of(prism.outer)
    place = f"the prism at ({where[0]:.1f}, {where[1]:.1f}), z = {prism.bottom:g} to {prism.top:g}"
    if size < 0 or size > prism.top - prism.bottom:
        raise SolidError(
            f"{place}: {name} of {size:g} mm; give a size from 0 to the prism's height, {prism.top - prism.bottom:g} mm"
        )
    by_height = sorted(shapes.faces(solid), key=lambda face: shapes.middle(face)[0].Z())
    end = by_height[-1 if at_top else 0]
    for short in (0.0, 0.001, 0.002, 0.005, ALLOWANCE):
        made = _end_made(solid, end, kind, size - short) if size > short else None
        if made is not None:
            return made
    smaller = next((s for s in (0.9, 0.75, 0.5, 0.25) if _end_made(solid, end, kind, size * s) is not None), None)
    advice = f"{smaller * size:.2f} mm works" if smaller else "no smaller one works; round the chain's sharp corners first"
    raise SolidError(f"{place}: the kernel cannot make a {name} of {size:g} mm on its edges at z = {z:g}; {advice}")


def _end_made(solid: TopoDS_Solid, end: TopoDS_Face, kind: str, size: float) -> TopoDS_Solid | None:
    """All edges of the end face treated: together, or else each loop on a solid of its own and what is common to them kept
    (the kernel stumbles over a round of nearly half the width where an outer and an inner corner differ)."""
    made = treated(solid, shapes.edges(end), kind, size)
    if made is not None or not shapes.inner_wires(end):
        return made
    apart = [treated(solid, shapes.edges(wire), kind, size) for wire in shapes.wires(end)]
    whole = apart[0]
    for other in apart[1:]:
        found = shapes.solids(booleans.common(whole, other)) if whole is not None and other is not None else []
        whole = found[0] if len(found) == 1 else None
    keeps_height = whole is not None and abs(_height(whole) - _height(solid)) < 1e-4
    return whole if keeps_height and shapes.is_valid(whole) and shapes.volume(whole) > 0 else None


def _height(solid: TopoDS_Solid) -> float:
    low, high = shapes.box(solid)
    return high[2] - low[2]
