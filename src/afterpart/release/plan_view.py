"""The new piece seen on its mating face: its lines by layer, centre lines, datum origin and the line of the cut.

Words: a line is *hidden* where it is made into the outside face, away from the eye.
Line types of ISO 128: visible edges continuous wide; hidden edges dashed narrow; centre lines long-dashed dotted narrow; the
cut's line long-dashed dotted, wide at its ends, with arrows the way it is looked at.
Conventions: mm, the drawing's frame.  Layers: edge, hole, opening, groove, seat, raised, hidden.
Limits: lettering, chamfers of the first layer and roundings of the inlet are left to the files of the solid.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from afterpart.geometry.segments import segments_box
from afterpart.model.feature import Groove, Hole, Seat
from afterpart.model.outline import Circle, Line, Loop, Point, Segment
from afterpart.model.piece import Add, Cone, Cut, Piece
from afterpart.release.balloons import Box
from afterpart.release.cut_view import CutLine
from afterpart.release.paper import BOLD, Paper, Placement
from afterpart.release.template import draw_arrow, draw_datum
from afterpart.release.title_field import NARROW, WIDE

Chain = tuple[Segment, ...]
CENTRE_DASHES = (24 * NARROW, 3 * NARROW, 0.5 * NARROW, 3 * NARROW)
HIDDEN_DASHES = (12 * NARROW, 3 * NARROW)
"""Dash lengths in line widths as ISO 128-2 gives them (from memory)."""
LETTER = 4.2
_BEYOND = 2.5


@dataclass(frozen=True)
class PlanLine:
    """One closed chain of the view and the layer it lies on."""

    layer: str
    chain: Chain


def plan_lines(piece: Piece) -> tuple[PlanLine, ...]:
    """The closed lines of the view, the outer edge first."""
    lines = list(_lines(piece))
    seen: set[Chain] = set()
    return tuple(x for x in lines if not (x.chain in seen or seen.add(x.chain)))


def _lines(piece: Piece) -> Iterator[PlanLine]:
    names: dict[Chain, str] = {}
    for feature in piece.features:
        if isinstance(feature, Groove):
            names |= {feature.outer: "groove", feature.inner: "groove"}
        elif isinstance(feature, Seat):
            names[feature.pocket] = "seat"
    is_first = True
    for step in piece.steps:
        if not isinstance(step, Add | Cut):
            continue
        for body in step.prisms:
            is_added = isinstance(step, Add)
            if isinstance(body, Cone):
                widest = max(body.bottom_radius, body.top_radius)
                yield PlanLine(_layer(is_added, body.top, piece), (Circle("", body.center, widest),))
                continue
            layer = "edge" if is_first else _layer(is_added, body.top, piece)
            yield PlanLine(names.get(body.outer, layer), body.outer)
            for chain in body.openings:
                yield PlanLine(names.get(chain, _opening(chain, piece) if is_added else layer), chain)
            is_first = False


def _layer(is_added: bool, top: float, piece: Piece) -> str:
    if is_added:
        return "raised"
    return "opening" if top >= piece.thickness - 1e-6 else "hidden"


def _opening(chain: Chain, piece: Piece) -> str:
    first = chain[0]
    is_hole = isinstance(first, Circle) and any(
        isinstance(f, Hole) and math.dist(f.center, first.center) < 1e-6 for f in piece.features)
    return "hole" if is_hole else "opening"


def plan_box(piece: Piece) -> Box:
    """Of all lines of the view."""
    return segments_box(s for line in plan_lines(piece) for s in line.chain)


def centre_lines(piece: Piece) -> tuple[Line, ...]:
    """A cross through every round hole, 2.5 mm beyond its edge."""
    lines = []
    for line in plan_lines(piece):
        first = line.chain[0]
        if isinstance(first, Circle):
            (x, y), reach = first.center, first.radius + _BEYOND
            lines += [Line("", (x - reach, y), (x + reach, y)), Line("", (x, y - reach), (x, y + reach))]
    return tuple(lines)


def draw_plan(paper: Paper, piece: Piece, place: Placement, cut: CutLine | None) -> None:
    """The view at its place, true to the placement's scale."""
    for line in plan_lines(piece):
        is_hidden = line.layer == "hidden"
        paper.pen(NARROW if is_hidden else WIDE, dash=HIDDEN_DASHES if is_hidden else ())
        paper.loop(Loop("opening", 1, line.chain), place)
    paper.pen(NARROW * 0.8, dash=CENTRE_DASHES)
    for cross in centre_lines(piece):
        paper.line(place.at(cross.start), place.at(cross.end))
    draw_datum(paper, place)
    if cut is not None:
        _draw_cut_line(paper, cut, place)
    paper.pen()


def cut_letter_places(cut: CutLine, place: Placement) -> tuple[Point, Point]:
    """Middles of the two letters at the ends of the cut's line, on paper."""
    c, s = math.cos(math.radians(cut.direction_deg)), math.sin(math.radians(cut.direction_deg))
    (a, b), (u, v) = place.at(cut.start), place.at(cut.end)
    # Beside the arrow's foot, on the far side of where it points.
    return (a + 3.0 * s, b - 3.0 * c), (u + 3.0 * s, v - 3.0 * c)


def cut_boxes(cut: CutLine, place: Placement) -> tuple[Box, ...]:
    """What letters and arrows of the cut's line cover."""
    c, s = math.cos(math.radians(cut.direction_deg)), math.sin(math.radians(cut.direction_deg))
    boxes = [(x - 2.0, y - 2.2, x + 2.0, y + 2.2) for x, y in cut_letter_places(cut, place)]
    for end in (place.at(cut.start), place.at(cut.end)):
        tip = (end[0] - 5.5 * s, end[1] + 5.5 * c)
        boxes.append((min(end[0], tip[0]) - 0.5, min(end[1], tip[1]) - 0.5, max(end[0], tip[0]) + 0.5, max(end[1], tip[1]) + 0.5))
    return tuple(boxes)


def _draw_cut_line(paper: Paper, cut: CutLine, place: Placement) -> None:
    c, s = math.cos(math.radians(cut.direction_deg)), math.sin(math.radians(cut.direction_deg))
    start, end = place.at(cut.start), place.at(cut.end)
    paper.pen(NARROW, dash=CENTRE_DASHES)
    paper.line(start, end)
    for (x, y), inward in ((start, 1.0), (end, -1.0)):
        paper.pen(2 * WIDE)
        paper.line((x, y), (x + 2.6 * inward * c, y + 2.6 * inward * s))
        paper.pen(NARROW)
        tip = (x - 5.0 * s, y + 5.0 * c)
        paper.line((x, y), tip)
        draw_arrow(paper, tip, math.degrees(math.atan2(c, -s)))
    for x, y in cut_letter_places(cut, place):
        paper.text((x, y - 0.36 * LETTER), "A", LETTER, BOLD, align="middle")
    paper.pen()
