"""Letters as faces and as cutting tools: one line of text becomes what sinks it into a face.

Conventions: mm; a text's direction is angle_deg from x in the piece's frame.  Seen from above, letters stand to the left of
their direction; on a face that looks down they stand to its right, so that they read right from below.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import build123d as b

from afterpart.model.piece import Deboss, Lettering
from afterpart.solid.lettering import FONT_FILE, font_size

_ALIGN = (b.TextAlign.CENTER, b.TextAlign.BOTTOM)


def letter_faces(step: Deboss) -> list[b.Face]:
    """The letters of all texts of the step as faces in the plane z = top."""
    return [face for text in step.texts for face in _letters(text, step)]


def letter_tools(step: Deboss) -> list[b.Solid]:
    """The solids to cut for all texts of the step.  They reach out of the face by their depth: a tool must not end in it."""
    into = step.depth if step.from_below else -step.depth
    sunken = b.Location((0, 0, into))
    return [b.Solid.extrude(face.moved(sunken), b.Vector(0, 0, -2 * into)) for face in letter_faces(step)]


def _letters(text: Lettering, step: Deboss) -> list[b.Face]:
    size = font_size(text.height)
    # The sketch is centred on its baseline box by hand: aligning on the ink would shift "1" against "2".
    sketch = b.Compound.make_text(text.text, size, font_path=str(FONT_FILE), text_align=_ALIGN, align=None)
    box = sketch.bounding_box()
    base = b.Compound.make_text("H", size, font_path=str(FONT_FILE), text_align=_ALIGN, align=None).bounding_box().min.Y
    centred = b.Location((-(box.min.X + box.max.X) / 2, -base - text.height / 2, 0))
    place = b.Location((*text.at, step.top), (0, 0, text.angle_deg))
    turned_over = b.Location((0, 0, 0), (180, 0, 0) if step.from_below else (0, 0, 0))
    return [face.moved(place * turned_over * centred) for face in sketch.faces()]
