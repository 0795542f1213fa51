"""Rectangles laid out over one or more beds, in rows.

Words: a *row* runs along the bed's width; pieces stand in it side by side, the deepest first; a *gap* is kept between pieces and
rows.  Each piece may be turned by 90 degrees.
How: the pieces, the deepest first, go into the first row of the first bed with room, else into a new row, else onto a new bed.
The same pieces always lie the same way.
Conventions: mm; a place is the lower left corner on its bed.
Limits: rectangles only; rows are simple and not the densest packing.  A piece that is larger than the bed is not laid.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.model.outline import Point

_EPS = 1e-9


@dataclass(frozen=True)
class Laid:
    """name: of the piece; bed: from 1; at: its lower left corner; size: width and depth as it lies; turned: by 90 degrees."""

    name: str
    bed: int
    at: Point
    size: Point
    turned: bool


@dataclass(frozen=True)
class BedPlan:
    """laid: every piece that fits; beds: how many are used; too_large: names of those that do not fit any bed."""

    laid: tuple[Laid, ...]
    beds: int
    too_large: tuple[str, ...]


@dataclass
class _Row:
    bed: int
    y: float
    depth: float
    x: float


def lay_out(pieces: tuple[tuple[str, Point], ...], bed: Point, gap: float) -> BedPlan:
    """Lay the pieces (name, size) on beds of this width and depth.  ValueError: a size or the gap is not a usable number."""
    if gap < 0 or min(bed) <= 0 or any(min(size) <= 0 for _, size in pieces):
        raise ValueError(f"sizes must be more than 0 and the gap not less, found bed {bed}, gap {gap}, pieces {pieces}")
    lying = [(name, *_lying(size, bed)) for name, size in pieces]
    fitting = [(name, size, turned) for name, size, turned in lying if size is not None]
    order = sorted(fitting, key=lambda item: (-item[1][1], -item[1][0], item[0]))
    rows: list[_Row] = []
    laid = []
    for name, size, turned in order:
        row = next((r for r in rows if r.x + size[0] <= bed[0] + _EPS and size[1] <= r.depth + _EPS), None)
        if row is None:
            row = _new_row(rows, size[1], bed[1], gap)
            rows.append(row)
        laid.append(Laid(name, row.bed, (row.x, row.y), size, turned))
        row.x += size[0] + gap
    return BedPlan(tuple(laid), max((r.bed for r in rows), default=0), tuple(name for name, size, _ in lying if size is None))


def _lying(size: Point, bed: Point) -> tuple[Point | None, bool]:
    """The size as the piece lies: its shorter side deep where the bed allows; None where it fits neither way."""
    long, short = max(size), min(size)
    for lies in ((long, short), (short, long)):
        if lies[0] <= bed[0] + _EPS and lies[1] <= bed[1] + _EPS:
            return lies, lies != tuple(size)
    return None, False


def _new_row(rows: list[_Row], depth: float, bed_depth: float, gap: float) -> _Row:
    """Behind the last row of the last bed, or on a new bed."""
    last = rows[-1] if rows else _Row(0, 0.0, 0.0, 0.0)
    y = last.y + last.depth + gap
    if last.bed and y + depth <= bed_depth + _EPS:
        return _Row(last.bed, y, depth, 0.0)
    return _Row(last.bed + 1, 0.0, depth, 0.0)
