"""Sheet 2 of the drawing: the section through groove and seat, the groove enlarged, the holes, what the limits rest on.

Conventions: mm of paper; scales are standard ones (ISO 5455), the largest that leaves room for the balloons.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

from afterpart.model.feature import Groove
from afterpart.model.outline import Point
from afterpart.model.piece import Piece
from afterpart.release.balloons import Box, Label, draw_balloon, draw_datum_letter, place_balloons
from afterpart.release.characteristics import CUT, DETAIL, TABLE, Characteristic, bolt_holes, datum_letters, mating_face
from afterpart.release.cut_view import Cut, Span, cut_places, cut_spans, draw_cut
from afterpart.release.hole_table import draw_hole_table, draw_position
from afterpart.release.paper import BOLD, Paper, Placement
from afterpart.release.size_labels import draw_span, label_of
from afterpart.release.title_field import NARROW, SheetTitle, draw_sheet, page_size, room_on, wrapped
from afterpart.release.words import word

_SIDE_LABEL = 42.0
_TALLEST_CUT = 40.0
_SCALES = (5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
_DETAIL_SCALES = (10.0, 5.0, 2.0)
_DETAIL_SIDE = 3.0
_NOTE, _LEADING = 2.6, 3.6
_REVISIONS = 3
"""Revisions told on the sheet, the newest first; history.pdf has them all."""


def draw_section_sheet(
    paper: Paper, piece: Piece, found: tuple[Characteristic, ...], cut: Cut, told: SheetTitle, page: str
) -> None:
    """The sheet on a page of its own.  page: a name of title_field.PAGES."""
    size = page_size(page)
    room = room_on(size)
    paper.new_page(size)
    places = cut_places(piece, cut)
    low, scale = _draw_cut_view(paper, piece, found, cut, places, room)
    split = room[0] + 0.54 * (room[2] - room[0])
    if cut.groove_s is not None:
        high = _draw_lines(paper, told.revisions, (room[0] + 1.5, room[1] + 1.2), split - room[0] - 4.0)
        _draw_detail(paper, piece, found, cut, places, (room[0], high, split, low))
    else:
        _draw_lines(paper, told.revisions, (room[0] + 1.5, room[1] + 1.2), room[2] - room[0] - 4.0)
        split = room[0] + 6.0
    top = draw_hole_table(paper, piece, datum_letters(piece), (split + 4.0, low - 6.0))
    top = draw_position(paper, bolt_holes(piece), datum_letters(piece), (split + 4.0, top - 6.0), room[2] - split - 6.0)
    for line in wrapped(paper, word("drawing", "note_deburr"), room[2] - split - 6.0, _NOTE):
        top -= _LEADING
        paper.text((split + 4.0, top), line, _NOTE)
    draw_sheet(paper, replace(told, subject=word("drawing", "subject_cut", piece=piece.name), sheet=2, scale=scale), _why(found))


def _draw_lines(paper: Paper, revisions: tuple[str, ...], foot: Point, width: float) -> float:
    """The newest revisions, the last line at the foot; the height of their head is answered."""
    lines = [line for text in revisions[:_REVISIONS] for line in wrapped(paper, text, width, _NOTE)]
    head = foot[1] + len(lines) * _LEADING
    for number, line in enumerate(lines, 1):
        paper.text((foot[0], head - number * _LEADING), line, _NOTE)
    return head


def _why(found: tuple[Characteristic, ...]) -> tuple[str, ...]:
    """What the limits rest on, by balloon numbers."""
    reasons: dict[str, list[str]] = {}
    for c in found:
        if c.limits is not None and c.view != TABLE:
            reasons.setdefault(c.limits.why, []).append(str(c.number))
    return tuple(word("drawing", "note_limits", numbers=", ".join(numbers), why=why) for why, numbers in reasons.items())


def _draw_cut_view(paper: Paper, piece: Piece, found: tuple[Characteristic, ...], cut: Cut, places: dict[str, Point],
                   room: Box) -> tuple[float, str]:
    """The whole cut at the top of the sheet; the height it ends at and its scale are answered."""
    s0, z0, s1, z1 = cut.box
    scale = next(f for f in _SCALES if (s1 - s0) * f <= room[2] - room[0] - 2 * _SIDE_LABEL and (z1 - z0) * f <= _TALLEST_CUT)
    high = room[3] - 34.0
    place = Placement(((room[0] + room[2]) / 2 - scale * (s0 + s1) / 2, high - scale * z1), scale)
    view = (*place.at((s0, z0)), *place.at((s1, z1)))
    words = scale_words(scale)
    paper.text(((room[0] + room[2]) / 2, room[3] - 7.0), word("drawing", "cut_title", scale=words), 4.2, BOLD, align="middle")
    draw_cut(paper, cut.shape(), place)
    datum = _draw_mating_face(paper, cut, piece, place)
    taken = [datum]
    if cut.groove_s is not None:
        taken.append(_draw_detail_ring(paper, cut, piece, place))
    labels = _spanned_labels(paper, found, CUT, places, cut_spans(piece, cut, scale), place)
    area = (room[0], view[1] - 16.0, room[2], room[3] - 9.0)
    _draw_all(paper, labels, view, area, tuple(taken), 10.0)
    return view[1] - 16.0, words


def _spanned_labels(paper: Paper, found: tuple[Characteristic, ...], view: str, places: dict[str, Point], spans: dict[str, Span],
                    place: Placement) -> tuple[Label, ...]:
    """Labels of the sizes seen in a view of the section; the dimension lines of those that have one are drawn."""
    labels = []
    for c in (c for c in found if c.view == view and c.key in places):
        target = place.at(places[c.key])
        if c.key in spans:
            start, end, foot, head = (place.at(p) for p in spans[c.key])
            draw_span(paper, start, end, foot, head)
            target = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        labels.append(label_of(c, target))
    return tuple(labels)


def _draw_all(paper: Paper, labels: tuple[Label, ...], view: Box, area: Box, taken: tuple[Box, ...], gap: float) -> None:
    for wider in range(30):
        placed = place_balloons(labels, view, area, paper.text_width, taken, gap + wider)
        if placed is not None:
            for balloon in placed:
                draw_balloon(paper, balloon)
            return
    raise AssertionError(f"no room for {len(labels)} balloons in {area}")


def _draw_mating_face(paper: Paper, cut: Cut, piece: Piece, place: Placement) -> Box:
    """Datum A on the mating face, drawn on a line that prolongs it to the left of the cut."""
    s0, _, _, _ = cut.box
    x, y = place.at((s0, mating_face(piece)))
    paper.pen(NARROW)
    paper.line((x - 0.6, y), (x - 9.0, y))
    box = draw_datum_letter(paper, (x - 6.0, y), 90.0, "A")
    return (x - 9.0, y - 0.3, box[2], box[3])


def _draw_detail_ring(paper: Paper, cut: Cut, piece: Piece, place: Placement) -> Box:
    groove = next(f for f in piece.features if isinstance(f, Groove))
    assert cut.groove_s is not None
    x, y = place.at((cut.groove_s, groove.face - groove.depth / 2))
    radius = place.scale * max(groove.width, groove.depth) * 0.75 + 0.8
    paper.pen(NARROW)
    paper.circle((x, y), radius)
    at = (x + 0.75 * radius + 1.6, y + 0.75 * radius + 1.8)
    paper.text(at, word("drawing", "detail_letter"), 4.2, BOLD, align="middle")
    return (at[0] - 2.0, at[1] - 1.0, at[0] + 2.0, at[1] + 3.6)


def _draw_detail(paper: Paper, piece: Piece, found: tuple[Characteristic, ...], cut: Cut, places: dict[str, Point],
                 room: Box) -> None:
    """The groove enlarged, broken off beside and below it."""
    groove = next(f for f in piece.features if isinstance(f, Groove))
    assert cut.groove_s is not None
    side = min(_DETAIL_SIDE, cut.groove_s - groove.width / 2 - cut.box[0])
    crop = (cut.groove_s - groove.width / 2 - max(side, 0.8), groove.face - groove.depth - 1.6,
            cut.groove_s + groove.width / 2 + _DETAIL_SIDE, groove.face + 0.3)
    wide, tall = crop[2] - crop[0], crop[3] - crop[1]
    scale = next((f for f in _DETAIL_SCALES if wide * f <= room[2] - room[0] - 92.0 and tall * f <= room[3] - room[1] - 30.0),
                 _DETAIL_SCALES[-1])
    middle = ((room[0] + room[2]) / 2, (room[1] + room[3]) / 2 - 3.0)
    place = Placement((middle[0] - scale * (crop[0] + crop[2]) / 2, middle[1] - scale * (crop[1] + crop[3]) / 2), scale)
    view = (*place.at(crop[:2]), *place.at(crop[2:]))
    paper.text((middle[0], room[3] - 6.0), word("drawing", "detail_title", scale=scale_words(scale)), 4.2, BOLD, align="middle")
    draw_cut(paper, cut.shape(), place, crop)
    labels = _spanned_labels(paper, found, DETAIL, places, cut_spans(piece, cut, scale), place)
    wider = (view[0], view[1], view[2], view[3] + 5.0)
    _draw_all(paper, labels, wider, (room[0], room[1], room[2], room[3] - 8.0), (), 7.0)


def scale_words(scale: float) -> str:
    """A scale as drawings write it: 2:1, 1:5."""
    return f"{scale:g}:1" if scale >= 1.0 else f"1:{1 / scale:g}"
