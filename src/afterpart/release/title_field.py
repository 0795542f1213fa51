"""The sheet of a drawing: border, title block, projection symbol, the 100 mm bar and the notes beside it.

Fields of the title block as ISO 7200 names them (owner, number, revision, date, sheet, title, created and approved by, document
type, language), in cells of our own arrangement; whoever approves signs by hand.
Conventions: mm of paper; the block stands at the lower right, 170 wide; where the page is too narrow for the bar beside it, the
bar stands on top of it.  First-angle projection on ISO sizes, third-angle on North American ones (symbols of ISO 5456-2, from
memory: a frustum seen from its small end).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.model.release import TitleBlock
from afterpart.release.balloons import Box
from afterpart.release.lengths import bar_word
from afterpart.release.limits import GENERAL_CLASS
from afterpart.release.paper import BAR_LENGTH, BAR_THICKNESS, BOLD, PAGE_MARGIN, PLAIN, Paper, printable
from afterpart.release.words import word
from afterpart.standards.paper import sheet_size

PAGES = ("A4", "A3", "letter")
THIRD_ANGLE = ("letter", "legal")
BLOCK_WIDTH, ROW, ROWS = 170.0, 8.5, 4
BAR_STRIP, LOW_STRIP = 15.0, 7.5
"""Height of the strip where the bar stands on top of the block: with the notes under it, or with them beside the block."""
_NOTES_WIDTH = 60.0
"""Room beside the block from which notes stand there."""
_CAPTION, _VALUE, _NOTE = 1.9, 2.9, 2.4
WIDE, NARROW = 0.35, 0.18
"""Line widths of ISO 128 for small sheets: visible edges; everything else."""


@dataclass(frozen=True)
class SheetTitle:
    """What the block says beside the job's own words.  document: kind of document; subject: what this sheet shows; number:
    sheet and how many; scale: in words; third_angle: projection; material, part_number: "" where not told; revisions: a line for
    each, the newest first, empty for a first one."""

    title: TitleBlock
    document: str
    subject: str
    sheet: int
    sheets: int
    scale: str
    author: str = ""
    part_number: str = ""
    material: str = ""
    third_angle: bool = False
    is_toleranced: bool = True
    """Does the general tolerance hold for what the sheet shows?"""
    revisions: tuple[str, ...] = ()


def page_size(name: str, upright: bool = False) -> tuple[float, float]:
    """Width and height in mm of a page of this name.  KeyError: not a known size."""
    width, height = sheet_size(name)
    return (width, height) if upright else (height, width)


def room_on(page: tuple[float, float]) -> Box:
    """What a sheet of this size leaves for its views."""
    strip = _strip(page)
    return (PAGE_MARGIN + 1.0, PAGE_MARGIN + ROWS * ROW + strip + 1.0, page[0] - PAGE_MARGIN - 1.0, page[1] - PAGE_MARGIN - 1.0)


def draw_sheet(paper: Paper, told: SheetTitle, notes: tuple[str, ...] = ()) -> None:
    """Border, block, bar and notes on the current page."""
    width, height = paper.size
    paper.pen(WIDE)
    paper.box(PAGE_MARGIN, PAGE_MARGIN, width - 2 * PAGE_MARGIN, height - 2 * PAGE_MARGIN)
    left = width - PAGE_MARGIN - BLOCK_WIDTH
    _draw_block(paper, told, left)
    paper.pen(NARROW)
    top = PAGE_MARGIN + ROWS * ROW
    if _bar_is_beside(paper.size):
        paper.line((PAGE_MARGIN, top), (left, top))
        _draw_bar(paper, (PAGE_MARGIN + 2.5, top - 5.0), left - PAGE_MARGIN - 5.0, notes, 7)
    else:
        high = top + _strip(paper.size)
        paper.line((PAGE_MARGIN, high), (width - PAGE_MARGIN, high))
        is_aside = _strip(paper.size) == LOW_STRIP
        _draw_bar(paper, (PAGE_MARGIN + 2.5, high - 4.5), width - 2 * PAGE_MARGIN - 5.0, () if is_aside else notes, 2)
        if is_aside:
            paper.line((PAGE_MARGIN, top), (left, top))
            _draw_notes(paper, (PAGE_MARGIN + 2.5, top - 3.6), left - PAGE_MARGIN - 5.0, notes, 10)
    paper.pen()


def fitted_size(paper: Paper, text: str, width: float, size: float, font: str = PLAIN) -> float:
    """The size, or the smaller one at which the text is no wider than this."""
    wide = paper.text_width(text, size, font)
    return size if wide <= width else size * width / wide


def wrapped(paper: Paper, text: str, width: float, size: float) -> list[str]:
    """The text in lines no wider than this."""
    lines: list[str] = [""]
    for piece in printable(text).split():
        longer = f"{lines[-1]} {piece}".strip()
        if paper.text_width(longer, size) <= width or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(piece)
    return lines


def draw_projection(paper: Paper, left: float, bottom: float, third_angle: bool) -> None:
    """The symbol, 16 wide and 6 high: a frustum from the side and from its small end."""
    frustum, rings = (9.0, 3.2) if third_angle else (1.0, 12.0)
    y = bottom + 3.0
    paper.pen(NARROW + 0.07)
    paper.polygon([(left + frustum, y - 1.3), (left + frustum + 6.0, y - 2.6), (left + frustum + 6.0, y + 2.6),
                   (left + frustum, y + 1.3)])
    paper.circle((left + rings, y), 1.3)
    paper.circle((left + rings, y), 2.6)
    paper.pen(0.1, dash=(1.6, 0.4, 0.3, 0.4))
    paper.line((left, y), (left + 16.0, y))
    paper.line((left + rings, y - 3.2), (left + rings, y + 3.2))
    paper.pen()


def _strip(page: tuple[float, float]) -> float:
    if _bar_is_beside(page):
        return 0.0
    return LOW_STRIP if page[0] - 2 * PAGE_MARGIN - BLOCK_WIDTH >= _NOTES_WIDTH else BAR_STRIP


def _bar_is_beside(page: tuple[float, float]) -> bool:
    return page[0] - 2 * PAGE_MARGIN - BLOCK_WIDTH >= BAR_LENGTH + 5.0


def _draw_bar(paper: Paper, at: tuple[float, float], width: float, notes: tuple[str, ...], most: int) -> None:
    x, y = at
    paper.solid_box(x, y, BAR_LENGTH, BAR_THICKNESS)
    under = word("drawing", "bar", length=bar_word())
    if width > BAR_LENGTH + 60.0:
        paper.text((x + BAR_LENGTH + 3.0, y), under, 2.4)
        y += 0.6
    else:
        paper.text((x, y - 3.0), under, 2.4)
        y -= 3.0
    _draw_notes(paper, (x, y - 3.4), width, notes, most)


def _draw_notes(paper: Paper, at: tuple[float, float], width: float, notes: tuple[str, ...], most: int) -> None:
    lines = [line for note in notes for line in wrapped(paper, note, width, _NOTE)]
    for k, line in enumerate(lines[:most]):
        paper.text((at[0], at[1] - 3.1 * k), line, _NOTE)


def _draw_block(paper: Paper, told: SheetTitle, left: float) -> None:
    general = word("drawing", "general_value", letter=GENERAL_CLASS) if told.is_toleranced else "-"
    rows = (
        ((36.0, "general", general), (48.0, "number", told.part_number),
         (14.0, "revision", told.title.revision), (28.0, "date", told.title.date), (18.0, "language", word("drawing", "code")),
         (26.0, "sheet", f"{told.sheet} / {told.sheets}")),
        ((42.0, "created", told.title.made_with), (42.0, "approved", ""), (42.0, "material", told.material),
         (24.0, "scale", told.scale), (20.0, "", "")),
        ((60.0, "document", told.document), (110.0, "subject", told.subject)),
        ((60.0, "owner", told.author), (110.0, "title", told.title.name)),
    )
    paper.pen(NARROW)
    paper.box(left, PAGE_MARGIN, BLOCK_WIDTH, ROWS * ROW)
    for k, cells in enumerate(rows):
        y, x = PAGE_MARGIN + k * ROW, left
        if k:
            paper.line((left, y), (left + BLOCK_WIDTH, y))
        for width, key, value in cells:
            if x > left:
                paper.line((x, y), (x, y + ROW))
            _draw_cell(paper, (x, y, width), key, value, is_title=key == "title")
            x += width
    draw_projection(paper, left + BLOCK_WIDTH - 18.0, PAGE_MARGIN + ROW + 1.2, told.third_angle)
    paper.pen(NARROW)


def _draw_cell(paper: Paper, cell: tuple[float, float, float], key: str, value: str, is_title: bool) -> None:
    x, y, width = cell
    font, size = (BOLD, 4.0) if is_title else (PLAIN, _VALUE)
    if key:
        paper.text((x + 1.0, y + ROW - 2.4), word("drawing", f"field_{key}"), _CAPTION)
    paper.text((x + 1.0, y + 1.7), value, fitted_size(paper, value, width - 2.0, size, font), font)
