"""Boxes of bodies with rounded rims, against the drawing and against the kernel's own tight box."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest
from OCP.Bnd import Bnd_Box
from OCP.BRepBndLib import BRepBndLib

from afterpart.model.piece import Prism
from afterpart.solid import shapes
from afterpart.solid.wires import solid_of
from tests.solid.shapes import disc, rectangle, rounded


def of_all_faces(solid: object) -> list[float]:
    """Corners of the kernel's tight box of each face."""
    found = Bnd_Box()
    for face in shapes.faces(solid):
        BRepBndLib.AddOptimal_s(face, found)
    return [side for corner in shapes._corners(found) for side in corner]


@pytest.mark.parametrize(("prism", "low", "high"), [
    (Prism(disc(3.0, 1.0, 10.0), (disc(3.0, 1.0, 7.0),), 0.0, 4.0, top_round=1.4), (-7.0, -9.0, 0.0), (13.0, 11.0, 4.0)),
    (Prism(disc(0.0, 0.0, 10.0), (), 1.0, 6.0, 2.0, 2.5), (-10.0, -10.0, 1.0), (10.0, 10.0, 6.0)),
    (Prism(rounded(-30, -20, 30, 25, 8.0), (rounded(-26, -16, 26, 21, 4.0),), 0.0, 3.0, top_round=1.9), (-30, -20, 0),
     (30, 25, 3)),
    (Prism(rectangle(0, 0, 12, 7), (disc(6.0, 3.0, 2.0),), 0.0, 3.0, bottom_round=0.8), (0, 0, 0), (12, 7, 3))],
    ids=["ring", "disc rounded twice", "bead", "plate rounded below"])
def test_a_rounded_body_reaches_as_far_as_it_is_drawn(prism: Prism, low: tuple[float, ...], high: tuple[float, ...]) -> None:
    solid = solid_of(prism)
    found = [side for corner in shapes.box(solid) for side in corner]
    assert found == pytest.approx([*low, *high], abs=1e-6)
    assert found == pytest.approx(of_all_faces(solid), abs=1e-6)
