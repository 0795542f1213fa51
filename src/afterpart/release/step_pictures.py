"""Pictures for the assembly guide, drawn from the solids: each step with what is fitted and what comes to it, and the order of
screws and bolts on the outside of the part.

Words: a *step picture* shows one order of the assembly: what is fitted before stands in its place, the new part is drawn apart
with its number; the *order picture* looks at the outside, with the places numbered.
Names: "all", "step 3" (the order of model/assembly.py), "laid" (the filter element in its place), "room" (what reaches into the
machine), "bolts", "screws".  Same build, same bytes.
Frame: the assembly frame, mm.  The part's outside is seen from below, as one stands before the machine.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from afterpart.model.assembly import Build, Point3
from afterpart.model.feature import PrintedSeal
from afterpart.model.outline import Point
from afterpart.model.piece import Piece
from afterpart.release.build_pictures import exploded_picture
from afterpart.release.canvas import INK, PAPER, Canvas
from afterpart.release.parts_list import CUT, bolts_of, has_seal, screws_in
from afterpart.release.picture import Drawn, View, draw_solids, seen_size
from afterpart.release.png import png_bytes
from afterpart.release.put_together import Part, moved_out, parts_of
from afterpart.release.reach import LEAST
from afterpart.release.shown import Shown, Tint
from afterpart.release.tightening import mid_spans
from afterpart.solid.body import Mesh

FROM_STRAIGHT = View(74.0, -12.0)
"""Straight enough to read places off, and not so straight that heights vanish."""
FROM_MACHINE, FROM_OUTSIDE = View(30.0, -24.0), View(-30.0, -24.0)
OUTSIDE = View(-68.0, 0.0)
LOW_FROM_MACHINE = View(9.0, -24.0)
"""So low that it is seen what stands out of the face."""
_WIDTH_PX = 1100
_TALLEST_PX = 900
_MARGIN = 20
_COLUMN = 90
_BALLOON = 19.0
_CAPTION = 17.0
_FITTED: Tint = (226, 230, 232)
"""What is fitted already is drawn pale."""
_DARK = 140
"""A pixel whose brightest channel is below this is ink, or the edge of a sunk letter."""
_REACHES = (2.4, 3.2, 4.2, 5.4)
_TURNS = (0.0, 0.5, -0.5, 1.0, -1.0, 1.6, -1.6, 2.4, -2.4, math.pi)
"""Distances in balloons and turns in radians that are tried for a disc."""
_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Without I and O, which read as figures."""


def step_pictures(build: Build, meshes: Mapping[str, Mesh], title: str,
                  orders: Mapping[str, tuple[Point, ...]]) -> dict[str, bytes]:
    """PNG by name.  meshes: of the pieces by file_stem; orders: places in the order of tightening by "bolts" and "screws".

    JobError, SolidError: as put_together.parts_of."""
    parts = parts_of(build, meshes)
    if not parts:
        return {}
    files = {"all": exploded_picture(parts, title)}
    for order in sorted({part.order for part in parts})[1:]:
        files[f"step {order}"] = _step_picture(parts, order)
    element = next((part for part in parts if isinstance(part.thing, Piece) and part.thing.kind in CUT), None)
    if element is not None:
        files["laid"] = _laid_picture(parts, element)
    room = _room_picture(parts)
    if room is not None:
        files["room"] = room
    for kind, places in orders.items():
        if places:
            files[kind] = _order_picture(build, parts, kind, places)
    return files


def letters(count: int) -> tuple[str, ...]:
    """Letters for so many places: A, B ... Z, AA ..."""
    rounds = math.ceil(count / len(_LETTERS))
    return tuple(letter * (n + 1) for n in range(rounds) for letter in _LETTERS)[:count]


def _step_picture(parts: tuple[Part, ...], order: int) -> bytes:
    """What is fitted, pale, and the parts of this order, apart, with their numbers."""
    new = tuple(part for part in parts if part.order == order)
    fitted = tuple(part for part in parts if part.order < order)
    comes_from = new[0].comes_from
    view = FROM_OUTSIDE if comes_from[2] < 0 else FROM_MACHINE
    shifts = _apart(fitted, new, view)
    shown = (*(Shown(part.label, part.shown().mesh, _pale(part.tint)) for part in fitted),
             *(part.shown(shift) for part, shift in zip(new, shifts, strict=True)))
    drawn = _drawn(shown, view, _WIDTH_PX - 2 * _MARGIN - _COLUMN)
    rows, columns = drawn.pixels.shape[:2]
    canvas = Canvas(max(rows, math.ceil(3 * _BALLOON * len(new))) + 2 * _MARGIN, columns + 2 * _MARGIN + _COLUMN)
    canvas.paste(drawn.pixels, _MARGIN, _MARGIN)
    _number_new(canvas, new, drawn, len(fitted))
    return png_bytes(canvas.pixels)


def _laid_picture(parts: tuple[Part, ...], laid: Part) -> bytes:
    """What is fitted up to this part and the part in its place, seen almost straight from the machine's side."""
    shown = tuple(Shown(part.label, part.shown().mesh, part.tint if part is laid else _pale(part.tint)) for part in parts
                  if part.order <= laid.order)
    return png_bytes(_drawn(shown, FROM_STRAIGHT, _WIDTH_PX - 2 * _MARGIN).pixels)


def _room_picture(parts: tuple[Part, ...]) -> bytes | None:
    """The pieces put together, seen low from the machine's side, what reaches farthest into it in its colour and the rest pale;
    None where nothing does."""
    pieces = tuple(part for part in parts if isinstance(part.thing, Piece)
                   and not any(isinstance(feature, PrintedSeal) for feature in part.thing.features))
    heights = [max(float(mesh.vertices[:, 2].max()) for mesh in part.meshes) for part in pieces]
    if not heights or max(heights) <= LEAST:
        return None
    far = pieces[heights.index(max(heights))]
    shown = tuple(Shown(part.label, part.shown().mesh, part.tint if part is far else _pale(part.tint)) for part in pieces)
    return png_bytes(_drawn(shown, LOW_FROM_MACHINE, _WIDTH_PX - 2 * _MARGIN).pixels)


def _apart(fitted: tuple[Part, ...], new: tuple[Part, ...], view: View) -> tuple[np.ndarray, ...]:
    """The new parts moved clear of the fitted ones on the picture: beyond them by what their depth takes up on it."""
    everything = (*fitted, *new)
    points = np.vstack([mesh.vertices for part in fitted for mesh in part.meshes])
    away = View(0.0, view.turn_deg).axes()[2] * (1.0, 1.0, 0.0)
    depth = float(np.ptp(points @ away))
    gap = max(6.0, 0.55 * depth * math.tan(math.radians(abs(view.elevation_deg))))
    return moved_out(everything, gap)[len(fitted):] if fitted else tuple(np.zeros(3) for _ in new)


def _pale(tint: Tint) -> Tint:
    """Two thirds of the way from a colour to that of what is fitted."""
    red, green, blue = (round(a + 2 * (b - a) / 3) for a, b in zip(tint, _FITTED, strict=True))
    return (red, green, blue)


def _drawn(shown: tuple[Shown, ...], view: View, width_px: float) -> Drawn:
    width, height = seen_size(shown, view)
    return draw_solids(shown, view, 0, min(width_px / width, _TALLEST_PX / height))


def _number_new(canvas: Canvas, new: tuple[Part, ...], drawn: Drawn, first: int) -> None:
    """A column of balloons at the right, each with a line to its part."""
    ends = [_seen_end(drawn, first + i, part) for i, part in enumerate(new)]
    x, last = drawn.pixels.shape[1] + _MARGIN + _COLUMN / 2, 0.0
    for i in sorted(range(len(new)), key=lambda k: ends[k][1]):
        y = max(ends[i][1] + _MARGIN, last + 2.6 * _BALLOON, _BALLOON + _MARGIN)
        last = y
        end = (ends[i][0] + _MARGIN, ends[i][1] + _MARGIN)
        canvas.stroke(np.array([end, (x, y)]), 1.6)
        canvas.ring(end, 3.2, 1.6, inside=(38, 50, 56))
        _balloon(canvas, (x, y), str(new[i].number))


def _seen_end(drawn: Drawn, index: int, part: Part) -> tuple[float, float]:
    """(column, row) near the right end of what is seen of the part; its middle where nothing is seen."""
    row, column = np.nonzero(drawn.owner == index)
    if not len(row):
        x, y = drawn.at(part.meshes[0].vertices.mean(axis=0)[None])[0]
        return float(x), float(y)
    right = np.quantile(column, 0.985, method="nearest")
    return float(right) + 0.5, float(np.median(row[np.abs(column - right) <= 2])) + 0.5


def _order_picture(build: Build, parts: tuple[Part, ...], kind: str, places: tuple[Point, ...]) -> bytes:
    """What is fitted by then, from outside, the places numbered in the order of tightening, white in black discs; bolts with the
    letters of the spans between, where it is sealed."""
    last = max((item.order for item in (bolts_of(build) if kind == "bolts" else screws_in(build))), default=0)
    shown = tuple(part.shown() for part in parts if part.order <= last)
    drawn = _drawn(shown, OUTSIDE, _WIDTH_PX - 2 * _MARGIN - 4 * _BALLOON)
    rows, columns = drawn.pixels.shape[:2]
    corner = round(_MARGIN + 2 * _BALLOON)
    canvas = Canvas(rows + 2 * corner, columns + 2 * corner)
    canvas.paste(drawn.pixels, corner, corner)
    level = _outside_level(build, kind)
    middle = drawn.at(np.array([[*np.mean(places, axis=0), level]]))[0] + corner
    spots = _spots(drawn, places, level, corner)
    taken = [np.array(at) for at in spots]
    if kind == "bolts" and has_seal(build):
        spans = mid_spans(places)
        for letter, at in zip(letters(len(spans)), _spots(drawn, spans, level, corner), strict=True):
            taken.append(at)
            canvas.patch(float(at[0]) - _BALLOON, float(at[1]) - _BALLOON, 2 * _BALLOON, 2 * _BALLOON, (255, 255, 255))
            canvas.stroke(_square(at), 1.6)
            canvas.words(letter, (float(at[0]), float(at[1]) + _CAPTION / 2), _CAPTION, "middle")
    dark = np.pad(_dark(drawn), corner)
    for number, at in enumerate(spots, 1):
        out = _clear_of(dark, at, at - middle, taken)
        taken.append(out)
        canvas.stroke(np.array([at, out]), 1.6)
        canvas.ring((float(out[0]), float(out[1])), _BALLOON, 2.0, inside=INK)
        canvas.words(str(number), (float(out[0]), float(out[1]) + _CAPTION / 2), _CAPTION, "middle", ink=PAPER)
    return png_bytes(canvas.pixels)


def _dark(drawn: Drawn) -> np.ndarray:
    """Where there is ink: edges and letters."""
    return np.asarray(drawn.pixels.max(axis=2) < _DARK)


def _clear_of(dark: np.ndarray, at: np.ndarray, away: np.ndarray, taken: list[np.ndarray]) -> np.ndarray:
    """Where a disc for `at` stands: near it, where it hides the least ink, best straight away from the middle, clear of the
    places in `taken` and on the picture."""
    outward = math.atan2(away[1], away[0])
    best, least = at + away, math.inf
    for reach in _REACHES:
        for turn in _TURNS:
            spot = at + reach * _BALLOON * np.array([math.cos(outward + turn), math.sin(outward + turn)])
            if any(math.hypot(*(spot - other)) < 2.2 * _BALLOON for other in taken if other is not at):
                continue
            left, top = (round(float(v - _BALLOON)) for v in spot)
            size = round(2 * _BALLOON)
            if left < 0 or top < 0 or left + size > dark.shape[1] or top + size > dark.shape[0]:
                continue
            cost = float(dark[top:top + size, left:left + size].sum()) + 12.0 * reach + 20.0 * abs(turn)
            if cost < least:
                best, least = spot, cost
    return best


def _spots(drawn: Drawn, places: tuple[Point, ...], level: float, corner: int) -> np.ndarray:
    """Places of the drawing in px of the canvas."""
    points: list[Point3] = [(x, y, level) for x, y in places]
    return drawn.at(np.array(points)) + corner


def _outside_level(build: Build, kind: str) -> float:
    items = bolts_of(build) if kind == "bolts" else screws_in(build)
    return min((at[2] for item in items for at in item.at), default=0.0)


def _square(at: np.ndarray) -> np.ndarray:
    corners = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0)])
    return at + _BALLOON * corners


def _balloon(canvas: Canvas, at: tuple[float, float], text: str) -> None:
    canvas.ring(at, _BALLOON, 2.0)
    canvas.words(text, (at[0], at[1] + _CAPTION / 2), _CAPTION, "middle")
