"""Triangles of a body.

Limits: closed where the kernel's triangulation is; points of neighbouring faces that coincide are made one vertex.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import build123d as b
import numpy as np
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools

from afterpart.solid.body import Mesh

_TURN_RAD = 0.35
"""Largest turn between neighbouring chords, so that small holes stay round: 18 sides at least."""


def mesh_of(shape: b.Shape, chord: float) -> Mesh:
    """Triangles of the shape, closed: points of neighbouring faces that coincide are one vertex."""
    # The library's own call takes its tolerance as a share of each edge's length; here it is a distance.
    BRepTools.Clean_s(shape.wrapped)
    BRepMesh_IncrementalMesh(shape.wrapped, chord, False, _TURN_RAD, False)
    raw, triangles = shape.tessellate(10 * chord, _TURN_RAD)
    points = np.array([(v.X, v.Y, v.Z) for v in raw])
    _, first, index = np.unique(np.round(points, 6), axis=0, return_index=True, return_inverse=True)
    faces = index.ravel()[np.array(triangles, dtype=np.int64)]
    real = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    return Mesh(points[first], faces[real].astype(np.int32))
