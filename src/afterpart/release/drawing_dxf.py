"""The drawing of the new piece as DXF: the mating face where the datum frame has it, the section below it, balloons as notes.

Layers: edge, hole, opening, groove, seat, raised, hidden (of the mating face), centre, section, balloon, note.
Conventions: mm, 1:1, origin at the datum; the section lies below the view, its s from left to right, its z upwards, both at 1:1.
Limits: no hatching and no title block: this file is for measuring and cutting, the PDF is for reading.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.geometry.chain import move_chain
from afterpart.model.job import Job
from afterpart.model.outline import Circle, Line, Outline, Point, Segment
from afterpart.model.piece import Piece
from afterpart.model.release import TitleBlock
from afterpart.release.balloons import RADIUS, Balloon, leader
from afterpart.release.characteristics import characteristics
from afterpart.release.cut_view import Cut
from afterpart.release.dxf import DxfText, layered_dxf
from afterpart.release.paper import Paper
from afterpart.release.plan_view import centre_lines, plan_box, plan_lines
from afterpart.release.release_drawing import plan_balloons
from afterpart.release.words import word

LAYERS = {"edge": 7, "hole": 5, "opening": 4, "groove": 3, "seat": 2, "raised": 6, "hidden": 8, "centre": 1, "section": 7,
          "balloon": 8, "note": 8}
"""Layer names and their colour numbers."""
_BELOW = 60.0
"""Distance of the section from the view: balloons stand between."""
_TEXT, _NOTE = 2.5, 1.8


def release_drawing_dxf(piece: Piece, outline: Outline, job: Job, title: TitleBlock, cut: Cut) -> bytes:
    """The drawing of a cover, bracket or plate.  cut: as cut_view.cut_piece made it."""
    found = characteristics(piece, outline, job)
    balloons = plan_balloons(piece, found, cut, Paper(title, word("drawing", "document_drawing")))
    chains: list[tuple[str, tuple[Segment, ...]]] = [(line.layer, line.chain) for line in plan_lines(piece)]
    chains += [("centre", centre_lines(piece)), ("centre", (Line("", cut.line.start, cut.line.end),))]
    shift = section_shift(piece, cut)
    chains += [("section", move_chain(loop, shift)) for loop in cut.section.loops]
    chains += [("balloon", (Circle("", b.center, RADIUS), Line("", *leader(b)))) for b in balloons]
    texts = [text for balloon in balloons for text in _texts(balloon)]
    texts += [DxfText("note", "A", p, 4.0) for p in (cut.line.start, cut.line.end)]
    low = shift[1] + cut.box[1]
    heading = f"{title.name}  {title.revision}  {title.date}".rstrip()
    texts += [DxfText("note", line, (shift[0] + cut.box[0], low - 8.0 - 5.0 * k), 3.0) for k, line in enumerate(
        ("A-A", heading, word("drawing", "note_unit"), word("drawing", "note_balloons")))]
    return layered_dxf(LAYERS, chains, texts)


def section_shift(piece: Piece, cut: Cut) -> Point:
    """Where the section's (0, 0) lies in the file."""
    x0, y0, x1, _ = plan_box(piece)
    s0, _, s1, top = cut.box
    return ((x0 + x1) / 2 - (s0 + s1) / 2, y0 - _BELOW - top)


def _texts(balloon: Balloon) -> list[DxfText]:
    label, (x, y) = balloon.label, balloon.center
    wide = 0.75 * _TEXT * len(label.number)
    texts = [DxfText("balloon", label.number, (x - wide / 2, y - _TEXT / 2), _TEXT)]
    value = f"{label.text} [{label.datum}]" if label.datum else label.text
    for text, height, up in ((value, _TEXT, 0.3), (label.note, _NOTE, -0.6 - _NOTE)):
        if text:
            left = x + RADIUS + 0.7 if not balloon.is_left else x - RADIUS - 0.7 - math.ceil(0.75 * height * len(text))
            texts.append(DxfText("balloon", text, (left, y + up), height))
    return texts
