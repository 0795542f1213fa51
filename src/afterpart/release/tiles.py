"""True-scale pages: one page where the drawing fits, else tiles that overlap and carry registration marks.

Words: the *window* is the part of a page the drawing shows through; a *tile* is one page of several, named by row letter
(from the top) and column number; a *registration mark* is a cross that two neighbouring tiles both carry: lay one on the other.
Pages are A4 unless told otherwise; A4 windows keep clear of what letter paper lacks, so a centred print at 100 % on letter is
whole too.
Every page carries the 100 mm bar both ways, because printers feed paper with a scale error of their own.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from afterpart.model.outline import Point
from afterpart.release.paper import A4, BOLD, HAIRLINE, Paper, Placement
from afterpart.words import tell

LONG_END, SHORT_END = 20.0, 9.0
"""Margins at the ends of the page's long and short side, bars and texts not counted."""
BAR_STRIP = 8.0
OVERLAP = 14.0
_MARK = 4.0
_BORDER = 2.0

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class _Window:
    page: tuple[float, float]
    left: float
    bottom: float
    width: float
    height: float


def true_scale_pages(
    paper: Paper, box: Box, draw: Callable[[Paper, Placement], None], heading: str, how: str, sheet: tuple[float, float] = A4
) -> int:
    """Draw a drawing of this box (left, bottom, right, top, mm) at 1:1 on as many pages as it takes; how many is answered.

    draw: called once a page, clipped to the page's window; heading: page title; how: one line of instruction; sheet: the page's
    short and long side, A4 or letter unless the printer takes larger ones.
    """
    size = (box[2] - box[0] + 2 * _BORDER, box[3] - box[1] + 2 * _BORDER)
    windows = (_window(sheet), _window(sheet[::-1]))
    window, columns, rows = min(((w, *_counts(size, w)) for w in windows), key=lambda c: c[1] * c[2])
    shown = ((columns - 1) * (window.width - OVERLAP) + window.width, (rows - 1) * (window.height - OVERLAP) + window.height)
    corner = ((box[0] + box[2] - shown[0]) / 2, (box[1] + box[3] - shown[1]) / 2)
    for row in range(rows - 1, -1, -1):
        for column in range(columns):
            name = "" if columns * rows == 1 else tell(
                "tile {name} of {rows} x {columns}", name=_tile_name(rows - 1 - row, column), rows=rows, columns=columns)
            low = (corner[0] + column * (window.width - OVERLAP), corner[1] + row * (window.height - OVERLAP))
            place = Placement((window.left - low[0], window.bottom - low[1]))
            paper.new_page(window.page)
            _furniture(paper, window, heading, how, name)
            paper.clip(window.left, window.bottom, window.width, window.height)
            draw(paper, place)
            paper.unclip()
            _registration_marks(paper, window, column > 0, column < columns - 1, row > 0, row < rows - 1)
    return columns * rows


def _window(page: tuple[float, float]) -> _Window:
    ends = (SHORT_END, LONG_END) if page[0] < page[1] else (LONG_END, SHORT_END)
    left, bottom = ends[0] + BAR_STRIP, ends[1] + BAR_STRIP
    return _Window(page, left, bottom, page[0] - ends[0] - left, page[1] - ends[1] - bottom - 6.0)


def _counts(size: tuple[float, float], window: _Window) -> tuple[int, int]:
    fits = ((size[0], window.width), (size[1], window.height))
    columns, rows = (1 if s <= w else math.ceil((s - OVERLAP) / (w - OVERLAP)) for s, w in fits)
    return columns, rows


def _tile_name(row: int, column: int) -> str:
    letters = ""
    row += 1
    while row:
        row, rest = divmod(row - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"{letters}{column + 1}"


def _furniture(paper: Paper, window: _Window, heading: str, how: str, tile: str) -> None:
    top = window.bottom + window.height + 2.2
    paper.text((window.left, top), heading, 3.6, BOLD)
    paper.text((window.left + window.width, top), tile, 3.6, BOLD, align="right")
    paper.check_bar(window.left, window.bottom - BAR_STRIP + 3.6)
    paper.text((window.left, window.bottom - BAR_STRIP + 0.4), how, 2.6)
    paper.check_bar(window.left - BAR_STRIP + 1.0, window.bottom, is_upright=True)


def _registration_marks(paper: Paper, window: _Window, left: bool, right: bool, below: bool, above: bool) -> None:
    """Crosses in the middle of each overlap, three along each shared side, and the edge of the overlap as a dashed line."""
    x0, y0, x1, y1 = window.left, window.bottom, window.left + window.width, window.bottom + window.height
    half = OVERLAP / 2
    paper.pen(HAIRLINE, grey=0.55, dash=(1.5, 1.5))
    for present, start, end in (
        (left, (x0 + OVERLAP, y0), (x0 + OVERLAP, y1)),
        (right, (x1 - OVERLAP, y0), (x1 - OVERLAP, y1)),
        (below, (x0, y0 + OVERLAP), (x1, y0 + OVERLAP)),
        (above, (x0, y1 - OVERLAP), (x1, y1 - OVERLAP)),
    ):
        if present:
            paper.line(start, end)
    paper.pen(0.2)
    across = [(y0 + half), (y0 + y1) / 2, (y1 - half)]
    along = [(x0 + half), (x0 + x1) / 2, (x1 - half)]
    points = {(x, y) for present, x in ((left, x0 + half), (right, x1 - half)) if present for y in across}
    points |= {(x, y) for present, y in ((below, y0 + half), (above, y1 - half)) if present for x in along}
    for point in sorted(points):
        _cross(paper, point)
    paper.pen()


def _cross(paper: Paper, point: Point) -> None:
    x, y = point
    paper.line((x - _MARK, y), (x + _MARK, y))
    paper.line((x, y - _MARK), (x, y + _MARK))
    paper.circle(point, _MARK / 2)
