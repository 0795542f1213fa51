"""Letters as faces and as cutting tools: one line of text becomes what sinks it into a face.

Conventions: mm; a text's direction is angle_deg from x in the piece's frame.  Seen from above, letters stand to the left of
their direction; on a face that looks down they stand to its right, so that they read right from below.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.gp import gp_Ax1, gp_Ax3, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.Graphic3d import Graphic3d_HTA_CENTER, Graphic3d_VTA_BOTTOM
from OCP.NCollection import NCollection_String
from OCP.StdPrs import StdPrs_BRepFont, StdPrs_BRepTextBuilder
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Shape, TopoDS_Solid

from afterpart.model.piece import Deboss, Lettering
from afterpart.solid import shapes
from afterpart.solid.lettering import FONT_FILE, font_size


def letter_faces(step: Deboss) -> list[TopoDS_Face]:
    """The letters of all texts of the step as faces in the plane z = top."""
    return [face for text in step.texts for face in _letters(text, step)]


def letter_tools(step: Deboss) -> list[TopoDS_Solid]:
    """The solids to cut for all texts of the step.  They reach out of the face by their depth: a tool must not end in it."""
    into = step.depth if step.from_below else -step.depth
    sunken = _shift(0.0, 0.0, into)
    return [TopoDS.Solid(BRepPrimAPI_MakePrism(_moved(face, sunken), gp_Vec(0, 0, -2 * into)).Shape())
            for face in letter_faces(step)]


def _letters(text: Lettering, step: Deboss) -> list[TopoDS_Face]:
    size = font_size(text.height)
    # The sketch is centred on its baseline box by hand: aligning on the ink would shift "1" against "2".
    sketch = _sketch(text.text, size)
    low, high = shapes.box(sketch)
    base = shapes.box(_sketch("H", size))[0][1]
    centred = _shift(-(low[0] + high[0]) / 2, -base - text.height / 2, 0.0)
    place = _shift(*text.at, step.top) * _turn((0, 0, 1), text.angle_deg)
    turned_over = _turn((1, 0, 0), 180.0 if step.from_below else 0.0)
    return [_in_place(face, place * turned_over * centred) for face in _in_order(shapes.faces(sketch))]


def _in_order(faces: list[TopoDS_Face]) -> list[TopoDS_Face]:
    """From left to right, then upwards: the kernel hands on the parts of an i in an order of chance."""
    return sorted(faces, key=lambda face: tuple(round(side, 6) for side in shapes.box(face)[0]))


def _sketch(text: str, size: float) -> TopoDS_Shape:
    """The text flat about the origin, its middle at x = 0."""
    font = StdPrs_BRepFont(NCollection_String(str(FONT_FILE)), size, 0)
    return StdPrs_BRepTextBuilder().Perform(font, NCollection_String(text), gp_Ax3(), Graphic3d_HTA_CENTER, Graphic3d_VTA_BOTTOM)


def _shift(x: float, y: float, z: float) -> TopLoc_Location:
    move = gp_Trsf()
    move.SetTranslation(gp_Vec(x, y, z))
    return TopLoc_Location(move)


def _turn(axis: tuple[float, float, float], angle_deg: float) -> TopLoc_Location:
    move = gp_Trsf()
    move.SetRotation(gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(*axis)), math.radians(angle_deg))
    return TopLoc_Location(move)


def _moved(face: TopoDS_Face, by: TopLoc_Location) -> TopoDS_Face:
    return TopoDS.Face(face.Moved(by))


def _in_place(face: TopoDS_Face, by: TopLoc_Location) -> TopoDS_Face:
    """Moved, its curves themselves, not a note of the move beside each: all that asks for a curve later is the quicker."""
    return TopoDS.Face(BRepBuilderAPI_Transform(face, by.Transformation(), True).Shape())
