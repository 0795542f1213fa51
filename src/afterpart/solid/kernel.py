"""The steps of a piece carried out by the solid kernel.

Only child.py imports this module, in a process of its own: loading the kernel takes seconds and a failing fillet may end
the process.  Conventions: mm; the lowest face of a piece lies at z = 0.
Solids of steps come from wires.py, treated edges from edges.py, letters from text_tools.py.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, replace

from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
from OCP.TopoDS import TopoDS_Shape

from afterpart.errors import SolidError
from afterpart.model.piece import Add, ChamferFirstLayer, Cut, Deboss, Keep, Piece, Prism, Solid, TreatLoop
from afterpart.solid import booleans, shapes
from afterpart.solid.body import Body
from afterpart.solid.edges import chamfer_first_layer, treat_loop
from afterpart.solid.mesh import mesh_volume, ways_and_voids
from afterpart.solid.meshing import mesh_of, with_holes_outside
from afterpart.solid.pocket import pocketed
from afterpart.solid.recipe import Group, grouped, recipe_of
from afterpart.solid.refusals import KERNEL_REFUSALS
from afterpart.solid.step_file import ReadBack, facts_of, shape_from_step, step_bytes
from afterpart.solid.sunk import sunk
from afterpart.solid.text_tools import letter_faces, letter_tools
from afterpart.solid.wires import solid_of

STEP_SHARE = 1e-6
"""Most the volume of a STEP file read back may differ from the body's, as a share."""


def build(piece: Piece, chord: float, circumscribed: bool = False) -> tuple[Body, ReadBack]:
    """Carry out the steps and read the STEP file back: the body, and what was read.  See `build_alike`."""
    return build_alike(piece, (piece.file_stem,), chord, circumscribed)[0]


def build_alike(piece: Piece, labels: tuple[str, ...], chord: float, circumscribed: bool = False, stem: int = 0,
                stems: Stems | None = None) -> list[tuple[Body, ReadBack]]:
    """Carry out the steps once for pieces that differ only in their name: for each label its body, whose STEP file carries the
    label and is read back, and what was read.

    chord: largest distance of the mesh from the body; circumscribed: round holes of the mesh drawn round their circle; stem: how
    many groups of its recipe others begin with too; stems: where those are kept.
    SolidError: nothing is left, no valid body, a mesh that is not closed or not the body, a STEP file that is not.
    """
    made = _made_of(piece, stem, stems)
    shape, volume, count = made.shape, shapes.volume(made.shape), len(shapes.solids(made.shape))
    if not count or volume <= 0:
        raise SolidError(f"nothing is left after its {len(piece.steps)} steps; check its loops")
    if not (made.is_checked or shapes.is_valid(shape)):
        raise SolidError("the kernel's own check finds the body invalid; check its loops for overlaps")
    mesh = mesh_of(shape, volume, chord)
    mesh = with_holes_outside(mesh, shape) if circumscribed else mesh
    low, high = shapes.box(shape)
    ways, hollows = ways_and_voids(mesh)
    body = Body(volume, low, high, count, len(shapes.faces(shape)), True, mesh, b"", made.remarks, ways, hollows,
                mesh_volume(mesh))
    written = [_written(shape, label, volume, count) for label in labels]
    return [(replace(body, step=step, read_back=facts_of(back, validate=False)), back) for step, back in written]


def _written(shape: TopoDS_Shape, label: str, volume: float, count: int) -> tuple[bytes, ReadBack]:
    """The shape's STEP file, and what it reads back as.  SolidError: not the shape."""
    step = step_bytes(shape, label)
    back = shape_from_step(step)
    if not _is_same(back, volume, count):
        back = shape_from_step(step, mended=True)
    if not _is_same(back, volume, count):
        raise SolidError(
            f"its STEP file reads back as {back.count} solids of {back.volume:.6f} mm3 instead of "
            f"{count} of {volume:.6f} mm3; correct tiny segments in the drawing"
        )
    return step, back


def _is_same(back: ReadBack, volume: float, count: int) -> bool:
    return back.count == count and abs(back.volume - volume) <= STEP_SHARE * volume


@dataclass(frozen=True)
class Made:
    """A body on its way.  is_checked: the kernel's own check has passed it since it was last changed; remarks: in words; drawn:
    the one prism that is all of it as yet."""

    shape: TopoDS_Shape
    is_checked: bool = False
    remarks: tuple[str, ...] = ()
    drawn: Prism | None = None


Stems = dict[tuple[Group, ...], Made]
"""Bodies that several recipes begin with.  Each goes on with a copy, as the kernel may write into what it is given."""


def _made_of(piece: Piece, stem: int, stems: Stems | None) -> Made:
    """The body, in the order that recipe.py finds; in the order given where that one is refused."""
    recipe, given = recipe_of(piece.steps), grouped(piece.steps)
    try:
        if not stem or stems is None:
            return _all_carried_out(None, recipe)
        if recipe[:stem] not in stems:
            stems[recipe[:stem]] = _all_carried_out(None, recipe[:stem])
        begun = stems[recipe[:stem]]
        return _all_carried_out(replace(begun, shape=BRepBuilderAPI_Copy(begun.shape).Shape()), recipe[stem:])
    except SolidError:
        if recipe == given:
            raise
        return _all_carried_out(None, given)


def _all_carried_out(made: Made | None, recipe: tuple[Group, ...]) -> Made:
    remarks = () if made is None else made.remarks
    for steps in recipe:
        try:
            made = _carried_out(made, steps)
        except SolidError:
            raise
        except KERNEL_REFUSALS as error:
            raise SolidError(
                f"the kernel gave up on a step of kind {type(steps[0]).__name__} ({error}); look for faces that nearly coincide, "
                "and move one of them by 0.01 mm or more"
            ) from error
        if not shapes.solids(made.shape):
            raise SolidError("nothing is left of the body after a step; check its loops")
        remarks += made.remarks
    if made is None:
        raise SolidError("nothing is left after its 0 steps; check its loops")
    return replace(made, remarks=remarks)


def _carried_out(body: Made | None, steps: Group) -> Made:
    """The body after one group of steps."""
    if isinstance(steps[0], Add):
        new = [solid_of(solid) for solid in steps[0].prisms]
        first = steps[0].prisms[0] if body is None and len(new) == 1 else None
        return Made(booleans.fused(new[0], new[1:]) if body is None else booleans.fused(body.shape, new),
                    drawn=first if isinstance(first, Prism) else None)
    if body is None:
        raise SolidError(f"the first step must add material, found {type(steps[0]).__name__}")
    shape = body.shape
    match steps[0]:
        case Keep(prism):
            return Made(booleans.common(shape, solid_of(prism)))
        case ChamferFirstLayer(width):
            found, told = chamfer_first_layer(shape, width)
            return Made(found, found is not shape or body.is_checked, tuple(told))
        case TreatLoop():
            found, told = treat_loop(shape, steps[0])
            return Made(found, True, tuple(told))
        case Deboss() as step:
            return _lettered(body, step)
    return _cut(body, [solid for step in steps if isinstance(step, Cut) for solid in step.prisms])


def _cut(body: Made, tools: list[Solid]) -> Made:
    """A pocket in the bed's face of a prism is set in where that goes; all else is cut."""
    if not tools:
        return body
    if body.drawn is not None and len(tools) == 1 and isinstance(pocket := tools[0], Prism):
        made = pocketed(shapes.solids(body.shape)[0], body.drawn, pocket)
        if made is not None:
            return Made(made, True)
    return Made(booleans.cut(body.shape, [solid_of(tool) for tool in tools]))


def _lettered(body: Made, step: Deboss) -> Made:
    """Letters are set in where that goes, and cut else."""
    letters = letter_faces(step)
    found = shapes.solids(body.shape)
    if not letters:
        return body
    made = sunk(found[0], letters, step.top, step.depth, -1 if step.from_below else 1) if len(found) == 1 else None
    return Made(booleans.cut(body.shape, letter_tools(step))) if made is None else Made(made, True)

