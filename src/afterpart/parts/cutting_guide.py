"""The cutting guide: a printed tray to lay on the foam, whose outer wall leads the blade upright round the element.

Words: the *floor* lies flat on the foam; the *guide wall* stands on its edge, flush with the element's polygon all round, so the
blade leans on one plane from the foam to the wall's top; the *grip* is a bar to press the guide down by.
Frame: the drawing's x and y; z = 0 on the bed and, in use, on the foam.
Decision: the outer bottom edge gets no first-layer chamfer, as every other piece has: the blade would run in under it where the
cut is made.  What bulges out of the first layer there is to be taken off with a knife, and a note says so.
Limits: straight sides only; an element too small for the grip gets none, a text without room is left out, both said in notes.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from shapely import affinity
from shapely.geometry import Polygon, box

from afterpart.errors import JobError
from afterpart.geometry.chain import polygon_chain
from afterpart.geometry.cut_order import direction_deg
from afterpart.model.edges import Note
from afterpart.model.feature import CutRow
from afterpart.model.outline import Point
from afterpart.model.piece import Add, Deboss, Lettering, Piece, PrintTime, Prism, Step
from afterpart.model.wishes import FilterWish
from afterpart.parts.filter_element import blank_size
from afterpart.parts.print_time import pace_in_words, print_minutes
from afterpart.parts.text_places import text_box
from afterpart.solid.lettering import plain_text
from afterpart.words import tell

FLOOR = 2.0
WALL_HEIGHT = 4.0
WALL_WIDTH = 2.4
GRIP_HEIGHT, GRIP_WIDTH = 14.0, 4.0
GRIP_LENGTH = (30.0, 60.0)
"""Shortest and longest grip: three fingers to a hand."""
TEXT_DEPTH = 0.4
TEXT_HEIGHTS = (5.0, 4.2, 3.6, 3.0, 2.5)
_CLEAR = 1.5
"""Room round a line of text."""
_LONGEST_NAME = 28


def make_cutting_guide(row: CutRow, wish: FilterWish, name: str, revision: str) -> Piece:
    """The guide for one row of the table of cuts.

    JobError: the element is so narrow that its guide walls meet.
    """
    element = Polygon(row.corners)
    inside = element.buffer(-WALL_WIDTH, join_style="mitre")
    if inside.is_empty or not isinstance(inside, Polygon):
        long, wide = blank_size(row.corners)
        raise JobError(tell("filter: found an element of {long:.1f} x {wide:.1f} mm, expected more than {wall_width:g} mm across "
                            "everywhere: the walls of its cutting guide meet; cut it by the paper template (leave the cutting "
                            "guide out of make)", long=long, wide=wide, wall_width=2 * WALL_WIDTH))
    grip = _grip(inside, direction_deg(row.corners))
    texts, left_out = _texts(inside, grip, row, name, revision)
    return _piece(row, wish, inside, grip, texts, left_out, (name, revision))


def _piece(
    row: CutRow,
    wish: FilterWish,
    inside: Polygon,
    grip: Polygon | None,
    texts: tuple[Lettering, ...],
    left_out: tuple[str, ...],
    title: tuple[str, str],
) -> Piece:
    outer, hollow = polygon_chain(row.corners), polygon_chain(_corners(inside))
    solids = [Prism(outer, (), 0.0, FLOOR), Prism(outer, (hollow,), FLOOR, FLOOR + WALL_HEIGHT)]
    if grip is not None:
        solids.append(Prism(polygon_chain(_corners(grip)), (), FLOOR, FLOOR + GRIP_HEIGHT))
    steps: list[Step] = [Add(tuple(solids))]
    if texts:
        steps.append(Deboss(texts, FLOOR, TEXT_DEPTH))
    height = FLOOR + (GRIP_HEIGHT if grip is not None else WALL_HEIGHT)
    area = Polygon(row.corners).area
    mean_height = FLOOR + WALL_HEIGHT * (1 - inside.area / area) + (GRIP_HEIGHT * grip.area / area if grip is not None else 0.0)
    minutes = print_minutes(area, mean_height)
    return Piece(kind="cutting_guide", name=title[0], file_stem="cutting_guide", revision=title[1], steps=tuple(steps),
                 thickness=height, labels=(),
                 print_time=PrintTime(minutes, print_minutes(area, height),
                                      tell("as a plate of the same volume: {pace}", pace=pace_in_words(area, mean_height))),
                 notes=tuple(_notes(row, wish, grip is not None, left_out)), through_holes=0,
                 orientation=tell("flat side on the bed: floor, wall and grip stand upright, nothing overhangs; the bed keeps "
                                  "the side that lies on the foam flat"))


def _grip(inside: Polygon, angle_deg: float) -> Polygon | None:
    """A bar through the middle, along the first cut or square to it, whichever gives the longer; None: no room for it."""
    x, y = inside.centroid.coords[0]
    found = []
    for turn_deg in (angle_deg, angle_deg + 90.0):
        for length in (GRIP_LENGTH[1], sum(GRIP_LENGTH) / 2, GRIP_LENGTH[0]):
            bar = box(x - length / 2, y - GRIP_WIDTH / 2, x + length / 2, y + GRIP_WIDTH / 2)
            bar = affinity.rotate(bar, turn_deg, origin=(x, y))
            if inside.buffer(-2 * GRIP_WIDTH).contains(bar):
                found.append((-length, turn_deg != angle_deg, bar))
                break
    return min(found, key=lambda f: f[:2])[2] if found else None


def _texts(
    inside: Polygon, grip: Polygon | None, row: CutRow, name: str, revision: str
) -> tuple[tuple[Lettering, ...], tuple[str, ...]]:
    """Lines of text in the floor, along the grip, beside it or in rows from the middle out; and what found no room."""
    long, wide = blank_size(row.corners)
    lines = [plain_text(line) for line in (tell("FLAT SIDE ON THE FOAM"), f"{name[:_LONGEST_NAME]} {revision}".strip(),
                                           tell("CUT {long:.1f} x {wide:.1f}", long=long, wide=wide))]
    free = inside.buffer(-_CLEAR, join_style="mitre")
    if grip is not None:
        free = free.difference(grip.buffer(_CLEAR))
    placed, left_out = [], []
    for line in lines:
        text = _placed(line, inside, free, direction_deg(row.corners))
        if text is None:
            left_out.append(line)
            continue
        placed.append(text)
        free = free.difference(text_box(text, _CLEAR))
    return tuple(placed), tuple(left_out)


def _placed(line: str, inside: Polygon, free: Polygon, angle_deg: float) -> Lettering | None:
    """The line as large and as near to the middle as there is room, along the first cut or square to it."""
    x, y = inside.centroid.coords[0]
    reach = max(math.dist((x, y), corner) for corner in inside.exterior.coords)
    for height in TEXT_HEIGHTS:
        for turn_deg in (angle_deg, angle_deg - 90.0 if angle_deg > 0 else angle_deg + 90.0):
            a = math.radians(turn_deg)
            for step in range(int(2 * reach) + 1):
                aside = (step + 1) // 2 * (1 if step % 2 else -1)
                at = (x - aside * math.sin(a), y + aside * math.cos(a))
                text = Lettering(line, at, height, turn_deg)
                if free.contains(text_box(text)):
                    return text
    return None


def _corners(polygon: Polygon) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in polygon.exterior.coords[:-1])


def _notes(row: CutRow, wish: FilterWish, has_grip: bool, left_out: tuple[str, ...]) -> list[Note]:
    notes = [Note("guide_edge",
                  tell("The outer bottom edge of the guide has no first-layer chamfer, or the blade would run in under it: take "
                       "the first layer's bulge off that edge with a knife, flush with the wall, before use.")),
             Note("guide_use",
                  tell("Lay the flat side on the foam ({thickness:g} mm), press by the grip with the fingers behind the wall, "
                       "and draw a long sharp blade along each of the {count} sides, upright on the wall, away from the body. A "
                       "cut-resistant glove on the hand that presses is wise.", thickness=wish.thickness,
                       count=len(row.corners)))]
    if not has_grip:
        notes.append(Note("guide_without_grip",
                          tell("The element is too small for a grip: hold the guide down with a block of wood.")))
    if left_out:
        notes.append(Note("no_room_for_text",
                          tell("No room on the guide for: {left_out}. Write it on by hand.", left_out="; ".join(left_out))))
    return notes
