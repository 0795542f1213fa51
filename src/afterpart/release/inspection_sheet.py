"""The inspection sheet: the old part with its balloons, the table to fill in, and how to prove the shape with the check plate.

Page 1: the old part as measured; page 2, where it is given, the photograph with the same balloons.  Then the table: measured with
expanded uncertainty, design, how it was settled, the new part's size and limits, two empty columns for what is measured on the
print.  Last: the check plate, step by step, with a table of the holes by the numbers that stand on plate and paper.
Conventions: mm; A4 upright or the page asked for; same input, same bytes.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from afterpart.geometry.segments import segments_box
from afterpart.model.outline import Circle, Loop, Outline
from afterpart.model.release import PartPhoto, TitleBlock
from afterpart.release.characteristics import Characteristic
from afterpart.release.inspection_rows import InspectionRow, expanded_u, how_settled, inspection_rows
from afterpart.release.lengths import Length, in_inches, number_text, plain_number
from afterpart.release.limits import size_text
from afterpart.release.old_part_sheet import draw_old_part, draw_photo
from afterpart.release.paper import BOLD, HAIRLINE, PAGE_MARGIN, PLAIN, Paper
from afterpart.release.template import OpeningMark, opening_marks
from afterpart.release.title_field import NARROW, THIRD_ANGLE, SheetTitle, fitted_size, page_size, wrapped
from afterpart.release.words import word, words

_ROW = 6.4
"""High enough to write in by hand."""
_SHARES = (0.055, 0.26, 0.155, 0.085, 0.125, 0.16, 0.10, 0.06)
_KEYS = ("no", "what", "measured", "design", "how", "new", "yours", "ok")
_PLATE_SHARES = (0.09, 0.2, 0.15, 0.16, 0.4)
_TOP = 14.0
_NEAR = 0.01
"""Two places this near are one."""


def inspection_pdf(
    outline: Outline,
    found: tuple[Characteristic, ...],
    title: TitleBlock,
    page: str = "A4",
    author: str = "",
    photo: PartPhoto | None = None,
    shows_outside: bool = False,
) -> bytes:
    """The whole sheet.  found: characteristics of the new part, () without one; page: a name of title_field.PAGES; photo: of the
    old part, None to leave it out; shows_outside: the drawing, and so the check plate, shows the part's outside."""
    document = word("drawing", "document_inspection")
    paper = Paper(title, document)
    told = SheetTitle(title, document, word("drawing", "subject_old"), 1, 2 if photo else 1, "1:1", author,
                      third_angle=page in THIRD_ANGLE, is_toleranced=False)
    if outline.unit == "mm":
        draw_old_part(paper, outline, told, page)
    if photo is not None:
        seen = replace(told, subject=word("drawing", "subject_photo"), sheet=2, scale=word("drawing", "no_scale"))
        draw_photo(paper, outline, photo, seen, page)
    _Pages(paper, title, page).fill(outline, found, word("drawing", "plate_up" if shows_outside else "plate_down"))
    return paper.finish()


class _Pages:
    """Upright pages, filled from the top."""

    def __init__(self, paper: Paper, title: TitleBlock, page: str) -> None:
        self._paper, self._title = paper, title
        # A3 is for drawings; tables are held in the hand.
        self._size = page_size("A4" if page == "A3" else page, upright=True)
        self._left, self._width = PAGE_MARGIN + 2.0, self._size[0] - 2 * PAGE_MARGIN - 4.0
        self._y, self._page = 0.0, 0

    def fill(self, outline: Outline, found: tuple[Characteristic, ...], side: str) -> None:
        """Table, then the check plate's page.  side: which side of the plate lies on the machine, in words."""
        self._begin(word("drawing", "table_title"))
        self._lines(word("drawing", "table_about"), 2.8)
        self._lines(_scale_words(outline), 2.8)
        if in_inches():
            self._lines(word("drawing", "table_unit_inch"), 2.8)
        head = tuple(word("drawing", f"column_{key}") for key in _KEYS)
        self._table(head, [_cells(row) for row in inspection_rows(outline, found)], _SHARES, word("drawing", "table_title"))
        self._plate(outline, found, side)

    def _begin(self, heading: str) -> None:
        self._paper.new_page(self._size)
        self._page += 1
        self._y = self._size[1] - _TOP
        self._paper.text((self._left, self._y), heading, 4.6, BOLD)
        title = self._title
        job = word("drawing", "table_page", name=title.name, revision=title.revision, date=title.date, number=self._page)
        room = self._width - self._paper.text_width(heading, 4.6, BOLD) - 6.0
        self._paper.text((self._left + self._width, self._y), job, fitted_size(self._paper, job, room, 3.0), align="right")
        self._y -= 6.5

    def _lines(self, text: str, size: float, indent: float = 0.0) -> None:
        for line in wrapped(self._paper, text, self._width - indent, size):
            self._paper.text((self._left + indent, self._y), line, size)
            self._y -= 1.36 * size

    def _table(self, head: Sequence[str], rows: Sequence[Sequence[str]], shares: Sequence[float], heading: str) -> None:
        self._y -= 3.0
        self._row(head, shares, is_head=True)
        for row in rows:
            if self._y < PAGE_MARGIN + _ROW:
                self._begin(heading)
                self._row(head, shares, is_head=True)
            self._row(row, shares)

    def _row(self, cells: Sequence[str], shares: Sequence[float], is_head: bool = False) -> None:
        """One ruled row; its text stands above its lower rule."""
        paper, x, low = self._paper, self._left, self._y - _ROW + 1.8
        paper.pen()
        for cell, share in zip(cells, shares, strict=True):
            wide = share * self._width
            font = BOLD if is_head else PLAIN
            paper.text((x + 1.0, low + 1.8), cell, fitted_size(paper, cell, wide - 1.8, 2.8, font), font)
            x += wide
        paper.pen(NARROW if is_head else HAIRLINE, grey=0.0 if is_head else 0.45)
        paper.line((self._left, low), (self._left + self._width, low))
        x = self._left
        for share in shares[:-1]:
            x += share * self._width
            paper.line((x, low), (x, low + _ROW))
        self._y -= _ROW

    def _plate(self, outline: Outline, found: tuple[Characteristic, ...], side: str) -> None:
        heading = word("drawing", "plate_title")
        self._begin(heading)
        self._lines(word("drawing", "plate_caution"), 3.2)
        self._y -= 2.0
        for number, step in enumerate(words("drawing", "plate_steps", side=side), 1):
            self._paper.text((self._left, self._y), f"{number}.", 3.2, BOLD)
            self._lines(step, 3.2, 6.0)
            self._y -= 1.4
        self._lines(word("drawing", "plate_example"), 2.8, 6.0)
        if in_inches():
            self._lines(word("drawing", "plate_unit_inch"), 2.8, 6.0)
        self._y -= 5.0
        self._paper.text((self._left, self._y), word("drawing", "plate_table"), 3.6, BOLD)
        head = tuple(cell.strip() for cell in word("drawing", "plate_head").split("|"))
        sizes = zip(opening_marks(outline), _opening_sizes(outline), strict=True)
        rows = [(str(mark.number), size, _in_part(mark, found), "", "") for mark, size in sizes]
        self._table(head, rows, _PLATE_SHARES, heading)


def _cells(row: InspectionRow) -> tuple[str, ...]:
    old, new = row.old, row.new
    is_angle = row.unit == "deg"
    unit, size = ("°", float) if is_angle else ("", Length)
    if old is None:
        seen = ("", "", word("drawing", "no_old"))
    else:
        expanded = expanded_u(old)
        design = f"{plain_number(old.design)}°" if is_angle else number_text(old.design)
        decimals = 3 if expanded < 0.0995 else 2
        seen = (f"{size(old.measured):.{decimals}f} ± {size(expanded):.{decimals}f}{unit}", design, how_settled(old))
    made = "" if new is None else size_text(new.nominal, new.allowed)
    return (str(row.number), row.what, *seen, made, "", "")


def _in_part(mark: OpeningMark, found: tuple[Characteristic, ...]) -> str:
    """What stands in the part where the plate has this opening; nothing where no part is drawn."""
    here = [c for c in found if c.reach > 0.0 and math.dist(c.at, mark.center) < _NEAR]
    return f"Ø{number_text(here[0].nominal)}" if here else word("drawing", "plate_not_part") if found else ""


def _opening_sizes(outline: Outline) -> list[str]:
    """What each opening measures across, in the order of the template's numbers."""
    sizes = []
    for loop in (o for o in outline.design if o.role == "opening"):
        sizes.append(_size_across(loop))
    return sizes


def _size_across(loop: Loop) -> str:
    """Diameter, or length and width over all, with the name of its first segment."""
    first = loop.segments[0]
    if isinstance(first, Circle):
        return f"Ø{number_text(2 * first.radius)} ({first.id})"
    x0, y0, x1, y1 = segments_box(loop.segments)
    return f"{Length(x1 - x0):.1f} x {Length(y1 - y0):.1f} ({first.id} ..)"


def _scale_words(outline: Outline) -> str:
    share = f"{100 * outline.reference.relative_u:.2g}"
    return word("drawing", "scale_from", kind=outline.reference.kind, share=share)
