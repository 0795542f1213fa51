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

import build123d as b

from afterpart.errors import SolidError
from afterpart.model.outline import Arc, Circle, Line, Point, Segment
from afterpart.model.piece import Cone, Prism, Solid
from afterpart.solid.edges import treated
from afterpart.solid.refusals import KERNEL_REFUSALS

ALLOWANCE = 0.01
"""Most a round or bevel may fall short of what was asked, mm: a twentieth of a usual layer."""


def edge_of(segment: Segment, z: float) -> b.Edge:
    """The segment at height z."""
    match segment:
        case Line(_, start, end):
            return b.Edge.make_line((*start, z), (*end, z))
        case Circle(_, center, radius):
            return b.Edge.make_circle(radius, b.Plane((*center, z)))
        case Arc(_, start, end, center, radius, ccw):
            first = math.atan2(start[1] - center[1], start[0] - center[0])
            last = math.atan2(end[1] - center[1], end[0] - center[0])
            sweep = (last - first) % math.tau if ccw else -((first - last) % math.tau)
            middle = first + sweep / 2
            through = (center[0] + radius * math.cos(middle), center[1] + radius * math.sin(middle), z)
            return b.Edge.make_three_point_arc((*start, z), through, (*end, z))


def wire_of(segments: Iterable[Segment], z: float) -> b.Wire:
    """The chain at height z as one closed wire.  SolidError: it does not close."""
    chain = tuple(segments)
    try:
        wire = b.Wire([edge_of(s, z) for s in chain])
    except KERNEL_REFUSALS as error:
        at = start_of(chain)
        raise SolidError(
            f"the loop of {_named(chain)} ... at ({at[0]:.1f}, {at[1]:.1f}) makes no wire ({error}); look for a segment of no "
            "length or a gap"
        ) from error
    if not wire.is_closed:
        raise SolidError(f"the loop of {_named(chain)} ... is not closed")
    return wire


def solid_of(solid: Solid) -> b.Solid:
    """A prism, its bottom and top edges treated, or a cone.

    SolidError: loops that cross, impossible radii or heights, or a treatment the kernel cannot make, with its place.
    """
    match solid:
        case Cone():
            return _cone(solid)
        case Prism():
            return _treated_prism(solid, extruded(solid))


def extruded(prism: Prism) -> b.Solid:
    """The prism with sharp edges.  SolidError: a loop crosses itself, or an opening leaves its outer loop."""
    face = b.Face(wire_of(prism.outer, prism.bottom), [wire_of(o, prism.bottom) for o in prism.openings])
    up = face.normal_at().Z
    height = prism.top - prism.bottom
    solid = b.Solid.extrude(face if up > 0 else -face, b.Vector(0, 0, height))
    if not solid.is_valid or solid.volume <= 0:
        raise SolidError(
            "a loop crosses itself or an opening leaves its outer loop: no valid prism comes of it; correct the drawing"
        )
    return solid


def start_of(chain: tuple[Segment, ...]) -> Point:
    """A point that names the chain's place in messages: its first segment's start, or a circle's centre."""
    first = chain[0]
    return first.center if isinstance(first, Circle) else first.start


def _named(chain: tuple[Segment, ...]) -> str:
    return ", ".join(s.id or type(s).__name__ for s in chain[:4])


def _cone(cone: Cone) -> b.Solid:
    height = cone.top - cone.bottom
    low, high = cone.bottom_radius, cone.top_radius
    if height <= 0 or min(low, high) < 0 or max(low, high) <= 0:
        raise SolidError(
            f"the cone at ({cone.center[0]:.1f}, {cone.center[1]:.1f}) has radii {low:g} and {high:g} mm between z = "
            f"{cone.bottom:g} and {cone.top:g}; give its top above its bottom and one radius above zero"
        )
    base = b.Plane((*cone.center, cone.bottom))
    return b.Solid.make_cylinder(low, height, base) if low == high else b.Solid.make_cone(low, high, height, base)


def _treated_prism(prism: Prism, solid: b.Solid) -> b.Solid:
    for name, at_top, kind, size in (
        ("bottom_round", False, "round", prism.bottom_round),
        ("bottom_bevel", False, "bevel", prism.bottom_bevel),
        ("top_round", True, "round", prism.top_round),
        ("top_bevel", True, "bevel", prism.top_bevel),
    ):
        if size != 0:
            solid = _end_treated(prism, solid, name, at_top, kind, size)
    return solid


def _end_treated(prism: Prism, solid: b.Solid, name: str, at_top: bool, kind: str, size: float) -> b.Solid:
    z = prism.top if at_top else prism.bottom
    where = start_of(prism.outer)
    place = f"the prism at ({where[0]:.1f}, {where[1]:.1f}), z = {prism.bottom:g} to {prism.top:g}"
    if size < 0 or size > prism.top - prism.bottom:
        raise SolidError(
            f"{place}: {name} of {size:g} mm; give a size from 0 to the prism's height, {prism.top - prism.bottom:g} mm"
        )
    end = solid.faces().sort_by(b.Axis.Z)[-1 if at_top else 0]
    for short in (0.0, 0.001, 0.002, 0.005, ALLOWANCE):
        made = _end_made(solid, end, kind, size - short) if size > short else None
        if made is not None:
            return made
    smaller = next((s for s in (0.9, 0.75, 0.5, 0.25) if _end_made(solid, end, kind, size * s) is not None), None)
    advice = f"{smaller * size:.2f} mm works" if smaller else "no smaller one works; round the chain's sharp corners first"
    raise SolidError(f"{place}: the kernel cannot make a {name} of {size:g} mm on its edges at z = {z:g}; {advice}")


def _end_made(solid: b.Solid, end: b.Face, kind: str, size: float) -> b.Solid | None:
    """All edges of the end face treated: together, or else each loop on a solid of its own and what is common to them kept
    (the kernel stumbles over a round of nearly half the width where an outer and an inner corner differ)."""
    made = treated(solid, list(end.edges()), kind, size)
    if made is not None or not end.inner_wires():
        return made
    apart = [treated(solid, list(wire.edges()), kind, size) for wire in end.wires()]
    whole = apart[0]
    for other in apart[1:]:
        common = whole.intersect(other) if whole is not None and other is not None else None
        solids = common.solids() if isinstance(common, b.Shape) else common or []
        whole = solids[0].solid() if len(solids) == 1 else None
    low, high = (s.bounding_box() if s is not None else None for s in (whole, solid))
    keeps_height = low is not None and abs(low.size.Z - high.size.Z) < 1e-4
    return whole if keeps_height and whole.is_valid and whole.volume > 0 else None
