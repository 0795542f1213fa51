"""The filter element on paper: a true-scale template of the chosen cuts, and the table of all that were compared.

First pages: the element at 1:1 with the 100 mm bars, its cut lines strong and numbered in the order of cutting, each running out
past its ends so that the knife does too, and the seat's outline faint behind it; tiles where the page is too small.
Last page: the table of cuts, one column each, with the shapes side by side at one scale.
Conventions: as paper.py and tiles.py; the drawing lies as in the drawing's frame, the clean side facing the reader.
Limits: at most SHAPES_A_ROW shapes stand side by side, more go into further rows.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from afterpart.geometry.cut_order import order_of_cuts
from afterpart.model.feature import CutRow, Seat
from afterpart.model.outline import Point
from afterpart.model.release import TitleBlock
from afterpart.release.paper import A4, BOLD, PLAIN, Paper, Placement
from afterpart.release.tiles import Box, true_scale_pages
from afterpart.release.words import word, words

SHAPES_A_ROW = 4
CUT_WIDTH = 0.5
RUN_OUT = 6.0
"""How far a cut line goes on, thin, past the element's corners."""
_FAINT = 0.65
_NUMBER = 4.0
_MARGIN = 15.0
_LINE = 5.0
_FORMS = {"rectangle": "form_rectangle", "corners cut": "form_corners", "free": "form_free"}
"""Key of the word for each form of a CutRow."""
_HEADS = ("cuts", "form", "area", "gain", "not_covered", "open_area", "drop", "face_velocity")


def cutting_paper_pdf(rows: Sequence[CutRow], seat: Seat, title: TitleBlock, page: tuple[float, float] = A4) -> bytes:
    """The template of the chosen row and the table of all rows.

    page: size of the table's page in mm (template pages are A4, upright or lying).
    ValueError: not exactly one row is chosen, or the page is narrower than 180 mm or lower than 250 mm.
    """
    chosen, = (row for row in rows if row.chosen)
    if page[0] < 180.0 or page[1] < 250.0:
        raise ValueError(f"a page of {page[0]:g} x {page[1]:g} mm; the table of cuts needs 180 x 250 mm")
    paper = Paper(title, _told("template"))
    heading = f"{title.name}  {title.revision}  {title.date}".rstrip() + f"  -  {_told('heading')}"
    true_scale_pages(paper, _box(chosen, seat), lambda p, place: _draw_template(p, place, chosen, seat), heading, _told("how"))
    _draw_table(paper, page, rows, seat, title)
    return paper.finish()


def _told(key: str, **fields: object) -> str:
    return word("cuts", key, **fields)


def _form(row: CutRow) -> str:
    return _told(_FORMS[row.form]) if row.form in _FORMS else row.form


def _box(row: CutRow, seat: Seat) -> Box:
    """Room for the seat's outline and for the cut lines with their ends and numbers."""
    points = [*seat.region, *(p for line in _cut_lines(row) for p in line)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs) - 2.0, min(ys) - 2.0, max(xs) + 2.0, max(ys) + 2.0


def _cut_lines(row: CutRow) -> list[tuple[Point, Point]]:
    """Every side, run out past its ends."""
    lines = []
    for i, a in enumerate(row.corners):
        b = row.corners[(i + 1) % len(row.corners)]
        length = math.dist(a, b)
        u, v = RUN_OUT * (b[0] - a[0]) / length, RUN_OUT * (b[1] - a[1]) / length
        lines.append(((a[0] - u, a[1] - v), (b[0] + u, b[1] + v)))
    return lines


def _draw_template(paper: Paper, place: Placement, row: CutRow, seat: Seat) -> None:
    paper.pen(0.15, grey=_FAINT)
    paper.polygon(place.at(p) for p in seat.region)
    paper.pen(0.1)
    for start, end in _cut_lines(row):
        paper.line(place.at(start), place.at(end))
    paper.pen(CUT_WIDTH)
    paper.polygon(place.at(p) for p in row.corners)
    paper.pen()
    for number, i in enumerate(order_of_cuts(row.corners), start=1):
        _draw_number(paper, place, row, i, number)
    x, y = _middle(row.corners, place)
    lines = (
        _told("keep"),
        _told("cuts_and_area", count=len(row.corners), area=row.area / 100),
        _told("faint"),
    )
    for k, text in enumerate(lines):
        paper.text((x, y + 5.0 * (1 - k)), text, 3.4, BOLD if k == 0 else PLAIN, align="middle")


def _draw_number(paper: Paper, place: Placement, row: CutRow, side: int, number: int) -> None:
    """The number of a cut inside the element beside its line, with the cut's length where there is room for it."""
    a, b = place.at(row.corners[side]), place.at(row.corners[(side + 1) % len(row.corners)])
    length = math.dist(a, b)
    inward = (-(b[1] - a[1]) / length, (b[0] - a[0]) / length)
    x, y = ((p + q) / 2 + 5.0 * n for p, q, n in zip(a, b, inward, strict=True))
    paper.circle((x, y), 0.7 * _NUMBER)
    paper.text((x, y - 0.36 * _NUMBER), str(number), _NUMBER, BOLD, align="middle")
    if length >= 40.0:
        turn_deg = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
        turn_deg = turn_deg if -90.0 < turn_deg <= 90.0 else turn_deg - math.copysign(180.0, turn_deg)
        c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
        at = (x + 6.0 * c + 0.36 * 3.0 * s, y + 6.0 * s - 0.36 * 3.0 * c)
        paper.text(at, f"{length:.1f} mm", 3.0, turn_deg=turn_deg)


def _middle(points: Sequence[Point], place: Placement) -> Point:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return place.at(((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2))


@dataclass(frozen=True)
class _Column:
    """A column of the table: head, where it starts, and what each row says."""

    head: str
    left: float
    cells: tuple[str, ...]


def _draw_table(paper: Paper, page: tuple[float, float], rows: Sequence[CutRow], seat: Seat, title: TitleBlock) -> None:
    paper.new_page(page)
    top = page[1] - _MARGIN
    heading = f"{title.name}  {title.revision}  {title.date}".rstrip() + f"  -  {_told('heading_table')}"
    paper.text((_MARGIN, top), heading, 4.2, BOLD)
    bottom = _draw_figures(paper, top - 10.0, page[0] - 2 * _MARGIN, rows)
    bottom = _draw_explanation(paper, bottom - 5.0)
    _draw_shapes(paper, bottom - 4.0, page[0] - 2 * _MARGIN, rows, seat)


def _columns(rows: Sequence[CutRow], width: float) -> list[_Column]:
    heads = (*(_told(f"head_{head}") for head in _HEADS), "")
    shares = (0.0, 0.065, 0.30, 0.40, 0.485, 0.60, 0.715, 0.785, 0.92)
    cells = [
        (
            f"4 + {row.cuts}",
            _form(row),
            f"{row.area / 100:.1f} cm2",
            f"{row.gain:+.1%}" if row.cuts else "-",
            f"{row.gap:.1%}",
            f"{row.open_area / 100:.1f} cm2",
            f"x {row.pressure_ratio:.2f}",
            _told("flow_not_told") if row.face_velocity_m_per_s is None else f"{row.face_velocity_m_per_s:.2f} m/s",
            _told("chosen") if row.chosen else "",
        )
        for row in rows
    ]
    return [_Column(head, _MARGIN + share * width, tuple(c[i] for c in cells)) for i, (head, share) in enumerate(
        zip(heads, shares, strict=True))]


def _draw_figures(paper: Paper, top: float, width: float, rows: Sequence[CutRow]) -> float:
    """The table; the height of its lower edge is answered."""
    for column in _columns(rows, width):
        paper.text((column.left, top), column.head, 3.0, BOLD)
        for i, (row, cell) in enumerate(zip(rows, column.cells, strict=True), start=1):
            paper.text((column.left, top - i * _LINE - 0.6), cell, 3.0, BOLD if row.chosen else PLAIN)
    paper.pen(0.2)
    paper.line((_MARGIN, top - 1.6), (_MARGIN + width, top - 1.6))
    bottom = top - len(rows) * _LINE - 2.6
    paper.line((_MARGIN, bottom), (_MARGIN + width, bottom))
    paper.pen()
    return bottom


def _draw_explanation(paper: Paper, top: float) -> float:
    lines = words("cuts", "explanation")
    for i, text in enumerate(lines):
        paper.text((_MARGIN, top - 4.0 * i), text, 2.8)
    return top - 4.0 * (len(lines) - 1)


def _draw_shapes(paper: Paper, top: float, width: float, rows: Sequence[CutRow], seat: Seat) -> None:
    """All shapes at one scale on the seat's outline, the cuts beyond the rectangle's four drawn strong."""
    x0, y0, x1, y1 = _box_of(seat.region)
    pitch = width / SHAPES_A_ROW
    lines = math.ceil(len(rows) / SHAPES_A_ROW)
    scale = min((pitch - 6.0) / (x1 - x0), ((top - _MARGIN) / lines - 13.0) / (y1 - y0))
    step = scale * (y1 - y0) + 13.0
    for i, row in enumerate(rows):
        line, column = divmod(i, SHAPES_A_ROW)
        middle = (_MARGIN + (column + 0.5) * pitch, top - line * step - scale * (y1 - y0) / 2 - 2.0)
        place = Placement((middle[0] - scale * (x0 + x1) / 2, middle[1] - scale * (y0 + y1) / 2), scale)
        paper.pen(0.1, grey=_FAINT)
        paper.polygon(place.at(p) for p in seat.region)
        paper.pen(0.35)
        paper.polygon(place.at(p) for p in row.corners)
        label = f"4 + {row.cuts}, {_form(row)}"
        below = middle[1] - scale * (y1 - y0) / 2 - 4.0
        paper.text((middle[0], below), label, 2.8, BOLD if row.chosen else PLAIN, align="middle")
        figures = f"{row.area / 100:.1f} cm2"
        figures += (f", {row.gain:+.1%}" if row.cuts else "") + (f", {_told('chosen')}" if row.chosen else "")
        paper.text((middle[0], below - 3.8), figures, 2.8, BOLD if row.chosen else PLAIN, align="middle")
    paper.pen()


def _box_of(points: Sequence[Point]) -> Box:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)
