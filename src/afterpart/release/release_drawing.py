"""The drawing of the new piece, as PDF: its mating face at true scale, the cut through groove and seat, the detail, the holes.

Sheet 1: the view with numbered balloons, limits where they matter, datums, the line of the cut.  Sheet 2: cut, detail of the
groove enlarged, table of holes with their position tolerance, notes.  Where the view does not fit the page at 1:1 it comes in
tiles with registration marks, and sheet 2 stays one page, the cut reduced to a standard scale.
Conventions: mm; same input, same bytes.  Balloons are placed by balloons.py: none on another.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, replace

from afterpart.model.job import Job
from afterpart.model.outline import Outline, Point
from afterpart.model.piece import Piece
from afterpart.model.release import TitleBlock
from afterpart.release.balloons import Balloon, Box, draw_balloon, place_balloons
from afterpart.release.characteristics import PLAN, Characteristic, characteristics, datum_letters
from afterpart.release.cut_view import Cut
from afterpart.release.lengths import note_unit
from afterpart.release.paper import Paper, Placement
from afterpart.release.plan_view import cut_boxes, draw_plan, plan_box
from afterpart.release.section_sheet import draw_section_sheet
from afterpart.release.size_labels import draw_span, label_of
from afterpart.release.tiles import true_scale_pages
from afterpart.release.title_field import THIRD_ANGLE, SheetTitle, draw_sheet, page_size, room_on
from afterpart.release.words import word

_SPAN_OUT = 6.0
"""Distance of the dimension lines across the edge from the view."""
_GAPS = (13.0, 16.0, 20.0, 26.0, 34.0, 44.0, 60.0, 80.0, 110.0, 150.0)
_WIDEST_LABEL = 62.0


@dataclass(frozen=True)
class SheetChoice:
    """page: "A4", "A3" or "letter"; author: owner named in the title block, "" for a blank one; revisions: as in SheetTitle."""

    page: str = "A4"
    author: str = ""
    revisions: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Plan:
    place: Placement
    balloons: tuple[Balloon, ...]
    spans: tuple[tuple[Point, Point, Point, Point], ...]


def release_drawing_pdf(
    piece: Piece, outline: Outline, job: Job, title: TitleBlock, cut: Cut, choice: SheetChoice | None = None
) -> bytes:
    """The drawing of a cover, bracket or plate.  cut: as cut_view.cut_piece made it.  KeyError: unknown page."""
    choice = choice or SheetChoice()
    paper = Paper(title, word("drawing", "document_drawing"))
    found = characteristics(piece, outline, job)
    told = SheetTitle(title, word("drawing", "document_drawing"), "", 1, 2, "1:1", choice.author,
                      job.wishes.cover.number if job.wishes.cover else "", piece.material, choice.page in THIRD_ANGLE,
                      revisions=choice.revisions)
    _plan_sheet(paper, piece, outline, found, cut, told, choice.page)
    draw_section_sheet(paper, piece, found, cut, told, choice.page)
    return paper.finish()


def plan_balloons(piece: Piece, found: tuple[Characteristic, ...], cut: Cut, paper: Paper) -> tuple[Balloon, ...]:
    """The balloons of the view as they stand where there is room enough, in the drawing's own frame."""
    return _plan(piece, found, cut, paper, Placement((0.0, 0.0)), None).balloons


def _plan_sheet(paper: Paper, piece: Piece, outline: Outline, found: tuple[Characteristic, ...], cut: Cut, told: SheetTitle,
                page: str) -> None:
    subject = word("drawing", "subject_plan", piece=piece.name)
    notes = _notes(outline, piece)
    for upright in (False, True):
        size = page_size(page, upright)
        room = room_on(size)
        box = plan_box(piece)
        middle = Placement(((room[0] + room[2] - box[0] - box[2]) / 2, (room[1] + room[3] - box[1] - box[3]) / 2))
        plan = _plan(piece, found, cut, paper, middle, room)
        if plan is not None:
            paper.new_page(size)
            _draw_plan_sheet(paper, piece, cut, plan)
            draw_sheet(paper, replace(told, subject=subject), notes)
            return
    _tiled_plan(paper, piece, found, cut, told, page, subject)


def _tiled_plan(paper: Paper, piece: Piece, found: tuple[Characteristic, ...], cut: Cut, told: SheetTitle, page: str,
                subject: str) -> None:
    plan = _plan(piece, found, cut, paper, Placement((0.0, 0.0)), None)
    assert plan is not None
    around = _box_of([b.box for b in plan.balloons] + [plan_box(piece)])

    def draw(page_paper: Paper, place: Placement) -> None:
        moved = _plan(piece, found, cut, page_paper, place, None)
        assert moved is not None
        _draw_plan_sheet(page_paper, piece, cut, moved)

    title = told.title
    heading = word("drawing", "heading", name=title.name, revision=title.revision, date=title.date, subject=subject)
    true_scale_pages(paper, around, draw, heading, word("drawing", "tiles_how"), page_size(page, upright=True))


def _draw_plan_sheet(paper: Paper, piece: Piece, cut: Cut, plan: _Plan) -> None:
    draw_plan(paper, piece, plan.place, cut.line)
    for start, end, foot, head in plan.spans:
        draw_span(paper, start, end, foot, head)
    for balloon in plan.balloons:
        draw_balloon(paper, balloon)


def _plan(piece: Piece, found: tuple[Characteristic, ...], cut: Cut, paper: Paper, place: Placement,
          room: Box | None) -> _Plan | None:
    """Balloons and dimension lines of the view; None where the room is too small.  room: None for as much as it takes."""
    (x0, y0), (x1, y1) = place.at(plan_box(piece)[:2]), place.at(plan_box(piece)[2:])
    low, aside = y0 - _SPAN_OUT, x0 - _SPAN_OUT
    spans = {"across_x": ((x0, low), (x1, low), (x0, y0), (x1, y0)), "across_y": ((aside, y0), (aside, y1), (x0, y0), (x0, y1))}
    points = {"across_x": (x0 + 0.3 * (x1 - x0), low), "across_y": (aside, y0 + 0.35 * (y1 - y0))}
    labels = tuple(label_of(c, points.get(c.key, place.at(c.at))) for c in found if c.view == PLAN)
    (x, y), letters = place.at((0.0, 0.0)), cut_boxes(cut.line, place)
    taken = (*letters, (x - 1.5, y - 1.5, x + 12.0, y + 12.0))
    for gap in _GAPS:
        reach = gap + _WIDEST_LABEL
        area = room or (x0 - reach, y0 - reach, x1 + reach, y1 + reach)
        placed = place_balloons(labels, (x0, y0, x1, y1), area, paper.text_width, taken, gap)
        if placed is not None:
            keys = [c.key for c in found if c.key in spans]
            return _Plan(place, placed, tuple(spans[k] for k in keys))
    return None


def _notes(outline: Outline, piece: Piece) -> tuple[str, ...]:
    datums = (word("drawing", "note_datums"),) if datum_letters(piece) else ()
    return (note_unit(), word("drawing", "note_balloons"), *datums,
            word("drawing", "note_datum", text=outline.datum.text))


def _box_of(boxes: list[Box]) -> Box:
    return (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))
