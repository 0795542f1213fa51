"""What the checks look at: the job, the outline, the pieces as built, and what was measured on their solids."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.model.assembly import Build
from afterpart.model.job import Job
from afterpart.model.mate import MateMatch
from afterpart.model.outline import Outline


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
    side."""

    item: str
    through: str
    is_open: bool
    room: float
    size: float
    along: str = ""
    by: str = ""
    ends: str = ""


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
    mate: MateMatch | None = None
