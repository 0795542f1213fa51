"""Triangles of a body, and round holes drawn round their circle.

Words: a polygon is *circumscribed* when its sides touch the circle from outside, so that what it prints is no smaller than
drawn; a kernel's mesh is inscribed.  A *hole* here is a full turn of a cylinder or cone with the material outside of it.
Limits: closed where the kernel's triangulation is; points of neighbouring faces that coincide are made one vertex.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import math
import struct
from dataclasses import dataclass

import numpy as np
from OCP.BinTools import BinTools, BinTools_FormatVersion
from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools
from OCP.GeomAbs import GeomAbs_Circle, GeomAbs_Cone, GeomAbs_Cylinder
from OCP.gp import gp_Trsf
from OCP.Poly import Poly_Triangulation
from OCP.TopAbs import TopAbs_REVERSED
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Edge, TopoDS_Face, TopoDS_Shape

from afterpart.errors import SolidError
from afterpart.solid import shapes
from afterpart.solid.body import Mesh
from afterpart.solid.mesh import mesh_volume

_TURN_RAD = 0.35
"""Largest turn between neighbouring chords, so that small holes stay round: 18 sides at least."""

_SAME = 1e-5
"""Points of a mesh this near a circle lie on it, mm."""

_DECIMALS = 9
"""Of a mesh's coordinates in mm."""

_MANY = 20
"""From how many nodes on a mesh is read at once rather than one by one."""

_FORM, _HEAD = BinTools_FormatVersion.BinTools_FormatVersion_VERSION_1, b"Triangulations 1\n"
"""The binary form in which a mesh is read, and what stands before it there."""

VOLUME_SHARE = 1e-3
"""Most a mesh's volume may differ from its body's, as a share."""


_FINER = (1.0, 0.5, 0.25, 0.125)
"""Shares of the chord tried in turn."""

_SURELY_SHORT = 1.25
"""A chord is passed over where the volume it should lack is this many times what is allowed."""


@dataclass(frozen=True)
class _Ring:
    """A full circle on a hole: center, unit axis, radius."""

    center: np.ndarray
    axis: np.ndarray
    radius: float


def mesh_of(shape: TopoDS_Shape, volume: float, chord: float) -> Mesh:
    """Triangles of the shape of that volume, no farther than `chord` from it, finer where the volume asks for it (small round
    bodies).

    SolidError: its volume stays more than VOLUME_SHARE from the body's.
    """
    short = 0.0
    for finer in _FINER:
        # What a mesh lacks goes with its chord: what would lack too much by far is not made.
        if short * finer > _SURELY_SHORT * VOLUME_SHARE * volume and finer > _FINER[-1]:
            continue
        mesh = _triangulated(shape, chord * finer)
        found = mesh_volume(mesh)
        if abs(found - volume) <= VOLUME_SHARE * volume:
            return mesh
        short = abs(found - volume) / finer
    raise SolidError(
        f"the mesh encloses {found:.3f} mm3, the body {volume:.3f} mm3: over {VOLUME_SHARE:.1%} apart; correct tiny or "
        "crossing segments in the drawing"
    )


def _triangulated(shape: TopoDS_Shape, chord: float) -> Mesh:
    BRepTools.Clean_s(shape)
    BRepMesh_IncrementalMesh(shape, chord, False, _TURN_RAD, False)
    points, triangles = _read_out(shape)
    # The kernel's own noise, some 1e-16, differs from run to run; the same piece gives the same bytes.
    points = np.round(points, _DECIMALS) + 0.0
    _, first, index = np.unique(np.round(points, 6), axis=0, return_index=True, return_inverse=True)
    faces = index.ravel()[triangles]
    real = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    return Mesh(points[first], faces[real].astype(np.int32))


def _read_out(shape: TopoDS_Shape) -> tuple[np.ndarray, np.ndarray]:
    """Points and triangles face by face, each face with points of its own."""
    points: list[np.ndarray] = []
    triangles: list[np.ndarray] = []
    place, count = TopLoc_Location(), 0
    for face in shapes.faces(shape):
        mesh = BRep_Tool.Triangulation_s(face, place)
        nodes, corners = _at_once(mesh) if mesh.NbNodes() > _MANY else _one_by_one(mesh)
        points.append(nodes if place.IsIdentity() else _placed(nodes, place.Transformation()))
        triangles.append((corners[:, [0, 2, 1]] if face.Orientation() == TopAbs_REVERSED else corners) + (count - 1))
        count += len(nodes)
    return np.vstack(points), np.vstack(triangles)


def _one_by_one(mesh: Poly_Triangulation) -> tuple[np.ndarray, np.ndarray]:
    """Nodes (n, 3) and the numbers (m, 3), from 1, of each triangle's, asked for by number: asking for all at once takes the
    kernel's binding longer than the meshing."""
    nodes = [node.Coord() for node in map(mesh.Node, range(1, mesh.NbNodes() + 1))]
    return np.array(nodes), np.array([one.Get() for one in map(mesh.Triangle, range(1, mesh.NbTriangles() + 1))], np.int64)


def _at_once(mesh: Poly_Triangulation) -> tuple[np.ndarray, np.ndarray]:
    """The same from the kernel's own binary form of a face that is nothing but this mesh: little-endian counts of nodes and
    triangles (4 bytes each), whether nodes have places on a surface (1), the chord (8), nodes, their places, triangles."""
    bare, stream = TopoDS_Face(), io.BytesIO()
    BRep_Builder().MakeFace(bare, mesh)
    BinTools.Write_s(bare, stream, True, False, _FORM)
    data = stream.getvalue()
    at = data.index(_HEAD) + len(_HEAD)
    nodes, triangles, has_places = struct.unpack_from("<ii?", data, at)
    at += 17
    points = np.frombuffer(data, "<f8", 3 * nodes, at).reshape(-1, 3)
    corners = np.frombuffer(data, "<i4", 3 * triangles, at + (40 if has_places else 24) * nodes).reshape(-1, 3)
    return points, corners.astype(np.int64)


def _placed(nodes: np.ndarray, move: gp_Trsf) -> np.ndarray:
    rows = np.array([[move.Value(row, column) for column in range(1, 5)] for row in range(1, 4)])
    return np.asarray(nodes @ rows[:, :3].T + rows[:, 3])


def with_holes_outside(mesh: Mesh, shape: TopoDS_Shape) -> Mesh:
    """The mesh with the points of every round hole moved outwards until the sides of its polygon touch the circle: by
    r / cos(pi / n) from the axis, for n equal sides.  Triangles stay as they are, so the mesh stays closed."""
    vertices = mesh.vertices.copy()
    for ring in _hole_rings(shape, mesh.vertices):
        chosen = _on_ring(ring, mesh.vertices)
        vertices[chosen] = _pushed(ring, mesh.vertices[chosen])
    return Mesh(vertices, mesh.triangles)


def _hole_rings(shape: TopoDS_Shape, points: np.ndarray) -> list[_Ring]:
    rings: list[_Ring] = []
    for face in shapes.faces(shape):
        if shapes.surface(face).GetType() in (GeomAbs_Cylinder, GeomAbs_Cone) and _is_hollow(face):
            for edge in shapes.edges(face):
                if shapes.curve(edge).GetType() == GeomAbs_Circle:
                    ring = _ring_of(edge)
                    if not any(_is_same(ring, known) for known in rings) and _is_full(ring, points):
                        rings.append(ring)
    return rings


def _is_hollow(face: TopoDS_Face) -> bool:
    """Does the material lie outside of the turned face?"""
    surface = shapes.surface(face)
    turned = surface.Cylinder() if surface.GetType() == GeomAbs_Cylinder else surface.Cone()
    axis = turned.Axis()
    point, normal = (np.array(found.Coord()) for found in shapes.middle(face))
    outward = point - axis.Location().Coord()
    along = np.array(axis.Direction().Coord())
    return float(normal @ (outward - along * (outward @ along))) < 0


def _ring_of(edge: TopoDS_Edge) -> _Ring:
    circle = shapes.curve(edge).Circle()
    return _Ring(np.array(circle.Location().Coord()), np.array(circle.Axis().Direction().Coord()), circle.Radius())


def _is_same(a: _Ring, c: _Ring) -> bool:
    return abs(a.radius - c.radius) < _SAME and bool(np.abs(a.center - c.center).max() < _SAME)


def _is_full(ring: _Ring, points: np.ndarray) -> bool:
    """Do the mesh's points on the circle leave no gap as wide as a third of a turn?"""
    angles = np.sort(_angles(ring, points[_on_ring(ring, points)]))
    return len(angles) > 5 and float(np.diff(angles, append=angles[0] + math.tau).max()) < math.tau / 3


def _on_ring(ring: _Ring, points: np.ndarray) -> np.ndarray:
    away = points - ring.center
    along = away @ ring.axis
    radial = np.linalg.norm(away - along[:, None] * ring.axis, axis=1)
    return (np.abs(along) < _SAME) & (np.abs(radial - ring.radius) < _SAME)


def _frame(ring: _Ring) -> tuple[np.ndarray, np.ndarray]:
    other = np.eye(3)[int(np.abs(ring.axis).argmin())]
    u = np.cross(ring.axis, other)
    u /= np.linalg.norm(u)
    return u, np.cross(ring.axis, u)


def _angles(ring: _Ring, points: np.ndarray) -> np.ndarray:
    u, v = _frame(ring)
    away = points - ring.center
    return np.arctan2(away @ v, away @ u)


def _pushed(ring: _Ring, points: np.ndarray) -> np.ndarray:
    """Corners of the polygon whose sides touch the circle half way between neighbouring points."""
    angles = _angles(ring, points)
    order = np.argsort(angles)
    sorted_angles = angles[order]
    touch = sorted_angles + np.diff(sorted_angles, append=sorted_angles[0] + math.tau) / 2
    before = np.roll(touch, 1)
    before[0] -= math.tau
    corner, reach = (touch + before) / 2, ring.radius / np.cos((touch - before) / 2)
    u, v = _frame(ring)
    made = np.empty_like(points)
    made[order] = ring.center + reach[:, None] * (np.cos(corner)[:, None] * u + np.sin(corner)[:, None] * v)
    return made
