"""The table of shared squares of holes against what defines its figures.

Sources, all from memory: NEMA ICS 16 writes the faces 23 and 34 in inches: squares 1.856 and 2.739 in, pilots 1.5 and 2.875 in;
the bolt circles those squares come from are 2.625 and 3.875 in (closed form: circle over root 2).  Fans and displays:
common practice; the plates of test_plates.py are drawn apart from this table and must agree with it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest

from afterpart.standards.hole_squares import HOLE_SQUARES, squares_of_side
from tests.published.test_plates import SQUARES

INCH = 25.4


def named(use: str):
    return next(square for square in HOLE_SQUARES if square.use == use)


@pytest.mark.parametrize("use, square_in, pilot_in, circle_in", [
    ("motor face 23", 1.856, 1.5, 2.625),
    ("motor face 34", 2.739, 2.875, 3.875),
])
def test_inch_faces(use: str, square_in: float, pilot_in: float, circle_in: float) -> None:
    face = named(use)
    assert face.side == pytest.approx(square_in * INCH, abs=0.03)
    assert face.bore == pytest.approx(pilot_in * INCH, abs=1e-9)
    assert face.side == pytest.approx(circle_in * INCH / math.sqrt(2.0), abs=0.03)


@pytest.mark.parametrize("plate", SQUARES)
def test_table_agrees_with_the_plates_drawn(plate: str) -> None:
    side, _, bore = SQUARES[plate]
    near = squares_of_side(side, tolerance=0.01)
    assert len(near) == 1
    assert bore is None or near[0].bore == pytest.approx(bore, abs=1e-9)


def test_every_row_can_be_made() -> None:
    """No two sides are alike, holes lie inside the body, and every figure is marked as from memory."""
    sides = [square.side for square in HOLE_SQUARES]
    assert len(set(sides)) == len(sides)
    for square in HOLE_SQUARES:
        assert square.source.from_memory
        assert square.width is None or square.side < square.width
        # the bore leaves a web beside the holes
        assert square.bore is None or square.bore + (square.hole or 2.5) < square.side * math.sqrt(2.0)
