"""The check plate: the design outline as a thin print to lay on the machine before the real part is made.

From the design loops of one part: rim and all openings at full accuracy, a 45 degree chamfer against the first layer's bulge,
tick scales on two edges to read an offset by eye, a number beside each opening, name and revision debossed; as a frame where
that saves print time; divided with dovetail keys where it is larger than the bed.
Frame: the drawing's; the marked side is z = thickness, seen as in the photograph.
Limits: channels (not through the part) are left out; the print time is an estimate (print_time.py).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from afterpart.errors import JobError
from afterpart.model.edges import Note
from afterpart.model.job import PlateChoice
from afterpart.model.outline import Line, Loop, Outline, Point
from afterpart.model.piece import Add, ChamferFirstLayer, Cut, Deboss, HoleLabel, Keep, Lettering, Piece, PrintTime, Prism, Step
from afterpart.parts.face_region import face_region, loop_polygon, loops_of_part, opening_center
from afterpart.parts.plate_frame import ISLAND, windows
from afterpart.parts.plate_marks import Scale, place_number, two_scales
from afterpart.parts.plate_split import Cell, Division, divide_for_bed
from afterpart.parts.print_time import pace_in_words, print_minutes
from afterpart.parts.text_places import CLEAR, place_line, text_box
from afterpart.solid.lettering import plain_text
from afterpart.words import tell, together, translated

MARK_DEPTH = 0.4
"""Depth of ticks and letters: two usual layers."""
AIM_MINUTES = 30.0
BANDS = (9.0, 8.0, 7.0, 6.0)
"""Widths of the frame's band tried in turn, until the print takes no longer than AIM_MINUTES."""
WORTH_A_FRAME = 0.85
"""A frame is made only if it takes less than this share of the full plate's time."""
TEXT_HEIGHTS = (4.2, 3.6, 3.0)
LONGEST_NAME = 28
_BEYOND = 1.0
"""How far cutting tools reach out of the plate."""


@dataclass(frozen=True)
class _Marks:
    scales: tuple[Scale, Scale]
    numbers: tuple[tuple[HoleLabel, Lettering], ...]
    names: tuple[Lettering | None, ...]
    unnumbered: tuple[int, ...]


def make_plate(outline: Outline, choice: PlateChoice, name: str, revision: str, part: int = 1) -> tuple[Piece, ...]:
    """The pieces of the check plate, from the lower left, row by row.

    JobError: size unknown, thickness outside 1 to 2 mm, chamfer or bed impossible.
    SolidError: no outer loop, loops that cross.
    """
    _refuse_unusable(outline, choice)
    outer, openings = loops_of_part(outline, part)
    region = face_region(outer, openings)
    division = divide_for_bed(region, choice.bed)
    marks = _place_marks(region, openings, division, plain_text(name), plain_text(revision))
    return tuple(
        _piece(i, cell, division, marks, outer, openings, _windows_of(cell, division, marks, choice), choice, name, revision)
        for i, cell in enumerate(division.cells)
    )


def _refuse_unusable(outline: Outline, choice: PlateChoice) -> None:
    if outline.unit != "mm":
        raise JobError(tell("the size of the part is unknown (the outline is in {unit}), so no plate can be made true to scale; "
                            "take the readings the outline asks for (next_readings) and measure again with --reading",
                            unit=outline.unit))
    if not 1.0 <= choice.thickness <= 2.0:
        raise JobError(tell("plate thickness {thickness:g} mm; a check plate is 1 to 2 mm thick: set a thickness in that range",
                            thickness=choice.thickness))
    if not 0.0 <= choice.first_layer_chamfer <= choice.thickness / 2:
        raise JobError(tell("first-layer chamfer {first_layer_chamfer:g} mm on a plate {thickness:g} mm thick; give 0 to half "
                            "the thickness", first_layer_chamfer=choice.first_layer_chamfer, thickness=choice.thickness))


def _place_marks(region: Polygon, openings: tuple[Loop, ...], division: Division, name: str, revision: str) -> _Marks:
    """Ticks first, then numbers, then names: each keeps clear of what is placed before it."""
    scales = two_scales(region, division.zone)
    ticks = unary_union([t for s in scales for t in s.ticks])
    free: BaseGeometry = region.buffer(-CLEAR).difference(unary_union([division.zone, ticks.buffer(CLEAR)]))
    kept = region.intersection(
        unary_union([region.exterior.buffer(BANDS[-1]), *(Polygon(r).buffer(ISLAND) for r in region.interiors)])
    )
    numbers, unnumbered = [], []
    for number, loop in enumerate(openings, start=1):
        text = place_number(number, loop_polygon(loop), free, kept)
        if text is None:
            unnumbered.append(number)
            continue
        numbers.append((HoleLabel(number, loop.segments[0].id, opening_center(loop), text.at), text))
        free = free.difference(text_box(text, CLEAR))
    names = []
    for i, cell in enumerate(division.cells):
        text = place_line(
            _title(name, revision, i, len(division.cells)), cell.area, free.intersection(cell.area), kept, TEXT_HEIGHTS
        )
        names.append(text)
    return _Marks(scales, tuple(numbers), tuple(names), tuple(unnumbered))


def _title(name: str, revision: str, index: int, count: int) -> str:
    short = name if len(name) <= LONGEST_NAME else name[: LONGEST_NAME - 2] + ".."
    return f"{short} {revision}".strip() + (f" {index + 1}/{count}" if count > 1 else "")


def _windows_of(cell: Cell, division: Division, marks: _Marks, choice: PlateChoice) -> list[Polygon]:
    """Windows of the widest band that keeps to the aimed time, or none where a frame is not wanted or saves too little."""
    if not choice.frame:
        return []
    boxes = [text_box(t, 1.2) for _, t in marks.numbers] + [text_box(t, 1.2) for t in marks.names if t is not None]
    pads = unary_union([*boxes, division.pads, *(t.buffer(CLEAR) for s in marks.scales for t in s.ticks)])
    found: list[Polygon] = []
    minutes = full = print_minutes(cell.area.area, choice.thickness)
    for band in BANDS:
        found = windows(cell.area, band, pads.intersection(cell.area))
        minutes = print_minutes(cell.area.area - sum(w.area for w in found), choice.thickness)
        if minutes <= AIM_MINUTES:
            break
    return found if minutes < WORTH_A_FRAME * full else []


def _piece(
    index: int,
    cell: Cell,
    division: Division,
    marks: _Marks,
    outer: Loop,
    openings: tuple[Loop, ...],
    inner: list[Polygon],
    choice: PlateChoice,
    name: str,
    revision: str,
) -> Piece:
    count, top = len(division.cells), choice.thickness
    floor = top - MARK_DEPTH
    hull = cell.area.buffer(0.5)
    labels = [(label, text) for label, text in marks.numbers if hull.contains(text_box(text).centroid)]
    texts = tuple(t for _, t in labels) + tuple(t for t in marks.names[index : index + 1] if t is not None)
    ticks = [t for s in marks.scales for t in s.ticks if t.intersects(hull)]
    steps: list[Step] = [Add((Prism(outer.segments, tuple(o.segments for o in openings), 0.0, top),))]
    steps += [Keep(Prism(_chain(ring), (), -_BEYOND, top + _BEYOND)) for ring in cell.keep]
    if choice.first_layer_chamfer > 0:
        steps.append(ChamferFirstLayer(choice.first_layer_chamfer))
    if texts:
        steps.append(Deboss(texts, top, MARK_DEPTH))
    if inner:
        steps.append(Cut(tuple(Prism(_chain(_corners(w)), (), -_BEYOND, top + _BEYOND) for w in inner)))
    if ticks:
        steps.append(Cut(tuple(Prism(_chain(_corners(t)), (), floor, top + _BEYOND) for t in ticks)))
    area = cell.area.area - sum(w.area for w in inner)
    return Piece(
        kind="check_plate",
        name=name if count == 1 else f"{name} {index + 1}/{count}",
        file_stem="check_plate" if count == 1 else f"check_plate_{index + 1}_of_{count}",
        revision=revision,
        steps=tuple(steps),
        thickness=top,
        labels=tuple(label for label, _ in labels),
        print_time=PrintTime(print_minutes(area, top), print_minutes(cell.area.area, top), pace_in_words(area, top)),
        notes=tuple(_notes(marks, division, index, name, openings)),
    )


def _notes(marks: _Marks, division: Division, index: int, name: str, openings: tuple[Loop, ...]) -> list[Note]:
    notes = [Note("plate_side",
                  tell("The marked side of the plate shows the part as photographed. Was that the face that meets the machine, "
                       "as is usual? Then the marked side lies on the machine; the inspection sheet says which it is."))]
    if any(s.ticks for s in marks.scales):
        sides = together(tell("{side} edge ({count} ticks)", side=translated(s.side), count=len(s.ticks)) for s in marks.scales
                         if s.ticks)
        notes.append(Note("plate_scales",
                          tell("Tick scales at whole millimetres of the drawing: {sides}; every 5 and 10 longer, zero longest.",
                               sides=sides)))
    else:
        notes.append(Note("no_scales", tell("No stretch of the rim is level or upright enough for a tick scale.")))
    if marks.unnumbered:
        notes.append(Note("no_room_for_number",
                          tell("No room for the numbers of openings {map}; see the paper that goes with the plate.",
                               map=", ".join(map(str, marks.unnumbered)))))
    if marks.names[index] is None:
        notes.append(Note("no_room_for_name", tell("No room on the plate for {name!r}; write it on by hand.", name=name)))
    if len(division.cells) > 1:
        notes.append(Note("divided",
                          tell("{count} pieces, joined by dovetail keys with 0.12 mm clearance: press the faces along the cut "
                               "together, then tape across.", count=len(division.cells))))
    if division.plain_cuts:
        notes.append(Note("cut_without_key",
                          tell("{plain_cuts} cut(s) found no room for a key; align these by the paper.",
                               plain_cuts=division.plain_cuts)))
    return notes


def _corners(polygon: Polygon) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in polygon.exterior.coords[:-1])


def _chain(corners: tuple[Point, ...]) -> tuple[Line, ...]:
    return tuple(Line("", corner, corners[(i + 1) % len(corners)]) for i, corner in enumerate(corners))
