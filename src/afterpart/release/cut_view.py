"""Where the new piece is cut upright, what the cut shows, and how it is drawn: outline, hatching, one detail enlarged.

The cut goes square through the longest straight run of the seal groove, where it can through a bolt hole and the filter's seat;
without a groove, through the middle of a bolt hole.  Its shape is the kernel's own cut through the finished solid.
Conventions: mm; s along the cut, z up from the bed; drawn with the mating face up.  Hatching at 45 degrees with narrow lines
(ISO 128: cut faces).
Limits: one straight cut; nothing behind the plane is drawn.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from shapely import LineString, MultiLineString, Polygon, box, intersection, unary_union
from shapely.geometry.base import BaseGeometry

from afterpart.geometry.segments import segment_points, segments_box
from afterpart.model.feature import Groove, Hole, Lip, Seat
from afterpart.model.outline import Arc, Circle, Line, Point, Segment
from afterpart.model.piece import Piece
from afterpart.release.balloons import Box
from afterpart.release.characteristics import edge_of, mating_face
from afterpart.release.paper import HAIRLINE, Paper, Placement
from afterpart.release.title_field import NARROW, WIDE
from afterpart.solid.body import Section
from afterpart.solid.worker import Workshop

HATCH = 2.2
"""Distance of hatch lines on paper, mm."""
_CHORD = 0.002
_OVER_EDGE = 1.0


@dataclass(frozen=True)
class CutLine:
    """Where the cut goes: from start to end, both beyond the edge; direction_deg from x; point: where s is 0."""

    point: Point
    direction_deg: float
    start: Point
    end: Point


@dataclass(frozen=True)
class Cut:
    """line: where; section: the solid's own cut; groove_s: s of the groove shown in the detail, None without a groove."""

    line: CutLine
    section: Section
    groove_s: float | None

    @property
    def box(self) -> Box:
        """Of the cut material, in (s, z)."""
        return segments_box(self.section.segments)

    def shape(self) -> BaseGeometry:
        """The cut material as a plane shape."""
        loops = [Polygon(np.vstack([segment_points(s, _CHORD) for s in loop])) for loop in self.section.loops]
        solid = [p for p, loop in zip(loops, self.section.loops, strict=True) if _turned(loop) > 0]
        holes = [p for p, loop in zip(loops, self.section.loops, strict=True) if _turned(loop) <= 0]
        return unary_union(solid).difference(unary_union(holes))


def cut_piece(piece: Piece, workshop: Workshop) -> Cut:
    """The cut through a finished piece.  SolidError: the piece cannot be built."""
    line = cut_line(piece)
    section = settled(workshop.profile(piece, line.point, line.direction_deg))
    crossings = _groove_crossings(piece, line)
    return Cut(line, section, min(crossings, default=None))


def settled(section: Section) -> Section:
    """The same section told in one way: the kernel begins loops anywhere, in any order, and its last digits vary.

    Coordinates to 1e-6 mm; each loop begins at its lowest leftmost point; outer loops first, from left to right."""
    loops = []
    for loop in section.loops:
        chain = tuple(_rounded(s) for s in loop)
        if not isinstance(chain[0], Circle):
            first = min(range(len(chain)), key=lambda k: chain[k].start)
            chain = chain[first:] + chain[:first]
        loops.append(chain)
    loops.sort(key=lambda chain: (_turned(chain) <= 0, segments_box(chain)))
    return replace(section, loops=tuple(loops))


def _rounded(segment: Segment) -> Segment:
    def near(point: Point) -> Point:
        return (round(point[0], 6) + 0.0, round(point[1], 6) + 0.0)
    match segment:
        case Circle():
            return replace(segment, center=near(segment.center), radius=round(segment.radius, 6))
        case Arc():
            return replace(segment, start=near(segment.start), end=near(segment.end), center=near(segment.center),
                           radius=round(segment.radius, 6))
    return replace(segment, start=near(segment.start), end=near(segment.end))


def cut_line(piece: Piece) -> CutLine:
    """The best of a few lines: each goes through the middle of a bolt hole, of the seat or of a straight run of the groove."""
    groove = next((f for f in piece.features if isinstance(f, Groove)), None)
    runs = [s for s in groove.centre if isinstance(s, Line)] if groove else []
    longest = max(runs, key=lambda s: math.dist(s.start, s.end), default=None)
    along_deg = math.degrees(math.atan2(longest.end[1] - longest.start[1], longest.end[0] - longest.start[0])) if longest else 0.0
    direction_deg = (along_deg + 90.0) % 180.0
    points = [h.center for h in piece.features if isinstance(h, Hole) and h.purpose == "bolt"]
    points += [((s.start[0] + s.end[0]) / 2, (s.start[1] + s.end[1]) / 2) for s in runs]
    x0, y0, x1, y1 = segments_box(edge_of(piece))
    points.append(((x0 + x1) / 2, (y0 + y1) / 2))
    lines = [_line_through(piece, p, direction_deg) for p in points]
    return max(lines, key=lambda line: _worth(piece, line))


def _line_through(piece: Piece, point: Point, direction_deg: float) -> CutLine:
    c, s = math.cos(math.radians(direction_deg)), math.sin(math.radians(direction_deg))
    corners = np.vstack([segment_points(x, 0.05) for x in edge_of(piece)])
    reach = (corners - point) @ np.array([c, s])
    low, high = float(reach.min()) - 3.0, float(reach.max()) + 3.0
    return CutLine(point, direction_deg, (point[0] + low * c, point[1] + low * s), (point[0] + high * c, point[1] + high * s))


def _worth(piece: Piece, line: CutLine) -> float:
    """How much a cut shows: square crossings of the groove, bolt holes met in their middle, the seat; holes grazed cost."""
    c, s = math.cos(math.radians(line.direction_deg)), math.sin(math.radians(line.direction_deg))
    worth = 2.0 * min(2, len(_groove_crossings(piece, line)))
    for feature in piece.features:
        if isinstance(feature, Hole):
            aside = abs(-(feature.center[0] - line.point[0]) * s + (feature.center[1] - line.point[1]) * c)
            if aside < feature.diameter / 2 + _OVER_EDGE:
                worth += 1.0 if aside < 0.01 and feature.purpose == "bolt" else -2.0
        elif isinstance(feature, Seat):
            ring = Polygon(np.vstack([segment_points(x, 0.05) for x in feature.pocket]))
            worth += 2.0 if ring.buffer(-1.0).intersects(LineString([line.start, line.end])) else 0.0
    return worth


def _groove_crossings(piece: Piece, line: CutLine) -> list[float]:
    """s of every place where the line crosses a straight run of the groove squarely."""
    c, s = math.cos(math.radians(line.direction_deg)), math.sin(math.radians(line.direction_deg))
    found = []
    for run in (x for f in piece.features if isinstance(f, Groove) for x in f.centre if isinstance(x, Line)):
        dx, dy = run.end[0] - run.start[0], run.end[1] - run.start[1]
        length = math.hypot(dx, dy)
        if length < 2.0 or abs(dx * c + dy * s) > 0.01 * length:
            continue
        u, v = line.point[0] - run.start[0], line.point[1] - run.start[1]
        share = (u * dx + v * dy) / length
        if 1.0 < share < length - 1.0:
            found.append(-(u * c + v * s))
    return sorted(found)


def draw_cut(paper: Paper, shape: BaseGeometry, place: Placement, is_cropped: Box | None = None) -> None:
    """The cut material hatched, its edges wide; is_cropped: a box of (s, z) beyond which nothing is drawn, broken off there."""
    shown = shape if is_cropped is None else shape.intersection(box(*is_cropped))
    paper.pen(HAIRLINE, grey=0.25)
    for start, end in hatch_lines(shown, HATCH / place.scale):
        paper.line(place.at(start), place.at(end))
    paper.pen(WIDE)
    for chain in _rims(shape if is_cropped is None else shape, is_cropped):
        for a, b in zip(chain[:-1], chain[1:], strict=True):
            paper.line(place.at(a), place.at(b))
    paper.pen(NARROW)


def hatch_lines(shape: BaseGeometry, pitch: float) -> list[tuple[Point, Point]]:
    """Lines at 45 degrees over a shape, `pitch` apart."""
    if shape.is_empty:
        return []
    x0, y0, x1, y1 = shape.bounds
    step, high = pitch * math.sqrt(2.0), y1 - y0
    first, last = math.floor((x0 - y1) / step), math.ceil((x1 - y0) / step)
    rays = MultiLineString([[(k * step + y0, y0), (k * step + y0 + high, y1)] for k in range(first, last + 1)])
    return [(line.coords[0], line.coords[-1]) for line in _lines_of(intersection(rays, shape))]


def _rims(shape: BaseGeometry, crop: Box | None) -> list[list[Point]]:
    rims = shape.boundary if crop is None else shape.boundary.intersection(box(*crop))
    return [list(line.coords) for line in _lines_of(rims)]


def _lines_of(shape: BaseGeometry) -> list[LineString]:
    if isinstance(shape, LineString):
        return [] if shape.is_empty else [shape]
    return [line for part in getattr(shape, "geoms", ()) for line in _lines_of(part)]


def _turned(loop: tuple[Segment, ...]) -> float:
    points = np.vstack([segment_points(s, 0.05) for s in loop])
    x, y = points[:, 0], points[:, 1]
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def cut_places(piece: Piece, cut: Cut) -> dict[str, Point]:
    """Where on the cut each of its sizes is pointed at, by the characteristic's key, in (s, z)."""
    s0, _, s1, _ = cut.box
    face = mating_face(piece)
    places: dict[str, Point] = {"thickness": (s1, face / 2)}
    for feature in piece.features:
        if isinstance(feature, Seat):
            low, high = _seat_reach(feature, cut.line)
            places["seat_depth"] = (high, (feature.ledge + face) / 2)
            places["floor"] = (low + 1.5, feature.ledge)
        elif isinstance(feature, Lip):
            places["lip_height"] = (s0, (feature.bottom + feature.top) / 2)
            places["lip_across"] = (s0, feature.top)
        elif isinstance(feature, Groove) and cut.groove_s is not None:
            s, bottom = cut.groove_s, feature.face - feature.depth
            places["groove_width"] = places["groove_depth"] = (s, bottom)
            round_in = feature.bottom_radius * (1.0 - math.sqrt(0.5))
            places["groove_round"] = (s - feature.width / 2 + round_in, bottom + round_in)
    return places


Span = tuple[Point, Point, Point, Point]
"""A dimension line from start to end, and the two points of the piece it stands for."""


def cut_spans(piece: Piece, cut: Cut, scale: float) -> dict[str, Span]:
    """Dimension lines in a view of the section at this scale, by the characteristic's key, in (s, z)."""
    _, z0, s1, _ = cut.box
    aside = s1 + 5.0 / scale
    face = mating_face(piece)
    spans: dict[str, Span] = {"thickness": ((aside, z0), (aside, face), (s1, z0), (s1, face))}
    for feature in piece.features:
        if isinstance(feature, Seat):
            _, high = _seat_reach(feature, cut.line)
            at = high - 0.6 * feature.rim
            spans["seat_depth"] = ((at, feature.ledge), (at, feature.ledge + feature.depth), (at, feature.ledge),
                                   (high, feature.ledge + feature.depth))
        elif isinstance(feature, Groove) and cut.groove_s is not None:
            s, half, face = cut.groove_s, feature.width / 2, feature.face
            up, at, floor = face + 5.0 / scale, s + 0.5 * half, face - feature.depth
            spans["groove_width"] = ((s - half, up), (s + half, up), (s - half, face), (s + half, face))
            spans["groove_depth"] = ((at, floor), (at, face), (at, floor), (s + half, face))
    return spans


def _seat_reach(seat: Seat, line: CutLine) -> tuple[float, float]:
    """s of the pocket's two walls on the cut."""
    ring = Polygon(np.vstack([segment_points(x, 0.01) for x in seat.pocket]))
    c, s = math.cos(math.radians(line.direction_deg)), math.sin(math.radians(line.direction_deg))
    seen = ring.intersection(LineString([line.start, line.end]))
    if seen.is_empty:
        return 0.0, 0.0
    reach = [(x - line.point[0]) * c + (y - line.point[1]) * s for part in _lines_of(seen) for x, y in part.coords]
    return min(reach), max(reach)
