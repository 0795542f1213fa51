"""What a piece has that other pieces, checks and papers must know of: holes, bosses, grooves, seats, lips.

Features are facts about a piece, in the piece's own frame (see piece.py) unless said otherwise; the body itself comes from the
piece's steps.  A `chain` is a closed run of segments in order, or a single Circle.  mm.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.model.outline import Point, Segment

Chain = tuple[Segment, ...]


@dataclass(frozen=True)
class Hole:
    """A round hole along z.  id: the outline's circle or a name; purpose: bolt | screw | pilot | insert | other;
    screw: what goes in, for example "M6"; bottom, top: where it begins and ends; through: open at both ends;
    role: locates | seals | clears | shows, with its clearance all round over what goes through."""

    id: str
    center: Point
    diameter: float
    bottom: float
    top: float
    purpose: str
    screw: str = ""
    through: bool = True
    role: str = "clears"


@dataclass(frozen=True)
class BearingFace:
    """Where a head, washer or sleeve presses: a ring about a hole at height z, looking up (facing = 1) or down (-1).
    of: the hole's id; inner: the hole's diameter; outer: of what presses; room: free diameter round it."""

    of: str
    center: Point
    inner: float
    outer: float
    z: float
    facing: int
    room: float


@dataclass(frozen=True)
class Sleeve:
    """A metal sleeve in a hole: its diameters and length; plastic: thickness of the plastic beside it."""

    of: str
    center: Point
    inside: float
    outside: float
    length: float
    plastic: float


@dataclass(frozen=True)
class Boss:
    """A round boss with a pilot hole for a screw.  opens: 1 when the hole opens at its top, -1 at its bottom."""

    id: str
    center: Point
    diameter: float
    bottom: float
    top: float
    pilot: float
    pilot_depth: float
    engagement: float
    opens: int


@dataclass(frozen=True)
class Groove:
    """A seal groove in the face at height `face`.  centre: the centre line; outer, inner: its walls; corner: the tightest
    radius of the wall inside a bend, with the place of that corner; cord: diameter of the round cord or 0 for a printed ring;
    height: free height of the ring or cord; land_outside, land_inside: narrowest solid width beside it, and where on its
    wall."""

    centre: Chain
    outer: Chain
    inner: Chain
    width: float
    depth: float
    bottom_radius: float
    face: float
    cord: float
    height: float
    corner: float
    corner_at: Point
    land_outside: float
    land_inside: float
    duty: str
    source: str
    land_outside_at: Point = (0.0, 0.0)
    land_inside_at: Point = (0.0, 0.0)


@dataclass(frozen=True)
class PrintedSeal:
    """A seal printed in flexible filament, foot at z = 0.  section: bead | hollow | flat | beaded; centre: the line along which
    it seals, () where a flat one seals over its whole face; width, height: free, height with its crown or rib; area of its
    section mm2 and length of its centre line, 0 where it has no one section; contact: width that meets the other face first;
    channel_width, channel_depth: 0 for a loose one; squeeze: share of its height; fill: share of its channel."""

    section: str
    centre: Chain
    width: float
    height: float
    area: float
    length: float
    contact: float
    channel_width: float
    channel_depth: float
    squeeze: float
    fill: float
    shore_a: float
    duty: str
    wall: float = 0.0
    """Thickness of a hollow ring's wall, 0 for a solid one."""


@dataclass(frozen=True)
class Seat:
    """Where the filter element lies in the cover.  pocket: its wall; ledge: height of the face the element lies on; opening: the
    air's way through the floor; region: what is free for the element (pocket less bosses), with boss circles cut out; bosses:
    middles; boss_diameter; rim: width squeezed; depth: pocket depth below the mating face."""

    pocket: Chain
    ledge: float
    opening: Chain
    region: tuple[Point, ...]
    bosses: tuple[Point, ...]
    boss_diameter: float
    rim: float
    depth: float


@dataclass(frozen=True)
class Opening:
    """A way through for air, or any other opening that is no round hole.  bellmouth: radius of its entry, 0 when sharp."""

    id: str
    chain: Chain
    bottom: float
    top: float
    bellmouth: float = 0.0
    role: str = "clears"


@dataclass(frozen=True)
class Lip:
    """A locating lip: a wall from `bottom` to `top` along a chain; thickness; clearance all round to what it meets."""

    of: str
    outer: Chain
    inner: Chain
    bottom: float
    top: float
    thickness: float
    clearance: float
    role: str = "locates"


@dataclass(frozen=True)
class Rib:
    """The raised rib that squeezes the element's rim: its walls, height over the web, and the share by which it squeezes."""

    outer: Chain
    inner: Chain
    bottom: float
    top: float
    squeeze: float


@dataclass(frozen=True)
class Bar:
    """A support bar from start to end, width across, from bottom to top."""

    start: Point
    end: Point
    width: float
    bottom: float
    top: float


@dataclass(frozen=True)
class Latch:
    """A cantilever hook.  root: where it springs from; length, root thickness, width, and how far it bends to pass; strain:
    share."""

    root: Point
    length: float
    thickness: float
    width: float
    bend: float
    strain: float


@dataclass(frozen=True)
class SeatKey:
    """A rib on the wall of the filter's pocket that only the right way of the clamp frame passes, for its notch lies there.

    at: on the wall; radius: of the half disc by which it stands out; bottom, top; play: of the notch all round it."""

    at: Point
    radius: float
    bottom: float
    top: float
    play: float


@dataclass(frozen=True)
class Peg:
    """A peg on the mating face.  of: id of the old part's hole where the machine has one too; diameter; hole: the machine's."""

    of: str
    center: Point
    diameter: float
    bottom: float
    top: float
    hole: float


Feature = (Hole | BearingFace | Sleeve | Boss | Groove | PrintedSeal | Seat | Opening | Lip | Rib | Bar | Latch | SeatKey
           | Peg)


@dataclass(frozen=True)
class CutRow:
    """One row of the table of filter cuts.  cuts: straight cuts beyond the rectangle's four; corners: of the polygon, in order;
    area mm2; gain over the rectangle (share); gap: share of the seat's area not covered; pressure_ratio: drop against the
    rectangle's at the same flow, as area ratio; face_velocity_m_per_s: None without a flow; chosen.
    form: rectangle | corners cut (its sides stay parallel in pairs) | free; open_area mm2: less the squeezed rim
    and the bars on it."""

    cuts: int
    corners: tuple[Point, ...]
    area: float
    gain: float
    gap: float
    pressure_ratio: float
    face_velocity_m_per_s: float | None = None
    chosen: bool = False
    form: str = "rectangle"
    open_area: float = 0.0
