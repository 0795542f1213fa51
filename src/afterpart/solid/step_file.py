"""Bodies as STEP files in mm, written with fixed bytes, and read back.

Words: *mending* is what the library does to a shape it has read before it hands it on (closing gaps, turning faces round);
two thirds of the time of reading go there, and a file of our own needs none of it.  A STEP file need not hold the *plane curves*
of edges, their course over the face; on a plane none is needed, on all other faces they are worked out after reading.
Limits: the header carries a fixed date, so that the same piece gives the same bytes; a file holds one product.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
from dataclasses import dataclass

from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
from OCP.collections import DataMap_TCollection_AsciiString_TCollection_AsciiString as TextMap
from OCP.collections import Sequence_TDF_Label
from OCP.GeomAbs import GeomAbs_Plane
from OCP.IFSelect import IFSelect_RetDone
from OCP.Interface import Interface_Static
from OCP.Message import Message, Message_Gravity
from OCP.ShapeBuild import ShapeBuild_ReShape
from OCP.ShapeFix import ShapeFix_Face
from OCP.STEPCAFControl import STEPCAFControl_Controller, STEPCAFControl_Reader, STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Controller
from OCP.TCollection import TCollection_AsciiString, TCollection_ExtendedString, TCollection_HAsciiString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.TopoDS import TopoDS_Shape
from OCP.XCAFApp import XCAFApp_Application
from OCP.XCAFDoc import XCAFDoc_DocumentTool
from OCP.XSControl import XSControl_WorkSession

from afterpart.errors import SolidError
from afterpart.solid import shapes
from afterpart.solid.body import StepFacts
from afterpart.solid.refusals import KERNEL_REFUSALS

_FIXED_TIMESTAMP = "2000-01-01T00:00:00"
"""Written into every STEP header instead of the clock."""

_MENDING = tuple(f"FixShape.{what}Mode" for what in (
    "FixSolid", "FixShell", "FixFace", "FixWire", "FixSameParameter", "FixVertexTolerance", "FixVertexPosition",
    "FixEdgeSameParameter", "AutoCorrectPrecision", "FixFreeShell", "FixFreeFace", "FixFreeWire", "CreateOpenSolid",
    "FixShellOrientation", "FixFaceOrientation", "FixOrientation", "FixAddNaturalBound", "FixMissingSeam", "FixSmallAreaWire",
    "RemoveSmallAreaFace", "FixIntersectingWires", "FixLoopWires", "FixSplitFace", "FixPeriodicDegenerated", "FixReorder",
    "FixSmall", "FixConnected", "FixEdgeCurves", "FixDegenerated", "FixLacking", "FixSelfIntersection",
    "FixSelfIntersectingEdge", "FixIntersectingEdges", "FixNonAdjacentIntersectingEdges", "FixNotchedEdges", "FixTail",
    "RemoveLoop", "FixReversed2d", "FixRemovePCurve", "FixAddPCurve", "FixRemoveCurve3d", "FixAddCurve3d", "FixSeam",
    "FixShifted", "FixGaps2d", "FixGaps3d"))
"""What the reader can mend, all of which is left out at first."""

_OFF = 0
"""Of a mode of mending."""

_WRITTEN_BY = "afterpart"
"""The header's originating system."""


@dataclass(frozen=True)
class ReadBack:
    """What a STEP file holds.  label: of its product; volume: mm3; count: of its solids."""

    shape: TopoDS_Shape
    label: str
    volume: float
    count: int


def step_bytes(shape: TopoDS_Shape, label: str) -> bytes:
    """The shape as a STEP file in mm, its product called `label`."""
    for printer in Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(Message_Gravity.Message_Fail)
    writer = STEPCAFControl_Writer(XSControl_WorkSession(), False)
    header = APIHeaderSection_MakeHeader(0)
    header.Apply(writer.Writer().Model())
    header.SetName(TCollection_HAsciiString(label))
    header.SetTimeStamp(TCollection_HAsciiString(_FIXED_TIMESTAMP))
    header.SetOriginatingSystem(TCollection_HAsciiString(_WRITTEN_BY))
    STEPCAFControl_Controller.Init_s()
    STEPControl_Controller.Init_s()
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
    Interface_Static.SetIVal_s("write.precision.mode", 0)
    stream = io.BytesIO()
    if not (writer.Transfer(_document(shape, label), STEPControl_AsIs) and writer.WriteStream(stream) == IFSelect_RetDone):
        raise SolidError(f"the kernel could not write {label!r} as STEP")
    return stream.getvalue()


def _document(shape: TopoDS_Shape, label: str) -> TDocStd_Document:
    """The shape, named, as the kernel's writer asks for it."""
    document = TDocStd_Document(TCollection_ExtendedString("XmlOcaf"))
    application = XCAFApp_Application.GetApplication_s()
    application.NewDocument(TCollection_ExtendedString("MDTV-XCAF"), document)
    application.InitDocument(document)
    XCAFDoc_DocumentTool.SetLengthUnit_s(document, 0.001)
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    tool.SetAutoNaming_s(True)
    node = tool.AddShape(shape, False)
    TDataStd_Name.Set_s(node, TCollection_ExtendedString(label))
    tool.UpdateAssemblies()
    return document


def facts_of(read: ReadBack, validate: bool) -> StepFacts:
    """What was read; validate: also let the kernel check every face, which takes as long as the reading itself."""
    return StepFacts(read.label, read.volume, read.count, shapes.is_valid(read.shape) if validate else None)


def shape_from_step(data: bytes, mended: bool = False) -> ReadBack:
    """The shape in a STEP file.  mended: with all of the library's mending.  SolidError: not readable, or it holds no solid."""
    document = TDocStd_Document(TCollection_ExtendedString("XCAF"))
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    reader.SetColorMode(False)
    reader.SetLayerMode(False)
    try:
        reader.ReadStream("piece.step", io.BytesIO(data))
        if not mended:
            reader.SetShapeFixParameters(_plain_reading())
        reader.Transfer(document)
    except KERNEL_REFUSALS as error:
        raise SolidError(f"the STEP file ({len(data)} bytes) cannot be read back: {error}") from error
    found = Sequence_TDF_Label()
    tool.GetFreeShapes(found)
    nodes = [found.Value(i + 1) for i in range(found.Length())]
    whole = [tool.GetShape_s(node) for node in nodes]
    shape = whole[0] if len(whole) == 1 else shapes.compound(whole)
    shape = shape if mended else _with_plane_curves(shape)
    count = len(shapes.solids(shape))
    if not count:
        raise SolidError(f"the STEP file ({len(data)} bytes) cannot be read back: it holds no solid")
    return ReadBack(shape, _name(nodes[0]), shapes.volume(shape), count)


def _plain_reading() -> TextMap:
    """The reader's settings that leave mending out."""
    made = TextMap()
    for mode in _MENDING:
        made.Bind(TCollection_AsciiString(mode), TCollection_AsciiString("0"))
    return made


def _with_plane_curves(shape: TopoDS_Shape) -> TopoDS_Shape:
    """Shape with the plane curves of the edges of all faces but plane ones, and the tolerances that follow."""
    together = ShapeBuild_ReShape()
    for face in shapes.faces(shape):
        if shapes.surface(face).GetType() != GeomAbs_Plane:
            fix = ShapeFix_Face(face)
            fix.SetContext(together)
            fix.FixOrientationMode = fix.FixAddNaturalBoundMode = fix.FixMissingSeamMode = fix.FixSmallAreaWireMode = _OFF
            fix.FixIntersectingWiresMode = fix.FixLoopWiresMode = fix.FixSplitFaceMode = _OFF
            wires = fix.FixWireTool()
            wires.FixReorderMode = wires.FixSelfIntersectionMode = wires.FixSmallMode = wires.FixConnectedMode = _OFF
            wires.FixLackingMode = _OFF
            fix.Perform()
    return together.Apply(shape)


def _name(node: TDF_Label) -> str:
    name = TDataStd_Name()
    is_named = node.FindAttribute(TDataStd_Name.GetID_s(), name)
    return TCollection_AsciiString(name.Get()).ToCString() if is_named else ""
