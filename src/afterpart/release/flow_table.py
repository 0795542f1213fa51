"""A table that flows down pages: cells wrapped, rows kept whole, headings again on every page.

mm, as in flowing.py; shares of the column's width, one a cell.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.release.findings_page import readable
from afterpart.release.flowing import LEFT, RIGHT, Flow
from afterpart.release.guide import Table
from afterpart.release.paper import BOLD, PLAIN

_SIZE, _STEP, _PAD = 2.8, 3.6, 1.0
_KEPT = 90.0
"""Tables up to this height are kept on one page."""


def draw_table(flow: Flow, table: Table) -> None:
    """The table with its title above it; a small one is not torn apart."""
    flow.room(table_room(flow, table))
    if table.title:
        flow.skip(2.0)
        flow.paragraph(readable(table.title), 3.6, BOLD)
    flow.skip(1.0)
    _draw_row(flow, table, table.head, BOLD)
    for row in table.rows:
        _draw_row(flow, table, row, PLAIN)
    flow.skip(2.0)


def table_room(flow: Flow, table: Table) -> float:
    """What must be free on the page for the table to begin there, mm: all of it, where that is not too much."""
    whole = 12.0 + sum(_lines_of(flow, table, row, PLAIN)[1] for row in (table.head, *table.rows))
    return whole if whole <= _KEPT else 26.0


def _edges(table: Table) -> list[float]:
    """Where the columns begin and end, mm on the page."""
    return [LEFT + sum(table.shares[:i]) * (RIGHT - LEFT) for i in range(len(table.shares) + 1)]


def _lines_of(flow: Flow, table: Table, cells: tuple[str, ...], font: str) -> tuple[list[list[str]], float]:
    """The cells in lines, and the height of the row."""
    edges = _edges(table)
    columns = [flow.lines(readable(cell), _SIZE, font, right - left - 2 * _PAD)
               for cell, left, right in zip(cells, edges[:-1], edges[1:], strict=True)]
    return columns, _STEP * max(1, *map(len, columns)) + 2 * _PAD


def _draw_row(flow: Flow, table: Table, cells: tuple[str, ...], font: str) -> None:
    edges = _edges(table)
    columns, height = _lines_of(flow, table, cells, font)
    page = flow.page
    flow.room(height)
    if flow.page != page and cells != table.head:
        _draw_row(flow, table, table.head, BOLD)
    top = flow.cursor
    for lines, left in zip(columns, edges[:-1], strict=True):
        for place, line in enumerate(lines):
            flow.paper.text((left + _PAD, top - _PAD - _SIZE - _STEP * place), line, _SIZE, font)
    flow.cursor = top - height
    flow.paper.pen(0.3 if font == BOLD else 0.1, grey=0.0 if font == BOLD else 0.5)
    flow.paper.line((LEFT, flow.cursor), (RIGHT, flow.cursor))
    for x in edges[1:-1]:
        flow.paper.pen(0.1, grey=0.7)
        flow.paper.line((x, top), (x, flow.cursor))
    flow.paper.pen()
