"""The assembly as meshes in place, and how far each is moved out so that all can be told apart.

Words: a *part* is a piece or all pieces of one bought item, with the number it has on pictures and lists; numbers follow the
order of assembly.  *Moved out*: along the way it comes from, beyond whatever was fitted before it from that side.
Frame: the assembly frame of model/assembly.py, mm.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from afterpart.errors import JobError
from afterpart.model.assembly import Build, Item, Place, Point3
from afterpart.model.feature import Groove
from afterpart.model.piece import Piece
from afterpart.release.shown import Shown, Tint, spoken, tint_of
from afterpart.solid.body import Mesh
from afterpart.solid.hardware import cord_ring, hardware
from afterpart.solid.mesh import joined, moved
from afterpart.words import counted


@dataclass(frozen=True)
class Part:
    """A piece or bought item in its place.  thing: what it is; meshes: one for each that there is."""

    number: int
    thing: Piece | Item
    meshes: tuple[Mesh, ...]
    comes_from: Point3
    order: int
    tint: Tint

    @property
    def label(self) -> str:
        """The name with the count where there are several."""
        name = spoken(self.thing) if isinstance(self.thing, Piece) else self.thing.name
        return name if len(self.meshes) == 1 else counted(
            "{name}, {count} piece", "{name}, {count} pieces", count=len(self.meshes), name=name)

    def shown(self, shift: np.ndarray | None = None) -> Shown:
        """All its meshes as one, moved by `shift`."""
        mesh = self.meshes[0] if len(self.meshes) == 1 else joined(self.meshes)
        return Shown(self.label, mesh if shift is None else Mesh(mesh.vertices + shift, mesh.triangles), self.tint)


def parts_of(build: Build, meshes: Mapping[str, Mesh]) -> tuple[Part, ...]:
    """The parts in order of assembly.  meshes: of the pieces, by file_stem.

    JobError: a cord without its groove.  SolidError: an item whose sizes make no body.
    """
    pieces = {piece.file_stem: piece for piece in build.pieces}
    things = sorted((*build.assembly.places, *build.assembly.items), key=lambda thing: thing.order)
    parts: list[Part] = []
    turns: dict[str, int] = {}
    for thing in things:
        is_piece = isinstance(thing, Place)
        found = (moved(meshes[thing.piece], thing.flipped, thing.shift),) if is_piece else _item_meshes(build, thing)
        if not found:
            continue
        what = pieces[thing.piece] if is_piece else thing
        kind = what.kind if isinstance(what, Piece) else "gasket" if what.kind == "cord" else "item"
        shade = kind if kind in ("gasket", "filter_element", "item") else "stiff"
        turns[shade] = turns.get(shade, -1) + 1
        parts.append(Part(len(parts) + 1, what, found, thing.comes_from, thing.order, tint_of(kind, turns[shade])))
    return tuple(parts)


def _item_meshes(build: Build, item: Item) -> tuple[Mesh, ...]:
    """A bought item in place.  Foam has no mesh of its own: its piece, the filter element, shows it."""
    match item.kind:
        case "foam":
            return ()
        case "cord":
            return (_cord(build, item),)
    return hardware(item)


def _cord(build: Build, item: Item) -> Mesh:
    """The ring of cord on the floor of the groove of the piece it goes into."""
    places = {place.piece: place for place in build.assembly.places}
    for piece in build.pieces:
        for groove in piece.features:
            if isinstance(groove, Groove) and groove.cord and piece.file_stem in item.through and piece.file_stem in places:
                ring = cord_ring(groove.centre, item.diameter, groove.face - groove.depth + item.diameter / 2)
                return moved(ring, places[piece.file_stem].flipped, places[piece.file_stem].shift)
    raise JobError(f"assembly.items: found the cord {item.name!r} without a groove for it, expected a piece in its `through` "
                   "that has a place and a groove with a cord. Take the cord out, or correct through.")


def moved_out(parts: tuple[Part, ...], gap: float) -> tuple[np.ndarray, ...]:
    """How far each part is moved (3,), mm: those fitted first stay; each later one lies at least `gap` beyond what came before
    it from its side.  Parts of one order from one side move together."""
    if not parts:
        return ()
    first = min(part.order for part in parts)
    shifts = [np.zeros(3) for _ in parts]
    base = [i for i, part in enumerate(parts) if part.order == first]
    reach: dict[Point3, float] = {}
    for order in sorted({part.order for part in parts} - {first}):
        for way in sorted({part.comes_from for part in parts if part.order == order}):
            axis = np.array(way)
            group = [i for i, part in enumerate(parts) if part.order == order and part.comes_from == way]
            near, far = _extent([parts[i] for i in group], axis)
            before = reach.get(way, _extent([parts[i] for i in base], axis)[1])
            out = max(0.0, before + gap - near) if axis.any() else 0.0
            reach[way] = far + out
            for i in group:
                shifts[i] = out * axis
    return tuple(shifts)


def _extent(parts: list[Part], axis: np.ndarray) -> tuple[float, float]:
    along = np.concatenate([mesh.vertices @ axis for part in parts for mesh in part.meshes])
    return float(along.min()), float(along.max())
