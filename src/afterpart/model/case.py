"""What the checks look at: the job, the outline, the pieces as built, and what was measured on their solids."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.model.assembly import Build
from afterpart.model.job import Job
from afterpart.model.mate import MateMatch
from afterpart.model.outline import Outline
from afterpart.words import entry

BACK, ON, AIR = "back", "on", "air"
OUTSIDE, CLEAN_SIDE = entry("outside"), entry("clean side")
MACHINE_FACE, BARS = entry("the machine's face"), entry("the bars")
"""Values of a Passage: along, ends, and what stops it outright."""


@dataclass(frozen=True)
class Hanging:
    """A patch that looks down and leans past the self-supporting angle.  kind: bridge | unsupported; span: of a bridge."""

    kind: str
    area: float
    at: tuple[float, float, float]
    span: float = 0.0


@dataclass(frozen=True)
class GrooveSection:
    """A groove measured on the solid at one place of its centre line."""

    at: tuple[float, float]
    depth: float
    width: float
    bottom_radius: float


@dataclass(frozen=True)
class Passage:
    """A loose item or piece followed on its way out.  item: its name, or a piece's file_stem; through: the way (words);
    is_open: it fits through; room: free width there; size: the item's smallest width.

    along: back (straight out the way it came: room is then the free way, size the way it needs to come free) | on (through the
    hole it sits in) | air (through an opening for air); by: what stops it, or what leaves the least room; ends: outside | clean
    side; at: where the thing sits, in the assembly; out: unit vector of the way, zero for a way without a direction of its own;
    picture: name of the file that shows the thing and its ways, the same for all of them."""

    item: str
    through: str
    is_open: bool
    room: float
    size: float
    along: str = ""
    by: str = ""
    ends: str = ""
    at: tuple[float, float, float] = (0.0, 0.0, 0.0)
    out: tuple[float, float, float] = (0.0, 0.0, 0.0)
    picture: str = ""


@dataclass(frozen=True)
class CutBody:
    """What the plane of a view cuts out of one body.  name: a piece's file_stem or an item's name; kind: of the piece, or
    "item"; rings: closed runs of points (s, z), material where an odd number of them runs round a place."""

    name: str
    kind: str
    rings: tuple[tuple[tuple[float, float], ...], ...]


@dataclass(frozen=True)
class WayView:
    """The upright cut through a loose thing and what stands about it, and the opening it would have to pass.

    item: as a Passage's; picture: name of the file it is drawn into; point: where s is 0, in the drawing; direction_deg: of s
    from x; low, high: corners of what is shown, in (s, z) of the assembly; thing, others: what the plane cuts there, the thing in
    its seat; sealed: stretches of s that lie within the seal; opening, bars: closed runs of points (x, y) in the assembly;
    ball: the largest that passes the opening past the bars, (x, y, diameter), None without an opening."""

    item: str
    picture: str
    point: tuple[float, float]
    direction_deg: float
    low: tuple[float, float]
    high: tuple[float, float]
    thing: CutBody
    others: tuple[CutBody, ...]
    width: float
    sealed: tuple[tuple[float, float], ...] = ()
    opening: tuple[tuple[tuple[float, float], ...], ...] = ()
    bars: tuple[tuple[tuple[float, float], ...], ...] = ()
    ball: tuple[float, float, float] | None = None


@dataclass(frozen=True)
class BedEdge:
    """The edges of the face on the bed, engravings left out, mm: length of them all, length of those with a chamfer, and the
    least height of such a chamfer (0 where there is none)."""

    length: float
    chamfered: float
    least_chamfer: float


@dataclass(frozen=True)
class BuildWay:
    """A way to lay a piece on the bed.  way: as built | flipped | on edge ...; hanging: area of faces that lean too far, mm2,
    bridges included; unsupported: of that, what no bridge can carry, None where not told apart; bed_area mm2; height of the
    print."""

    way: str
    hanging: float
    unsupported: float | None
    bed_area: float
    height: float


@dataclass(frozen=True)
class PieceFacts:
    """Measured on one built piece.  piece: its file_stem; volume mm3; low, high: its box in the build frame; thinnest: its
    thinnest wall, sharp-edge artefacts left out, None when not measured, and thinnest_at: where it is; bed_area: what touches
    the bed, mm2; ways: how it could lie on the bed, the best first, () when not measured; best_way: of those, with the reason
    in words."""

    piece: str
    volume: float
    low: tuple[float, float, float]
    high: tuple[float, float, float]
    bed_area: float
    hanging: tuple[Hanging, ...] = ()
    thinnest: float | None = None
    sections: tuple[GrooveSection, ...] = ()
    thinnest_at: tuple[float, float, float] | None = None
    bed_edge: BedEdge | None = None
    ways: tuple[BuildWay, ...] = ()
    best_way: str = ""


@dataclass(frozen=True)
class Measured:
    """What was measured on the solids of a build.  build_sha256: of its pieces.json; version: of the program."""

    build_sha256: str
    version: str
    facts: tuple[PieceFacts, ...] = ()
    clashes: tuple[tuple[str, str, float], ...] = ()
    blocked: tuple[str, ...] = ()
    passages: tuple[Passage, ...] = ()
    views: tuple[WayView, ...] = ()


@dataclass(frozen=True)
class Case:
    """clashes: (piece, piece, mm3) that overlap in the assembly; blocked: pieces that cannot go in the way they should;
    mate: the mating part as photographed, laid on the cover; None where no photograph shows it."""

    job: Job
    outline: Outline
    build: Build
    facts: tuple[PieceFacts, ...] = ()
    clashes: tuple[tuple[str, str, float], ...] = ()
    blocked: tuple[str, ...] = ()
    passages: tuple[Passage, ...] = ()
    views: tuple[WayView, ...] = ()
    mate: MateMatch | None = None
