"""A mesh as binary STL.  STL has no unit, so the file's name says it (..._mm.stl); coordinates are mm."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import struct

import numpy as np

from afterpart.solid.body import Mesh

_HEADER = b"afterpart, coordinates in mm"
_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def stl_bytes(mesh: Mesh) -> bytes:
    """The mesh as binary STL: an 80-byte header, the count, 50 bytes for each triangle."""
    corners = mesh.vertices[mesh.triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-30)
    records = np.zeros(len(corners), dtype=_RECORD)
    records["normal"], records["corners"] = normals, corners
    return _HEADER.ljust(80, b" ") + struct.pack("<I", len(corners)) + records.tobytes()
