"""A piece to make, as the list of steps that build it.

Words: a *step* adds, cuts or keeps a prism, chamfers the first layer or debosses text; steps are carried out in order.
A *prism* is a plane region between two heights.  The first layer is the face at z = 0 that lies on the printer's bed.
Frame: the datum frame of the drawing the piece was made from, z up from the bed; mm.
Limits: no work is done here; solid/ turns the steps into a body.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, field

from afterpart.model.edges import Note
from afterpart.model.outline import Point, Segment


@dataclass(frozen=True)
class Prism:
    """The region inside outer and outside every opening, from bottom to top.

    outer, openings: closed chains of segments in order (direction does not matter), or a single Circle each.
    """

    outer: tuple[Segment, ...]
    openings: tuple[tuple[Segment, ...], ...]
    bottom: float
    top: float


@dataclass(frozen=True)
class Add:
    prisms: tuple[Prism, ...]


@dataclass(frozen=True)
class Cut:
    prisms: tuple[Prism, ...]


@dataclass(frozen=True)
class Keep:
    """Only what lies inside the prism stays."""

    prism: Prism


@dataclass(frozen=True)
class ChamferFirstLayer:
    """A 45 degree chamfer of this width on every edge of the lowest face, as far as the kernel can make it."""

    width: float


@dataclass(frozen=True)
class Lettering:
    """One line of text.  at: middle of its capital-letter box; height: of the capital letters; direction angle_deg from x."""

    text: str
    at: Point
    height: float
    angle_deg: float


@dataclass(frozen=True)
class Deboss:
    """Texts sunk `depth` into the face at z = top."""

    texts: tuple[Lettering, ...]
    top: float
    depth: float


Step = Add | Cut | Keep | ChamferFirstLayer | Deboss


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
    """kind: "check_plate"; name: of the job, with its part count where split; file_stem: what its files are called."""

    kind: str
    name: str
    file_stem: str
    revision: str
    steps: tuple[Step, ...]
    thickness: float
    labels: tuple[HoleLabel, ...]
    print_time: PrintTime
    notes: tuple[Note, ...] = field(default=())
