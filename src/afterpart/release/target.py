"""The printed target as a true-scale PDF: markers as filled rectangles, the check bar, and what to do with them."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.release import TitleBlock
from afterpart.release.paper import A4, BOLD, Paper
from afterpart.release.words import word
from afterpart.standards import printed_target as layout

_PAGE = A4
_ABOVE = (_PAGE[1] - layout.RING_HEIGHT / 2 + layout.PRINTED_BOTTOM) / 2
"""From the page's top edge to the ring, so that everything printed stands in the middle of the page."""
CENTER = (_PAGE[0] / 2, _PAGE[1] - _ABOVE - layout.RING_HEIGHT / 2)
"""Middle of the ring on the page."""


def target_pdf() -> bytes:
    """One A4 page; on letter paper it fits too when printed at 100 % and centred."""
    paper = Paper(TitleBlock(word("target", "title"), "", "", "afterpart"), word("target", "subject"))
    paper.new_page(_PAGE)
    for marker in layout.marker_ids():
        _draw_marker(paper, marker)
    left, bottom, right, top = layout.BAR
    paper.solid_box(CENTER[0] + left, CENTER[1] + bottom, right - left, top - bottom)
    first, second = CENTER[1] + bottom - 3.6, CENTER[1] + bottom - 7.2
    paper.text(
        (CENTER[0], first),
        word("target", "measure"),
        2.8,
        align="middle",
    )
    paper.text(
        (CENTER[0], second),
        word("target", "five"),
        2.8,
        align="middle",
    )
    x, y = CENTER[0] - layout.RING_WIDTH / 2, CENTER[1] + bottom
    paper.text((x, y), word("target", "name"), 3.0, BOLD)
    paper.text((x + layout.RING_WIDTH, y), word("target", "middle"), 3.0, align="right")
    return paper.finish()


def _draw_marker(paper: Paper, marker: int) -> None:
    """A black square with its white modules on top, so that no seam shows between black modules."""
    (x0, y0), _, _, (_, y1) = layout.marker_corners(marker)
    side, module = layout.MARKER_SIDE, layout.MODULE
    paper.solid_box(CENTER[0] + x0, CENTER[1] + y1, side, side)
    for r, row in enumerate(layout.marker_bits(marker)):
        for start, end in _white_runs(row):
            paper.solid_box(
                CENTER[0] + x0 + start * module, CENTER[1] + y0 - (r + 1) * module, (end - start) * module, module, grey=1.0
            )


def _white_runs(row: tuple[int, ...]) -> list[tuple[int, int]]:
    """First and one past the last column of each run of white modules."""
    runs, start = [], None
    for column, bit in enumerate((*row, 0)):
        if bit and start is None:
            start = column
        elif not bit and start is not None:
            runs.append((start, column))
            start = None
    return runs
