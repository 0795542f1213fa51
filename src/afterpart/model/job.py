"""What the maker knows, as one frozen noun.  Read and checked by job/, from a job file or from the command line alone."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, field, replace

from afterpart.model.fit_report import FitReport
from afterpart.model.mate import MateWish
from afterpart.model.release import ReleaseWish
from afterpart.model.wishes import Wishes


@dataclass(frozen=True)
class Span:
    """Two picked pixels (column, row; centres at .5, upright picture) a known length apart."""

    x1: float
    y1: float
    x2: float
    y2: float
    length: float


@dataclass(frozen=True)
class Rule:
    """A graduated rule: pitch of its finest graduation in mm (1.0 for a mm rule, 25.4 / 16 for sixteenths)."""

    pitch: float
    name: str


@dataclass(frozen=True)
class Damage:
    """A broken, chipped or bent place: a circle in the upright picture (column, row; centres at .5) with its radius in px.

    source: where the part's shape there comes from, "neighbours" (drawn on till they meet) or "mirror" (the part's other side).
    """

    x: float
    y: float
    radius: float
    source: str = "neighbours"


@dataclass(frozen=True)
class Shot:
    """One photograph and what is known about it.  None: not told.

    sheet: width and height in mm of a sheet under the part; target_bar: measured length of the printed target's 100 mm bar;
    calliper: its reading in mm; scan_dpi: resolution of a flatbed scan.  Heights are above the table.
    channel_depth: of the channel's floor below the face, by depth rod; pad_height: of a raised pad's top over the face;
    damage: places the picture is not to be believed in.
    shows: "part", or "mate" for what it is bolted to; face: which of the part's two faces looks up, "mating" or "other".
    sheet_corners_px: the sheet's four corners (column, row) where the maker pointed them out, in any order; () where not.
    """

    file: str
    sheet: tuple[float, float] | None = None
    rule: Rule | None = None
    target_bar: float | None = None
    calliper: float | None = None
    span: Span | None = None
    scan_dpi: float | None = None
    reference_height: float = 0.0
    focal_35mm: float | None = None
    face_height: float | None = None
    edge_radius: float | None = None
    part: int | None = None
    channel_depth: float | None = None
    pad_height: float | None = None
    damage: tuple[Damage, ...] = ()
    shows: str = "part"
    face: str = "mating"
    sheet_corners_px: tuple[tuple[float, float], ...] = ()

    @property
    def is_told(self) -> bool:
        """Does it say anything beyond the picture's file?"""
        return replace(self, file="") != Shot(file="")


@dataclass(frozen=True)
class Reading:
    """A hand measurement of the dimension with this id: value and standard uncertainty in mm (degrees for angles)."""

    id: str
    value: float
    u: float = 0.02


@dataclass(frozen=True)
class Fixed:
    """The design value that the maker says a dimension has, mm (degrees for an angle): the designer's number, no reading of this
    moulding."""

    id: str
    value: float


@dataclass(frozen=True)
class Correction:
    """One correction of the drawing by the maker.  what: see CORRECTIONS; of: ids of segments; at: a place on the segment in the
    drawing's frame, mm; at_px: a place in the upright picture (column, row; centres at .5) of photo number `photo`; id: what an
    opening that is added is called, "" for h1, h2 and so on."""

    what: str
    of: tuple[str, ...] = ()
    at: tuple[float, float] | None = None
    at_px: tuple[float, float] | None = None
    photo: int = 1
    id: str = ""


CORRECTIONS: dict[str, str] = {
    "line": "the stretch is a straight line",
    "arc": "the stretch is an arc",
    "circle": "the whole loop is a circle",
    "split": "the segment is two, parted at a place",
    "join": "two neighbours are one segment",
    "tangent": "two neighbours run into each other smoothly",
    "symmetric": "two segments mirror each other about an axis of the datum, or one lies on it",
    "equal": "the radii are equal",
    "parallel": "two lines are parallel",
    "perpendicular": "two lines are square to each other",
    "concentric": "the centres are one",
    "free": "no design number: the measured shape stands",
    "hole": "an opening was missed at a place of the picture",
    "drop": "the opening is none",
}
"""What a correction may say, and what it means."""


@dataclass(frozen=True)
class Height:
    """One line of the heights card: a level of the part's section, its height or depth in mm, its standard uncertainty.

    level: see LEVELS, which also says what each is measured from."""

    level: str
    value: float
    u: float = 0.03


LEVELS: dict[str, str] = {
    "face": "from the table up to the traced face",
    "channel floor": "from the face down to the floor of the channel",
    "lip": "from the face up to the top of a lip along the edge",
    "boss": "from the face up to the top of a boss",
    "room above": "from the face up to whatever is nearest above it on the machine",
    "room below": "from the underside down to whatever is nearest below it on the machine",
}
"""The levels of a part's section and what each is measured from, in the order of the card."""


@dataclass(frozen=True)
class DatumChoice:
    """The datum the maker wants.

    kind: "auto" | "holes" (two segment ids: origin at the first, x towards the second) | "edge" (one line id: x along it,
    origin at its start) | "point" (origin x, y in mm of the automatic frame, direction angle_deg).
    """

    kind: str = "auto"
    of: tuple[str, ...] = ()
    origin: tuple[float, float] = (0.0, 0.0)
    angle_deg: float = 0.0


@dataclass(frozen=True)
class PlateChoice:
    """The check plate.  bed: printer bed width and depth; frame: print only a frame with islands round the holes."""

    thickness: float = 1.5
    bed: tuple[float, float] = (220.0, 220.0)
    frame: bool = True
    first_layer_chamfer: float = 0.4


@dataclass(frozen=True)
class Job:
    name: str
    shots: tuple[Shot, ...]
    revision: str = "A"
    date: str = ""
    origin: str = "unknown"
    """Unit system the designer worked in: metric | inch | unknown."""
    readings: tuple[Reading, ...] = ()
    datum: DatumChoice = field(default_factory=DatumChoice)
    plate: PlateChoice = field(default_factory=PlateChoice)
    heights: tuple[Height, ...] = ()
    fixed: tuple[Fixed, ...] = ()
    corrections: tuple[Correction, ...] = ()
    drawn: int | None = None
    """Roughly the year it was drawn; None when not told."""
    wishes: Wishes = field(default_factory=Wishes)
    release: ReleaseWish = field(default_factory=ReleaseWish)
    mate: MateWish = field(default_factory=MateWish)
    fit_reports: tuple[FitReport, ...] = ()

    def shots_of(self, shows: str) -> tuple[Shot, ...]:
        """The photographs that show this ("part" or "mate"), in the job's order."""
        return tuple(shot for shot in self.shots if shot.shows == shows)
