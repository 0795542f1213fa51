"""A mesh read at once is the mesh read node by node, in place and with its sides outward."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest
from OCP.BRep import BRep_Tool
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.gp import gp_Trsf, gp_Vec
from OCP.TopLoc import TopLoc_Location

from afterpart.model.piece import Prism
from afterpart.solid import meshing, shapes
from afterpart.solid.body import Mesh
from afterpart.solid.mesh import mesh_volume
from afterpart.solid.wires import solid_of
from tests.solid.shapes import disc, rounded

BODY = Prism(rounded(-30, -20, 30, 20, 9), (disc(4, 3, 6),), 0.0, 8.0, top_round=1.5, bottom_bevel=0.5)


def test_both_ways_of_reading_agree_in_every_number() -> None:
    shape = solid_of(BODY)
    BRepMesh_IncrementalMesh(shape, 0.01, False, 0.35, False)
    meshes = [BRep_Tool.Triangulation_s(face, TopLoc_Location()) for face in shapes.faces(shape)]
    assert max(mesh.NbNodes() for mesh in meshes) > 100 and min(mesh.NbNodes() for mesh in meshes) < 20
    for mesh in meshes:
        for at_once, by_number in zip(meshing._at_once(mesh), meshing._one_by_one(mesh), strict=True):
            assert np.array_equal(at_once, by_number)


@pytest.mark.parametrize("many", [0, 10_000])
def test_a_moved_body_is_read_in_its_place(many: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Turned by 30 degrees about z and moved: its corners are those of the body at home, turned and moved."""
    monkeypatch.setattr(meshing, "_MANY", many)
    shape, turn, shift = solid_of(BODY), gp_Trsf(), gp_Trsf()
    shift.SetTranslation(gp_Vec(7.0, -3.0, 2.0))
    c, s = math.cos(math.radians(30.0)), math.sin(math.radians(30.0))
    turn.SetValues(c, -s, 0.0, 0.0, s, c, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0)
    BRepMesh_IncrementalMesh(shape, 0.01, False, 0.35, False)
    at_home, triangles = meshing._read_out(shape)
    moved, same = meshing._read_out(shape.Moved(TopLoc_Location(shift.Multiplied(turn))))
    assert np.array_equal(triangles, same)
    wanted = at_home @ np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]]) + (7.0, -3.0, 2.0)
    assert np.abs(moved - wanted).max() < 1e-12


def test_the_mesh_of_a_body_encloses_it() -> None:
    """Outward sides: a positive volume, within a thousandth of the body's."""
    shape = solid_of(BODY)
    mesh: Mesh = meshing.mesh_of(shape, shapes.volume(shape), 0.01)
    assert mesh_volume(mesh) == pytest.approx(shapes.volume(shape), rel=1e-3)
