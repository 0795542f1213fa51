"""Letters sunk into a plane face without a boolean: the face gets their outlines as holes, and walls and floors are set in.

Words: the *host* is the face that letters are sunk into; an *island* is what stands inside a letter (in A, 8, 0).
A boolean works out where the tools meet the body; here that is known beforehand, and every edge is shared from the start: the
letter's outline is the hole's, and its walls hang on it.
Limits: each letter lies wholly inside one plane host; where it does not, or the result is not valid or not the body less the
letters, None is answered and the caller cuts in the usual way.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from OCP.BRep import BRep_Builder
from OCP.BRepClass import BRepClass_FaceClassifier
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.GeomAbs import GeomAbs_Plane
from OCP.gp import gp_Pnt, gp_Vec
from OCP.TopAbs import TopAbs_IN, TopAbs_ON
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Shell, TopoDS_Solid, TopoDS_Wire

from afterpart.solid import shapes
from afterpart.solid.refusals import KERNEL_REFUSALS

SAME = 1e-6
"""Heights this near are one, mm."""

VOLUME_SHARE = 1e-9
"""Most the new body's volume may differ from the body less the letters, as a share."""


@dataclass(frozen=True)
class _Block:
    """What a letter takes away.  mouth: its wires in the host's plane, the outer one first, as a face that closes the block would
    have them; lining: its walls and floor, facing into the block."""

    mouth: tuple[TopoDS_Wire, ...]
    lining: tuple[TopoDS_Face, ...]


def sunk(body: TopoDS_Solid, letters: list[TopoDS_Face], top: float, depth: float, looks: int) -> TopoDS_Solid | None:
    """The body with these faces (lying in the plane z = top) sunk by depth into its face there.

    looks: 1 for a face that looks up, -1 for one that looks down.  None: see the module's limits.
    """
    hosts = [face for face in shapes.faces(body) if _is_host(face, top, looks)]
    shares = [[letter for letter in letters if _holds(host, letter)] for host in hosts]
    if sum(map(len, shares)) != len(letters):
        return None
    try:
        blocks = [_block(letter, gp_Vec(0, 0, -looks * depth)) for letter in letters]
    except KERNEL_REFUSALS:
        return None
    place = {id(letter): block for letter, block in zip(letters, blocks, strict=True)}
    taken = [(host, [place[id(letter)] for letter in own]) for host, own in zip(hosts, shares, strict=True) if own]
    kept = [face for face in shapes.faces(body) if not any(face.IsSame(host) for host, _ in taken)]
    made = closed([*kept, *(face for host, own in taken for face in _lettered(host, own))])
    whole = shapes.volume(body)
    wanted = whole - depth * sum(map(shapes.area, letters))
    is_right = abs(shapes.volume(made) - wanted) <= VOLUME_SHARE * whole and shapes.is_valid(made)
    return made if is_right else None


def _is_host(face: TopoDS_Face, top: float, looks: int) -> bool:
    surface = shapes.surface(face)
    if surface.GetType() != GeomAbs_Plane:
        return False
    point, normal = shapes.middle(face)
    return abs(point.Z() - top) < SAME and normal.Z() * looks > 1 - SAME


def _holds(host: TopoDS_Face, letter: TopoDS_Face) -> bool:
    """Does a point of the letter's outline lie in the host?"""
    point = gp_Pnt(*shapes.point_at(shapes.edges(shapes.outer_wire(letter))[0], 0.5))
    return BRepClass_FaceClassifier(host, point, SAME).State() in (TopAbs_IN, TopAbs_ON)


def _block(letter: TopoDS_Face, into: gp_Vec) -> _Block:
    prism = BRepPrimAPI_MakePrism(letter, into)
    block, lid = prism.Shape(), prism.FirstShape()
    # a face swept the way it looks has its solid inside out
    block = block if shapes.middle(letter)[1].Z() * into.Z() < 0 else block.Reversed()
    faces = shapes.faces(block)
    top = next(face for face in faces if face.IsSame(lid))
    lining = tuple(TopoDS.Face(face.Reversed()) for face in faces if not face.IsSame(lid))
    return _Block((shapes.outer_wire(top), *shapes.inner_wires(top)), lining)


def _lettered(host: TopoDS_Face, blocks: list[_Block]) -> list[TopoDS_Face]:
    """The host with the letters as holes, the islands, walls and floors.

    An edge is run once each way by its two faces: what lies in the host's plane runs every mouth against the block's own lid."""
    holes = [block.mouth[0] for block in blocks]
    islands = [wire for block in blocks for wire in block.mouth[1:]]
    around = plane_face(host, [*shapes.wires(host), *(TopoDS.Wire(wire.Reversed()) for wire in holes)])
    return [around, *(plane_face(host, [TopoDS.Wire(wire.Reversed())]) for wire in islands),
            *(face for block in blocks for face in block.lining)]


def plane_face(like: TopoDS_Face, wires: list[TopoDS_Wire]) -> TopoDS_Face:
    """A face in the plane of another, with these wires."""
    made, builder = TopoDS.Face(like.EmptyCopied()), BRep_Builder()
    for wire in wires:
        builder.Add(made, wire)
    return made


def closed(faces: list[TopoDS_Face]) -> TopoDS_Solid:
    """The solid within faces that share their edges."""
    shell, solid, builder = TopoDS_Shell(), TopoDS_Solid(), BRep_Builder()
    builder.MakeShell(shell)
    for face in faces:
        builder.Add(shell, face)
    shell.Closed(True)
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    return solid
