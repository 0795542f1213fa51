"""Lines on a picture: a line drawn band by band covers the very pixels that it covers when the whole picture is looked at."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.release.canvas import INK, PAPER, Canvas

ROWS, COLUMNS = 220, 260
LINES = (((10.0, 12.0), (250.0, 208.0)), ((251.3, 9.7), (3.2, 190.1)), ((128.0, 5.0), (131.0, 215.0)),
         ((4.0, 100.0), (255.0, 101.5)), ((-90.0, -60.0), (300.0, 270.0)), ((30.0, 400.0), (200.0, 100.0)),
         ((60.0, 60.0), (60.0, 60.0)))
"""Steep, flat, both ways across, from far outside, and a mere dot."""


def wanted(start: np.ndarray, end: np.ndarray, width: float) -> np.ndarray:
    """The same line by its definition, every pixel by itself: as dark as it lies within half the width, with a soft edge."""
    y, x = np.mgrid[:ROWS, :COLUMNS] + 0.5
    along = end - start
    square = float(along @ along)
    share = np.clip(((x - start[0]) * along[0] + (y - start[1]) * along[1]) / square, 0, 1) if square else 0.0 * x
    away = np.hypot(x - start[0] - share * along[0], y - start[1] - share * along[1])
    cover = np.clip(width / 2 + 0.5 - away, 0, 1)
    paper = np.array(PAPER, float)
    return np.asarray(np.round(paper + cover[..., None] * (np.array(INK) - paper)).astype(np.uint8))


@pytest.mark.parametrize("width", [0.3, 1.2, 8.0, 40.0])
@pytest.mark.parametrize("ends", LINES)
def test_a_line_covers_what_lies_within_half_its_width(ends: tuple[tuple[float, float], ...], width: float) -> None:
    start, end = np.array(ends)
    canvas = Canvas(ROWS, COLUMNS)
    canvas.stroke(np.array(ends), width)
    assert (canvas.pixels == wanted(start, end, width)).all()
    assert (canvas.pixels != PAPER).any() or width < 0.5
