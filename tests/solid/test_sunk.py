"""Letters set into a face against letters cut by a boolean, in the kernel itself."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.model.piece import Deboss, Lettering
from afterpart.solid import booleans, shapes
from afterpart.solid.step_file import step_bytes
from afterpart.solid.sunk import sunk
from afterpart.solid.text_tools import letter_faces, letter_tools
from afterpart.solid.wires import extruded
from tests.solid.shapes import plate


def test_letters_are_set_in_and_give_the_body_a_boolean_gives() -> None:
    """Islands (A, 8, 0), both faces: the volume is the plate less letters times depth, and the cut by tools agrees."""
    for below in (False, True):
        step = Deboss((Lettering("A80 IQ", (0.0, 0.0), 5.0, 10.0),), 0.0 if below else 3.0, 0.4, below)
        blank = extruded(plate(60, 30, 3))
        letters = letter_faces(step)
        made = sunk(blank, letters, step.top, step.depth, -1 if below else 1)
        assert made is not None and shapes.is_valid(made)
        cut = booleans.cut(blank, letter_tools(step))
        wanted = shapes.volume(blank) - 0.4 * sum(map(shapes.area, letters))
        assert shapes.volume(made) == pytest.approx(wanted, rel=1e-9)
        assert shapes.volume(made) == pytest.approx(shapes.volume(cut), rel=1e-6)
        assert len(shapes.faces(made)) == len(shapes.faces(cut))


def test_every_edge_of_the_lettered_body_is_shared_by_two_faces() -> None:
    """Nothing is sewn, so that no edge may lie there twice: Euler's figure for a body of genus 0 with its islands and holes."""
    step = Deboss((Lettering("8", (0.0, 0.0), 5.0, 0.0),), 3.0, 0.4)
    blank = extruded(plate(60, 30, 3))
    made = sunk(blank, letter_faces(step), 3.0, 0.4, 1)
    assert made is not None
    uses = [edge for face in shapes.faces(made) for edge in shapes.edges(face)]
    # a seam counts once in its face: the plate's own sides and the letter's have none
    assert len(uses) == 2 * len(shapes.edges(made))


def test_letters_that_leave_their_face_are_left_to_the_boolean() -> None:
    step = Deboss((Lettering("WIDE", (28.0, 0.0), 5.0, 0.0),), 3.0, 0.4)
    assert sunk(extruded(plate(60, 30, 3)), letter_faces(step), 3.0, 0.4, 1) is None


def test_a_letter_of_two_parts_comes_in_one_order() -> None:
    """The dot of an i is a face of its own; the kernel's own order changes with where its memory lies."""
    step = Deboss((Lettering("i;i%i", (0.0, 0.0), 5.0, 0.0),), 3.0, 0.4)
    lows = [tuple(round(side, 6) for side in shapes.box(face)[0]) for face in letter_faces(step)]
    assert len(lows) > 5 and lows == sorted(lows)
    blank = extruded(plate(60, 30, 3))
    files = {step_bytes(body, "i") for _ in range(3) if (body := sunk(blank, letter_faces(step), 3.0, 0.4, 1)) is not None}
    assert len(files) == 1
