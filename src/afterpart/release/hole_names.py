"""One hole, its names: what drawing, paper and check plate, and the pictures of the guide call it, side by side.

Words: a hole's *name* stands on the drawing and in the inspection table (c1); its *number* on paper and check plate; its *turn*
in the pictures of the guide, where screws and bolts are numbered in the order of tightening.
Conventions: mm; places in the drawing's frame.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from afterpart.model.assembly import Build
from afterpart.model.feature import Hole
from afterpart.model.outline import Circle, Outline, Point
from afterpart.release.characteristics import told_role
from afterpart.release.guide import Table
from afterpart.release.lengths import number_text, unit_word
from afterpart.release.template import opening_marks
from afterpart.release.words import word

_NEAR = 0.01
"""Two places this near are one."""
_SHARES = (0.2, 0.15, 0.15, 0.15, 0.15, 0.2)


def hole_names(build: Build, orders: Mapping[str, tuple[Point, ...]], outline: Outline | None = None) -> Table | None:
    """A row for each round hole of the cover.  orders: places in the order of tightening, by "bolts" and "screws"; outline: of
    the old part, for the numbers on paper and plate.  None: no cover, or no hole in it."""
    cover = next((piece for piece in build.pieces if piece.kind == "cover"), None)
    holes = [f for f in (cover.features if cover else ()) if isinstance(f, Hole)]
    marks = {mark.number: mark.center for mark in opening_marks(outline)} if outline is not None else {}
    sizes = plate_sizes(outline) if outline is not None else {}
    rows = []
    for hole in holes:
        number = _index(hole.center, marks.items())
        turn = max((_index(hole.center, enumerate(places, 1)) for places in orders.values()), default=0)
        rows.append((hole.id, str(number or "-"), f"{turn}" if turn else "-", sizes.get(number, "-"),
                     number_text(clear_width(build, hole)), told_role(hole)))
    head = tuple(word("guide", key, unit=unit_word())
                 for key in ("holes_name", "holes_number", "holes_turn", "holes_plate", "holes_part", "holes_for"))
    return Table(word("guide", "holes_title"), head, tuple(rows), _SHARES) if rows else None


def clear_width(build: Build, hole: Hole) -> float:
    """What of a hole is left for its bolt: its diameter, or the inside of the sleeve that stands in it."""
    sleeves = [item.diameter for item in build.assembly.items if item.kind == "sleeve"
               for at in item.at if math.dist(at[:2], hole.center) < _NEAR]
    return min([hole.diameter, *sleeves])


def plate_sizes(outline: Outline) -> dict[int, str]:
    """Diameter as drawn on the check plate of each round opening, by its number."""
    openings = [loop.segments[0] for loop in outline.design if loop.role == "opening"]
    return {number: number_text(2 * first.radius) for number, first in enumerate(openings, 1) if isinstance(first, Circle)}


def _index(place: Point, numbered: Iterable[tuple[int, Point]]) -> int:
    """The number of the place that is this one, 0 for none."""
    return next((number for number, other in numbered if math.dist(place, other) < _NEAR), 0)
