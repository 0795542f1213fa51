"""A piece to make, as the list of steps that build it.

Words: a *step* adds, cuts or keeps bodies, treats edges or debosses text; steps are carried out in order.
A *prism* is a plane region between two heights, a *cone* a round body whose radius changes evenly.  The first layer is the
face at z = 0 that lies on the printer's bed.
Frame: the datum frame of the drawing the piece was made from, z up from the bed; mm.
Limits: no work is done here; solid/ turns the steps into a body.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, field

from afterpart.model.edges import Note
from afterpart.model.feature import Feature
from afterpart.model.outline import Point, Segment


@dataclass(frozen=True)
class Prism:
    """The region inside outer and outside every opening, from bottom to top.

    outer, openings: closed chains of segments in order (direction does not matter), or a single Circle each.
    bottom_round, top_round: radius that every edge of the prism's own bottom or top face is rounded with before it is added or
    cut (the corner radius of a groove's floor, the crown of a bead); bottom_bevel, top_bevel: the same as a 45 degree chamfer.
    """

    outer: tuple[Segment, ...]
    openings: tuple[tuple[Segment, ...], ...]
    bottom: float
    top: float
    bottom_round: float = 0.0
    top_round: float = 0.0
    bottom_bevel: float = 0.0
    top_bevel: float = 0.0


@dataclass(frozen=True)
class Cone:
    """A round body along z, from radius bottom_radius at height bottom to top_radius at top (equal radii: a cylinder)."""

    center: Point
    bottom: float
    top: float
    bottom_radius: float
    top_radius: float


Solid = Prism | Cone


@dataclass(frozen=True)
class Add:
    prisms: tuple[Solid, ...]


@dataclass(frozen=True)
class Cut:
    prisms: tuple[Solid, ...]


@dataclass(frozen=True)
class Keep:
    """Only what lies inside the prism stays."""

    prism: Prism


@dataclass(frozen=True)
class ChamferFirstLayer:
    """A 45 degree chamfer of this width on every edge of the lowest face, as far as the kernel can make it."""

    width: float


@dataclass(frozen=True)
class TreatLoop:
    """The edges of the body that lie on this chain at height z are rounded (kind "round") or chamfered at 45 degrees ("bevel")
    with `size`.  An entry for air: first a bevel at the face, then a round where the bevel ends."""

    chain: tuple[Segment, ...]
    z: float
    kind: str
    size: float


@dataclass(frozen=True)
class Lettering:
    """One line of text.  at: middle of its capital-letter box; height: of the capital letters; direction angle_deg from x."""

    text: str
    at: Point
    height: float
    angle_deg: float


@dataclass(frozen=True)
class Deboss:
    """Texts sunk `depth` into the face at z = top.  from_below: the face looks down, and the texts are mirrored so that they
    read
    right from below."""

    texts: tuple[Lettering, ...]
    top: float
    depth: float
    from_below: bool = False


Step = Add | Cut | Keep | ChamferFirstLayer | TreatLoop | Deboss


@dataclass(frozen=True)
class HoleLabel:
    """The number of an opening as it stands on the piece and on its paper.

    segment: id of the opening's first segment in the drawing; center: middle of the opening; at: middle of the number.
    """

    number: int
    segment: str
    center: Point
    at: Point


@dataclass(frozen=True)
class PrintTime:
    """An estimate, in words how it was computed."""

    minutes: float
    full_minutes: float
    """The same for the whole face without windows."""
    how: str


@dataclass(frozen=True)
class Piece:
    """kind: "check_plate" or one of wishes.PIECE_KINDS; name: of the job, with its part count where split; file_stem: what its
    files are called.  The frame is the build orientation: z = 0 on the bed, thickness is its height.  through_holes: how many
    ways lead through the body (its genus), as designed, None when not counted; material: what to print it from."""

    kind: str
    name: str
    file_stem: str
    revision: str
    steps: tuple[Step, ...]
    thickness: float
    labels: tuple[HoleLabel, ...]
    print_time: PrintTime
    notes: tuple[Note, ...] = field(default=())
    features: tuple[Feature, ...] = ()
    through_holes: int | None = None
    material: str = ""
    orientation: str = ""
    """In words: which face lies on the bed, and why."""
