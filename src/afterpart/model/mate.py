"""The mating part: how its face was photographed, and how it lies on the cover.

Words: the *mate* is what the part is bolted to; *laid* means moved into the cover's drawing, seen from where the cover's drawing
is seen; an *offset* is the mate's place less the cover's, mm, in the axes of the cover's drawing; *room* is what is left of a
gap, negative where two things would stand in each other.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.model.edges import Note
from afterpart.model.outline import Loop, Point

WAYS: dict[str, str] = {
    "alone": "the mate lies by itself on the sheet, its face up, face_height above the table",
    "in place": "on the machine, with a rule or the printed target laid on its face; reference_height is the rule's thickness, "
                "face_height how far the face stands out of what is round it",
    "rubbing": "a rubbing of its face on paper",
    "ink print": "a print of its inked face on paper, which is mirrored",
}
"""How a mate's face may be shown.  A used soft gasket is none of them: it has flowed and shrunk, and is never a gauge."""


@dataclass(frozen=True)
class MateWish:
    """`[mate]` of the job.  way: see WAYS."""

    way: str = "alone"


@dataclass(frozen=True)
class Laying:
    """How the mate's own drawing is laid on the cover's: mirrored (y -> -y) or not, grown by a share, turned, shifted.  growth_u:
    standard uncertainty of that share; as_expected: the pictures fit in the sense that cover and mate face each other."""

    mirrored: bool
    angle_deg: float
    shift: Point
    growth: float
    growth_u: float
    as_expected: bool = True


@dataclass(frozen=True)
class MateHole:
    """A hole of the cover and what stands there on the mate.

    cover, mate: ids of both; at: the cover's middle; diameters; offset: from what the other holes say, with its standard
    uncertainty u in x and y and u_correlation between them; moved: the offset is beyond chance; bolt: nominal diameter of what
    goes through, gap: radial room as drawn, None where it is not known; room: what is left of the gap in the placing that leaves
    most."""

    cover: str
    mate: str
    at: Point
    cover_diameter: float
    mate_diameter: float
    offset: Point
    u: Point
    u_correlation: float
    moved: bool
    bolt: float | None = None
    gap: float | None = None
    room: float | None = None

    @property
    def away(self) -> float:
        """How far the mate's middle lies from the cover's."""
        return float((self.offset[0] ** 2 + self.offset[1] ** 2) ** 0.5)

    @property
    def away_u(self) -> float:
        """Standard uncertainty of `away`, along the offset."""
        x, y = self.offset if self.away > 0.0 else (1.0, 0.0)
        square = (x * self.u[0]) ** 2 + (y * self.u[1]) ** 2 + 2.0 * x * y * self.u_correlation * self.u[0] * self.u[1]
        return float((max(square, 0.0) / (x * x + y * y)) ** 0.5)


@dataclass(frozen=True)
class MateEdge:
    """Room between an edge of the cover and one of the mate, all round, with the holes where the fit has them.

    what: in words; cover, mate: roles or ids; least, most: mm, with their places; u: standard uncertainty of least; must_clear:
    it is a clash when there is none left (else it is only told)."""

    what: str
    cover: str
    mate: str
    least: float
    at: Point
    most: float
    most_at: Point
    u: float
    must_clear: bool = True


@dataclass(frozen=True)
class MateWall:
    """A place of a lip or inner edge of the cover: its name and place there, and the room the mate leaves it, with the holes
    where the fit has them; u: standard uncertainty."""

    name: str
    at: Point
    room: float
    u: float


@dataclass(frozen=True)
class SharedPitch:
    """A distance of two holes that cover and mate share.  id, of: of the cover's dimension; cover, mate: measured; both: the two
    together, u its standard uncertainty; design with its runner_up; alone: the design value's probability by the cover's picture,
    probability: by both."""

    id: str
    of: tuple[str, str]
    cover: float
    mate: float
    both: float
    u: float
    design: float
    runner_up: float
    alone: float
    probability: float


@dataclass(frozen=True)
class Clash:
    """Something that cannot go together, by so many mm, at a place."""

    text: str
    by: float
    at: Point


@dataclass(frozen=True)
class MateMatch:
    """The mate laid on the cover.  of: what of the cover was laid: "drawing", or "cover" for the piece as built; way: of WAYS;
    place_u: standard uncertainty of a place of the mate's edges; shift, turn_deg, amid: the placing that leaves most room;
    lone_cover, lone_mate: holes without a partner; loops: the mate's, laid.  Worst first in holes, edges and clashes."""

    of: str
    way: str
    laying: Laying
    holes: tuple[MateHole, ...]
    edges: tuple[MateEdge, ...]
    clashes: tuple[Clash, ...]
    place_u: float
    shift: Point
    turn_deg: float
    amid: Point
    lone_cover: tuple[str, ...]
    lone_mate: tuple[str, ...]
    loops: tuple[Loop, ...]
    notes: tuple[Note, ...] = ()
    walls: tuple[MateWall, ...] = ()
    pitches: tuple[SharedPitch, ...] = ()
