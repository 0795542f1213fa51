"""Sizes on a view: what a balloon says of a characteristic, and dimension lines with their extension lines.

Conventions: mm of paper; lines narrow, arrowheads filled (ISO 129-1).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.outline import Point
from afterpart.release.balloons import Label
from afterpart.release.characteristics import PLAN, Characteristic
from afterpart.release.limits import size_text
from afterpart.release.paper import Paper
from afterpart.release.template import draw_arrow
from afterpart.release.title_field import NARROW


def label_of(c: Characteristic, target: Point, scale: float = 1.0) -> Label:
    """What a characteristic's balloon says, on a view of this scale."""
    text = f"{c.sign}{size_text(c.nominal, c.limits)}"
    note = "" if "R" in c.sign and c.view == PLAN else c.name
    return Label(str(c.number), f"({text})" if c.is_free else text, target, note, c.datum, scale * c.reach, c.edge_deg)


def draw_span(paper: Paper, start: Point, end: Point, foot: Point, head: Point) -> None:
    """A dimension line with its extension lines."""
    paper.pen(NARROW)
    dx, dy = end[0] - start[0], end[1] - start[1]
    turn_deg = 0.0 if abs(dx) > abs(dy) else 90.0
    paper.line(start, end)
    draw_arrow(paper, end, turn_deg)
    draw_arrow(paper, start, turn_deg + 180.0)
    for at, line in ((foot, start), (head, end)):
        beyond = (line[0] + 0.25 * (line[0] - at[0]), line[1] + 0.25 * (line[1] - at[1]))
        paper.line(at, beyond)
    paper.pen()
