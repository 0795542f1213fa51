"""The drawing: loops of lines, arcs and circles, their relations and dimensions.

Frame: the datum frame, x right, y up, mm (or px when the size is unknown).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, field

from afterpart.model.camera import Camera
from afterpart.model.edges import Note, PhotoUsed, Reference, SolvedLevel

Point = tuple[float, float]


@dataclass(frozen=True)
class Line:
    id: str
    start: Point
    end: Point


@dataclass(frozen=True)
class Arc:
    """A circular arc from start to end about center; ccw: counter-clockwise as seen with y up."""

    id: str
    start: Point
    end: Point
    center: Point
    radius: float
    ccw: bool


@dataclass(frozen=True)
class Circle:
    id: str
    center: Point
    radius: float


Segment = Line | Arc | Circle


@dataclass(frozen=True)
class Loop:
    """A closed chain of segments, each starting where the one before ends; or a single Circle.

    role: outer | opening | channel; material to the left: outer counter-clockwise, openings clockwise (circles: by role).
    wall, depth: of what has the role channel, as in model.edges.Rim: outer | inner (a channel's two), pocket | pad (the only
    one).
    """

    role: str
    part: int
    segments: tuple[Segment, ...]
    wall: str = ""
    depth: float | None = None


@dataclass(frozen=True)
class Share:
    """What one cause adds to a dimension's standard uncertainty (root sum of squares over all causes)."""

    cause: str
    u: float


@dataclass(frozen=True)
class ByMate:
    """What the mating part's picture says of a distance of two holes.  measured there, with its standard uncertainty u; moved:
    probability that one of the two holes was moved on either part; alone: probability of the design value by the part's own
    picture; used: the design value rests on both pictures."""

    measured: float
    u: float
    moved: float
    alone: float
    used: bool


@dataclass(frozen=True)
class Dimension:
    """One dimension.  kind: diameter | radius | distance | length | width | angle (degrees) | gap | over | depth | height.

    of: ids of the segments it belongs to; measured with standard uncertainty u; design: the nominal it probably has, equal to
    the solved design geometry; probability of that nominal; runner_up: the next best nominal or None;
    origin: inferred | reading | maker | free; u95: expanded uncertainty at 95 % (Student's factor for dof, the effective degrees
    of freedom; None: more than can be counted); contributions: u by cause, the largest first; mate: what the mating part's
    picture adds to it, where that shows both holes.
    """

    id: str
    kind: str
    of: tuple[str, ...]
    measured: float
    u: float
    design: float
    probability: float
    runner_up: float | None
    origin: str
    u95: float = 0.0
    dof: float | None = None
    contributions: tuple[Share, ...] = ()
    mate: ByMate | None = None

    @property
    def rests_on_mate(self) -> bool:
        """Whether its design value was inferred from the mate's picture too."""
        return self.origin == "inferred" and self.mate is not None and self.mate.used


@dataclass(frozen=True)
class Relation:
    """kind: tangent | concentric | equal_radius | parallel | perpendicular | symmetric | pitch_circle | grid | collinear."""

    kind: str
    of: tuple[str, ...]


@dataclass(frozen=True)
class NextReading:
    id: str
    gain_bits: float
    how: str


@dataclass(frozen=True)
class Datum:
    """Where the drawing's origin and x direction come from, in words, and as a motion.

    A photo-frame point p (EdgeMap.rims) lies at R(-angle_deg) @ (p - origin) in the datum frame.
    """

    text: str
    origin: Point
    angle_deg: float


@dataclass(frozen=True)
class OtherFaceDrawn:
    """The other face as measured, in the datum frame, seen from the drawn face's side.  loops: their segments' ids begin with
    "o"; draft_deg: lean of the walls, positive where the other face is the larger, with its standard uncertainty; rms: of the
    edges both faces share, mm; height: of the other face above the table when it lay up, mm, None where it is not known."""

    loops: tuple[Loop, ...]
    draft_deg: float
    draft_u_deg: float
    rms: float
    height: float | None = None


@dataclass(frozen=True)
class Outline:
    unit: str
    reference: Reference
    datum: Datum
    measured: tuple[Loop, ...]
    design: tuple[Loop, ...]
    dimensions: tuple[Dimension, ...]
    relations: tuple[Relation, ...]
    next_readings: tuple[NextReading, ...] = ()
    notes: tuple[Note, ...] = field(default=())
    camera: Camera | None = None
    """The camera that saw it, in the photo frame (Datum leads from there to the drawing); None when there is none."""
    free: tuple[str, ...] = ()
    """Ids of the design's segments that no relation or number settles: they keep their measured shape."""
    photos: tuple[PhotoUsed, ...] = ()
    """The photographs behind the drawing, where there are several."""
    heights: tuple[SolvedLevel, ...] = ()
    """Heights and depths that photographs from different sides told."""
    other_face: OtherFaceDrawn | None = None
    """The part's other face, seen through the part, where it was photographed."""
