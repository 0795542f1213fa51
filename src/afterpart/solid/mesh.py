"""Closed meshes: volume, lumps, ways through, and moving them.  Imports no kernel.

Words: a *shell* is a closed surface all of whose triangles hang together by edges; a *lump* is a shell that bounds material from
outside, a *void* one that bounds a closed hollow inside a lump (its volume counts negative); the *genus* is the number of ways
through: 0 for a ball, 1 for a ring.
Conventions: mm; triangles counter-clockwise seen from outside.  Limits: every edge must be shared by exactly two triangles.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

from afterpart.errors import SolidError
from afterpart.model.assembly import Point3
from afterpart.solid.body import Mesh


def mesh_volume(mesh: Mesh) -> float:
    """Volume enclosed, mm3, by the divergence theorem; voids subtract."""
    return float(_six_volumes(mesh).sum() / 6)


def genus(mesh: Mesh) -> int:
    """Ways through, summed over the lumps: 1 - (vertices - edges + triangles) / 2 for each.  SolidError: not closed."""
    return ways_and_voids(mesh)[0]


def ways_and_voids(mesh: Mesh) -> tuple[int, int]:
    """Ways through, summed over the lumps, and closed hollows counted.  SolidError: not closed."""
    found = [(shell, mesh_volume(shell) > 0) for shell in shells(mesh)]
    return sum(_genus_of(shell) for shell, is_lump in found if is_lump), sum(not is_lump for _, is_lump in found)


def lumps(mesh: Mesh) -> tuple[Mesh, ...]:
    """The shells that bound material from outside, the largest first.  SolidError: not closed."""
    return tuple(shell for shell in shells(mesh) if mesh_volume(shell) > 0)


def voids(mesh: Mesh) -> tuple[Mesh, ...]:
    """The shells that bound closed hollows.  SolidError: not closed."""
    return tuple(shell for shell in shells(mesh) if mesh_volume(shell) <= 0)


def shells(mesh: Mesh) -> tuple[Mesh, ...]:
    """The closed surfaces, by enclosed volume, the largest first.  SolidError: not closed."""
    neighbours = edge_neighbours(mesh)
    label = components(len(mesh.triangles), neighbours)
    parts = [_compact(mesh, label == number) for number in range(int(label.max()) + 1)] if len(label) else []
    return tuple(sorted(parts, key=lambda part: -mesh_volume(part)))


def moved(mesh: Mesh, flipped: bool, shift: Point3) -> Mesh:
    """The mesh turned by 180 degrees about the x axis where flipped (y -> -y, z -> -z), then shifted."""
    turned = mesh.vertices * np.array((1.0, -1.0, -1.0)) if flipped else mesh.vertices
    return Mesh(turned + np.asarray(shift, float), mesh.triangles)


def joined(meshes: tuple[Mesh, ...]) -> Mesh:
    """Several meshes as one, their vertices kept apart."""
    starts = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes)])
    faces = [mesh.triangles + start for mesh, start in zip(meshes, starts, strict=False)]
    return Mesh(np.vstack([mesh.vertices for mesh in meshes]), np.vstack(faces).astype(np.int32))


def edge_neighbours(mesh: Mesh) -> np.ndarray:
    """(3 m / 2, 2) pairs of triangles that share an edge.  SolidError: an edge not shared by two, run once each way."""
    faces = mesh.triangles.astype(np.int64)
    starts, ends = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    owner = np.repeat(np.arange(len(faces)), 3)
    count = len(mesh.vertices)
    there, back = starts * count + ends, ends * count + starts
    order, reverse = np.argsort(there), np.argsort(back)
    bad = there[order] != back[reverse]
    if (np.diff(there[order]) == 0).any() or bad.any():
        edge = int(order[np.argmax(bad)]) if bad.any() else int(order[np.argmax(np.diff(there[order]) == 0)])
        x, y, z = mesh.vertices[starts[edge]]
        raise SolidError(
            f"the mesh is not closed: the edge at ({x:.3f}, {y:.3f}, {z:.3f}) is not shared by exactly two triangles; two parts "
            "of the body touch there in a line, or the kernel left a gap: part them, or let them overlap"
        )
    pairs = np.column_stack((owner[order], owner[reverse]))
    return pairs[pairs[:, 0] < pairs[:, 1]]


def components(count: int, pairs: np.ndarray) -> np.ndarray:
    """(count,) number of the connected component of each node, from 0, by hooking and pointer jumping."""
    label = np.arange(count)
    while len(pairs):
        a, b = label[pairs[:, 0]], label[pairs[:, 1]]
        open_pairs = a != b
        if not open_pairs.any():
            break
        np.minimum.at(label, np.maximum(a, b), np.minimum(a, b))
        while (label[label] != label).any():
            label = label[label]
        pairs = pairs[open_pairs]
    return np.unique(label, return_inverse=True)[1].ravel() if count else label


def triangle_normals(mesh: Mesh) -> tuple[np.ndarray, np.ndarray]:
    """(m, 3) outward unit normals (zero for a triangle without area) and (m,) areas in mm2."""
    a, b, c = (mesh.vertices[mesh.triangles[:, i]] for i in range(3))
    cross = np.cross(b - a, c - a)
    twice = np.linalg.norm(cross, axis=1)
    return cross / np.where(twice > 0, twice, 1.0)[:, None], twice / 2


def _six_volumes(mesh: Mesh) -> np.ndarray:
    middle = mesh.vertices.mean(axis=0) if len(mesh.vertices) else np.zeros(3)
    a, b, c = (mesh.vertices[mesh.triangles[:, i]] - middle for i in range(3))
    return (a * np.cross(b, c)).sum(axis=1)


def _genus_of(shell: Mesh) -> int:
    count = len(shell.triangles)
    return (2 - (_fan_count(shell) - 3 * count // 2 + count)) // 2


def _fan_count(shell: Mesh) -> int:
    """Vertices, counted as fans of triangles, so that two sheets that touch in one point do not count as one.

    Turning about a vertex from triangle to triangle is a permutation of the corners; its cycles are the fans.
    """
    faces = shell.triangles.astype(np.int64)
    corner = np.arange(3 * len(faces))
    starts, ends = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    turned = np.empty_like(corner)
    turned[np.argsort(starts * len(shell.vertices) + ends)] = np.argsort(ends * len(shell.vertices) + starts)
    # `turned` names the edge that runs back along a corner's edge; the corner after it stands at the same vertex.
    turned = turned // 3 * 3 + (turned + 1) % 3
    least, reach = corner, turned
    while (least[reach] < least).any():
        least, reach = np.minimum(least, least[reach]), reach[reach]
    return int((least == corner).sum())


def _compact(mesh: Mesh, chosen: np.ndarray) -> Mesh:
    used, index = np.unique(mesh.triangles[chosen], return_inverse=True)
    return Mesh(mesh.vertices[used], index.reshape(-1, 3).astype(np.int32))
