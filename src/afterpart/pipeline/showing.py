"""What a page shows of an outline: its lines as SVG paths, balloons, the rows of the inspection table; and a photograph itself.
What was found in a photograph stands in seen.py.

Conventions: pixels as in photo/ ((column, row) of the upright picture); SVG paths in the drawing's unit with y turned over (SVG
counts downwards), a point (x, y) of the drawing standing at (x, -y).  Curves in pixels are chains of points, no farther from the
curve than a tenth of a pixel or so.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from afterpart.geometry.segments import arc_angles_rad
from afterpart.model.job import LEVELS, Job, Shot
from afterpart.model.outline import Arc, Circle, Dimension, Line, Outline, Point, Segment
from afterpart.photo.upright import Look, look_at_file, shown_picture
from afterpart.release.characteristics import number_of
from afterpart.release.heights_card import heights_of
from afterpart.release.old_part_sheet import shown_dimensions

Chain = tuple[tuple[float, float], ...]
FREE, INFERRED, BY_HAND, FIXED = "free", "inferred", "measured by hand", "fixed by you"
_STATES = {"free": FREE, "inferred": INFERRED, "reading": BY_HAND, "maker": FIXED}
_MOVED = 5e-4
"""A value that moves by less, mm, is not named as moved."""


@dataclass(frozen=True)
class Drawn:
    """One segment as it is drawn.  loop: its number from 1; role: of the loop; wall: of a channel; free: no relation or number
    settles it; line: where it runs, a chain of points or an SVG path."""

    segment: str
    loop: int
    part: int
    role: str
    wall: str
    free: bool
    line: Chain | str


@dataclass(frozen=True)
class Spot:
    """A balloon: its dimension, its number, and the point it means."""

    id: str
    number: int
    at: tuple[float, float]


@dataclass(frozen=True)
class Row:
    """One row of the inspection table: a dimension, its number, what was read and fixed by hand, and its state in words."""

    number: int
    dimension: Dimension
    reading: tuple[float, float] | None
    fixed: float | None
    state: str
    causes: tuple[str, ...]


@dataclass(frozen=True)
class Move:
    """A design value, or without one the measured value, that is another than before."""

    id: str
    number: int
    before: float
    after: float


@dataclass(frozen=True)
class Level:
    """One line of the heights card; value and u None: not told."""

    level: str
    measured_from: str
    value: float | None
    u: float | None


def photo_look(folder: Path, shot: Shot) -> Look:
    """What the photograph's file says of itself.  Raises FolderError, PhotoError."""
    return look_at_file(folder / shot.file)


def photo_picture(folder: Path, shot: Shot) -> tuple[bytes, str]:
    """The photograph, upright, and its media type.  Raises FolderError, PhotoError."""
    return shown_picture(folder / shot.file)


def drawing_paths(outline: Outline) -> tuple[Drawn, ...]:
    """Every design segment as an SVG path."""
    return tuple(Drawn(s.id, number, loop.part, loop.role, loop.wall, s.id in outline.free, svg_path((s,)))
                 for number, loop in enumerate(outline.design, 1) for s in loop.segments)


def svg_path(segments: tuple[Segment, ...], closed: bool = False) -> str:
    """Segments that follow one another as one SVG path, y turned over; a circle as two halves."""
    words: list[str] = []
    for s in segments:
        match s:
            case Circle(center=(x, y), radius=r):
                half, right = f"A{r:.4f} {r:.4f} 0 1 0 ", _xy((x + r, y))
                words.append(f"M{right}{half}{_xy((x - r, y))}{half}{right}Z")
            case Line(start=start, end=end):
                words.append(("" if words else f"M{_xy(start)}") + f"L{_xy(end)}")
            case Arc(start=start, end=end, radius=r, ccw=ccw):
                is_large = abs(arc_angles_rad(s)[1]) > math.pi
                words.append(("" if words else f"M{_xy(start)}")
                             + f"A{r:.4f} {r:.4f} 0 {int(is_large)} {int(not ccw)} {_xy(end)}")
    return "".join(words) + ("Z" if closed else "")


def polygon_path(corners: tuple[Point, ...]) -> str:
    """A closed polygon as an SVG path, y turned over."""
    return "M" + "L".join(map(_xy, corners)) + "Z" if corners else ""


def _xy(point: Point) -> str:
    return f"{point[0]:.4f} {0.0 - point[1]:.4f}"


def chain_of(points: np.ndarray) -> Chain:
    """Points (n, 2) px, to a hundredth of a pixel."""
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in points)


def balloons(outline: Outline) -> tuple[Spot, ...]:
    """Every balloon of the drawing: a point on the line or curve that is meant."""
    return tuple(Spot(s.dimension.id, s.number, s.mark) for s in shown_dimensions(outline))


def rows_of(outline: Outline, job: Job) -> tuple[Row, ...]:
    """The inspection table."""
    readings = {reading.id: (reading.value, reading.u) for reading in job.readings}
    fixed = {one.id: one.value for one in job.fixed}
    return tuple(Row(number_of(d, place), d, readings.get(d.id), fixed.get(d.id), _state(d, readings, fixed),
                     tuple(f"{share.cause}: {share.u:.3f}" for share in d.contributions))
                 for place, d in enumerate(outline.dimensions, 1))


def _state(dimension: Dimension, readings: dict[str, tuple[float, float]], fixed: dict[str, float]) -> str:
    if dimension.id in fixed:
        return FIXED
    return BY_HAND if dimension.id in readings else _STATES.get(dimension.origin, INFERRED)


def moved(before: Outline, after: Outline) -> tuple[Move, ...]:
    """Dimensions that are another now than before, by what the drawing shows of them."""
    earlier = {d.id: _shown(d) for d in before.dimensions}
    return tuple(Move(d.id, number_of(d, place), earlier[d.id], _shown(d)) for place, d in enumerate(after.dimensions, 1)
                 if d.id in earlier and abs(earlier[d.id] - _shown(d)) > _MOVED)


def _shown(dimension: Dimension) -> float:
    return dimension.measured if dimension.origin == "free" else dimension.design


def levels_of(job: Job) -> tuple[Level, ...]:
    """The heights card, line by line."""
    known = heights_of(job.heights, job.shots[0])
    return tuple(Level(level, words, known[level].value if level in known else None, known[level].u if level in known else None)
                 for level, words in LEVELS.items())
