"""The mate laid on the cover, as a picture: both outlines, offsets drawn ENLARGED times, the worst places numbered.

Words: as in model/mate.py.  The cover is drawn in whole lines, the mate in dashes; an arrow leads from the middle of the cover's
hole to where the mate's would lie if it were ENLARGED times as far off.  A hole that is off beyond chance stands in a square.
Conventions: built in mm, y up, as strokes and words (release/marks.py); written as SVG (true scale, one unit one mm, y turned
over) and as PNG.
Limits: the picture is for looking; figures stand in mate.json.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from afterpart.geometry.segments import loop_points
from afterpart.model.mate import MateEdge, MateHole, MateMatch
from afterpart.model.outline import Loop, Outline, Point
from afterpart.release.marks import Drawing, Stroke, Words, as_points, dashes, drawing_png, drawing_svg
from afterpart.release.shown import Tint
from afterpart.release.strokes import text_length
from afterpart.release.words import word

ENLARGED = 20.0
COVER: Tint = (38, 50, 56)
MATE: Tint = (158, 84, 16)
WRONG: Tint = (150, 20, 60)
DASH, PAUSE, LEAST_DASHES = 2.4, 1.4, 8
LINE, THIN = 0.35, 0.22
LETTER, LEADING = 2.8, 4.8
MARGIN = 12.0
BESIDE = 5.5
"""From a marked place to the middle of its letter, mm."""

EDGES_SHOWN = 4
"""Edges whose tightest place is marked, the worst first."""


@dataclass(frozen=True)
class Sheet:
    """What is drawn, in the frame of the cover's drawing.  low, high: corners in mm."""

    low: Point
    high: Point
    strokes: tuple[Stroke, ...]
    words: tuple[Words, ...]

    @property
    def drawing(self) -> Drawing:
        """The same as marks, its lower left corner at the origin."""
        (left, low), (right, high) = self.low, self.high
        strokes = (replace(one, points=tuple((x - left, y - low) for x, y in one.points)) for one in self.strokes)
        words = (replace(one, at=(one.at[0] - left, one.at[1] - low)) for one in self.words)
        return Drawing(right - left, high - low, (*strokes, *words))


def mate_sheet(outline: Outline, match: MateMatch, part: int = 1) -> Sheet:
    """Both outlines, the offsets and the worst places, with the figures as lines of text below."""
    loops = [loop for loop in outline.design if loop.part == part]
    points = np.vstack([loop_points(loop, 0.05) for loop in (*loops, *match.loops)])
    (left, low), (right, high) = points.min(axis=0) - MARGIN, points.max(axis=0) + MARGIN
    strokes = [stroke for loop in loops for stroke in _loop(loop, COVER, False)]
    strokes += [stroke for loop in match.loops for stroke in _loop(loop, MATE, True)]
    middle = float(points[:, 0].mean())
    words: list[Words] = []
    for number, hole in enumerate(match.holes, start=1):
        own, label = _hole(hole, number, middle)
        strokes += own
        words.append(label)
    taken = [*(hole.at for hole in match.holes), *((one.at[0], one.at[1] + LETTER / 2.0) for one in words)]
    marked = [edge for edge in match.edges if edge.must_clear][:EDGES_SHOWN]
    for letter, edge in zip("ABCD", marked, strict=False):
        strokes += _cross(edge)
        x, y = _clear_place(edge.at, taken)
        taken.append((x, y))
        words.append(Words(letter, (x, y - LETTER / 2.0), LETTER, "middle", WRONG if edge.least < 0 else COVER))
    lines = [*_heading(match), *(_hole_line(n, h) for n, h in enumerate(match.holes, start=1)),
             *(_edge_line(letter, edge) for letter, edge in zip("ABCD", marked, strict=False))]
    bottom = low - LEADING * (len(lines) + 1)
    words += [Words(text, (left + 4.0, low - LEADING * (k + 1)), LETTER, ink=WRONG if is_wrong else COVER)
              for k, (text, is_wrong) in enumerate(lines)]
    right = max(right, left + 8.0 + max(text_length(text, LETTER) for text, _ in lines))
    return Sheet((float(left), float(bottom)), (float(right), float(high)), tuple(strokes), tuple(words))


def _heading(match: MateMatch) -> list[tuple[str, bool]]:
    return [(word("mate", "lines"), False), (word("mate", "arrows", times=ENLARGED), False)]


def _hole_line(number: int, hole: MateHole) -> tuple[str, bool]:
    x, y = (_signed(value) for value in hole.offset)
    lacking = hole.room is not None and hole.room < 0.0
    told = (word("mate", "hole", number=number, hole=hole.cover, x=x, y=y, u2=2 * hole.away_u),
            word("mate", "room", room=hole.room) if hole.room is not None else "", word("mate", "moved") if hole.moved else "",
            word("mate", "blocked") if lacking else "")
    return ", ".join(filter(None, told)), hole.moved or lacking


def _edge_line(letter: str, edge: MateEdge) -> tuple[str, bool]:
    wrong = edge.least < 0.0
    told = word("mate", "edge", letter=letter, what=edge.what, least=edge.least, u2=2 * edge.u)
    return ", ".join((told, word("mate", "clash")) if wrong else (told,)), wrong


def _loop(loop: Loop, ink: Tint, dashed: bool) -> list[Stroke]:
    points = loop_points(loop, 0.02)
    closed = as_points(np.vstack([points, points[:1]]))
    width = THIN if loop.role == "channel" else LINE
    return [Stroke(run, width, ink) for run in (dashes(closed, DASH, PAUSE, LEAST_DASHES) if dashed else [closed])]


def _hole(hole: MateHole, number: int, middle: float) -> tuple[list[Stroke], Words]:
    """The arrow, a square round what is moved, and the number, on the side towards the middle of the picture."""
    ink = WRONG if hole.moved or (hole.room is not None and hole.room < 0.0) else COVER
    start = np.array(hole.at)
    tip = start + ENLARGED * np.array(hole.offset)
    strokes = [Stroke(as_points(np.array([start, tip])), LINE, ink)]
    length = float(np.hypot(*(tip - start)))
    if length > 0.5:
        along = (tip - start) / length
        head = min(1.4, 0.5 * length)
        for side in (-1.0, 1.0):
            turn = math.radians(155.0) * side
            barb = np.array([along[0] * math.cos(turn) - along[1] * math.sin(turn),
                             along[0] * math.sin(turn) + along[1] * math.cos(turn)])
            strokes.append(Stroke(as_points(np.array([tip, tip + head * barb])), LINE, ink))
    half = hole.cover_diameter / 2.0 + 1.2
    if hole.moved:
        square = start + half * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1)], float)
        strokes.append(Stroke(as_points(square), LINE, ink))
    side = 1.0 if hole.at[0] < middle else -1.0
    beside = (hole.at[0] + side * (half + 0.6), hole.at[1] - LETTER / 2.0)
    return strokes, Words(str(number), beside, LETTER, "left" if side > 0 else "right", ink)


def _cross(edge: MateEdge) -> list[Stroke]:
    at, ink = np.array(edge.at), WRONG if edge.least < 0.0 else COVER
    return [Stroke(as_points(at + np.array([(-1.0, -s), (1.0, s)])), LINE, ink) for s in (1.0, -1.0)]


def mate_svg(sheet: Sheet) -> bytes:
    """The sheet as SVG, one unit one mm."""
    return drawing_svg(sheet.drawing)


def mate_png(sheet: Sheet) -> bytes:
    """The sheet as PNG."""
    return drawing_png(sheet.drawing)


def _clear_place(at: Point, taken: list[Point]) -> Point:
    """Middle of a letter beside a place: of eight directions, the one farthest from what stands there already."""
    around = [(at[0] + BESIDE * math.cos(turn), at[1] + BESIDE * math.sin(turn)) for turn in np.arange(8) * math.pi / 4]
    return max(around, key=lambda place: round(min((math.dist(place, other) for other in taken), default=0.0), 6))


def _signed(value: float) -> str:
    """Two figures and a sign, without a minus zero."""
    return f"{value + 0.0:+.2f}".replace("-0.00", "+0.00")
