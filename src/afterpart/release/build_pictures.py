"""Pictures of a build: each piece from above and from below, the assembly closed, and the assembly drawn apart with numbers.

Words: a *balloon* is a numbered ring with a leader to the part it names; the *legend* below a picture says what each is.
Every picture says what it shows and how large it is; the same build gives the same picture.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.model.piece import Piece
from afterpart.release.canvas import Canvas
from afterpart.release.picture import Drawn, View, draw_solids, seen_size
from afterpart.release.png import png_bytes
from afterpart.release.put_together import Part, moved_out
from afterpart.release.shown import Shown, spoken, tint_of
from afterpart.release.words import word
from afterpart.solid.body import Mesh

ABOVE, BELOW = View(58.0, -12.0), View(-58.0, -12.0)
APART = View(22.0, -24.0)
_WIDTH_PX = 1400
_TALLEST_PX = 1900
_MARGIN = 24
_CAPTION = 15.0
_LINE = 30
_BALLOON = 17.0
_BALLOON_COLUMN = 110


def piece_picture(piece: Piece, mesh: Mesh) -> bytes:
    """PNG: the piece as it lies on the bed, seen from above and from below, at one scale."""
    shown = (Shown(spoken(piece), mesh, tint_of(piece.kind, 0)),)
    size = " x ".join(f"{side:.1f}" for side in np.ptp(mesh.vertices, axis=0))
    heading = f"{spoken(piece)} {piece.revision}: {size} mm" + (f", {piece.material}" if piece.material else "")
    return _two_views(shown, heading, (word("pieces", "view_above"), word("pieces", "view_below")))


def closed_picture(parts: tuple[Part, ...], title: str) -> bytes:
    """PNG: everything in its place, seen from the machine's side and from outside."""
    shown = tuple(part.shown() for part in parts)
    return _two_views(shown, word("pieces", "put_together", title=title),
                      (word("pieces", "view_machine"), word("pieces", "view_outside")))


def exploded_picture(parts: tuple[Part, ...], title: str) -> bytes:
    """PNG: each part moved out along the way it comes from, numbered, with a legend."""
    tilt = math.radians(APART.elevation_deg)
    footprint = np.vstack([mesh.vertices for part in parts for mesh in part.meshes]) @ _level_depth()
    # Level parts one above the other keep apart on the picture when lifted by what their depth takes up on it.
    shifts = moved_out(parts, gap=max(4.0, 1.05 * float(np.ptp(footprint)) * math.tan(tilt)))
    shown = tuple(part.shown(shift) for part, shift in zip(parts, shifts, strict=True))
    scale = _scale((shown,), (APART,), _WIDTH_PX - 2 * _MARGIN - _BALLOON_COLUMN)
    drawn = draw_solids(shown, APART, 0, scale)
    rows, columns = drawn.pixels.shape[:2]
    count = len(parts)
    height = max(rows, int(count * 2.6 * _BALLOON))
    canvas = Canvas(height + 2 * _MARGIN + _LINE * (count + 2), max(900, columns + 2 * _MARGIN + _BALLOON_COLUMN))
    canvas.words(word("pieces", "drawn_apart", title=title), (_MARGIN, _MARGIN + _CAPTION), _CAPTION)
    top = _MARGIN + _LINE
    canvas.paste(drawn.pixels, _MARGIN, top)
    _balloons(canvas, parts, drawn, shown, (_MARGIN, top), height)
    _legend(canvas, parts, top + height + _LINE)
    return png_bytes(canvas.pixels)


def _level_depth() -> np.ndarray:
    """The level direction that leads away from the eye in the drawn-apart view."""
    x, y, _ = View(0.0, APART.turn_deg).axes()[2]
    return np.array((x, y, 0.0))


def _two_views(shown: tuple[Shown, ...], heading: str, captions: tuple[str, str]) -> bytes:
    views = (ABOVE, BELOW)
    half = _WIDTH_PX // 2 - 2 * _MARGIN
    scale = _scale((shown, shown), views, half)
    drawings = [draw_solids(shown, view, 0, scale) for view in views]
    rows = max(drawn.pixels.shape[0] for drawn in drawings)
    canvas = Canvas(rows + 2 * _MARGIN + 2 * _LINE, _WIDTH_PX)
    canvas.words(heading, (_MARGIN, _MARGIN + _CAPTION), _CAPTION)
    for number, (drawn, caption) in enumerate(zip(drawings, captions, strict=True)):
        middle = _WIDTH_PX * (2 * number + 1) // 4
        height, width = drawn.pixels.shape[:2]
        canvas.paste(drawn.pixels, middle - width // 2, _MARGIN + _LINE + (rows - height) // 2)
        canvas.words(caption, (middle, rows + _MARGIN + 2 * _LINE), 12.0, "middle")
    return png_bytes(canvas.pixels)


def _scale(sets: tuple[tuple[Shown, ...], ...], views: tuple[View, ...], width_px: int) -> float:
    """px per mm at which every view is at most so wide, and not too tall."""
    sizes = [seen_size(shown, view) for shown, view in zip(sets, views, strict=True)]
    return min(min(width_px / width, _TALLEST_PX / height) for width, height in sizes)


def _balloons(canvas: Canvas, parts: tuple[Part, ...], drawn: Drawn, shown: tuple[Shown, ...], corner: tuple[int, int],
              height: int) -> None:
    """A column of balloons at the right, in the order of what they point at, so that no two leaders cross."""
    ends = [_pointed(drawn, index, one) for index, one in enumerate(shown)]
    order = sorted(range(len(parts)), key=lambda i: ends[i][1])
    rows = _spread([ends[i][1] for i in order], 2.6 * _BALLOON, height)
    x = corner[0] + drawn.pixels.shape[1] + _BALLOON_COLUMN / 2
    for i, row in zip(order, rows, strict=True):
        end = np.array(ends[i]) + corner
        middle = np.array((x, row + corner[1]))
        canvas.stroke(np.array([end, middle]), 1.4)
        canvas.ring((float(end[0]), float(end[1])), 2.6, 1.4, inside=(38, 50, 56))
        canvas.ring((float(x), float(middle[1])), _BALLOON, 1.8)
        canvas.words(str(parts[i].number), (float(x), float(middle[1]) + _CAPTION / 2), _CAPTION, "middle")


def _pointed(drawn: Drawn, index: int, one: Shown) -> tuple[float, float]:
    """(column, row) of a place well inside what is seen of this body, near its right end; its middle where nothing is seen."""
    row, column = np.nonzero(drawn.owner == index)
    if not len(row):
        x, y = drawn.at(one.mesh.vertices.mean(axis=0)[None])[0]
        return float(x), float(y)
    right = np.quantile(column, 0.985, method="nearest")
    near = np.abs(column - right) <= 2
    return float(right) + 0.5, float(np.median(row[near])) + 0.5


def _spread(wanted: list[float], least: float, height: float) -> list[float]:
    """Rows in the same order, at least `least` apart and on the picture, as near to the wanted ones as a push down and a push
    back up make them."""
    rows: list[float] = []
    for row in wanted:
        rows.append(max(row, least / 2, rows[-1] + least if rows else 0.0))
    for i in range(len(rows) - 1, -1, -1):
        rows[i] = min(rows[i], height - least / 2 - least * (len(rows) - 1 - i))
    return rows


def _legend(canvas: Canvas, parts: tuple[Part, ...], top: float) -> None:
    for i, part in enumerate(parts):
        foot = top + _LINE * (i + 0.5)
        canvas.words(str(part.number), (_MARGIN + 24, foot), 13.0, "right")
        canvas.patch(_MARGIN + 40, foot - 14, 26, 15, part.tint)
        canvas.words(part.label, (_MARGIN + 80, foot), 13.0)
