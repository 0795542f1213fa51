"""The upright cut of a plane through a closed mesh, as closed runs of points.

Words: the plane goes through a point (x, y) along a direction; its own axes are s, 0 at the point, and z up.
Conventions: mm; material lies where an odd number of runs is round a place; points to 1e-4 mm, so that the same mesh gives the
same figures.  Exact for the mesh: it stands within its chord of the body.
Limits: where the plane lies in a flat wall of the mesh, the wall counts with the side the mesh library takes.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.errors import SolidError
from afterpart.model.outline import Point
from afterpart.solid.absence import mesh_library
from afterpart.solid.body import Mesh

Rings = tuple[tuple[Point, ...], ...]

_FIGURES = 4
_LEAST = 1e-4
"""Area below which a run is no cut, mm2."""


def upright_cut(mesh: Mesh, point: Point, direction_deg: float, low: Point, high: Point) -> Rings:
    """What the plane cuts out of the mesh between the corners low and high, in (s, z); () where it misses.

    SolidError: the mesh is not closed."""
    library = mesh_library()
    turn = math.radians(direction_deg)
    along = np.array((math.cos(turn), math.sin(turn)))
    flat = mesh.vertices[:, :2] - np.asarray(point, float)
    # (s, z, across) is right-handed, so that the triangles keep facing out
    across = flat @ np.array((along[1], -along[0]))
    if across.min() > 0 or across.max() < 0:
        return ()
    turned = np.column_stack((flat @ along, mesh.vertices[:, 2], across))
    body = library.Manifold(library.Mesh64(np.ascontiguousarray(turned, np.float64),
                                           np.array(mesh.triangles, np.uint64, order="C")))
    if body.status() != library.Error.NoError:
        raise SolidError(f"the mesh to cut is no closed body ({body.status().name}); build it anew")
    frame = library.CrossSection([np.array((low, (high[0], low[1]), high, (low[0], high[1])), float)])
    found = [_settled(np.asarray(run, float)) for run in (body.slice(0.0) ^ frame).to_polygons()]
    return tuple(sorted(run for run in found if run))


def _settled(points: np.ndarray) -> tuple[Point, ...]:
    """The run from its lowest leftmost point on, without points that rounding has made one; () where nothing is left of it."""
    near: list[Point] = []
    for x, y in np.round(points, _FIGURES) + 0.0:
        if not near or near[-1] != (float(x), float(y)):
            near.append((float(x), float(y)))
    if len(near) > 1 and near[0] == near[-1]:
        near.pop()
    if len(near) < 3 or abs(ring_area(tuple(near))) < _LEAST:
        return ()
    first = min(range(len(near)), key=lambda k: near[k])
    return tuple(near[first:] + near[:first])


def ring_area(ring: tuple[Point, ...]) -> float:
    """Area a run encloses, mm2, negative clockwise (shoelace)."""
    x, y = np.asarray(ring, float).T
    return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
