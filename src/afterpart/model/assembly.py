"""How the pieces go together: the place of each, and what is bought.

Assembly frame: x, y of the drawing; z = 0 in the joint, the plane where the new cover meets the machine; z points into the
machine (towards the camera of the photograph, which sees the mating face).  mm.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, field

from afterpart.model.edges import Note
from afterpart.model.feature import CutRow
from afterpart.model.piece import Piece

Point3 = tuple[float, float, float]


@dataclass(frozen=True)
class Place:
    """Where a piece sits.  piece: its file_stem; flipped: first turned by 180 degrees about the x axis (y -> -y, z -> -z);
    shift: then moved; comes_from: unit vector from its seat towards where it comes from; order: of assembly, from 1."""

    piece: str
    flipped: bool
    shift: Point3
    comes_from: Point3
    order: int


@dataclass(frozen=True)
class Item:
    """A bought thing and where it goes.  kind: bolt | washer | screw | sleeve | insert | cord | foam.

    name: as on a parts list ("ISO 4762 M6 x 20 8.8"); at: a seat for each (under the head, middle of a washer's lower face);
    axis: unit vector from head to tip; diameter, length: of the shank (inside diameter and height of washers and sleeves);
    head_diameter, head_height: also the outside diameter of washers and sleeves; a bolt's height of 0 is a countersunk head, a
    90 degree cone that begins at its seat and counts to its length, as such bolts are sold; comes_from: as a Place's;
    through: file_stems it passes, from head to tip; order: of assembly.
    """

    kind: str
    name: str
    at: tuple[Point3, ...]
    axis: Point3
    diameter: float
    length: float
    head_diameter: float
    head_height: float
    comes_from: Point3
    through: tuple[str, ...]
    order: int


@dataclass(frozen=True)
class Assembly:
    places: tuple[Place, ...] = ()
    items: tuple[Item, ...] = ()


@dataclass(frozen=True)
class PrintCorrection:
    """How files for printing differ from the pieces, so that they come out as drawn.

    material: of the pieces it is for; scale: of the printer (files are 1 / scale as large in the plane of the bed); undersize,
    oversize: of its holes and outsides, mm; kept: diameters of holes that stay as drawn, because a bolt or screw was tried in
    them.  Pilot holes follow the coupon and are not corrected, neither is the coupon."""

    material: str
    scale: float
    undersize: float
    oversize: float
    kept: tuple[float, ...] = ()


@dataclass(frozen=True)
class Build:
    """Everything `build` makes, as data.  cuts: the table of filter cuts; notes: what the maker must know; correction: of the
    files for printing, None for files as drawn."""

    pieces: tuple[Piece, ...]
    assembly: Assembly = Assembly()
    cuts: tuple[CutRow, ...] = ()
    notes: tuple[Note, ...] = field(default=())
    correction: PrintCorrection | None = None
