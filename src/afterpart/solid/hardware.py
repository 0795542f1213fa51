"""Bought things as plain closed meshes, for pictures and for clash checks: bolts, screws, washers, sleeves, inserts, cords, foam.

Conventions: mm, assembly frame; an Item's axis points from head to tip.  A bolt's head stands before its seat, its shank beyond;
a countersunk head, a cone of 90 degrees, lies beyond its seat; a washer lies before its seat, with the face that touches the
piece at it; a sleeve or insert begins at its seat and reaches along the axis.
Limits: shanks are plain cylinders of the thread's outside diameter, heads plain cylinders: no thread, no drive.  Corners lie on
the true circle.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.errors import SolidError
from afterpart.model.assembly import Item, Point3
from afterpart.model.feature import Chain
from afterpart.model.outline import Arc, Circle, Line, Point
from afterpart.solid.absence import mesh_library
from afterpart.solid.body import Mesh

SIDES = 48
"""Sides of a round thing."""

_CONE_ROOM = 0.02
"""A countersunk head is drawn so much smaller in radius, mm: as far as the chords of a seat's mesh may reach into it."""

_CORD_SIDES = 24
_TURN_DEG = 7.5
"""Turn of a cord from ring to ring in a bend."""


def hardware(item: Item) -> tuple[Mesh, ...]:
    """One mesh for each place of the item.  SolidError: sizes that make no body, or a kind without a shape of its own (a cord
    needs its chain, cord_ring; foam its corners, foam_block)."""
    profile = _profile(item)
    return tuple(_turned(profile, at, item.axis) for at in item.at)


def cord_ring(chain: Chain, diameter: float, z: float) -> Mesh:
    """A round cord whose middle runs along the closed chain at height z; mitred where the chain has a sharp corner.

    SolidError: no diameter, or a bend tighter than half the diameter, in which a cord would cut into itself.
    """
    tight = [s for s in chain if isinstance(s, Arc | Circle) and s.radius <= diameter / 2]
    if diameter <= 0 or tight:
        where = f"; the bend at {tight[0].center} has radius {tight[0].radius:g} mm" if tight else ""
        raise SolidError(f"cord of {diameter:g} mm{where}: give a diameter above zero, and bends wider than half of it")
    points = _run(chain)
    into = points - np.roll(points, 1, axis=0)
    into /= np.linalg.norm(into, axis=1)[:, None]
    along = into + np.roll(into, -1, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    stretch = 1 / (along * into).sum(axis=1)
    side = np.column_stack((-along[:, 1], along[:, 0]))
    turn = np.arange(_CORD_SIDES) * math.tau / _CORD_SIDES
    across, up = diameter / 2 * np.cos(turn), diameter / 2 * np.sin(turn)
    flat = points[:, None, :] + stretch[:, None, None] * across[None, :, None] * side[:, None, :]
    height = np.broadcast_to(z + up, flat.shape[:2])
    vertices = np.concatenate((flat, height[..., None]), axis=2).reshape(-1, 3)
    return _facing_out(Mesh(vertices, _grid(len(points), _CORD_SIDES, True)))


def foam_block(corners: tuple[Point, ...], bottom: float, top: float) -> Mesh:
    """An upright block over a simple polygon.  SolidError: no area or no height."""
    library = mesh_library()
    flat = library.CrossSection([np.asarray(corners, float)], library.FillRule.EvenOdd)
    if top <= bottom or flat.area() <= 0:
        raise SolidError(f"foam block from z = {bottom:g} to {top:g} over {flat.area():g} mm2; give it height and area")
    made = flat.extrude(top - bottom).translate((0.0, 0.0, bottom)).to_mesh64()
    return Mesh(np.array(made.vert_properties[:, :3], float), np.array(made.tri_verts, np.int32))


def _profile(item: Item) -> tuple[Point, ...]:
    """Radius and place along the axis, from the axis on the head's side round to the axis again (or closed, for a ring)."""
    r, big = item.diameter / 2, item.head_diameter / 2
    sizes = f"{item.name}: diameter {item.diameter:g}, head or outside {item.head_diameter:g}, length {item.length:g} mm"
    if item.kind in ("bolt", "screw"):
        cone = big - _CONE_ROOM - r if item.kind == "bolt" and item.head_height == 0 else 0.0
        if not (0 < r < big and item.length > cone and (item.head_height > 0 or cone > 0)):
            raise SolidError(f"{sizes}, head height {item.head_height:g}; give a head wider than the shank, all above zero")
        if cone:
            return ((0, 0), (r + cone, 0), (r, cone), (r, item.length), (0, item.length))
        return ((0, -item.head_height), (big, -item.head_height), (big, 0), (r, 0), (r, item.length), (0, item.length))
    if item.kind in ("washer", "sleeve", "insert"):
        if not (0 < r < big and item.length > 0):
            raise SolidError(f"{sizes}; give an outside diameter above the inside one, and a length above zero")
        low, high = (-item.length, 0.0) if item.kind == "washer" else (0.0, item.length)
        return ((r, low), (big, low), (big, high), (r, high))
    raise SolidError(
        f"{item.name}: a {item.kind!r} has no shape by its figures alone; draw a cord along its chain, foam over its corners"
    )


def _turned(profile: tuple[Point, ...], at: Point3, axis: Point3) -> Mesh:
    """The profile turned about the axis through `at`; points on the axis become one vertex each."""
    direction = np.asarray(axis, float) / np.linalg.norm(axis)
    u = np.cross(direction, np.eye(3)[int(np.abs(direction).argmin())])
    u /= np.linalg.norm(u)
    v = np.cross(direction, u)
    turn = np.arange(SIDES) * math.tau / SIDES
    ring = np.cos(turn)[:, None] * u + np.sin(turn)[:, None] * v
    rings = np.array([np.asarray(at) + along * direction + radius * ring for radius, along in profile])
    closed = all(radius > 0 for radius, _ in profile)
    mesh = Mesh(rings.reshape(-1, 3), _grid(len(profile), SIDES, closed))
    return _facing_out(_welded(mesh))


def _grid(rows: int, columns: int, closed: bool) -> np.ndarray:
    """Two triangles for each cell of a sheet of rows x columns that closes across the columns, and the rows where told."""
    row, column = (g.ravel() for g in np.meshgrid(np.arange(rows if closed else rows - 1), np.arange(columns), indexing="ij"))
    beyond, right = (row + 1) % rows, (column + 1) % columns
    a, b, c, d = row * columns + column, row * columns + right, beyond * columns + right, beyond * columns + column
    return np.vstack((np.column_stack((a, b, c)), np.column_stack((a, c, d)))).astype(np.int32)


def _welded(mesh: Mesh) -> Mesh:
    _, first, index = np.unique(np.round(mesh.vertices, 9), axis=0, return_index=True, return_inverse=True)
    faces = index.ravel()[mesh.triangles]
    real = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    return Mesh(mesh.vertices[first], faces[real].astype(np.int32))


def _facing_out(mesh: Mesh) -> Mesh:
    a, b, c = (mesh.vertices[mesh.triangles[:, i]] - mesh.vertices.mean(axis=0) for i in range(3))
    return mesh if (a * np.cross(b, c)).sum() > 0 else Mesh(mesh.vertices, mesh.triangles[:, ::-1])


def _run(chain: Chain) -> np.ndarray:
    """(n, 2) points along the closed chain, each once."""
    points: list[Point] = []
    for segment in chain:
        match segment:
            case Line(_, start, _):
                points.append(start)
            case Circle(_, center, radius):
                points += [(center[0] + radius * math.cos(t), center[1] + radius * math.sin(t))
                           for t in np.arange(SIDES) * math.tau / SIDES]
            case Arc(_, start, end, center, radius, ccw):
                first, last = (math.atan2(p[1] - center[1], p[0] - center[0]) for p in (start, end))
                sweep = (last - first) % math.tau if ccw else -((first - last) % math.tau)
                count = max(1, math.ceil(abs(math.degrees(sweep)) / _TURN_DEG))
                points += [(center[0] + radius * math.cos(first + sweep * i / count),
                            center[1] + radius * math.sin(first + sweep * i / count)) for i in range(count)]
    return np.array(points, float)
