"""The picture of a loose thing's ways: the cut through it with the way out, and beside it the openings it would have to pass.

Words: the *thing* stands dark in its seat and dashed where it comes to; every other body cut has a letter, named below.  Upright
hatching at z = 0 is the machine's face, where the seal shuts the joint.  At the right each opening with the thing at one scale.
Conventions: built of marks (mm, y up; marks.py), one size for all; z up, so that the machine is above, the maker below.
Limits: the picture shows one place of the thing; where it stands several times, the place that is told in its first line.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np
from shapely import LineString, Polygon, box, maximum_inscribed_circle, transform, unary_union
from shapely.geometry import MultiPolygon
from shapely.geometry.base import BaseGeometry

from afterpart.model.case import BACK, MACHINE_FACE, CutBody, Passage, WayView
from afterpart.model.outline import Point
from afterpart.release.canvas import PAPER
from afterpart.release.cut_view import hatch_lines
from afterpart.release.marks import Area, Disc, Drawing, Mark, Stroke, Words, dashes
from afterpart.release.passage_openings import EDGE, LEADING, LINE, THIN, THING, height_of, sight_marks, sights_of, wrapped
from afterpart.release.shown import Tint, tint_of
from afterpart.release.strokes import text_length
from afterpart.release.words import word
from afterpart.words import paragraph, symbol_words, translated

WIDTH = 176.0
_CUT_WIDTH, _CUT_HEIGHT = 106.0, 62.0
_TITLE = 3.0
_HEAD = 11.5
_HATCH = 1.8
_STRONG = 0.55
_LETTER = 1.7

LINES: Tint = (128, 138, 144)
_LETTERS = "ABCDEFGHIJKLMNOP"
_LEAST_WAY = 0.3


def passage_drawing(view: WayView, ways: tuple[Passage, ...], port: float | None) -> Drawing:
    """The picture of one thing.  ways: its passages; port: width of the way into the machine's moving parts, None where there is
    none or it is not told."""
    named = _named(view)
    sights = sights_of(view, _distinct(ways), port)
    texts = [_key(view, named), *(_way_line(way) for way in _distinct(ways))]
    below = [line for text in texts for line in wrapped(text, WIDTH - 2.0)]
    bottom = LEADING * (len(below) + 0.5)
    top = bottom + max(_scale(view) * (view.high[1] - view.low[1]), height_of(sights))
    height = top + _HEAD
    marks: list[Mark] = [Area((((0.0, 0.0), (WIDTH, 0.0), (WIDTH, height), (0.0, height)),), PAPER)]
    marks += _cut_marks(view, named, ways, bottom)
    marks += sight_marks(sights, (_CUT_WIDTH + 5.0, top), WIDTH)
    title = word("passages", "title", item=_spoken(view.item))
    marks.append(Words(title, (1.0, height - 4.2), min(_TITLE, _TITLE * (WIDTH - 2.0) / text_length(title, _TITLE))))
    marks.append(Words(word("passages", "cut", x=view.point[0], y=view.point[1], turn=view.direction_deg % 360.0),
                       (1.0, height - 8.6), LINE, ink=LINES))
    marks += [Words(line, (1.0, bottom - LEADING * (k + 1)), LINE) for k, line in enumerate(below)]
    return Drawing(WIDTH, height, tuple(marks))


def _scale(view: WayView) -> float:
    return min(_CUT_WIDTH / (view.high[0] - view.low[0]), _CUT_HEIGHT / (view.high[1] - view.low[1]))


def passage_drawings(views: tuple[WayView, ...], passages: tuple[Passage, ...], port: float | None) -> dict[str, Drawing]:
    """File name -> picture, of everything that was looked at."""
    return {view.picture: passage_drawing(view, tuple(way for way in passages if way.item == view.item), port) for view in views}


def _spoken(item: str) -> str:
    return symbol_words(item)


def _distinct(ways: tuple[Passage, ...]) -> tuple[Passage, ...]:
    """One way of each kind, the first told."""
    return tuple({way.along: way for way in reversed(ways)}.values())[::-1]


def _named(view: WayView) -> dict[str, str]:
    """Body -> letter, the largest cut first."""
    bodies = sorted({body.name for body in view.others},
                    key=lambda name: (-sum(_shape(b).area for b in view.others if b.name == name), name))
    return dict(zip(bodies, _LETTERS, strict=False))


def _key(view: WayView, named: dict[str, str]) -> str:
    """Letters and names."""
    told = (word("passages", "body", letter=letter, name=_spoken(name)) for name, letter in named.items())
    return ", ".join((word("passages", "thing", item=_spoken(view.item)), *told)) + "."


def _way_line(way: Passage) -> str:
    """One way in words, with its sizes."""
    through = _spoken(way.through[:1].upper() + way.through[1:])
    verdict = word("passages", "comes", ends=translated(way.ends)) if way.is_open else (
        word("passages", "stays", by=_spoken(way.by)) if way.by else word("passages", "stays_plain"))
    is_shut = way.room <= 0 and (way.along != BACK or way.by == MACHINE_FACE)
    told = (word("passages", "shut_way", through=through) if is_shut
            else word("passages", way.along, through=through, size=way.size, room=way.room))
    return paragraph(told, verdict)


def _shape(body: CutBody) -> BaseGeometry:
    """The cut of a body, its hollows left out."""
    shape: BaseGeometry = MultiPolygon()
    for ring in body.rings:
        shape = shape.symmetric_difference(Polygon(ring).buffer(0))
    return shape


def _cut_marks(view: WayView, named: dict[str, str], ways: tuple[Passage, ...], bottom: float) -> list[Mark]:
    """The left half: everything the plane cuts, the thing's way, what stops it."""
    (s0, z0), (s1, z1) = view.low, view.high
    scale = _scale(view)
    left = 1.0 + (_CUT_WIDTH - scale * (s1 - s0)) / 2

    def at(point: Point) -> Point:
        return (left + scale * (point[0] - s0), bottom + scale * (point[1] - z0))

    back = next((way for way in ways if way.along == BACK), ways[0])
    marks: list[Mark | tuple[Mark, ...]] = []
    for turn, body in enumerate(view.others):
        marks += _body_marks(body, at, scale, tint_of(body.kind, turn), _STRONG if body.name == back.by else EDGE)
    marks += _face_marks(view, at, scale)
    marks += _thing_marks(view, back, at, scale)
    arrow = _arrow(view, back, at, scale)
    covered = unary_union([*(box(*_reach(mark)) for mark in _flat(arrow) if isinstance(mark, Area | Stroke)),
                           *(Polygon(list(map(at, ring))) for ring in view.thing.rings)])
    marks += [mark for body in view.others for mark in _letter(named.get(body.name, "?"), body, at, covered)]
    marks += [*arrow, _backed(word("passages", "outside"), (left + 1.0, bottom + 1.0)),
              *_sealed_words(view, at)]
    frame = (at((s0, z0)), at((s1, z0)), at((s1, z1)), at((s0, z1)))
    return [*_flat(marks), Stroke((*frame, frame[0]), THIN, LINES)]


def _flat(marks: Iterable[Mark | tuple[Mark, ...]]) -> list[Mark]:
    found: list[Mark] = []
    for mark in marks:
        found += mark if isinstance(mark, tuple) else (mark,)
    return found


def _backed(text: str, at: Point, align: str = "left") -> tuple[Mark, ...]:
    """Words on a patch of white."""
    wide = text_length(text, LINE)
    left = at[0] - {"left": 0.0, "middle": wide / 2, "right": wide}[align]
    low, high = at[1] - 0.7, at[1] + LINE + 0.7
    patch = ((left - 0.8, low), (left + wide + 0.8, low), (left + wide + 0.8, high), (left - 0.8, high))
    return Area((patch,), PAPER), Words(text, at, LINE, align)


def _body_marks(body: CutBody, at: Callable[[Point], Point], scale: float, tint: Tint, width: float) -> list[Mark]:
    rings = tuple(tuple(map(at, ring)) for ring in body.rings)
    marks: list[Mark] = [Area(rings, tint)]
    marks += [Stroke((at(start), at(end)), THIN, LINES) for start, end in hatch_lines(_shape(body), _HATCH / scale)]
    return [*marks, *(Stroke((*ring, ring[0]), width) for ring in rings)]


def _face_marks(view: WayView, at: Callable[[Point], Point], scale: float) -> list[Mark | tuple[Mark, ...]]:
    """The machine's face at z = 0, wherever the seal does not enclose it."""
    marks: list[Mark | tuple[Mark, ...]] = []
    ends = [view.low[0], *(end for run in view.sealed for end in run), view.high[0]]
    for first, last in zip(ends[::2], ends[1::2], strict=True):
        if last - first < 0.5:
            continue
        marks.append(Stroke((at((first, 0.0)), at((last, 0.0))), _STRONG))
        for x in np.arange(first, last, 1.6 / scale):
            end = min(x + 1.4 / scale, last)
            marks.append(Stroke((at((x, 0.0)), at((float(end), float(end - x)))), EDGE))
        if view.high[1] * scale > 7.0:
            marks.append(_backed(word("passages", "machine"), (at((first, 0.0))[0] + 1.0, at((0.0, 0.0))[1] + 2.6)))
    return marks


def _sealed_words(view: WayView, at: Callable[[Point], Point]) -> list[tuple[Mark, ...]]:
    """Where the clean side is, over the widest stretch of it."""
    if not view.sealed:
        return []
    first, last = max(view.sealed, key=lambda run: run[1] - run[0])
    x, y = at((last, view.high[1]))
    return [_backed(word("passages", "clean"), (x - 1.0, y - LINE - 1.0), "right")]


def _thing_marks(view: WayView, back: Passage, at: Callable[[Point], Point], scale: float) -> list[Mark | tuple[Mark, ...]]:
    """The thing in its seat, dashed where it comes to."""
    rings = tuple(tuple(map(at, ring)) for ring in view.thing.rings)
    if not rings:
        return []
    marks: list[Mark | tuple[Mark, ...]] = [Area(rings, THING), *(Stroke((*ring, ring[0]), _STRONG) for ring in rings)]
    shift = scale * back.out[2] * back.room
    if back.out[2] and back.room > _LEAST_WAY:
        frame = box(*at(view.low), *at(view.high))
        out = [tuple((x, y + shift) for x, y in (*ring, ring[0])) for ring in rings]
        marks += [Stroke(dash, EDGE, THING) for ring in out for dash in dashes(ring) if frame.covers(LineString(dash))]
    return marks


def _arrow(view: WayView, back: Passage, at: Callable[[Point], Point], scale: float) -> list[Mark | tuple[Mark, ...]]:
    """From the thing's leading end as far as it comes; a bar across the tip where it is stopped."""
    points = [point for ring in view.thing.rings for point in ring]
    if not points or not back.out[2]:
        return []
    up = back.out[2] > 0
    lead = max(z for _, z in points) if up else min(z for _, z in points)
    middle = (min(s for s, _ in points) + max(s for s, _ in points)) / 2
    x, y = at((middle, lead))
    turn = 1.0 if up else -1.0
    floor, roof = at(view.low)[1] + 2.0, at(view.high)[1] - 2.0
    tip = min(max(y + turn * max(scale * back.room, 3.0), floor), roof)
    marks: list[Mark | tuple[Mark, ...]] = [
        Stroke(((x, y), (x, tip)), EDGE, THING),
        Stroke(((x - 1.0, tip - turn * 1.8), (x, tip), (x + 1.0, tip - turn * 1.8)), EDGE, THING)]
    if not back.is_open:
        marks.append(Stroke(((x - 2.4, tip + turn * 0.5), (x + 2.4, tip + turn * 0.5)), _STRONG))
    text = word("passages", "free" if back.is_open else "held", room=back.room)
    is_right = x + 4.4 + text_length(text, LINE) < at(view.high)[0]
    return [*marks, _backed(text, (x + (3.4 if is_right else -3.4), (y + tip) / 2 - LINE / 2), "left" if is_right else "right")]


def _reach(mark: Area | Stroke) -> tuple[float, float, float, float]:
    """Box about a mark."""
    points = np.array([point for ring in mark.rings for point in ring] if isinstance(mark, Area) else mark.points)
    return (*points.min(axis=0), *points.max(axis=0))


def _letter(letter: str, body: CutBody, at: Callable[[Point], Point], covered: BaseGeometry) -> list[Mark]:
    """The body's letter in the widest part of what is cut of it, beside what is covered where there is room."""
    whole = transform(_shape(body), lambda points: np.array([at((float(x), float(y))) for x, y in points]))
    for shape in (whole.difference(covered), whole):
        parts = [part for part in getattr(shape, "geoms", (shape,)) if not part.is_empty]
        if parts:
            widest = max((maximum_inscribed_circle(part, tolerance=0.05) for part in parts), key=lambda ball: ball.length)
            if widest.length > _LETTER or shape is whole:
                x, y = widest.coords[0]
                return [Disc((x, y), _LETTER, THIN), Words(letter, (x, y - 0.45 * LINE), 0.9 * LINE, "middle")]
    return []



