"""Where a dimension is drawn: the two points it spans or the curve it points at, and a free place for its balloon.

Words: a *balloon* is a numbered ring with the design value beside it, as in first-article inspection; its number is that of the
dimension's id (d7: 7), so drawing, table and outline.json agree.  A *leader* runs from a balloon to a curve.
Conventions: everything in mm of paper.  Balloons never cover each other; they avoid the outline as far as there is room.
Of the distances between centres only the shortest net that ties all of them together is drawn, and what was read or given:
n (n - 1) / 2 lines across each other could not be read.  The table holds all of them, by the names of the circles drawn here.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np

from afterpart.geometry.segments import loop_points, segment_middle
from afterpart.model.outline import Arc, Circle, Dimension, Line, Outline, Point, Segment
from afterpart.release.paper import Placement

BALLOON_RADIUS = 2.6
TEXT_SIZE = 2.9
_LEADERS = (7.0, 10.0, 14.0, 19.0, 25.0, 32.0)
_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88)
_TRACK = 7.0
"""Distance of outside dimension lines from the part and from each other."""
_AXIS_DEG = 1.0
_ASKEW = 1.3
"""How much longer a slanting distance may count than a level or upright one when the drawn ones are chosen (judgement)."""


@dataclass(frozen=True)
class DimensionMark:
    """One dimension on paper.  spans: dimension line with an arrow at each end, or None; extensions: thin lines from the part
    to it; pointed: where a leader ends, or None; balloon: its centre; text: the value beside it."""

    label: str
    text: str
    balloon: Point
    spans: tuple[Point, Point] | None
    extensions: tuple[tuple[Point, Point], ...]
    pointed: Point | None
    is_text_left: bool = False


def balloon_label(dimension: Dimension, index: int) -> str:
    """The number in a dimension's id, or its place in the list where the id holds none."""
    found = re.search(r"\d+", dimension.id)
    return found.group() if found else str(index)


def value_text(dimension: Dimension) -> str:
    """The design value with its sign: diameter, radius, degree; in brackets where no nominal is claimed."""
    value = f"{dimension.design:.3f}".rstrip("0").rstrip(".")
    before = {"diameter": "Ø", "radius": "R"}.get(dimension.kind, "")
    text = f"{before}{value}{'°' if dimension.kind == 'angle' else ''}"
    return f"({text})" if dimension.origin == "free" else text


def place_marks(outline: Outline, place: Placement, area: tuple[float, float, float, float]) -> tuple[DimensionMark, ...]:
    """A mark for each dimension that is drawn, balloons inside `area` (left, bottom, right, top of paper)."""
    segments = {s.id: s for loop in outline.design for s in loop.segments}
    ink = np.vstack([[place.at(tuple(p)) for p in _dense(loop_points(loop, 0.05))] for loop in outline.design])
    x, y = place.at((0.0, 0.0))
    floor = _Floor(ink, area, (x - 1.5, y - 1.5, x + 12.0, y + 12.0))
    marks: dict[int, DimensionMark] = {}
    left_out = beyond_the_net(outline.dimensions, segments)
    # What has fewest free places goes first: lines between two points, then leaders.
    order = sorted(range(len(outline.dimensions)), key=lambda i: is_pointed(outline.dimensions[i], segments))
    for i in order:
        dimension = outline.dimensions[i]
        of = [segments[k] for k in dimension.of if k in segments]
        if of and i not in left_out:
            label, text = balloon_label(dimension, i + 1), value_text(dimension)
            span = None if is_pointed(dimension, segments) else span_of(dimension, of)
            if span is None and isinstance(of[0], Circle):
                text = f"{of[0].id} {text}"
            marks[i] = (
                floor.spanned(label, text, place.at(span[0]), place.at(span[1]), _is_overall(dimension, of))
                if span
                else floor.pointed(label, text, of[0], place)
            )
    return tuple(marks[i] for i in sorted(marks))


def beyond_the_net(dimensions: tuple[Dimension, ...], segments: dict[str, Segment]) -> set[int]:
    """Which distances between centres are left to the table: all but the shortest net (level and upright ones count as shorter)
    that ties the centres together, and those the maker read or gave."""
    lengths: list[tuple[float, int, Point, Point]] = []
    for i, dimension in enumerate(dimensions):
        of = [segments[k] for k in dimension.of if k in segments]
        if dimension.kind == "distance" and len(of) == 2 and not any(isinstance(s, Line) for s in of):
            (x0, y0), (x1, y1) = of[0].center, of[1].center
            away = math.hypot(x1 - x0, y1 - y0)
            is_told = dimension.origin in ("reading", "maker")
            is_square = min(abs(x1 - x0), abs(y1 - y0)) <= math.tan(math.radians(_AXIS_DEG)) * away
            counted = 0.0 if is_told else away * (1.0 if is_square else _ASKEW)
            lengths.append((counted, i, _place_name(x0, y0), _place_name(x1, y1)))
    net: dict[Point, Point] = {}

    def root(place: Point) -> Point:
        while net.get(place, place) != place:
            place = net[place]
        return place

    left_out = set()
    for length, i, start, end in sorted(lengths):
        a, b = root(start), root(end)
        if a == b and length > 0:
            left_out.add(i)
        net[a] = b
    return left_out


def _place_name(x: float, y: float) -> Point:
    """Circles about one centre count as one place."""
    return (round(x, 3) + 0.0, round(y, 3) + 0.0)


def box_of_mark(text: str, balloon: Point, is_text_left: bool = False) -> tuple[float, float, float, float]:
    """What a balloon and its text cover, a little air included."""
    wide = 0.56 * TEXT_SIZE * len(text) + 1.6
    x, y = balloon
    left, right = (wide, 0.5) if is_text_left else (0.5, wide)
    return (x - BALLOON_RADIUS - left, y - BALLOON_RADIUS - 0.5, x + BALLOON_RADIUS + right, y + BALLOON_RADIUS + 0.5)


class _Floor:
    """The paper as it fills up."""

    def __init__(
        self, ink: np.ndarray, area: tuple[float, float, float, float], datum: tuple[float, float, float, float]
    ) -> None:
        self._ink = ink
        self._area = area
        self._taken = [datum]
        self._tracks: list[tuple[str, int, float, float]] = []
        self._part = (*ink.min(axis=0), *ink.max(axis=0))

    def spanned(self, label: str, text: str, a: Point, b: Point, is_overall: bool) -> DimensionMark:
        extensions: tuple[tuple[Point, Point], ...] = ()
        is_text_left = False
        if is_overall and (moved := self._outside(a, b)) is not None:
            extensions = ((a, moved[0]), (b, moved[1]))
            a, b = moved
            is_text_left = a[0] == b[0]
        spots = [((a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])), abs(s - 0.5)) for s in _SHARES]
        balloon = self._take(text, spots, is_text_left)
        self._ink = np.vstack([self._ink, *(_stroke(*line) for line in ((a, b), *extensions))])
        return DimensionMark(label, text, balloon, (a, b), extensions, None, is_text_left)

    def pointed(self, label: str, text: str, segment: Segment, place: Placement) -> DimensionMark:
        spots, ends, reaches = [], [], []
        for reach in _LEADERS:
            for angle_deg in range(0, 360, 15):
                c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
                if isinstance(segment, Circle):
                    end = place.at((segment.center[0] + segment.radius * c, segment.center[1] + segment.radius * s))
                else:
                    end = place.at(aim_of(segment))
                spots.append((end[0] + reach * c, end[1] + reach * s))
                ends.append(end)
                reaches.append(reach)
        costs = np.array(reaches) / 20 + 3.0 * self._crossed(spots, ends)
        balloon = self._take(text, list(zip(spots, costs.tolist(), strict=True)))
        end = ends[spots.index(balloon)]
        self._ink = np.vstack([self._ink, _stroke(balloon, end)])
        return DimensionMark(label, text, balloon, None, (), end)

    def _crossed(self, starts: list[Point], ends: list[Point]) -> np.ndarray:
        """How many balloons and texts each leader would run through (n,)."""
        boxes = np.array(self._taken)
        points = [_stroke(start, end) for start, end in zip(starts, ends, strict=True)]
        first = np.cumsum([0, *map(len, points[:-1])])
        along = np.vstack(points)[:, None]
        inside = ((along > boxes[:, :2]) & (along < boxes[:, 2:])).all(axis=2)
        return np.logical_or.reduceat(inside, first, axis=0).sum(axis=1)

    def _outside(self, a: Point, b: Point) -> tuple[Point, Point] | None:
        """A level or upright span moved to a free track below or left of the part."""
        level = abs(b[1] - a[1]) <= math.tan(math.radians(_AXIS_DEG)) * abs(b[0] - a[0])
        upright = abs(b[0] - a[0]) <= math.tan(math.radians(_AXIS_DEG)) * abs(b[1] - a[1])
        if not (level or upright):
            return None
        side = "below" if level else "left"
        low, high = sorted((a[0], b[0]) if level else (a[1], b[1]))
        track = next(
            t for t in range(100) if all(s != side or k != t or high < lo - 1 or low > hi + 1 for s, k, lo, hi in self._tracks)
        )
        at = self._part[1 if level else 0] - _TRACK * (track + 1)
        if at < self._area[1 if level else 0] + BALLOON_RADIUS:
            return None
        self._tracks.append((side, track, low, high))
        return ((a[0], at), (b[0], at)) if level else ((at, a[1]), (at, b[1]))

    def _take(self, text: str, spots: list[tuple[Point, float]], is_text_left: bool = False) -> Point:
        """The cheapest spot: off the page and on another balloon costs most, on the outline a little."""
        boxes = np.array([box_of_mark(text, spot, is_text_left) for spot, _ in spots])
        area, taken = np.array(self._area), np.array(self._taken)
        outside = (boxes[:, :2] < area[:2]).any(axis=1) | (boxes[:, 2:] > area[2:]).any(axis=1)
        common = np.minimum(boxes[:, None, 2:], taken[:, 2:]) - np.maximum(boxes[:, None, :2], taken[:, :2])
        overlaps = np.maximum(common, 0.0).prod(axis=2).sum(axis=1)
        x, y = self._ink.T
        covered = ((x > boxes[:, :1]) & (x < boxes[:, 2:3]) & (y > boxes[:, 1:2]) & (y < boxes[:, 3:])).sum(axis=1)
        costs = (np.array([cost for _, cost in spots]) + 1000.0 * outside
                 + np.where(overlaps > 0.0, 100.0 + 10.0 * overlaps, 0.0) + 0.2 * covered)
        spot = spots[int(np.argmin(costs))][0]
        self._taken.append(box_of_mark(text, spot, is_text_left))
        return spot


def aim_of(segment: Segment) -> Point:
    """Where a leader meets a line or arc: a quarter along a line, whose middle its length's balloon may want."""
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment.start, segment.end
        return (x0 + 0.25 * (x1 - x0), y0 + 0.25 * (y1 - y0))
    return segment_middle(segment)


def _stroke(start: Point, end: Point) -> np.ndarray:
    """Points no farther than 1 mm apart along a straight line."""
    return np.linspace(start, end, max(2, math.ceil(math.dist(start, end)) + 1))


def _dense(points: np.ndarray) -> np.ndarray:
    """Points no farther than 1 mm apart round a closed polygon."""
    out = []
    for a, b in zip(points, np.roll(points, -1, axis=0), strict=True):
        count = max(1, math.ceil(float(np.hypot(*(b - a)))))
        out.append(a + (b - a) * (np.arange(count) / count)[:, None])
    return np.vstack(out)


def is_pointed(dimension: Dimension, segments: dict[str, Segment]) -> bool:
    """Is it shown by a leader to its curve, not by a line between two points?"""
    of = [segments[k] for k in dimension.of if k in segments]
    return dimension.kind in ("diameter", "radius", "angle", "depth", "height") or span_of(dimension, of) is None


def _is_overall(dimension: Dimension, of: list[Segment]) -> bool:
    return dimension.kind in ("length", "width", "over") and len(of) == 2 and all(isinstance(s, Line) for s in of)


def span_of(dimension: Dimension, of: list[Segment]) -> tuple[Point, Point] | None:
    """The two points a distance runs between; None where one segment alone gives none."""
    if len(of) == 1:
        return (of[0].start, of[0].end) if isinstance(of[0], Line) else None
    if len(of) != 2:
        return None
    a, b = of
    if isinstance(a, Line) and isinstance(b, Line):
        return _between_lines(a, b)
    if isinstance(a, Line) or isinstance(b, Line):
        line, curve = (a, b) if isinstance(a, Line) else (b, a)
        assert isinstance(curve, Arc | Circle) and isinstance(line, Line)
        return (curve.center, _foot(curve.center, line))
    start, end = a.center, b.center
    away = math.dist(start, end)
    if away < 1e-9:
        return None
    shift = {"gap": 1.0, "over": -1.0}.get(dimension.kind, 0.0)
    ux, uy = (end[0] - start[0]) / away, (end[1] - start[1]) / away
    return (
        (start[0] + shift * a.radius * ux, start[1] + shift * a.radius * uy),
        (end[0] - shift * b.radius * ux, end[1] - shift * b.radius * uy),
    )


def _between_lines(a: Line, b: Line) -> tuple[Point, Point]:
    """From the first line to its foot on the second, where both lie side by side if they do anywhere."""
    length = math.dist(a.start, a.end)
    ux, uy = (a.end[0] - a.start[0]) / length, (a.end[1] - a.start[1]) / length
    along = sorted((p[0] - a.start[0]) * ux + (p[1] - a.start[1]) * uy for p in (b.start, b.end))
    low, high = max(0.0, along[0]), min(length, along[1])
    t = (low + high) / 2 if low <= high else length / 2
    start = (a.start[0] + t * ux, a.start[1] + t * uy)
    return start, _foot(start, b)


def _foot(point: Point, line: Line) -> Point:
    dx, dy = line.end[0] - line.start[0], line.end[1] - line.start[1]
    t = ((point[0] - line.start[0]) * dx + (point[1] - line.start[1]) * dy) / (dx * dx + dy * dy)
    return (line.start[0] + t * dx, line.start[1] + t * dy)
