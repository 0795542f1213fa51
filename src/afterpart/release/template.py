"""The true-scale paper of an outline, to print and lay on the part: the cheapest proof there is.

Hairline loops, a centre cross in every opening, the opening's number (the same as on the check plate), the datum.
Conventions: numbers count the openings of the design in order, from 1.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from shapely.geometry import Point as Spot

from afterpart.geometry.chain import chain_polygon
from afterpart.geometry.segments import segments_box
from afterpart.model.outline import Circle, Loop, Outline, Point
from afterpart.model.release import TitleBlock
from afterpart.release.free_style import FREE_DASHES, FREE_WIDTH, runs_by_style
from afterpart.release.paper import A4, BOLD, HAIRLINE, Paper, Placement
from afterpart.release.tiles import true_scale_pages
from afterpart.release.words import word

_NUMBER_SIZE = 3.6
_NUMBER_ROOM = 2.3
"""From a number's middle to the nearest line."""


@dataclass(frozen=True)
class OpeningMark:
    """An opening's number, its middle, and where the middle of the number goes, in the drawing's frame."""

    number: int
    center: Point
    at: Point
    reach: float
    """Half the width of the opening, for the length of its cross."""


def opening_marks(outline: Outline) -> tuple[OpeningMark, ...]:
    """A mark for each opening of the design, the number beside it: to the right, or where no line of the drawing runs through."""
    marks, rims = [], [chain_polygon(loop.segments).exterior for loop in outline.design]
    for number, loop in enumerate((o for o in outline.design if o.role == "opening"), start=1):
        x0, y0, x1, y1 = segments_box(loop.segments)
        first = loop.segments[0]
        center = first.center if isinstance(first, Circle) else ((x0 + x1) / 2, (y0 + y1) / 2)
        beside = ((x1 + 3.0, center[1] + 2.2), (x1 + 3.0, center[1] - 2.2), (x0 - 3.0, center[1] + 2.2),
                  (x0 - 3.0, center[1] - 2.2), (center[0] + 2.2, y1 + 3.0), (center[0] + 2.2, y0 - 3.0))
        room = {at: min(rim.distance(Spot(at)) for rim in rims) for at in beside}
        free = next((at for at in beside if room[at] >= _NUMBER_ROOM), max(beside, key=lambda at: room[at]))
        marks.append(OpeningMark(number, center, free, min(x1 - x0, y1 - y0) / 2))
    return tuple(marks)


def draw_template(
    paper: Paper,
    outline: Outline,
    title: TitleBlock,
    subject: str,
    marks: tuple[OpeningMark, ...],
    how: str = "",
    sheet: tuple[float, float] = A4,
) -> int:
    """Template pages for an outline in mm; how many is answered."""

    def draw(page: Paper, place: Placement) -> None:
        draw_loops(page, outline.design, place, outline.free)
        draw_datum(page, place)
        for mark in marks:
            _draw_mark(page, mark, place)

    box = segments_box(s for loop in outline.design for s in loop.segments)
    heading = f"{title.name}  {title.revision}  {title.date}".rstrip() + f"  -  {subject}, 1:1"
    return true_scale_pages(paper, box, draw, heading, how or word("outline", "how_template"), sheet)


def template_pdf(outline: Outline, title: TitleBlock, subject: str, how: str = "", sheet: tuple[float, float] = A4) -> bytes:
    """The template as a file of its own.  subject: what the paper is; how: one line of instruction; sheet: short and long side of
    the page.  ValueError: the outline is not in mm, so that no paper of it can be true."""
    if outline.unit != "mm":
        raise ValueError(f"a true-scale paper needs an outline in mm, found {outline.unit}")
    paper = Paper(title, subject)
    draw_template(paper, outline, title, subject, opening_marks(outline), how, sheet)
    return paper.finish()


def draw_loops(paper: Paper, loops: tuple[Loop, ...], place: Placement, free: Iterable[str] = ()) -> None:
    """The loops as hairlines; channels dashed, free segments (ids) in the line style of their own."""
    for loop in loops:
        runs = runs_by_style(loop, frozenset(free))
        for is_free, run in runs:
            if is_free:
                paper.pen(FREE_WIDTH, dash=FREE_DASHES)
            else:
                paper.pen(HAIRLINE, dash=(2.0, 1.0) if loop.role == "channel" else ())
            paper.loop(replace(loop, segments=run), place, is_closed=len(runs) == 1)
    paper.pen()


def draw_datum(paper: Paper, place: Placement) -> None:
    """The origin as a small ring with the two axes."""
    x, y = place.at((0.0, 0.0))
    paper.pen(0.18)
    paper.circle((x, y), 1.1)
    for dx, dy, name in ((1.0, 0.0, "x"), (0.0, 1.0, "y")):
        tip = (x + 9.0 * dx, y + 9.0 * dy)
        paper.line((x + 1.1 * dx, y + 1.1 * dy), tip)
        draw_arrow(paper, tip, math.degrees(math.atan2(dy, dx)))
        paper.text((tip[0] + 1.2 * dx - 0.6 * dy, tip[1] + 1.0 * dy - 0.7 * dx), name, 2.6)
    paper.pen()


def draw_arrow(paper: Paper, tip: Point, direction_deg: float) -> None:
    """A slim filled arrowhead ending at `tip`, pointing along direction_deg."""
    a = math.radians(direction_deg)
    back = [(-2.0, 0.35), (-2.0, -0.35)]
    paper.polygon(
        [tip] + [(tip[0] + u * math.cos(a) - v * math.sin(a), tip[1] + u * math.sin(a) + v * math.cos(a)) for u, v in back],
        is_filled=True,
    )


def _draw_mark(paper: Paper, mark: OpeningMark, place: Placement) -> None:
    x, y = place.at(mark.center)
    reach = min(mark.reach + 2.0, 12.0)
    paper.pen(HAIRLINE)
    paper.line((x - reach, y), (x + reach, y))
    paper.line((x, y - reach), (x, y + reach))
    u, v = place.at(mark.at)
    paper.text((u, v - 0.36 * _NUMBER_SIZE), str(mark.number), _NUMBER_SIZE, BOLD, align="middle")
