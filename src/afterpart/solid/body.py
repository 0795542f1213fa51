"""What the kernel says about a piece, as plain numbers and arrays.  Imports no kernel."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from afterpart.model.outline import Point, Segment


@dataclass(frozen=True)
class Mesh:
    """vertices: (n, 3) mm; triangles: (m, 3) indices, counter-clockwise seen from outside; every edge shared by two."""

    vertices: np.ndarray
    triangles: np.ndarray


@dataclass(frozen=True)
class StepFacts:
    """What a STEP file holds when read back: label of its product, volume mm3, solids; validity: None where not asked for."""

    label: str
    volume: float
    solids: int
    is_valid: bool | None


NOT_READ = StepFacts("", 0.0, 0, None)
"""Of a body whose STEP file nobody has read back."""


@dataclass(frozen=True)
class Body:
    """A solid as built: volume mm3, low and high corner of its box, faces and solids counted, its mesh, its STEP file.

    remarks: what the kernel could not make as asked, in words; genus: ways through, counted on the mesh over all lumps;
    voids: closed hollows inside; mesh_volume: of the mesh, mm3 (of holes drawn circumscribed, where asked for); read_back: what
    the STEP file held when it was read again.
    """

    volume: float
    low: tuple[float, float, float]
    high: tuple[float, float, float]
    solids: int
    faces: int
    is_valid: bool
    mesh: Mesh
    step: bytes
    remarks: tuple[str, ...]
    genus: int = 0
    voids: int = 0
    mesh_volume: float = 0.0
    read_back: StepFacts = NOT_READ


@dataclass(frozen=True)
class Section:
    """The cut of an upright plane through a body.

    The plane passes through `point` (x, y) in direction direction_deg from x; its own axes are s along the direction, 0 at the
    point, and z up.  loops: closed chains in (s, z) with the material on the left, outer ones first: Lines, Arcs and Circles as
    the kernel has them; other curves are runs of short Lines with the id "curve" that keep within 1e-4 mm.  area: of the cut
    material, mm2.
    """

    point: Point
    direction_deg: float
    loops: tuple[tuple[Segment, ...], ...]
    area: float

    @property
    def segments(self) -> tuple[Segment, ...]:
        """All segments of all loops."""
        return tuple(segment for loop in self.loops for segment in loop)
