"""The edge points of a part's rims, as the photo stage hands them on.

A *rim* is one closed boundary of the face: the outer one, or that of an opening.  Its points stand for the vertical wall of
the material (where a calliper's jaw would touch), whatever height the visible edge had.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from afterpart.model.camera import Camera


@dataclass(frozen=True)
class Note:
    """Something the maker should know.  code: short, stable, for programs; text: one or two plain sentences."""

    code: str
    text: str


TWO_WALLS, ONE_WALL = ("outer", "inner"), ("pocket", "pad")
"""Walls of a channel, and those of what has one wall."""


@dataclass(frozen=True)
class Rim:
    """One closed boundary.

    role: "outer" | "opening" | "channel"; part: 1 is the largest part in the picture.
    points: (n, 2) in the map's unit, in order along the rim, not repeated at the end; outer rims run counter-clockwise,
    openings clockwise, so the material always lies to the left.
    u: (n,) standard uncertainty of each point along the rim's normal, same unit, noise only (scale and pose excluded).
    wall: "outer" | "inner" for the two rims of a channel, which stand side by side in a map, "pocket" | "pad" for a recess or a
    raised stretch with one wall, else ""; depth: of the floor below the face in mm, negative for a pad, None where it was not
    told.  These rims run so that the face lies to the left: outer wall and pocket clockwise, inner wall and pad
    counter-clockwise.
    doubts: how far the whole rim may stand off together with the others, mm away from the material at one standard uncertainty,
    one for each independent way (EdgeMap's rims all have as many, or none).
    round_cov: covariance (3 rows of 3) of centre x, y and radius of a rim whose sectors settled it as a circle, else ().
    """

    role: str
    part: int
    points: np.ndarray
    u: np.ndarray
    wall: str = ""
    depth: float | None = None
    doubts: tuple[float, ...] = ()
    round_cov: tuple[tuple[float, ...], ...] = ()


def is_loose(rim: Rim) -> bool:
    """Whether a rim is of a pad whose height is not known: it lies nearer to the camera than it is drawn by an unknown amount."""
    return rim.wall == "pad" and rim.depth is None


def other_wall(rims: Sequence[Rim], at: int) -> Rim | None:
    """The other wall of the channel that rim number `at` is a wall of; None for any other rim."""
    if rims[at].wall not in TWO_WALLS:
        return None
    return rims[at + 1 if rims[at].wall == "outer" else at - 1]


@dataclass(frozen=True)
class Reference:
    """What gave the scale.  kind: sheet | rule | target | calliper | span | scan | readings | none (joined by '+').

    px_per_mm: picture pixels per mm at the face, in the middle of the part; relative_u: standard uncertainty of the scale
    as a share of it, common to every dimension.
    """

    kind: str
    px_per_mm: float
    relative_u: float


@dataclass(frozen=True)
class SeenReference:
    """Where a reference of known size was seen: its kind, and the border (column, row) round the points that were used of it."""

    kind: str
    border_px: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class SharedErrors:
    """Errors that move all edge points of a picture together, one row a cause (systematic effects).

    middle, reach: a point p of the face has the coordinates (x, y) = (p - middle) / reach; causes: (m) in plain words, one cause
    may have several rows; dof: (m) degrees of freedom behind each (None: judged, not observed); along_x, along_y: (m, 10)
    displacement at one standard uncertainty, in the map's unit, as factors of the terms of geometry/cubic.py.  Rows are
    independent of one another; shifts and turns of the whole face are left out.
    """

    middle: tuple[float, float]
    reach: float
    causes: tuple[str, ...]
    dof: tuple[float | None, ...]
    along_x: np.ndarray
    along_y: np.ndarray


@dataclass(frozen=True)
class DamagedPlace:
    """A circle of the face whose rims are left out, in the map's frame and unit; source: "neighbours" | "mirror"."""

    center: tuple[float, float]
    radius: float
    source: str = "neighbours"


@dataclass(frozen=True)
class AskedRim:
    """The opening that was looked for where the maker pointed: at_px (column, row) in the upright picture of photo number
    `photo`, and its rim."""

    at_px: tuple[float, float]
    rim: Rim
    photo: int = 1


@dataclass(frozen=True)
class PhotoUsed:
    """One photograph among several.  face: that looked up; laying: photographs of one number were taken without moving anything
    but the camera; tilt_deg, distance: of the camera, from straight down, and its height above the table in mm; rms: of its rims
    about the common drawing, mm; share: what it counts in the drawing; contradicts: why it was left out, "" where it was not."""

    file: str
    face: str
    laying: int
    tilt_deg: float
    distance: float
    rms: float
    share: float
    contradicts: str = ""


@dataclass(frozen=True)
class PhotoView:
    """How one photograph sees the map's points.  file: of it; a point p goes to growth R(turn_deg) p + shift, its x turned over
    first where `mirrored`, and lies there at `height` in the world of `camera`; seen: where its references were seen; growth:
    what brings the drawn face's size to that the photograph's own reference tells."""

    file: str
    camera: Camera
    height: float
    turn_deg: float = 0.0
    shift: tuple[float, float] = (0.0, 0.0)
    mirrored: bool = False
    seen: tuple[SeenReference, ...] = ()
    growth: float = 1.0


@dataclass(frozen=True)
class SolvedLevel:
    """A level of the part's section that photographs told.  level: as in model/job.LEVELS, or "other face"; value and standard
    uncertainty u in mm; how: from what."""

    level: str
    value: float
    u: float
    how: str


@dataclass(frozen=True)
class OtherFace:
    """The part's other face, seen through the part from the drawn one.  rims: in the map's frame, material left; draft_deg: lean
    of the outer wall as the two outlines differ (positive: the other face is larger), with its standard uncertainty; rms: of
    the rims both faces share, mm.  turn_deg, shift, growth: a point of its own frame, x turned over, goes to
    growth R(turn_deg) p + shift; growth: what brings it to the drawn face's size."""

    rims: tuple[Rim, ...]
    draft_deg: float
    draft_u_deg: float
    rms: float
    turn_deg: float = 0.0
    shift: tuple[float, float] = (0.0, 0.0)
    growth: float = 1.0


@dataclass(frozen=True)
class WitnessHole:
    """A hole that the mate's picture shows too.  own: its middle in the map; mate: in the mate's own drawing, mm, with its
    standard uncertainty u in each direction, its picture's scale apart."""

    own: tuple[float, float]
    mate: tuple[float, float]
    u: float


@dataclass(frozen=True)
class Witness:
    """What the mate's picture says of the places of holes: both parts were made to one drawing.  mirrored: the mate's drawing is
    turned over to lie on the map; growth_u: standard uncertainty of its size, relative."""

    holes: tuple[WitnessHole, ...]
    mirrored: bool
    growth_u: float


@dataclass(frozen=True)
class EdgeMap:
    """All rims of one picture, with the camera that saw them.  unit: "mm", or "px" when nothing told the size."""

    unit: str
    rims: tuple[Rim, ...]
    reference: Reference
    camera: Camera | None
    face_height: float
    edge_radius: float
    photo: str = ""
    notes: tuple[Note, ...] = field(default=())
    blur_px: float = 1.0
    """Standard deviation of the picture's blur, as its edges show it."""
    rim_bias_u: float = 0.0
    """Standard uncertainty of an error common to a whole rim, same unit: large where the face's height, and with it what the rim
    shows of rounding and wall, is not known."""
    sharpening: float = 0.3
    """Share of a wider blur that the phone took away again, as the edges show it."""
    draft_deg: float = 0.0
    """Lean of the walls as the rims show it: an opening is narrower, the outside wider at the table than at the face."""
    shared: SharedErrors | None = None
    """What camera, reference and heights may be off by, for all rims together; None: no more than the reference's relative_u."""
    damage: tuple[DamagedPlace, ...] = ()
    """Places told as damaged: rims have no points there, and openings that lay wholly within are missing."""
    asked: tuple[AskedRim, ...] = ()
    """Openings looked for where the maker pointed; the rims above are without them."""
    photos: tuple[PhotoUsed, ...] = ()
    """The photographs behind the rims, where there are several."""
    levels: tuple[SolvedLevel, ...] = ()
    """Heights and depths the photographs told."""
    other: OtherFace | None = None
    """The other face, where it was photographed too."""
    seen: tuple[SeenReference, ...] = ()
    """Where the references were seen in the picture (the first, where several were measured together)."""
    views: tuple[PhotoView, ...] = ()
    """How each photograph sees the rims, where several were measured together; those left out are missing."""
    witness: Witness | None = None
    """What the mating part's picture says of the holes, where it was measured too."""
