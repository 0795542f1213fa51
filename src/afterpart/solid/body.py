"""What the kernel says about a piece, as plain numbers and arrays.  Imports no kernel."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Mesh:
    """vertices: (n, 3) mm; triangles: (m, 3) indices, counter-clockwise seen from outside; every edge shared by two."""

    vertices: np.ndarray
    triangles: np.ndarray


@dataclass(frozen=True)
class Body:
    """A solid as built: volume mm3, low and high corner of its box, faces and solids counted, its mesh, its STEP file.

    remarks: what the kernel could not make as asked, in words.
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


@dataclass(frozen=True)
class StepFacts:
    """What a STEP file holds when read back: label of its product, volume mm3, solids; validity: None where not asked for."""

    label: str
    volume: float
    solids: int
    is_valid: bool | None
