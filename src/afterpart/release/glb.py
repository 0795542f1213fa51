"""Meshes as binary glTF 2.0, for viewers and web pages: one named node each, plain colours, no extensions.

Conventions: glTF counts in metres with y up, so (x, y, z) mm becomes (x, z, -y) / 1000 and z of the drawing points up.
Words: a *corner* is one of a triangle's three; corners of one vertex are drawn as one point where their faces meet smoothly,
and apart where they meet at an edge, so that edges stay crisp and round walls look round.
Fixed bytes: no clock, no names of machines; the same meshes give the same file.
Source: Khronos glTF 2.0 specification (ISO/IEC 12113:2022), binary container, accessors and materials (from memory; read back
by another reader in tests).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import math
import struct
from typing import Any

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from afterpart.release.shown import Shown, Tint
from afterpart.solid.body import Mesh

SMOOTH_DEG = 35.0
"""Faces that meet at less than this are drawn as one curved surface."""

_MM_PER_METRE = 1000.0
_FLOAT, _UINT = 5126, 5125
_VERTICES, _INDICES = 34962, 34963
_MAGIC, _JSON, _BINARY = 0x46546C67, 0x4E4F534A, 0x004E4942


def glb_bytes(shown: tuple[Shown, ...], made_with: str) -> bytes:
    """The meshes as one GLB file.  ValueError: none, or one without triangles."""
    if not shown or any(not len(one.mesh.triangles) for one in shown):
        raise ValueError("found nothing to write as glTF, expected at least one triangle of each mesh")
    binary = bytearray()
    views: list[dict[str, Any]] = []
    accessors: list[dict[str, Any]] = []
    meshes = []
    for number, one in enumerate(shown):
        points, normals, triangles = drawn_points(one.mesh)
        place = {"POSITION": _accessor(_turned(points / _MM_PER_METRE), binary, views, accessors, has_box=True),
                 "NORMAL": _accessor(_turned(normals), binary, views, accessors)}
        indices = _accessor(triangles.ravel(), binary, views, accessors)
        meshes.append({"name": one.name, "primitives": [{"attributes": place, "indices": indices, "material": number}]})
    scene = {
        "asset": {"version": "2.0", "generator": made_with},
        "scene": 0,
        "scenes": [{"nodes": list(range(len(shown)))}],
        "nodes": [{"name": one.name, "mesh": number} for number, one in enumerate(shown)],
        "meshes": meshes,
        "materials": [_material(one.tint) for one in shown],
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{"byteLength": len(binary)}],
    }
    text = json.dumps(scene, separators=(",", ":"), ensure_ascii=True, allow_nan=False).encode()
    chunks = _chunk(_JSON, text, b" ") + _chunk(_BINARY, bytes(binary), b"\0")
    return struct.pack("<III", _MAGIC, 2, 12 + len(chunks)) + chunks


def drawn_points(mesh: Mesh) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points (k, 3), their unit normals (k, 3) and triangles (m, 3) into them: vertices repeated where edges are crisp."""
    corners = mesh.vertices[mesh.triangles]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    facing = across / np.maximum(np.linalg.norm(across, axis=1, keepdims=True), 1e-30)
    count, group = connected_components(_smooth_pairs(mesh.triangles, facing), directed=False)
    points = np.zeros((count, 3))
    points[group] = mesh.vertices[mesh.triangles.ravel()]
    normals = np.zeros((count, 3))
    np.add.at(normals, group, np.repeat(across, 3, axis=0))
    length = np.linalg.norm(normals, axis=1)
    # A needle's own normal may vanish in single precision: any unit vector will do, it has no area to be seen.
    normals = np.where(length[:, None] > 0, normals / np.where(length > 0, length, 1.0)[:, None], (0.0, 0.0, 1.0))
    return points, normals, group.reshape(-1, 3).astype(np.uint32)


def _smooth_pairs(triangles: np.ndarray, facing: np.ndarray) -> coo_array:
    """Which corners (three a triangle, in order) are one drawn point with which: those on either side of a smooth edge."""
    corner = np.arange(triangles.size).reshape(-1, 3)
    start, end = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    first, last = corner.ravel(), np.roll(corner, -1, axis=1).ravel()
    key = np.minimum(start, end).astype(np.int64) * (int(triangles.max()) + 1) + np.maximum(start, end)
    order = np.argsort(key, kind="stable")
    twins = np.flatnonzero(key[order][1:] == key[order][:-1])
    a, b = order[twins], order[twins + 1]
    smooth = (facing[a // 3] * facing[b // 3]).sum(axis=1) > math.cos(math.radians(SMOOTH_DEG))
    a, b = a[smooth], b[smooth]
    is_turned = start[a] != start[b]
    rows = np.concatenate([first[a], last[a]])
    columns = np.concatenate([np.where(is_turned, last[b], first[b]), np.where(is_turned, first[b], last[b])])
    return coo_array((np.ones(len(rows), dtype=np.int8), (rows, columns)), shape=(triangles.size, triangles.size))


def _turned(vectors: np.ndarray) -> np.ndarray:
    """z up to y up, in single precision."""
    return np.column_stack([vectors[:, 0], vectors[:, 2], -vectors[:, 1]]).astype("<f4")


def _accessor(values: np.ndarray, binary: bytearray, views: list[dict[str, Any]], accessors: list[dict[str, Any]],
              has_box: bool = False) -> int:
    """Append the values to the buffer; the number of their accessor."""
    data = np.ascontiguousarray(values).tobytes()
    is_vector = values.ndim == 2
    target = _VERTICES if is_vector else _INDICES
    views.append({"buffer": 0, "byteOffset": len(binary), "byteLength": len(data), "target": target})
    accessor: dict[str, Any] = {"bufferView": len(views) - 1, "componentType": _FLOAT if is_vector else _UINT,
                                "count": len(values), "type": "VEC3" if is_vector else "SCALAR"}
    if has_box:
        accessor |= {"min": values.min(axis=0).astype(float).tolist(), "max": values.max(axis=0).astype(float).tolist()}
    accessors.append(accessor)
    binary += data  # every value is four bytes long, so that each view begins where four-byte values may begin
    return len(accessors) - 1


def _material(tint: Tint) -> dict[str, Any]:
    """A dull plastic of this colour; glTF counts colours linearly in light."""
    linear = [round(_linear(value / 255), 6) for value in tint]
    return {"pbrMetallicRoughness": {"baseColorFactor": [*linear, 1.0], "metallicFactor": 0.0, "roughnessFactor": 0.7}}


def _linear(share: float) -> float:
    """A screen's share of full brightness as a share of light (the sRGB curve, IEC 61966-2-1, from memory)."""
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def _chunk(kind: int, data: bytes, filling: bytes) -> bytes:
    padded = data + filling * (-len(data) % 4)
    return struct.pack("<II", len(padded), kind) + padded
