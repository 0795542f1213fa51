"""GLB files read back by a mesh library, and their plain structure by hand."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import json
import math
import struct

import numpy as np
import pytest
import trimesh

from afterpart.release.glb import drawn_points, glb_bytes
from afterpart.release.shown import Shown
from afterpart.solid.body import Mesh


def mesh_of(made: trimesh.Trimesh) -> Mesh:
    return Mesh(np.asarray(made.vertices, dtype=float), np.asarray(made.faces, dtype=np.int32))


BOX = mesh_of(trimesh.creation.box(extents=(80.0, 40.0, 6.0)))
TUBE = mesh_of(trimesh.creation.annulus(r_min=10.0, r_max=20.0, height=30.0, sections=96))


def scene_of(data: bytes) -> trimesh.Scene:
    scene = trimesh.load_scene(io.BytesIO(data), file_type="glb")
    assert isinstance(scene, trimesh.Scene)
    return scene


def json_of(data: bytes) -> dict:
    magic, version, length, json_length, kind = struct.unpack("<4sIII4s", data[:20])
    assert (magic, version, length, kind) == (b"glTF", 2, len(data), b"JSON")
    return json.loads(data[20:20 + json_length])


def test_two_pieces_read_back_with_names_sizes_and_closed() -> None:
    scene = scene_of(glb_bytes((Shown("cover A", BOX), Shown("tube", TUBE, (200, 100, 50))), "afterpart test"))
    assert sorted(scene.geometry) == ["cover A", "tube"]
    for name, mesh in (("cover A", BOX), ("tube", TUBE)):
        back = scene.geometry[name]
        x, y, z = np.ptp(mesh.vertices, axis=0) / 1000
        assert np.allclose(back.extents, (x, z, y), rtol=1e-6), "metres, y up"
        back.merge_vertices(merge_norm=True, merge_tex=True)
        assert back.is_watertight and back.is_winding_consistent
        ours = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False).volume
        assert back.volume * 1e9 == pytest.approx(ours, rel=1e-5)


def test_up_of_the_drawing_is_up_of_the_file() -> None:
    """A point of the drawing at (x, y, z) mm lies at (x, z, -y) / 1000: a rotation, not a mirror image."""
    raised = Mesh(BOX.vertices + (1.0, 2.0, 30.0), BOX.triangles)
    back = scene_of(glb_bytes((Shown("box", raised),), "test")).geometry["box"]
    assert np.allclose(back.bounds, [[-0.039, 0.027, -0.022], [0.041, 0.033, 0.018]], atol=1e-7)


def test_the_file_is_plain_and_the_same_twice() -> None:
    data = glb_bytes((Shown("bo\"x é", BOX), Shown("tube", TUBE)), "afterpart test")
    assert data == glb_bytes((Shown("bo\"x é", BOX), Shown("tube", TUBE)), "afterpart test")
    plain = json_of(data)
    assert plain["asset"]["version"] == "2.0" and "extensionsUsed" not in plain
    assert [node["name"] for node in plain["nodes"]] == ['bo"x é', "tube"]
    for accessor, view in zip(plain["accessors"], plain["bufferViews"], strict=True):
        width = {"VEC3": 12, "SCALAR": 4}[accessor["type"]]
        assert view["byteLength"] == accessor["count"] * width and view["byteOffset"] % 4 == 0
    assert sum(view["byteLength"] for view in plain["bufferViews"]) == plain["buffers"][0]["byteLength"]


def test_round_walls_are_smooth_and_edges_crisp() -> None:
    points, normals, triangles = drawn_points(TUBE)
    assert np.allclose(np.linalg.norm(normals, axis=1), 1.0)
    corners = points[triangles]
    facing = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    facing /= np.linalg.norm(facing, axis=1, keepdims=True)
    leaning = np.degrees(np.arccos(np.clip((normals[triangles] * facing[:, None]).sum(axis=2), -1, 1)))
    assert leaning.max() <= 360 / 96 + 1e-6, "never blurred over an edge of 90 degrees"
    wall = np.abs(normals[:, 2]) < 0.5
    radial = points[wall][:, :2] / np.linalg.norm(points[wall][:, :2], axis=1, keepdims=True)
    assert np.abs((normals[wall][:, :2] * radial).sum(axis=1)).min() > math.cos(math.radians(360 / 96))
    assert len(drawn_points(BOX)[0]) == 24, "a box has three drawn points at each of its eight corners"


def test_nothing_is_not_written() -> None:
    with pytest.raises(ValueError, match="at least one triangle"):
        glb_bytes((), "test")
