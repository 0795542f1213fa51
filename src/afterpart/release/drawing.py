"""The drawing as PDF: the dimensioned outline at true scale, the inspection table, and the paper to lay on the part.

Page 1: outline, datum, numbered balloons with the dimensions (of the distances between centres, those that tie them together; the
table has all), the 100 mm bar, the title; on A4, else A3, else in A4 tiles.
The table (number, kind, measured with expanded uncertainty, design, probability, state) stands below it where there is room,
else on pages of its own.  Last: the 1:1 template (template.py).
An outline of unknown size is drawn to fit the page, says so, and has no bar and no template.  Same input, same bytes.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
import textwrap

from afterpart.geometry.segments import segments_box
from afterpart.model.outline import Dimension, Outline
from afterpart.model.release import TitleBlock
from afterpart.release.dimension_marks import BALLOON_RADIUS, TEXT_SIZE, DimensionMark, balloon_label, place_marks
from afterpart.release.free_style import FREE_DASHES, FREE_WIDTH
from afterpart.release.paper import A3, A4, BOLD, HAIRLINE, PAGE_MARGIN, Paper, Placement, printable
from afterpart.release.template import draw_arrow, draw_datum, draw_loops, draw_template, opening_marks
from afterpart.release.tiles import true_scale_pages
from afterpart.release.words import word

COVERAGE = 2.0
"""Expanded uncertainty U = 2 u, about 95 % (JCGM 100, clause 6.3)."""
_TITLE_STRIP = 24.0
_AROUND = 18.0
"""Kept round the part for balloons and outside dimension lines."""
_ROW = 4.8
_STATES = ("inferred", "reading", "maker", "free")
_COLUMNS = (
    ("number", 0.0),
    ("id", 11.0),
    ("kind", 24.0),
    ("of", 46.0),
    ("measured", 80.0),
    ("design", 122.0),
    ("probability", 144.0),
    ("state", 166.0),
)
_TABLE_WIDTH = 194.0
_LONGEST_OF = 22


def drawing_pdf(outline: Outline, title: TitleBlock) -> bytes:
    """The drawing of an outline.  ValueError: no design loops."""
    box = segments_box(s for loop in outline.design for s in loop.segments)
    paper = Paper(title, _told("subject"))
    rows_left = outline.dimensions
    size = (box[2] - box[0], box[3] - box[1])
    page = _page_for(size, len(rows_left)) if outline.unit == "mm" else A4
    if page is None:
        rows_left = _tiled_drawing(paper, outline, title, box)
    else:
        rows_left = _one_page_drawing(paper, outline, title, box, page)
    _table_pages(paper, outline, title, rows_left)
    if outline.unit == "mm":
        draw_template(paper, outline, title, _told("lay_on"), opening_marks(outline))
    return paper.finish()


def _told(key: str, **fields: object) -> str:
    return word("outline", key, **fields)


def _page_for(size: tuple[float, float], rows: int) -> tuple[float, float] | None:
    """The first page the part fits at 1:1, one that also takes the table if the paper size has one; None: none does."""
    for paper in (A4, A3):
        fitting = [
            p
            for p in (paper, paper[::-1])
            if size[0] + 2 * _AROUND <= p[0] - 2 * PAGE_MARGIN and size[1] + 2 * _AROUND <= _room(p)
        ]
        with_table = [p for p in fitting if size[1] + 2 * _AROUND + _table_height(rows) <= _room(p)]
        if fitting:
            return (with_table or fitting)[0]
    return None


def _room(page: tuple[float, float]) -> float:
    return page[1] - 2 * PAGE_MARGIN - _TITLE_STRIP


def _table_height(rows: int) -> float:
    return (rows + 2) * _ROW


def _one_page_drawing(
    paper: Paper, outline: Outline, title: TitleBlock, box: tuple[float, float, float, float], page: tuple[float, float]
) -> tuple[Dimension, ...]:
    """Page 1; the dimensions the table there had no room for are answered."""
    paper.new_page(page)
    bottom = PAGE_MARGIN + _TITLE_STRIP
    scale = 1.0
    if outline.unit != "mm":
        scale = min((page[0] - 2 * (PAGE_MARGIN + _AROUND)) / (box[2] - box[0]), (_room(page) - 2 * _AROUND) / (box[3] - box[1]))
    needs = _table_height(len(outline.dimensions))
    has_table = bool(outline.dimensions) and scale * (box[3] - box[1]) + 2 * _AROUND + needs <= _room(page)
    low = bottom + (needs if has_table else 0.0)
    middle = (page[0] / 2, (low + page[1] - PAGE_MARGIN) / 2)
    place = Placement((middle[0] - scale * (box[0] + box[2]) / 2, middle[1] - scale * (box[1] + box[3]) / 2), scale)
    area = (PAGE_MARGIN + 1.0, low + 1.0, page[0] - PAGE_MARGIN - 1.0, page[1] - PAGE_MARGIN - 1.0)
    _dimensioned(paper, outline, place, area)
    _frame(paper, outline, title)
    if not has_table:
        return outline.dimensions
    _table(paper, outline, outline.dimensions, (page[0] - _TABLE_WIDTH) / 2, low - _ROW)
    return ()


def _tiled_drawing(
    paper: Paper, outline: Outline, title: TitleBlock, box: tuple[float, float, float, float]
) -> tuple[Dimension, ...]:
    around = (box[0] - _AROUND, box[1] - _AROUND, box[2] + _AROUND, box[3] + _AROUND)

    def draw(page: Paper, place: Placement) -> None:
        low, high = place.at((around[0], around[1])), place.at((around[2], around[3]))
        _dimensioned(page, outline, place, (*low, *high))

    true_scale_pages(
        paper,
        around,
        draw,
        f"{title.name}  {title.revision}  {title.date}".rstrip() + f"  -  {_told('heading')}",
        _told("tiles"),
    )
    return outline.dimensions


def _dimensioned(paper: Paper, outline: Outline, place: Placement, area: tuple[float, float, float, float]) -> None:
    draw_loops(paper, outline.design, place, outline.free)
    draw_datum(paper, place)
    for mark in place_marks(outline, place, area):
        _draw_mark(paper, mark)


def _draw_mark(paper: Paper, mark: DimensionMark) -> None:
    paper.pen(HAIRLINE, grey=0.35)
    for start, end in mark.extensions:
        paper.line(start, end)
    if mark.spans is not None:
        (x0, y0), (x1, y1) = mark.spans
        paper.line((x0, y0), (x1, y1))
        direction_deg = math.degrees(math.atan2(y1 - y0, x1 - x0))
        if math.dist(*mark.spans) > 5.0:
            draw_arrow(paper, (x1, y1), direction_deg)
            draw_arrow(paper, (x0, y0), direction_deg + 180)
    if mark.pointed is not None:
        paper.line(mark.balloon, mark.pointed)
        draw_arrow(
            paper, mark.pointed, math.degrees(math.atan2(mark.pointed[1] - mark.balloon[1], mark.pointed[0] - mark.balloon[0]))
        )
    x, y = mark.balloon
    paper.pen(0.2)
    paper.circle(mark.balloon, BALLOON_RADIUS, is_filled=True)
    size = 3.0 if len(mark.label) < 3 else 2.3
    paper.text((x, y - 0.36 * size), mark.label, size, BOLD, align="middle")
    wide = paper.text_width(mark.text, TEXT_SIZE)
    left = x - BALLOON_RADIUS - 0.6 - wide if mark.is_text_left else x + BALLOON_RADIUS + 0.6
    paper.solid_box(left - 0.2, y - 1.5, wide + 0.5, 3.0, grey=1.0)
    paper.text((left, y - 0.36 * TEXT_SIZE), mark.text, TEXT_SIZE)
    paper.pen()


def _frame(paper: Paper, outline: Outline, title: TitleBlock) -> None:
    """The border and, in a strip along the bottom, bar and title."""
    width, height = paper.size[0] - 2 * PAGE_MARGIN, paper.size[1] - 2 * PAGE_MARGIN
    paper.pen(0.25)
    paper.box(PAGE_MARGIN, PAGE_MARGIN, width, height)
    top = PAGE_MARGIN + _TITLE_STRIP
    paper.line((PAGE_MARGIN, top), (PAGE_MARGIN + width, top))
    split = PAGE_MARGIN + 106.0
    paper.line((split, PAGE_MARGIN), (split, top))
    x = PAGE_MARGIN + 3.0
    if outline.unit == "mm":
        paper.solid_box(x, top - 7.0, 100.0, 1.6)
        paper.text((x, top - 11.0), _told("bar"), 2.6)
    else:
        paper.text((x, top - 7.0), _told("size_unknown"), 4.0, BOLD)
        paper.text((x, top - 11.0), _told("take_readings"), 2.6)
    datum = textwrap.wrap(printable(_told("datum", text=outline.datum.text)), 82, max_lines=2, placeholder=" ..")
    for i, line in enumerate((_scale_words(outline), *datum)):
        paper.text((x, top - 14.5 - 3.5 * i), line, 2.6)
    paper.text((split + 3.0, top - 6.5), _clipped(title.name, 40), 4.2, BOLD)
    scale = _told("scale_mm" if outline.unit == "mm" else "scale_none")
    for i, line in enumerate((_told("revision", revision=title.revision, date=title.date).rstrip(), scale, title.made_with)):
        paper.text((split + 3.0, top - 11.5 - 4.2 * i), _clipped(line, 30 if outline.free else 52), 2.8)
    if outline.free:
        _free_legend(paper, outline.free, (split + 42.0, top - 11.5))
    paper.pen()


def _free_legend(paper: Paper, free: tuple[str, ...], at: tuple[float, float]) -> None:
    """The line style of free segments, what it means, and which they are; at: where the line begins."""
    x, y = at
    paper.pen(FREE_WIDTH, dash=FREE_DASHES)
    paper.line((x, y + 0.8), (x + 13.0, y + 0.8))
    paper.pen()
    title, meaning = word("outline", "free_meaning").split(": ")
    paper.text((x + 14.5, y), title, 2.6, BOLD)
    names = textwrap.wrap(", ".join(free), 26, max_lines=2, placeholder=" .. (outline.json)")
    for i, line in enumerate((*textwrap.wrap(meaning, 40), *names)):
        paper.text((x, y - 2.8 * (i + 1)), line, 2.0)


def _scale_words(outline: Outline) -> str:
    reference = outline.reference
    if outline.unit != "mm":
        return _told("scale_unknown")
    return _told("scale_from", kind=reference.kind, px_per_mm=reference.px_per_mm, percent=100 * reference.relative_u)


def _table_pages(paper: Paper, outline: Outline, title: TitleBlock, rows: tuple[Dimension, ...]) -> None:
    """The table on pages of its own, for what found no room on page 1."""
    per_page = int((A4[1] - 2 * PAGE_MARGIN - _TITLE_STRIP - 8.0) / _ROW) - 2
    for start in range(0, len(rows), per_page):
        paper.new_page(A4)
        _frame(paper, outline, title)
        _table(paper, outline, rows[start : start + per_page], PAGE_MARGIN, A4[1] - PAGE_MARGIN - 8.0, start)


def _table(paper: Paper, outline: Outline, rows: tuple[Dimension, ...], left: float, top: float, before: int = 0) -> None:
    """Header and rows downwards from `top`; before: how many dimensions stand on earlier pages."""
    for name, x in _COLUMNS:
        paper.text((left + x + 1.0, top), _told(f"head_{name}"), 2.8, BOLD)
    paper.pen(0.2)
    paper.line((left, top - 1.5), (left + _TABLE_WIDTH, top - 1.5))
    for i, row in enumerate(rows):
        y = top - (i + 1) * _ROW
        paper.pen()
        for (_, x), text in zip(_COLUMNS, _cells(row, before + i + 1, outline.unit), strict=True):
            paper.text((left + x + 1.0, y), text, 2.8)
        paper.pen(HAIRLINE, grey=0.6)
        paper.line((left, y - 1.5), (left + _TABLE_WIDTH, y - 1.5))
    paper.pen()


def _cells(row: Dimension, index: int, unit: str) -> tuple[str, ...]:
    expanded = COVERAGE * row.u
    decimals = 3 if expanded < 0.0995 else 2
    unit = "°" if row.kind == "angle" else "" if unit == "mm" else f" {unit}"
    design = f"{row.design:.3f}".rstrip("0").rstrip(".")
    return (
        balloon_label(row, index),
        row.id,
        row.kind,
        _clipped(", ".join(row.of), _LONGEST_OF),
        f"{row.measured:.{decimals}f} ± {expanded:.{decimals}f}{unit}",
        design + unit,
        "-" if row.origin == "free" else f"{100 * row.probability:.0f} %",
        _told(f"state_{row.origin}") if row.origin in _STATES else row.origin,
    )


def _clipped(text: str, length: int) -> str:
    text = printable(text)
    return text if len(text) <= length else text[: length - 2] + ".."
