"""The table of holes, from the datum origin, and the frame of their position tolerance (ISO 1101).

Conventions: mm of paper; rows go down from where the table begins; the height it ends at is answered.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.feature import Hole
from afterpart.model.outline import Point
from afterpart.model.piece import Piece
from afterpart.release.characteristics import told_role
from afterpart.release.lengths import in_inches, inch_most
from afterpart.release.limits import hole_limits, position_tolerance, size_text
from afterpart.release.paper import BOLD, HAIRLINE, PLAIN, Paper
from afterpart.release.title_field import NARROW, fitted_size, wrapped
from afterpart.release.words import word
from afterpart.units import MM_PER_INCH

_ROW = 4.4
_COLUMNS = (0.0, 27.0, 43.0, 59.0, 85.0)
_WIDTH = 116.0
_FRAME = 5.0


def draw_hole_table(paper: Paper, piece: Piece, letters: dict[str, str], at: Point) -> float:
    """One row a hole: name, place, size with limits, what for and the datum it is."""
    left, y = at
    paper.text((left, y), word("drawing", "holes_title"), 3.4, BOLD)
    y -= _ROW + 0.6
    rows = [tuple(cell.strip() for cell in word("drawing", "holes_head").split("|"))]
    rows += [_row(hole, letters) for hole in piece.features if isinstance(hole, Hole)]
    for k, row in enumerate(rows):
        paper.pen()
        for x, cell, end in zip(_COLUMNS, row, (*_COLUMNS[1:], _WIDTH), strict=True):
            size = fitted_size(paper, cell, end - x - 1.5, 2.7, BOLD if not k else PLAIN)
            paper.text((left + x + 0.8, y), cell, size, BOLD if not k else PLAIN)
        paper.pen(NARROW if not k else HAIRLINE, grey=0.0 if not k else 0.5)
        paper.line((left, y - 1.4), (left + _WIDTH, y - 1.4))
        y -= _ROW
    paper.pen()
    return y + _ROW - 1.4


def _row(hole: Hole, letters: dict[str, str]) -> tuple[str, ...]:
    told = told_role(hole)
    if hole.id in letters:
        told += f"; {letters[hole.id]}"
    x, y = (_place(v) for v in hole.center)
    return (hole.id, x, y, f"Ø{size_text(hole.diameter, hole_limits(hole))}", told)


def _place(value: float) -> str:
    """A theoretically exact place: to 0.01 mm, or to 0.0001 inch, since rounding takes from the zone about it."""
    if in_inches():
        return f"{round(value / MM_PER_INCH, 4) + 0.0:.4f}"
    return f"{round(value, 2) + 0.0:.2f}"


def draw_position(paper: Paper, holes: tuple[Hole, ...], letters: dict[str, str], at: Point, width: float) -> float:
    """Words and frame of the position tolerance of the bolt holes that are no datum; nothing where there are none."""
    others = tuple(h for h in holes if h.id not in letters)
    zone = position_tolerance(others)
    left, y = at
    if zone is None or not letters:
        return y
    paper.text((left, y), word("drawing", "position"), 2.8)
    y -= _FRAME + 2.0
    cells = ("", f"Ø{inch_most(zone) if in_inches() else format(zone, '.2f')}", "A", *sorted(letters.values()))
    paper.pen(NARROW)
    x = left + 0.8
    for cell in cells:
        wide = max(_FRAME, paper.text_width(cell, 2.8) + 2.0)
        paper.box(x, y, wide, _FRAME)
        paper.text((x + wide / 2, y + 1.5), cell, 2.8, align="middle")
        if not cell:
            middle = (x + wide / 2, y + _FRAME / 2)
            paper.circle(middle, 1.0)
            paper.line((middle[0] - 1.9, middle[1]), (middle[0] + 1.9, middle[1]))
            paper.line((middle[0], middle[1] - 1.9), (middle[0], middle[1] + 1.9))
        x += wide
    for line in wrapped(paper, word("drawing", "position_why"), width, 2.2):
        y -= 3.0
        paper.text((left, y), line, 2.2)
    paper.pen()
    return y - 2.0
