"""Do bodies share space, and can one be brought to its seat past the others?

Words: two bodies *clash* where the volume common to both exceeds what contact faces explain; the *way in* of a body is the
straight line along which it came, tried backwards from its seat.
Conventions: meshes in one frame, mm, mm3; closed.  Common volumes are exact booleans of the meshes; boxes only spare the pairs
that lie apart.
Limits: meshes stand within their chord of the bodies, so walls in contact share slivers: a volume up to CONTACT times the
smaller body's surface is no clash.  Ways are straight, tried at steps; a thinner obstacle than a step of the way is
found only by more steps.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from afterpart.errors import SolidError
from afterpart.model.assembly import Point3
from afterpart.solid.absence import mesh_library
from afterpart.solid.body import Mesh
from afterpart.solid.mesh import moved, triangle_normals

if TYPE_CHECKING:
    import manifold3d

CONTACT = 1e-4
"""Depth to which contact faces may sink into each other, mm: less than any printer or chord shows."""


@dataclass(frozen=True)
class Clash:
    """Bodies a and b share `volume` mm3; at: the middle of what they share."""

    a: str
    b: str
    volume: float
    at: Point3


@dataclass(frozen=True)
class Way:
    """is_clear, or else the distance from the seat at which the body is first blocked, and the name of what blocks it."""

    is_clear: bool
    blocked_at_distance: float | None = None
    by: str | None = None


def overlap_volume(a: Mesh, b: Mesh) -> float:
    """Volume common to both, mm3.  SolidError: a mesh is not closed."""
    return _common(_manifold(a, "first"), _manifold(b, "second")).volume()


def clashes(meshes: Mapping[str, Mesh], contact: float = CONTACT) -> tuple[Clash, ...]:
    """Every pair that shares space, the largest volume first; contact: depth that faces in contact may share, mm.

    SolidError: a mesh is not closed; the text names it.
    """
    solids = {name: _manifold(mesh, name) for name, mesh in meshes.items()}
    found = []
    for a, b in combinations(meshes, 2):
        if _boxes_meet(meshes[a], meshes[b]):
            common = _common(solids[a], solids[b])
            if common.volume() > contact * min(_surface(meshes[a]), _surface(meshes[b])):
                found.append(Clash(a, b, float(common.volume()), _middle(common)))
    return tuple(sorted(found, key=lambda clash: (-clash.volume, clash.a, clash.b)))


def way_in(
    mesh: Mesh, others: Mapping[str, Mesh], comes_from: Point3, distance: float, steps: int = 20, contact: float = CONTACT
) -> Way:
    """Is the straight way from `distance` along comes_from to the seat free?  The body is moved out step by step; it is blocked
    by a body with which it then shares more than in its seat, beyond contact.

    ValueError: a direction without length, no distance or no steps.  SolidError: a mesh is not closed.
    """
    direction = np.asarray(comes_from, float)
    if np.linalg.norm(direction) < 1e-9 or distance <= 0 or steps < 1:
        raise ValueError(f"way along {comes_from} over {distance} mm in {steps} steps; give a direction, a distance and steps")
    direction = direction / np.linalg.norm(direction)
    body = _manifold(mesh, "the moving body")
    solids = {name: _manifold(other, name) for name, other in others.items()}
    forgiven = {name: contact * min(_surface(mesh), _surface(others[name])) for name in others}
    seated = {name: _common(body, solids[name]).volume() if _boxes_meet(mesh, others[name]) else 0.0 for name in others}
    for step in range(1, steps + 1):
        shift = direction * (distance * step / steps)
        out = moved(mesh, False, tuple(shift))
        placed = body.translate(tuple(shift))
        for name, other in others.items():
            if _boxes_meet(out, other) and _common(placed, solids[name]).volume() > seated[name] + forgiven[name]:
                return Way(False, distance * step / steps, name)
    return Way(True)


def _manifold(mesh: Mesh, name: str) -> manifold3d.Manifold:
    # Copies: the library takes no read-only arrays.
    vertices, triangles = np.array(mesh.vertices, np.float64, order="C"), np.array(mesh.triangles, np.uint64, order="C")
    library = mesh_library()
    made: manifold3d.Manifold = library.Manifold(library.Mesh64(vertices, triangles))
    if made.status() != library.Error.NoError or made.is_empty():
        raise SolidError(f"the mesh of {name} is no closed body ({made.status().name}); build it anew")
    return made


def _common(a: manifold3d.Manifold, b: manifold3d.Manifold) -> manifold3d.Manifold:
    return a ^ b


def _boxes_meet(a: Mesh, b: Mesh) -> bool:
    a_low, a_high, b_low, b_high = (f(m.vertices, axis=0) for m in (a, b) for f in (np.min, np.max))
    return bool((a_low < b_high).all() and (b_low < a_high).all())


def _surface(mesh: Mesh) -> float:
    return float(triangle_normals(mesh)[1].sum())


def _middle(common: manifold3d.Manifold) -> Point3:
    x0, y0, z0, x1, y1, z1 = common.bounding_box()
    return ((x0 + x1) / 2, (y0 + y1) / 2, (z0 + z1) / 2)
