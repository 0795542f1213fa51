"""The steps of a piece carried out by the solid kernel.

Only child.py imports this module, in a process of its own: loading the kernel takes seconds and a failing fillet may end
the process.  Conventions: mm; the lowest face of a piece lies at z = 0.
Solids of steps come from wires.py, treated edges from edges.py, letters from text_tools.py.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Iterable

import build123d as b

from afterpart.errors import SolidError
from afterpart.model.piece import Add, ChamferFirstLayer, Cut, Deboss, Keep, Piece, Step, TreatLoop
from afterpart.solid.body import Body
from afterpart.solid.edges import chamfer_first_layer, treat_loop
from afterpart.solid.mesh import genus, mesh_volume, voids
from afterpart.solid.meshing import mesh_of, with_holes_outside
from afterpart.solid.refusals import KERNEL_REFUSALS
from afterpart.solid.step_file import shape_from_step, step_bytes
from afterpart.solid.sunk import sunk
from afterpart.solid.text_tools import letter_faces, letter_tools
from afterpart.solid.wires import solid_of

STEP_SHARE = 1e-6
"""Most the volume of a STEP file read back may differ from the body's, as a share."""


def build(piece: Piece, chord: float, circumscribed: bool = False) -> tuple[Body, b.Shape]:
    """Carry out the steps and read the STEP file back: the body, and the shape as read back.

    chord: largest distance of the mesh from the body; circumscribed: round holes of the mesh drawn round their circle.
    SolidError: nothing is left, no valid body, a mesh that is not closed or not the body, a STEP file that is not.
    """
    shape, remarks = _all_carried_out(piece)
    if not shape.is_valid:
        raise SolidError("the kernel's own check finds the body invalid; check its loops for overlaps")
    volume = shape.volume
    mesh = mesh_of(shape, volume, chord)
    mesh = with_holes_outside(mesh, shape) if circumscribed else mesh
    step = step_bytes(shape, piece.file_stem)
    back = shape_from_step(step)
    volume_back = back.volume
    if abs(volume_back - volume) > STEP_SHARE * volume or len(back.solids()) != len(shape.solids()):
        raise SolidError(
            f"its STEP file reads back as {len(back.solids())} solids of {volume_back:.6f} mm3 instead of "
            f"{len(shape.solids())} of {volume:.6f} mm3; correct tiny segments in the drawing"
        )
    box = shape.bounding_box()
    body = Body(
        volume, tuple(box.min), tuple(box.max), len(shape.solids()), len(shape.faces()), True, mesh, step, tuple(remarks),
        genus(mesh), len(voids(mesh)), mesh_volume(mesh),
    )
    return body, back


def _all_carried_out(piece: Piece) -> tuple[b.Shape, list[str]]:
    shape: b.Shape | None = None
    remarks: list[str] = []
    for steps in _grouped(piece.steps):
        try:
            found, told = _carried_out(shape, steps)
        except SolidError:
            raise
        except KERNEL_REFUSALS as error:
            raise SolidError(
                f"the kernel gave up on a step of kind {type(steps[0]).__name__} ({error}); look for faces that nearly coincide, "
                "and move one of them by 0.01 mm or more"
            ) from error
        shape = _one_shape(found)
        remarks += told
    if shape is None or not shape.solids() or shape.volume <= 0:
        raise SolidError(f"nothing is left after its {len(piece.steps)} steps; check its loops")
    return shape, remarks


def _carried_out(shape: b.Shape | None, steps: list[Step]) -> tuple[b.Shape | list | None, list[str]]:
    """The shape after one group of steps, and remarks."""
    match steps[0]:
        case Add(solids):
            new = [solid_of(solid) for solid in solids]
            if shape is None:
                return new[0].fuse(*new[1:]) if len(new) > 1 else new[0], []
            return shape.fuse(*new), []
        case _ if shape is None:
            raise SolidError(f"the first step must add material, found {type(steps[0]).__name__}")
        case Keep(prism):
            return shape.intersect(solid_of(prism)), []
        case ChamferFirstLayer(width):
            return chamfer_first_layer(shape, width)
        case TreatLoop():
            return treat_loop(shape, steps[0])
        case Deboss() as step if len(shape.solids()) == 1:
            letters = letter_faces(step)
            made = sunk(shape.solid(), letters, step.top, step.depth, -1 if step.from_below else 1) if letters else shape
            if made is not None:
                return made, []
    tools = [tool for step in steps for tool in _cutting_tools(step)]
    return shape.cut(*tools) if tools else shape, []


def _grouped(steps: Iterable[Step]) -> list[list[Step]]:
    """Cuts one after the other go together: their order does not matter, and one large boolean is quicker than several."""
    groups: list[list[Step]] = []
    for step in steps:
        if groups and isinstance(step, Cut) and isinstance(groups[-1][0], Cut):
            groups[-1].append(step)
        else:
            groups.append([step])
    return groups


def _cutting_tools(step: Step) -> list[b.Solid]:
    match step:
        case Cut(prisms):
            return [solid_of(p) for p in prisms]
        case Deboss():
            return letter_tools(step)
    return []


def _one_shape(found: b.Shape | list | None) -> b.Shape:
    """Booleans answer with a shape, a list of shapes or nothing; the next step needs one shape."""
    if isinstance(found, b.Shape) and not isinstance(found, (list, tuple)):
        return found
    solids = [s for shape in found or () for s in shape.solids()]
    if not solids:
        raise SolidError("nothing is left of the body after a step; check its loops")
    return solids[0] if len(solids) == 1 else b.Compound(solids)
