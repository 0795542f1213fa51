"""Words on pictures: every letter there is, told apart, of the height asked for; lines of the width asked for."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import string

import numpy as np
import pytest

from afterpart.release.canvas import Canvas
from afterpart.release.strokes import text_length, text_strokes


def test_every_letter_has_strokes_of_its_own_within_its_box() -> None:
    seen = set()
    for letter in string.ascii_uppercase + string.digits:
        strokes = text_strokes(letter, 6.0)
        points = np.vstack(strokes)
        assert points.min() >= 0 and points[:, 0].max() <= 4 and points[:, 1].max() == 6, letter
        seen.add(tuple(tuple(map(tuple, stroke)) for stroke in strokes))
    assert len(seen) == 36


def test_small_letters_accents_and_unknown_ones() -> None:
    def plain(text: str) -> list[list[list[float]]]:
        return [stroke.tolist() for stroke in text_strokes(text, 10.0)]
    assert plain("lid") == plain("LID") and plain("é") == plain("E") and plain("€") == plain("?")
    assert text_length("", 10.0) == 0.0 and text_strokes(" ", 10.0) == ()


def test_a_text_is_as_long_as_said_and_stands_where_it_is_put() -> None:
    canvas = Canvas(100, 400)
    canvas.words("HHH", (200.0, 60.0), 24.0, "middle")
    rows, columns = np.nonzero(canvas.pixels.min(axis=2) < 128)
    half = text_length("HHH", 24.0) / 2
    assert abs(columns.min() - (200 - half)) <= 2.5 and abs(columns.max() - (200 + half)) <= 2.5
    assert abs(rows.min() - 36) <= 2.5 and abs(rows.max() - 60) <= 2.5


@pytest.mark.parametrize("angle_deg", [0.0, 17.0, 45.0, 90.0])
def test_a_line_has_its_width_in_any_direction(angle_deg: float) -> None:
    """Ink of a straight line of length L and width w with round ends: L w + pi w^2 / 4 (by hand)."""
    canvas = Canvas(300, 300)
    along = 200.0 * np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))])
    start = np.array([150.3, 150.6]) - along / 2
    canvas.stroke(np.array([start, start + along]), 4.0, ink=(0, 0, 0))
    ink = (255.0 - canvas.pixels[:, :, 0]).sum() / 255
    assert ink == pytest.approx(200 * 4 + np.pi * 4, rel=0.03)


def test_what_lies_partly_off_the_picture_is_cut_off() -> None:
    canvas = Canvas(20, 30)
    canvas.stroke(np.array([[-50.0, 10.0], [80.0, 10.0]]), 2.0)
    canvas.ring((29.0, 0.0), 8.0, 1.0)
    canvas.paste(np.zeros((50, 50, 3), np.uint8), 25, 15)
    assert canvas.pixels.shape == (20, 30, 3) and (canvas.pixels[15:, 25:] == 0).all() and (canvas.pixels[10, 2] < 200).all()
