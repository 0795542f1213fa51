"""What of the closed assembly stands out of the joint: into the machine, outwards, and over the part's edge.

Words: the *joint* is the machine's face, z = 0 of the assembly frame; *inside* is the machine's side of it.  A seal that is
squeezed flat and bolts in their threads stand out of nothing.
Conventions: mm; widths are those of what lies inside the machine's face.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Point as Spot

from afterpart.geometry.chain import chain_polygon
from afterpart.model.assembly import Build
from afterpart.model.feature import Groove, Hole, PrintedSeal
from afterpart.model.piece import Piece
from afterpart.release.characteristics import edge_of
from afterpart.release.shown import spoken
from afterpart.solid.body import Mesh
from afterpart.solid.mesh import moved

LEAST = 0.05
"""What stands out by less is level."""


@dataclass(frozen=True)
class Reach:
    """inside: how far into the machine, 0 for nothing; what: reaches there; across: its width along x and y there; outside: how
    far the outermost thing stands from the joint."""

    inside: float
    what: str
    across: tuple[float, float]
    outside: float


def reach_of(build: Build, meshes: Mapping[str, Mesh]) -> Reach | None:
    """meshes: of the pieces, by file_stem.  None: nothing is put together."""
    pieces = {piece.file_stem: piece for piece in build.pieces}
    placed = [(pieces[place.piece], moved(meshes[place.piece], place.flipped, place.shift).vertices)
              for place in build.assembly.places if not _is_seal(pieces[place.piece])]
    if not placed:
        return None
    piece, points = max(placed, key=lambda one: float(one[1][:, 2].max()))
    inside = float(points[:, 2].max())
    lowest = [float(points[:, 2].min()) for _, points in placed]
    lowest += [at[2] - item.head_height for item in build.assembly.items for at in item.at if item.kind in ("bolt", "screw")]
    if inside <= LEAST:
        return Reach(0.0, "", (0.0, 0.0), -min(lowest))
    wide, deep = np.ptp(points[points[:, 2] > LEAST][:, :2], axis=0)
    return Reach(inside, spoken(piece), (float(wide), float(deep)), -min(lowest))


@dataclass(frozen=True)
class OverEdge:
    """over: how far a head or washer, `wide` across, reaches over the part's edge at most; holes: at which it does."""

    over: float
    wide: float
    holes: tuple[str, ...]


def over_edge(build: Build) -> OverEdge | None:
    """Where heads or washers of the bolts reach over the part's edge; None where none does."""
    cover = next((piece for piece in build.pieces if piece.kind == "cover"), None)
    widths = [item.head_diameter for item in build.assembly.items if item.kind in ("bolt", "washer")]
    if cover is None or not widths:
        return None
    edge = chain_polygon(edge_of(cover)).exterior
    over = {hole.id: max(widths) / 2 - edge.distance(Spot(hole.center)) for hole in cover.features
            if isinstance(hole, Hole) and hole.purpose == "bolt"}
    found = tuple(name for name, far in over.items() if far > LEAST)
    return OverEdge(max(over[name] for name in found), max(widths), found) if found else None


def seal_proud(build: Build) -> float:
    """How far the seal stands out of its groove before it is squeezed; 0 without a seal in a groove."""
    grooves = [f for piece in build.pieces for f in piece.features if isinstance(f, Groove)]
    return max((groove.height - groove.depth for groove in grooves), default=0.0)


def _is_seal(piece: Piece) -> bool:
    return any(isinstance(feature, PrintedSeal) for feature in piece.features)
