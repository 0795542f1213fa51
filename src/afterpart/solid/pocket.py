"""A pocket sunk into the bed's face of a prism without a boolean: the face gets the pocket's mouth, and its walls are set in.

Words: the *mouth* is where the pocket opens into the prism's bottom face; the *block* is what the pocket takes away; the
*draw-in* of a prism at a height is how far its rounds and bevels there take its walls inwards.
A boolean of a bead and the cavity below its crown holds every round against every bevel, and finds that none meet.  Here that is
told in the plane: with g the least distance between the two outlines, the pocket's inside the prism's, and i the draw-in,

        g + i_pocket(z) - i_prism(z) > APART        at every height z of the pocket

for a point i_pocket inside the pocket's outline is at least g + i_pocket away from the prism's.
Limits: one prism, and one pocket that reaches below it and whose own lower edges are plain; where that does not hold, or the
result is not valid or not the body less the block, None is answered and the caller cuts in the usual way.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely
from OCP.BRepClass import BRepClass_FaceClassifier
from OCP.gp import gp_Pnt
from OCP.TopAbs import TopAbs_IN
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Solid, TopoDS_Wire

from afterpart.errors import SolidError
from afterpart.model.outline import Arc, Circle, Segment
from afterpart.model.piece import Prism
from afterpart.solid import shapes
from afterpart.solid.refusals import KERNEL_REFUSALS
from afterpart.solid.sunk import SAME, VOLUME_SHARE, closed, plane_face
from afterpart.solid.wires import solid_of

APART = 0.05
"""Least distance of the pocket from the prism's walls that is taken for none, mm."""

_CHORD_RAD = math.radians(2.0)
_LEVELS = 200


def pocketed(body: TopoDS_Solid, prism: Prism, pocket: Prism) -> TopoDS_Solid | None:
    """The body of that prism with the pocket sunk into its bottom face.  None: see the module's limits."""
    if pocket.bottom >= prism.bottom or pocket.top <= prism.bottom or pocket.bottom_round or pocket.bottom_bevel:
        return None
    if pocket.top > prism.top - APART or not lies_within(prism, pocket):
        return None
    try:
        block = solid_of(replace(pocket, bottom=prism.bottom))
    except (SolidError, *KERNEL_REFUSALS):
        return None
    return _set_in(body, block, prism.bottom)


def lies_within(prism: Prism, pocket: Prism) -> bool:
    """Do the prism's walls keep clear of the pocket's at every height of the pocket?"""
    outer, inner = _region(prism), _region(pocket)
    if not (outer.is_valid and inner.is_valid and outer.contains(inner)):
        return False
    gap = float(outer.boundary.distance(inner.boundary)) - _sagitta(prism) - _sagitta(pocket)
    levels = np.linspace(prism.bottom, pocket.top, _LEVELS)
    return bool((gap + _drawn_in(pocket, levels) - _drawn_in(prism, levels)).min() > APART)


def _drawn_in(prism: Prism, levels: np.ndarray) -> np.ndarray:
    """How far the walls stand inside the outline at these heights."""
    up, down = levels - prism.bottom, prism.top - levels
    return np.asarray(_rounded(prism.bottom_round, up) + _rounded(prism.top_round, down)
                      + np.maximum(prism.bottom_bevel - up, 0.0) + np.maximum(prism.top_bevel - down, 0.0))


def _rounded(radius: float, from_end: np.ndarray) -> np.ndarray:
    left = np.clip(radius - from_end, 0.0, radius)
    return np.asarray(radius - np.sqrt(np.maximum(radius**2 - left**2, 0.0)))


def _region(prism: Prism) -> shapely.Polygon:
    return shapely.Polygon(_points(prism.outer), [_points(opening) for opening in prism.openings])


def _points(chain: tuple[Segment, ...]) -> np.ndarray:
    """Points along a chain, those of arcs on the arc."""
    return np.vstack([_along(segment) for segment in chain])


def _along(segment: Segment) -> np.ndarray:
    if isinstance(segment, Circle):
        turns_rad = np.arange(0.0, math.tau, _CHORD_RAD)
    elif isinstance(segment, Arc):
        first, last = (math.atan2(at[1] - segment.center[1], at[0] - segment.center[0]) for at in (segment.start, segment.end))
        sweep_rad = (last - first) % math.tau if segment.ccw else -((first - last) % math.tau)
        turns_rad = first + np.linspace(0.0, sweep_rad, 2 + int(abs(sweep_rad) / _CHORD_RAD))[:-1]
    else:
        return np.array([segment.start])
    return np.asarray(segment.center + segment.radius * np.column_stack([np.cos(turns_rad), np.sin(turns_rad)]))


def _sagitta(prism: Prism) -> float:
    """Most that the region's chords leave the true arcs by."""
    radii = [s.radius for chain in (prism.outer, *prism.openings) for s in chain if isinstance(s, Arc | Circle)]
    return max(radii, default=0.0) * (1.0 - math.cos(_CHORD_RAD / 2))


def _set_in(body: TopoDS_Solid, block: TopoDS_Solid, z: float) -> TopoDS_Solid | None:
    """The body with the block's mouth in its lowest face, and the block's other faces, turned round, as walls and roof."""
    host, lid = _lowest(body, z), _lowest(block, z)
    if host is None or lid is None:
        return None
    faces = [face for face in shapes.faces(body) if not face.IsSame(host)]
    faces += [TopoDS.Face(face.Reversed()) for face in shapes.faces(block) if not face.IsSame(lid)]
    islands = [plane_face(host, [_turned(wire)]) for wire in shapes.inner_wires(lid)]
    around, within = [_turned(shapes.outer_wire(lid))], [[shapes.outer_wire(island)] for island in islands]
    for wire in shapes.inner_wires(host):
        place = next((i for i, island in enumerate(islands) if _holds(island, wire)), None)
        (around if place is None else within[place]).append(wire)
    made = closed([*faces, plane_face(host, [shapes.outer_wire(host), *around]), *(plane_face(host, wires) for wires in within)])
    whole = shapes.volume(body)
    is_right = abs(shapes.volume(made) - whole + shapes.volume(block)) <= VOLUME_SHARE * whole and shapes.is_valid(made)
    return made if is_right else None


def _lowest(body: TopoDS_Solid, z: float) -> TopoDS_Face | None:
    """The one plane face at height z that looks down."""
    found = [face for face in shapes.faces(body) if abs((spot := shapes.middle(face))[0].Z() - z) < SAME
             and spot[1].Z() < SAME - 1.0]
    return found[0] if len(found) == 1 else None


def _turned(wire: TopoDS_Wire) -> TopoDS_Wire:
    return TopoDS.Wire(wire.Reversed())


def _holds(face: TopoDS_Face, wire: TopoDS_Wire) -> bool:
    point = gp_Pnt(*shapes.point_at(shapes.edges(wire)[0], 0.5))
    return bool(BRepClass_FaceClassifier(face, point, SAME).State() == TopAbs_IN)
