"""Letters sewn into a face against letters cut by a boolean, in the kernel itself."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import build123d as b
import pytest

from afterpart.model.piece import Deboss, Lettering
from afterpart.solid.sunk import sunk
from afterpart.solid.text_tools import letter_faces, letter_tools


def test_letters_are_sewn_in_and_give_the_body_a_boolean_gives() -> None:
    """Islands (A, 8, 0), both faces: the volume is the plate less letters times depth, and the cut by tools agrees."""
    for below in (False, True):
        step = Deboss((Lettering("A80 IQ", (0.0, 0.0), 5.0, 10.0),), 0.0 if below else 3.0, 0.4, below)
        plate = b.Solid.make_box(60, 30, 3, b.Plane((-30, -15, 0)))
        letters = letter_faces(step)
        made = sunk(plate, letters, step.top, step.depth, -1 if below else 1)
        assert made is not None and made.is_valid
        cut = plate.cut(*letter_tools(step))
        assert made.volume == pytest.approx(plate.volume - 0.4 * sum(face.area for face in letters), rel=1e-9)
        assert made.volume == pytest.approx(cut.volume, rel=1e-6)
        assert len(made.faces()) == len(cut.faces())


def test_letters_that_leave_their_face_are_left_to_the_boolean() -> None:
    step = Deboss((Lettering("WIDE", (28.0, 0.0), 5.0, 0.0),), 3.0, 0.4)
    plate = b.Solid.make_box(60, 30, 3, b.Plane((-30, -15, 0)))
    assert sunk(plate, letter_faces(step), 3.0, 0.4, 1) is None
