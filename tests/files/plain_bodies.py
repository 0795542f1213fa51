"""Stand-ins for the pieces' solids: each piece as a plain block over its outline, so that words and places can be tested without
the kernel."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

from afterpart.geometry.chain import chain_points
from afterpart.model.assembly import Build
from afterpart.model.piece import Add, Piece, Prism
from afterpart.solid.body import Mesh

CORNERS = np.array([[0, 2, 1], [0, 3, 2], [4, 5, 6], [4, 6, 7], [0, 1, 5], [0, 5, 4], [1, 2, 6], [1, 6, 5], [2, 3, 7], [2, 7, 6],
                    [3, 0, 4], [3, 4, 7]])


def block(piece: Piece) -> Mesh:
    """The block round the outlines of what the piece is made of, from the bed to its height."""
    points = np.vstack([chain_points(solid.outer, 1.0) for step in piece.steps if isinstance(step, Add) for solid in step.prisms
                        if isinstance(solid, Prism)])
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    ring = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return Mesh(np.array([(x, y, z) for z in (0.0, piece.thickness) for x, y in ring]), CORNERS)


def blocks(build: Build) -> dict[str, Mesh]:
    """A block for each piece, by file_stem."""
    return {piece.file_stem: block(piece) for piece in build.pieces}


def volumes(build: Build) -> dict[str, float]:
    """Of the blocks, mm3, by file_stem."""
    return {stem: float(np.prod(np.ptp(mesh.vertices, axis=0))) for stem, mesh in blocks(build).items()}
