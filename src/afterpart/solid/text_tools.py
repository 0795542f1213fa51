"""Letters as faces and as cutting tools: one line of text becomes what sinks it into a face.

Conventions: mm; a text's direction is angle_deg from x in the piece's frame.  Seen from above, letters stand to the left of
their direction; on a face that looks down they stand to its right, so that they read right from below.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.gp import gp_Dir, gp_Pln, gp_Pnt, gp_Vec
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Solid, TopoDS_Wire

from afterpart.model.piece import Deboss, Lettering
from afterpart.solid.lettering import text_outlines

_Chain = np.ndarray
"""Corners (n, 2), the first not repeated."""


def letter_faces(step: Deboss) -> list[TopoDS_Face]:
    """The letters of all texts of the step as faces in the plane z = top that look out of the body."""
    flat = [_face(outer, islands, step.top) for text in step.texts for outer, islands in _letters(text, step.from_below)]
    return [TopoDS.Face(face.Reversed()) for face in flat] if step.from_below else flat


def letter_tools(step: Deboss) -> list[TopoDS_Solid]:
    """The solids to cut for all texts of the step.  They reach out of the face by their depth: a tool must not end in it."""
    into = step.depth if step.from_below else -step.depth
    return [TopoDS.Solid(BRepPrimAPI_MakePrism(_face(outer, islands, step.top + into), gp_Vec(0, 0, -2 * into)).Shape())
            for text in step.texts for outer, islands in _letters(text, step.from_below)]


def _letters(text: Lettering, is_below: bool) -> list[tuple[_Chain, list[_Chain]]]:
    """Outline and islands of each letter in its place."""
    turn = math.radians(text.angle_deg)
    c, s = math.cos(turn), math.sin(turn)
    over = -1.0 if is_below else 1.0
    place = np.array([[c, s], [-s * over, c * over]])

    def placed(ring: object) -> _Chain:
        return np.asarray(np.asarray(ring)[:-1] @ place + text.at)

    return [(placed(part.exterior.coords), [placed(ring.coords) for ring in part.interiors])
            for part in text_outlines(text.text, text.height)]


def _face(outer: _Chain, islands: list[_Chain], z: float) -> TopoDS_Face:
    """A plane face that looks up."""
    made = BRepBuilderAPI_MakeFace(gp_Pln(gp_Pnt(0, 0, z), gp_Dir(0, 0, 1)), _wire(outer, z, 1), True)
    for island in islands:
        made.Add(_wire(island, z, -1))
    return made.Face()


def _wire(ring: _Chain, z: float, sense: int) -> TopoDS_Wire:
    """The chain at height z, run counter-clockwise for a sense of 1."""
    after = np.roll(ring, -1, axis=0)
    is_so = float((ring[:, 0] * after[:, 1] - ring[:, 1] * after[:, 0]).sum()) * sense > 0
    made = BRepBuilderAPI_MakePolygon()
    for x, y in ring if is_so else ring[::-1]:
        made.Add(gp_Pnt(float(x), float(y), z))
    made.Close()
    return made.Wire()
