"""How a piece could lie on the printer's bed: as built, flipped, or standing on one of its sides.

Words: *hanging* is the area of faces that lean past the self-supporting angle and do not lie on the bed; what of it is
*unsupported* (no bridge carries it) takes long to tell and is told of the drawn way, and of the others where that one has any.
The best way has the least unsupported area, or hanging area where that is not told; the drawn way wins where none is better
by more than SAME.
Conventions: mm, degrees from the upright; z up from the bed.
Limits: five ways beside the drawn one are tried; looks, strength across layers and the quality of a face on the bed are not
weighed here.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

from afterpart.model.case import BuildWay
from afterpart.model.wishes import PrinterWish
from afterpart.solid.body import Mesh
from afterpart.solid.mesh import triangle_normals
from afterpart.solid.overhang import BED, MOST_SLACK_DEG, Overhang, overhangs

AS_BUILT, FLIPPED, ON_EDGE = "as built", "flipped", "on edge"

SAME = 1.0
"""Areas that differ by less are equal, mm2."""

_TURNS: tuple[tuple[str, tuple[tuple[int, int, int], ...]], ...] = (
    (FLIPPED, ((1, 0, 0), (0, -1, 0), (0, 0, -1))),
    (ON_EDGE + ", y downwards", ((1, 0, 0), (0, 0, -1), (0, 1, 0))),
    (ON_EDGE + ", y upwards", ((1, 0, 0), (0, 0, 1), (0, -1, 0))),
    (ON_EDGE + ", x downwards", ((0, 0, -1), (0, 1, 0), (1, 0, 0))),
    (ON_EDGE + ", x upwards", ((0, 0, 1), (0, 1, 0), (-1, 0, 0))),
)
"""Name of the way, and the rows of its rotation: the new x, y, z as the old ones."""


def ways_to_build(mesh: Mesh, printer: PrinterWish, drawn: tuple[Overhang, ...]) -> tuple[BuildWay, ...]:
    """Every way that is tried, the best first.  drawn: the overhangs of the mesh as it is.  SolidError: it is not closed."""
    first = _way(AS_BUILT, mesh, printer, drawn)
    found = [first]
    for name, turn in _TURNS:
        turned = _turned(mesh, turn)
        found.append(_way(name, turned, printer, overhangs(turned, printer.angle_deg) if _bad(first) > SAME else None))
    return tuple(sorted(found, key=lambda way: round(_bad(way) / SAME)))


def _bad(way: BuildWay) -> float:
    return way.hanging if way.unsupported is None else way.unsupported


def best_in_words(ways: tuple[BuildWay, ...]) -> str:
    """Which way is best and why; "" without any."""
    if not ways:
        return ""
    best, *others = ways
    rival = next((way for way in others if way.way in (AS_BUILT, FLIPPED)), others[0] if others else None)
    told = f"{best.way}: {_faces(best)}, {best.bed_area:.0f} mm2 on the bed, {best.height:.1f} mm high"
    return told + (f"; {rival.way}: {_faces(rival)}, {rival.bed_area:.0f} mm2 on the bed, {rival.height:.1f} mm high"
                   if rival else "")


def bed_area(mesh: Mesh) -> float:
    """Area that lies on the bed, mm2: facets whose corners are all at the lowest height."""
    _, areas = triangle_normals(mesh)
    heights = mesh.vertices[mesh.triangles][:, :, 2] - mesh.vertices[:, 2].min()
    return float(areas[(heights <= BED).all(axis=1)].sum())


def _way(name: str, mesh: Mesh, printer: PrinterWish, found: tuple[Overhang, ...] | None) -> BuildWay:
    hanging = None if found is None else [o.area for o in found if o.kind != "bridge" or o.span > printer.bridge]
    unsupported = None if hanging is None else sum(hanging, 0.0)
    return BuildWay(name, _hanging(mesh, printer.angle_deg), unsupported, bed_area(mesh), float(np.ptp(mesh.vertices[:, 2])))


def _hanging(mesh: Mesh, angle_deg: float) -> float:
    """Area of the facets that lean past the angle by more than what a facet is forgiven, and do not lie on the bed, mm2."""
    normals, areas = triangle_normals(mesh)
    heights = mesh.vertices[mesh.triangles][:, :, 2] - mesh.vertices[:, 2].min()
    lean = np.degrees(np.arcsin(np.clip(-normals[:, 2], -1.0, 1.0)))
    return float(areas[(lean > angle_deg + MOST_SLACK_DEG) & (heights.max(axis=1) > BED)].sum())


def _faces(way: BuildWay) -> str:
    if way.hanging < SAME:
        return "nothing hangs over"
    if way.unsupported is None:
        return f"{way.hanging:.0f} mm2 hang over"
    return f"{way.hanging:.0f} mm2 hang over, {way.unsupported:.0f} mm2 of that with no bridge to carry it"


def _turned(mesh: Mesh, turn: tuple[tuple[int, int, int], ...]) -> Mesh:
    return Mesh(mesh.vertices @ np.array(turn, float).T, mesh.triangles)
