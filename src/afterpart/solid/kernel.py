"""The steps of a piece carried out by the solid kernel.

Only child.py imports this module, in a process of its own: loading the kernel takes seconds and a failing fillet may end
the process.  Conventions: mm; the lowest face of a piece lies at z = 0.
Limits: a chamfer that fails on all edges together is tried loop by loop, then narrower; what stays sharp is remarked.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
import tempfile
from collections.abc import Iterable
from pathlib import Path

import build123d as b
import numpy as np
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools

from afterpart.errors import SolidError
from afterpart.model.outline import Arc, Circle, Line, Segment
from afterpart.model.piece import Add, ChamferFirstLayer, Cut, Deboss, Keep, Lettering, Piece, Prism, Step
from afterpart.solid.body import Body, Mesh, StepFacts
from afterpart.solid.lettering import FONT_FILE, font_size

_FIXED_TIMESTAMP = "2000-01-01T00:00:00"
"""Written into every STEP header instead of the clock, so that the same piece gives the same bytes."""

_TURN_RAD = 0.35
"""Largest turn between neighbouring chords, so that small holes stay round: 18 sides at least."""

_NARROWER = (1.0, 0.75, 0.5)
"""Shares of the asked chamfer width tried in turn."""


def build(piece: Piece, chord: float) -> Body:
    """Carry out the steps; `chord`: largest distance of the mesh from the body.  SolidError: nothing or no valid body."""
    shape: b.Shape | None = None
    remarks: list[str] = []
    for steps in _grouped(piece.steps):
        match steps[0]:
            case Add(prisms):
                new = [_extruded(p) for p in prisms]
                shape = new[0].fuse(*new[1:]) if shape is None and len(new) > 1 else new[0] if shape is None else shape.fuse(*new)
            case _ if shape is None:
                raise SolidError(f"piece {piece.name!r}: the first step must add material, found {type(steps[0]).__name__}")
            case Keep(prism):
                shape = shape.intersect(_extruded(prism))
            case ChamferFirstLayer(width):
                shape, told = _chamfer_first_layer(shape, width)
                remarks += told
            case Cut() | Deboss():
                tools = [tool for step in steps for tool in _cutting_tools(step)]
                shape = shape.cut(*tools) if tools else shape
        shape = _one_shape(shape, piece.name)
    solids = shape.solids() if shape is not None else []
    if shape is None or not solids or shape.volume <= 0:
        raise SolidError(f"piece {piece.name!r}: nothing is left after its {len(piece.steps)} steps; check its loops")
    if not shape.is_valid:
        raise SolidError(f"piece {piece.name!r}: the kernel's own check finds the body invalid; check its loops for overlaps")
    box = shape.bounding_box()
    return Body(
        shape.volume,
        tuple(box.min),
        tuple(box.max),
        len(solids),
        len(shape.faces()),
        True,
        mesh_of(shape, chord),
        step_bytes(shape, piece.file_stem),
        tuple(remarks),
    )


def _grouped(steps: Iterable[Step]) -> list[list[Step]]:
    """Steps that take material away one after the other go together: their order does not matter, and one large boolean is
    quicker than several."""
    groups: list[list[Step]] = []
    for step in steps:
        if groups and isinstance(step, (Cut, Deboss)) and isinstance(groups[-1][0], (Cut, Deboss)):
            groups[-1].append(step)
        else:
            groups.append([step])
    return groups


def _cutting_tools(step: Step) -> list[b.Solid]:
    match step:
        case Cut(prisms):
            return [_extruded(p) for p in prisms]
        case Deboss(texts, top, depth):
            return [solid for text in texts for solid in _letters(text, top, depth)]
    return []


def step_bytes(shape: b.Shape, label: str) -> bytes:
    """The shape as a STEP file in mm, its product called `label`."""
    shape.label = label
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "piece.step"
        if not b.export_step(shape, path, unit=b.Unit.MM, write_pcurves=False, timestamp=_FIXED_TIMESTAMP):
            raise SolidError(f"the kernel could not write {label!r} as STEP")
        return path.read_bytes().replace(str(path).encode(), label.encode() + b".step")


def read_step(data: bytes, validate: bool = True) -> StepFacts:
    """Read a STEP file back; validate: also let the kernel check every face, which takes as long as the reading itself.

    SolidError: not readable."""
    shape = _shape_from_step(data)
    return StepFacts(shape.label, shape.volume, len(shape.solids()), bool(shape.is_valid) if validate else None)


def section_area(data: bytes, z: float) -> float:
    """Area of the cut through a STEP file's body at height z, mm2.  SolidError: not readable."""
    shape = _shape_from_step(data)
    box = shape.bounding_box()
    reach = 2 * (box.diagonal + 1)
    plane = b.Face.make_rect(reach, reach, b.Plane((box.center().X, box.center().Y, z)))
    cut = plane.intersect(shape)
    return float(sum(face.area for face in cut.faces())) if cut is not None else 0.0


def mesh_of(shape: b.Shape, chord: float) -> Mesh:
    """Triangles of the shape, closed: points of neighbouring faces that coincide are one vertex."""
    # The library's own call takes its tolerance as a share of each edge's length; here it is a distance.
    BRepTools.Clean_s(shape.wrapped)
    BRepMesh_IncrementalMesh(shape.wrapped, chord, False, _TURN_RAD, False)
    raw, triangles = shape.tessellate(10 * chord, _TURN_RAD)
    points = np.array([(v.X, v.Y, v.Z) for v in raw])
    _, first, index = np.unique(np.round(points, 6), axis=0, return_index=True, return_inverse=True)
    faces = index.ravel()[np.array(triangles, dtype=np.int64)]
    real = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    return Mesh(points[first], faces[real].astype(np.int32))


def _shape_from_step(data: bytes) -> b.Shape:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "piece.step"
        path.write_bytes(data)
        try:
            shape = b.import_step(path)
        except (ValueError, RuntimeError, FileNotFoundError) as error:
            raise SolidError(f"the STEP file ({len(data)} bytes) cannot be read back: {error}") from error
    if not shape.solids():
        raise SolidError(f"the STEP file ({len(data)} bytes) cannot be read back: it holds no solid")
    return shape


def _one_shape(found: b.Shape | list | None, name: str) -> b.Shape:
    """Booleans answer with a shape, a list of shapes or nothing; the next step needs one shape."""
    if found is None:
        raise SolidError(f"piece {name!r}: a step left nothing of the body; check its loops")
    if isinstance(found, b.Shape) and not isinstance(found, (list, tuple)):
        return found
    solids = [s for shape in found for s in shape.solids()]
    if not solids:
        raise SolidError(f"piece {name!r}: a step left nothing of the body; check its loops")
    return solids[0] if len(solids) == 1 else b.Compound(solids)


def _edge(segment: Segment, z: float) -> b.Edge:
    match segment:
        case Line(_, start, end):
            return b.Edge.make_line((*start, z), (*end, z))
        case Circle(_, center, radius):
            return b.Edge.make_circle(radius, b.Plane((*center, z)))
        case Arc(_, start, end, center, radius, ccw):
            first = math.atan2(start[1] - center[1], start[0] - center[0])
            last = math.atan2(end[1] - center[1], end[0] - center[0])
            sweep = (last - first) % math.tau if ccw else -((first - last) % math.tau)
            middle = first + sweep / 2
            through = (center[0] + radius * math.cos(middle), center[1] + radius * math.sin(middle), z)
            return b.Edge.make_three_point_arc((*start, z), through, (*end, z))


def _wire(segments: Iterable[Segment], z: float) -> b.Wire:
    chain = tuple(segments)
    try:
        wire = b.Wire([_edge(s, z) for s in chain])
    except (ValueError, RuntimeError) as error:
        raise SolidError(
            f"the loop of {', '.join(s.id or type(s).__name__ for s in chain[:4])} ... makes no wire: {error}"
        ) from error
    if not wire.is_closed:
        raise SolidError(f"the loop of {', '.join(s.id or type(s).__name__ for s in chain[:4])} ... is not closed")
    return wire


def _extruded(prism: Prism) -> b.Solid:
    face = b.Face(_wire(prism.outer, prism.bottom), [_wire(o, prism.bottom) for o in prism.openings])
    up = face.normal_at().Z
    height = prism.top - prism.bottom
    solid = b.Solid.extrude(face if up > 0 else -face, b.Vector(0, 0, height))
    if not solid.is_valid or solid.volume <= 0:
        raise SolidError(
            "a loop crosses itself or an opening leaves its outer loop: no valid prism comes of it; correct the drawing"
        )
    return solid


def _letters(text: Lettering, top: float, depth: float) -> list[b.Solid]:
    size = font_size(text.height)
    # The sketch is centred on its baseline box by hand: aligning on the ink would shift "1" against "2".
    sketch = b.Compound.make_text(
        text.text, size, font_path=str(FONT_FILE), text_align=(b.TextAlign.CENTER, b.TextAlign.BOTTOM), align=None
    )
    box = sketch.bounding_box()
    base = (
        b.Compound.make_text("H", size, font_path=str(FONT_FILE), text_align=(b.TextAlign.CENTER, b.TextAlign.BOTTOM), align=None)
        .bounding_box()
        .min.Y
    )
    centred = b.Location((-(box.min.X + box.max.X) / 2, -base - text.height / 2, 0))
    place = b.Location((*text.at, top - depth), (0, 0, text.angle_deg))
    # Twice the depth: the tool must leave the face, not end in it.
    return [b.Solid.extrude(face.moved(place * centred), b.Vector(0, 0, 2 * depth)) for face in sketch.faces()]


def _chamfer_first_layer(shape: b.Shape, width: float) -> tuple[b.Shape, list[str]]:
    solid = shape.solid() if len(shape.solids()) == 1 else None
    if solid is None:
        raise SolidError("a first-layer chamfer needs one connected body; found several")
    try:
        made = solid.chamfer(width, None, _first_layer_edges(solid))
        if made.is_valid:
            return made, []
    except (ValueError, RuntimeError):
        pass
    return _chamfer_loop_by_loop(solid, width)


def _first_layer_edges(solid: b.Solid) -> list[b.Edge]:
    return list(_first_layer_face(solid).edges())


def _first_layer_face(solid: b.Solid) -> b.Face:
    return solid.faces().sort_by(b.Axis.Z)[0]


def _chamfer_loop_by_loop(solid: b.Solid, width: float) -> tuple[b.Shape, list[str]]:
    """Chamfer the loops one after the other, each as wide as the kernel can make it."""
    remarks = []
    middles = [wire.edges()[0] @ 0.5 for wire in _first_layer_face(solid).wires()]
    for middle in middles:
        for share in _NARROWER:
            edges = _loop_through(solid, middle)
            try:
                made = solid.chamfer(width * share, None, edges)
            except (ValueError, RuntimeError):
                continue
            if made.is_valid and made.volume < solid.volume:
                solid = made.solid()
                if share < 1:
                    remarks.append(
                        f"the first-layer edge through ({middle.X:.1f}, {middle.Y:.1f}) has a chamfer of "
                        f"{width * share:.2f} mm instead of {width:.2f} mm: its curves are too tight for more"
                    )
                break
        else:
            remarks.append(
                f"the first-layer edge through ({middle.X:.1f}, {middle.Y:.1f}) stays sharp: no chamfer fits its "
                "curves; take off the first layer's bulge there with a knife"
            )
    return solid, remarks


def _loop_through(solid: b.Solid, point: b.Vector) -> list[b.Edge]:
    wires = _first_layer_face(solid).wires()
    nearest = min(wires, key=lambda w: w.distance_to(b.Vertex(point)))
    return list(nearest.edges())
