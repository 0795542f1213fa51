"""The assembly as meshes in place, and how far each is moved out so that all can be told apart.

Words: a *part* is a piece or all pieces of one bought item, with the number it has on pictures and lists; numbers follow the
order of assembly.  *Moved out*: along the way it comes from, beyond whatever was fitted before it from that side.
Frame: the assembly frame of model/assembly.py, mm.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from afterpart.model.assembly import Build, Item, Place, Point3
from afterpart.release.shown import Shown, Tint, tint_of
from afterpart.solid.body import Mesh
from afterpart.solid.mesh import joined, moved


@dataclass(frozen=True)
class Part:
    """A piece or bought item in its place.  key: file_stem, or the item's name; meshes: one for each that there is."""

    number: int
    key: str
    name: str
    meshes: tuple[Mesh, ...]
    comes_from: Point3
    order: int
    tint: Tint

    @property
    def label(self) -> str:
        """The name with the count where there are several."""
        return self.name if len(self.meshes) == 1 else f"{self.name}, {len(self.meshes)} pieces"

    def shown(self, shift: np.ndarray | None = None) -> Shown:
        """All its meshes as one, moved by `shift`."""
        mesh = self.meshes[0] if len(self.meshes) == 1 else joined(self.meshes)
        return Shown(self.label, mesh if shift is None else Mesh(mesh.vertices + shift, mesh.triangles), self.tint)


def parts_of(build: Build, meshes: Mapping[str, Mesh], meshes_of: Callable[[Item], tuple[Mesh, ...]]) -> tuple[Part, ...]:
    """The parts in order of assembly.  meshes: of the pieces, by file_stem; meshes_of: those of a bought item, in place."""
    pieces = {piece.file_stem: piece for piece in build.pieces}
    things = sorted((*build.assembly.places, *build.assembly.items), key=lambda thing: thing.order)
    parts: list[Part] = []
    turns: dict[str, int] = {}
    for number, thing in enumerate(things, start=1):
        if isinstance(thing, Place):
            piece = pieces[thing.piece]
            key, name, kind = thing.piece, piece.name, piece.kind
            found: tuple[Mesh, ...] = (moved(meshes[key], thing.flipped, thing.shift),)
        else:
            key, name, kind = thing.name, thing.name, "item"
            found = meshes_of(thing)
        shade = kind if kind in ("gasket", "filter_element", "item") else "stiff"
        turns[shade] = turns.get(shade, -1) + 1
        parts.append(Part(number, key, name, found, thing.comes_from, thing.order, tint_of(kind, turns[shade])))
    return tuple(parts)


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
