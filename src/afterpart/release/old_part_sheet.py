"""The old part as measured, at true scale, with the numbered balloons of the inspection table.

Distances and widths are drawn as thin lines between the two places they join, all others are pointed at.  Of the distances
between centres only those that tie all centres together are shown (dimension_marks.py); the table has the rest.
Conventions: mm of paper; balloons stand round the part, none on another; where one page is too small the sheet comes in tiles.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.geometry.segments import segments_box
from afterpart.model.outline import Circle, Dimension, Outline, Point, Segment
from afterpart.model.release import PartPhoto
from afterpart.release.balloons import Balloon, Box, Label, are_clear, draw_balloon, leader, place_balloons
from afterpart.release.characteristics import number_of
from afterpart.release.dimension_marks import aim_of, beyond_the_net, is_pointed, span_of, value_text
from afterpart.release.lengths import note_unit, number_text, plain_number
from afterpart.release.paper import HAIRLINE, Paper, Placement
from afterpart.release.template import draw_arrow, draw_datum, draw_loops
from afterpart.release.tiles import true_scale_pages
from afterpart.release.title_field import SheetTitle, draw_sheet, page_size, room_on
from afterpart.release.words import word

_GAPS = (7.0, 10.0, 14.0, 19.0, 25.0, 33.0, 45.0, 60.0, 80.0, 110.0, 150.0, 220.0)
_WIDEST_LABEL = 30.0
_PHOTO_GAP, _ROUND_PHOTO = 5.0, 9.0
"""Of the balloons' ring round the photograph, and what it needs on each side."""
_SHARES = (0.5, 0.36, 0.64, 0.24, 0.76)
"""Where along a line its balloon may point: taken in turn, so that lines that cross are pointed at apart."""


@dataclass(frozen=True)
class ShownDimension:
    """A dimension on the drawing.  span: the two places it joins, or None; at: the point meant; reach: radius of a circle about
    it.  In the drawing's frame."""

    number: int
    dimension: Dimension
    span: tuple[Point, Point] | None
    at: Point
    reach: float

    @property
    def mark(self) -> Point:
        """A point on the line or curve itself: the top of a circle."""
        return (self.at[0], self.at[1] + self.reach)


def shown_dimensions(outline: Outline) -> tuple[ShownDimension, ...]:
    """Those with a balloon, by number."""
    segments: dict[str, Segment] = {s.id: s for loop in outline.design for s in loop.segments}
    left_out = beyond_the_net(outline.dimensions, segments)
    shown, lines = [], 0
    for i, dimension in enumerate(outline.dimensions):
        of = [segments[k] for k in dimension.of if k in segments]
        if not of or i in left_out:
            continue
        span = None if is_pointed(dimension, segments) else span_of(dimension, of)
        first = of[0]
        if span is not None:
            share = _SHARES[lines % len(_SHARES)]
            lines += 1
            at = (span[0][0] + share * (span[1][0] - span[0][0]), span[0][1] + share * (span[1][1] - span[0][1]))
        else:
            at = first.center if isinstance(first, Circle) else aim_of(first)
        reach = first.radius if span is None and isinstance(first, Circle) else 0.0
        shown.append(ShownDimension(number_of(dimension, i + 1), dimension, span, at, reach))
    return tuple(sorted(shown, key=lambda s: s.number))


def draw_old_part(paper: Paper, outline: Outline, told: SheetTitle, page: str) -> None:
    """The sheet, or its tiles.  page: a name of title_field.PAGES; the outline must be in mm."""
    box = segments_box(s for loop in outline.design for s in loop.segments)
    shown = shown_dimensions(outline)
    found = []
    for upright in (False, True):
        size = page_size(page, upright)
        room = room_on(size)
        place = Placement(((room[0] + room[2] - box[0] - box[2]) / 2, (room[1] + room[3] - box[1] - box[3]) / 2))
        balloons = _placed(paper, shown, box, place, room)
        if balloons is not None:
            found.append((not are_clear(balloons), upright, size, place, balloons))
            if are_clear(balloons):
                break
    if not found:
        _draw_tiles(paper, outline, shown, box, told, page)
        return
    _, _, size, place, balloons = min(found, key=lambda one: one[:2])
    paper.new_page(size)
    _draw(paper, outline, shown, balloons, place)
    draw_sheet(paper, told, (note_unit(), word("drawing", "note_old"), word("drawing", "note_datum", text=outline.datum.text)))


def draw_photo(paper: Paper, outline: Outline, photo: PartPhoto, told: SheetTitle, page: str) -> None:
    """The photograph with the same balloons, as large as the page allows."""
    size = page_size(page)
    room = room_on(size)
    scale = min((room[2] - room[0] - 2 * _ROUND_PHOTO) / photo.width_px, (room[3] - room[1] - 2 * _ROUND_PHOTO) / photo.height_px)
    wide, tall = scale * photo.width_px, scale * photo.height_px
    left, low = (room[0] + room[2] - wide) / 2, (room[1] + room[3] - tall) / 2
    numbers = {s.dimension.id: s.number for s in shown_dimensions(outline)}
    places = {name: (left + scale * x, low + tall - scale * y) for name, x, y in photo.spots}
    labels = tuple(Label(str(numbers[name]), "", at) for name, at in places.items() if name in numbers)
    balloons = place_balloons(labels, (left, low, left + wide, low + tall), room, paper.text_width, (), _PHOTO_GAP)
    paper.new_page(size)
    paper.image(photo.jpeg, left, low, wide, tall)
    for name in numbers:
        if f"{name} start" in places:
            _draw_span(paper, places[f"{name} start"], places[f"{name} end"], is_on_photo=True)
    for balloon in balloons or ():
        paper.pen(0.7, grey=1.0)
        paper.line(*leader(balloon))
        draw_balloon(paper, balloon)
    notes = (word("drawing", "note_photo"),) if balloons is not None else (word("drawing", "note_photo_bare"),)
    draw_sheet(paper, told, notes)


def _draw_tiles(paper: Paper, outline: Outline, shown: tuple[ShownDimension, ...], box: Box, told: SheetTitle, page: str) -> None:
    balloons = _placed(paper, shown, box, Placement((0.0, 0.0)), None) or ()
    boxes = [b.box for b in balloons] + [box]
    around = (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))

    def draw(tile: Paper, place: Placement) -> None:
        _draw(tile, outline, shown, _placed(tile, shown, box, place, None) or (), place)

    title = told.title
    heading = word("drawing", "heading", name=title.name, revision=title.revision, date=title.date, subject=told.subject)
    true_scale_pages(paper, around, draw, heading, word("drawing", "tiles_how"), page_size(page, upright=True))


def _placed(paper: Paper, shown: tuple[ShownDimension, ...], box: Box, place: Placement,
            room: Box | None) -> tuple[Balloon, ...] | None:
    view = (*place.at(box[:2]), *place.at(box[2:]))
    labels = tuple(Label(str(s.number), _text(s.dimension), place.at(s.at), reach=s.reach) for s in shown)
    found: tuple[Balloon, ...] | None = None
    for gap in _GAPS:
        reach = gap + _WIDEST_LABEL
        area = room or (view[0] - reach, view[1] - reach, view[2] + reach, view[3] + reach)
        balloons = place_balloons(labels, view, area, paper.text_width, (), gap)
        if balloons is not None and are_clear(balloons):
            return balloons
        found = found or balloons
    return found


def _text(dimension: Dimension) -> str:
    """The design value, to a hundredth."""
    text = value_text(dimension)
    number = f"{dimension.design:.3f}".rstrip("0").rstrip(".")
    return text.replace(number, plain_number(dimension.design) if dimension.kind == "angle" else number_text(dimension.design))


def _draw(paper: Paper, outline: Outline, shown: tuple[ShownDimension, ...], balloons: tuple[Balloon, ...],
          place: Placement) -> None:
    draw_loops(paper, outline.design, place, outline.free)
    draw_datum(paper, place)
    for item in shown:
        if item.span is not None:
            _draw_span(paper, place.at(item.span[0]), place.at(item.span[1]))
    for balloon in balloons:
        draw_balloon(paper, balloon)


def _draw_span(paper: Paper, start: Point, end: Point, is_on_photo: bool = False) -> None:
    """A thin line with an arrow at each end; over a photograph on a white ground of its own."""
    if is_on_photo:
        paper.pen(0.6, grey=1.0)
        paper.line(start, end)
    paper.pen(HAIRLINE, grey=0.2 if is_on_photo else 0.45)
    paper.line(start, end)
    if math.dist(start, end) > 5.0:
        turn_deg = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
        draw_arrow(paper, end, turn_deg)
        draw_arrow(paper, start, turn_deg + 180.0)
