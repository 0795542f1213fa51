"""The openings a loose thing would have to pass, seen along the way, each with the thing in it at one scale.

Words: an *opening* is the hole a thing sits in, the opening for air with its bars, or the way into the machine's moving parts;
the *ball* is the largest that passes it.
Conventions: marks of marks.py, mm on the drawing, stacked from the top down, words beside each.
Limits: where a thing is wider than its hole, the hole is dashed on it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from afterpart.model.case import AIR, BACK, BARS, CLEAN_SIDE, ON, Passage, WayView
from afterpart.model.outline import Point
from afterpart.release.canvas import PAPER
from afterpart.release.marks import Area, Mark, Points, Stroke, Words, circle, dashes
from afterpart.release.shown import Tint, tint_of
from afterpart.release.strokes import text_length
from afterpart.release.words import word
from afterpart.words import translated

THING: Tint = (206, 122, 38)
"""The thing itself, wherever it is drawn."""
LINE, LEADING = 2.1, 3.6
"""Height of capitals, and distance of lines."""
THIN, EDGE = 0.12, 0.25

_FREE: Tint = (236, 240, 242)
_SIZE = (26.0, 19.0)
"""Room for an opening beside its words."""
_BETWEEN = 2.0


@dataclass(frozen=True)
class Sight:
    """An opening with the thing in it.  rings, bars: from above; ball: where the largest circle lies; lines: words."""

    rings: tuple[Points, ...]
    bars: tuple[Points, ...]
    middle: Point
    size: float | None
    ball: float | None
    lines: tuple[str, ...]
    is_closed: bool = False


def sights_of(view: WayView, ways: tuple[Passage, ...], port: float | None) -> list[Sight]:
    """The openings in the thing's ways.  ways: one of each kind; port: width of the way into the machine's moving parts, None
    where it has none or it is not told."""
    found = []
    for way in ways:
        verdict = word("passages", "free_word" if way.is_open else "held_word")
        if way.along == ON and way.room > 0:
            hole = word("passages", "hole" if way.room > way.size else "hole_dashed", room=way.room)
            found.append(_round(way.room, way.size, (hole, word("passages", "head", size=way.size), verdict)))
        elif way.along == AIR and view.opening and view.ball is not None:
            found.append(_plan(view, way, verdict))
    is_loose = any(way.is_open for way in ways if way.along == BACK)
    gets_in = any(way.is_open and way.ends == CLEAN_SIDE and (is_loose or way.along != AIR) for way in ways)
    if gets_in and port is not None:
        told = word("passages", "free_word" if port >= view.width else "held_word")
        found.append(_round(port, view.width, (word("passages", "port", room=port), word("passages", "least", size=view.width),
                                               told)))
    return found


def _round(room: float, size: float, lines: tuple[str, ...]) -> Sight:
    return Sight((circle((0.0, 0.0), room / 2),), (), (0.0, 0.0), size, None, lines)


def _plan(view: WayView, way: Passage, verdict: str) -> Sight:
    """The opening from above, the largest ball in it, the thing beside its words."""
    assert view.ball is not None
    x, y, wide = view.ball
    if way.by == BARS:
        lines = (word("passages", "ball", room=wide), word("passages", "side", size=way.size), verdict)
        return Sight(view.opening, view.bars, (x, y), None, wide, lines)
    if way.room <= 0:
        lines = (word("passages", "opening", room=wide), word("passages", "shut", by=translated(way.by)), verdict)
        return Sight(view.opening, (), (x, y), way.size, None, lines, True)
    lines = (word("passages", "opening", room=wide), word("passages", "head", size=way.size), verdict)
    return Sight(view.opening, view.bars, (x, y), way.size, wide, lines)


def height_of(sights: list[Sight]) -> float:
    """What they take."""
    return len(sights) * (_SIZE[1] + _BETWEEN)


def sight_marks(sights: list[Sight], corner: Point, right: float) -> list[Mark]:
    """The openings one below the other from the upper left corner on, their words no farther right than told."""
    marks: list[Mark] = []
    for number, sight in enumerate(sights, 1):
        marks += _one(sight, (corner[0], corner[1] - number * (_SIZE[1] + _BETWEEN)), right)
    return marks


def _one(sight: Sight, corner: Point, right: float) -> list[Mark]:
    shapes = [*sight.rings, *((circle(sight.middle, sight.size / 2),) if sight.size is not None else ())]
    points = np.vstack([np.asarray(ring, float) for ring in shapes])
    low, high = points.min(axis=0), points.max(axis=0)
    scale = min((side - 1.0) / max(reach, 1e-6) for side, reach in zip(_SIZE, high - low, strict=True))
    middle = (low + high) / 2

    def at(point: Point) -> Point:
        return (corner[0] + _SIZE[0] / 2 + scale * (point[0] - float(middle[0])),
                corner[1] + _SIZE[1] / 2 + scale * (point[1] - float(middle[1])))

    rings = tuple(tuple(map(at, ring)) for ring in sight.rings)
    marks: list[Mark] = [Area(rings, tint_of("filter_element", 0) if sight.is_closed else _FREE)]
    marks += [Area((tuple(map(at, bar)),), tint_of("clamp_frame", 0)) for bar in sight.bars]
    marks += [Stroke((*map(at, bar), at(bar[0])), THIN) for bar in sight.bars]
    marks += [Stroke((*ring, ring[0]), EDGE) for ring in rings]
    if sight.size is not None:
        thing = tuple(map(at, circle(sight.middle, sight.size / 2)))
        marks += [Area((thing,), THING), Stroke((*thing, thing[0]), EDGE)]
    if sight.size is not None and not sight.is_closed and sight.size > float((high - low).min()) - 1e-9:
        marks += [Stroke(dash, EDGE, PAPER) for ring in rings for dash in dashes((*ring, ring[0]))]
    if sight.ball is not None:
        ball = tuple(map(at, circle(sight.middle, sight.ball / 2)))
        marks += [Stroke(dash, EDGE, THING) for dash in dashes((*ball, ball[0]))]
    lines = [line for text in sight.lines for line in wrapped(text, right - corner[0] - _SIZE[0] - 2.0)]
    foot = corner[1] + (_SIZE[1] + LEADING * len(lines)) / 2 - LINE
    return [*marks, *(Words(line, (corner[0] + _SIZE[0] + 2.0, foot - k * LEADING), LINE) for k, line in enumerate(lines))]


def wrapped(text: str, wide: float) -> list[str]:
    """The text in lines no wider than the picture's letters allow."""
    lines = [""]
    for part in text.split():
        longer = f"{lines[-1]} {part}".strip()
        if text_length(longer, LINE) <= wide or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(part)
    return lines
