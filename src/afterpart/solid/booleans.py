"""Bodies joined, cut and held against each other, with faces and edges made one where they go on in the same surface or line.

Conventions: an answer of one solid is that solid, of several a compound of them.  One thread: two kernel processes share the
machine, and the order of what comes out must not depend on a race.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence

from OCP.BRepAlgoAPI import BRepAlgoAPI_BooleanOperation, BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
from OCP.TopAbs import TopAbs_COMPOUND
from OCP.TopoDS import TopoDS_Iterator, TopoDS_Shape

from afterpart.solid.refusals import KERNEL_REFUSALS
from afterpart.solid.shapes import listed


def fused(shape: TopoDS_Shape, others: Sequence[TopoDS_Shape]) -> TopoDS_Shape:
    """All of them as one body."""
    return _combined(BRepAlgoAPI_Fuse(), shape, others) if others else shape


def cut(shape: TopoDS_Shape, tools: Sequence[TopoDS_Shape]) -> TopoDS_Shape:
    """The shape less the tools."""
    return _combined(BRepAlgoAPI_Cut(), shape, tools) if tools else shape


def common(shape: TopoDS_Shape, other: TopoDS_Shape) -> TopoDS_Shape:
    """What lies in both."""
    return _combined(BRepAlgoAPI_Common(), shape, [other])


def _combined(operation: BRepAlgoAPI_BooleanOperation, shape: TopoDS_Shape, tools: Sequence[TopoDS_Shape]) -> TopoDS_Shape:
    operation.SetArguments(listed([shape]))
    operation.SetTools(listed(tools))
    operation.SetRunParallel(False)
    operation.SetUseOBB(True)  # boxes along the faces: rings of many bends would meet in upright ones all over
    operation.SetCheckInverted(False)  # what comes here encloses a volume above zero
    operation.Build()
    return unwrapped(_simplified(operation.Shape()))


def _simplified(shape: TopoDS_Shape) -> TopoDS_Shape:
    unifier = ShapeUpgrade_UnifySameDomain(shape, True, True, True)
    unifier.AllowInternalEdges(False)
    try:
        unifier.Build()
        return unifier.Shape()
    except KERNEL_REFUSALS:  # the body is right as it is, only with more faces than it needs
        return shape


def unwrapped(shape: TopoDS_Shape) -> TopoDS_Shape:
    """The one thing in a compound of one, however deep."""
    while shape.ShapeType() == TopAbs_COMPOUND and shape.NbChildren() == 1:
        shape = TopoDS_Iterator(shape).Value()
    return shape
