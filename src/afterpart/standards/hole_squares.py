"""Squares of four holes that much machinery is bolted to: faces of stepping motors, frames of axial fans, backs of flat displays.

Words: the *side* is the distance of neighbouring holes' centres, the *bore* the round opening about the square's middle, the
*hole* the clearance its bolts have, the *width* that of the square body about them.  All in mm.
Limits: what the trade shares, not what one maker sells; a bore, hole or width is given only where the trade fixes it, and a plate
bolted to the face need not have the body's width.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.table import marked, rows

SOURCE = Source("Squares of holes: NEMA ICS 16 for motor faces, common practice for fans and displays", from_memory=True)


@dataclass(frozen=True)
class HoleSquare:
    """use in words; side, bore, hole and width in mm, the last three None where the face leaves them open."""

    use: str
    side: float
    bore: float | None
    hole: float | None
    width: float | None
    source: Source


def _number(text: str) -> float | None:
    return float(text) if text else None


HOLE_SQUARES: tuple[HoleSquare, ...] = tuple(
    HoleSquare(row["use"], float(row["side"]), _number(row["bore"]), _number(row["hole"]), _number(row["width"]),
               marked(SOURCE, row["mark"]))
    for row in rows("hole_squares.csv"))


def squares_of_side(side: float, tolerance: float = 1e-6) -> tuple[HoleSquare, ...]:
    """The squares with this side, mm."""
    return tuple(square for square in HOLE_SQUARES if abs(square.side - side) <= tolerance)
