"""The thinnest wall of a body, with the artefacts of edges and engravings left out.

Words: the *thickness* at a point of the surface is the way through the material along the inward normal, told only where the
face it comes out of is *opposed*: its normal points the other way within OPPOSED_DEG.  A *wall* is a place where the thickness
stays much the same over LEAST_EXTENT in two directions across, so that neither a chamfered edge, nor the tip of a wedge, nor
the ridge between two engraved letters counts as one.
Conventions: mm; closed meshes, z up.
Limits: sampled SPACING apart, each facet at least once, so a thin spot smaller than that on a plane face may be missed; between
curved faces the answer errs by the mesh's chord on either side.  A wedge sharper than OPPOSED_DEG counts as a wall.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from afterpart.errors import SolidError
from afterpart.model.assembly import Point3
from afterpart.solid.absence import mesh_library
from afterpart.solid.body import Mesh
from afterpart.solid.mesh import triangle_normals

if TYPE_CHECKING:
    import manifold3d

SPACING = 1.5
"""Distance of the samples on a face, mm."""

OPPOSED_DEG = 15.0
"""Most that the two faces of a wall may be out of parallel: two facets of a small round hole lie so."""

LEAST_EXTENT = 0.8
"""A wall is at least as long and as high, mm: four layers; letters are less deep."""

GROWTH = 1.5
"""Over that extent a wall grows by no more than this factor, and SLACK mm."""

SLACK = 0.1

_FIRST_REACH = 4.0
"""Length of the first rays, mm."""

_STEP = 0.2
_LIFT = 0.1
_EPS = 1e-4


@dataclass(frozen=True)
class Wall:
    """thickness; at: the middle of it."""

    thickness: float
    at: Point3


def thinnest_wall(mesh: Mesh) -> Wall | None:
    """The thinnest wall; None where the body has no two opposed faces.  SolidError: the mesh is not closed."""
    library = mesh_library()
    solid = library.Manifold(library.Mesh(mesh.vertices.astype(np.float32), mesh.triangles.astype(np.uint32)))
    if solid.status() != library.Error.NoError:
        raise SolidError(f"the thickness cannot be measured: the mesh is not closed ({solid.status()}); rebuild the piece")
    longest = float(np.linalg.norm(np.ptp(mesh.vertices, axis=0))) + 1.0
    points, normals = _samples(mesh)
    reach = _FIRST_REACH
    while True:  # long rays cost much, and most bodies have a wall that short ones find
        found = _thinnest(solid, points, normals, min(reach, longest))
        if found is not None or reach >= longest:
            return found
        reach *= 4


def _thinnest(solid: manifold3d.Manifold, points: np.ndarray, normals: np.ndarray, reach: float) -> Wall | None:
    """The thinnest wall among those no thicker than `reach`."""
    facing = _facing(OPPOSED_DEG)
    through = np.array([_through(solid, p, n, reach, facing) for p, n in zip(points.tolist(), normals.tolist(), strict=True)])
    for i in np.argsort(through, kind="stable"):
        if not math.isfinite(through[i]):
            return None
        if _is_wall(solid, points[i], normals[i], float(through[i])):
            middle = points[i] - normals[i] * through[i] / 2
            return Wall(float(through[i]), (float(middle[0]), float(middle[1]), float(middle[2])))
    return None


def _samples(mesh: Mesh) -> tuple[np.ndarray, np.ndarray]:
    """Points (n, 3) on the facets, each split into k x k like triangles with a point in the middle of each, and their normals."""
    normals, areas = triangle_normals(mesh)
    splits = np.maximum(1, np.ceil(np.sqrt(2 * areas) / SPACING).astype(int))
    points, owners = [], []
    for k in np.unique(splits):
        chosen = np.flatnonzero((splits == k) & (areas > 0))
        corners = mesh.vertices[mesh.triangles[chosen]]
        for weights in _lattice(int(k)):
            points.append(np.einsum("c,ncx->nx", weights, corners))
            owners.append(chosen)
    owner = np.concatenate(owners)
    return np.concatenate(points), normals[owner]


def _lattice(k: int) -> np.ndarray:
    """Barycentric weights (k^2, 3) of the middles of the k^2 like triangles a triangle splits into."""
    upright = [(i + 1 / 3, j + 1 / 3) for i in range(k) for j in range(k - i)]
    turned = [(i + 2 / 3, j + 2 / 3) for i in range(k) for j in range(k - i - 1)]
    ab = np.array(upright + turned) / k
    return np.column_stack((ab, 1 - ab.sum(axis=1)))


def _facing(opposed_deg: float) -> float:
    """Largest product of the unit normals of two opposed faces."""
    return -math.cos(math.radians(opposed_deg))


def _through(solid: manifold3d.Manifold, point: list[float], normal: list[float], reach: float, facing_most: float) -> float:
    """Way from just above the surface through the material to an opposed face; inf where there is none.

    Plain numbers: it is asked some hundred thousand times."""
    (x, y, z), (nx, ny, nz) = point, normal
    start = (x + nx * _LIFT, y + ny * _LIFT, z + nz * _LIFT)
    entered = math.inf
    for hit in solid.ray_cast(start, (start[0] - nx * reach, start[1] - ny * reach, start[2] - nz * reach)):
        hx, hy, hz = hit.normal
        facing = hx * nx + hy * ny + hz * nz
        way = hit.distance * reach
        if math.isinf(entered):
            if facing > 0:
                if way > 2 * _LIFT + _EPS:
                    return math.inf
                entered = way
        elif way - entered > _EPS:
            return way - entered if facing <= facing_most else math.inf
    return math.inf


def _is_wall(solid: manifold3d.Manifold, point: np.ndarray, normal: np.ndarray, thickness: float) -> bool:
    """Does the thickness stay much the same over LEAST_EXTENT, along and up?"""
    aside = np.cross((0.0, 0.0, 1.0), normal)
    if np.linalg.norm(aside) < 1e-3:
        aside = np.array((1.0, 0.0, 0.0)) - normal * normal[0]
    aside /= np.linalg.norm(aside)
    most = GROWTH * thickness + SLACK
    return all(_extent(solid, point, normal, axis, most) >= LEAST_EXTENT - _EPS for axis in (aside, np.cross(normal, aside)))


def _extent(solid: manifold3d.Manifold, point: np.ndarray, normal: np.ndarray, axis: np.ndarray, most: float) -> float:
    """How far the wall runs both ways along the axis, counted up to LEAST_EXTENT each way."""
    total, facing = 0.0, _facing(2 * OPPOSED_DEG)
    for sense in (1.0, -1.0):
        for step in range(1, math.ceil(LEAST_EXTENT / _STEP) + 1):
            place = point + sense * step * _STEP * axis
            if _through(solid, place.tolist(), normal.tolist(), most + 2 * _LIFT, facing) > most:
                break
            total += _STEP
    return total
