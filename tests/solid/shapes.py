"""Invented pieces and chains for the tests of the kernel's room, written by hand."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.model.outline import Arc, Circle, Line, Point, Segment
from afterpart.model.piece import Piece, PrintTime, Prism, Step


def piece_of(*steps: Step, stem: str = "probe", thickness: float = 6.0) -> Piece:
    """A piece of these steps, named "probe"."""
    return Piece("cover", "probe", stem, "A", steps, thickness, (), PrintTime(0.0, 0.0, ""))


def ring(*corners: Point) -> tuple[Segment, ...]:
    """Straight segments round the corners."""
    return tuple(Line(f"s{i}", a, corners[(i + 1) % len(corners)]) for i, a in enumerate(corners))


def rectangle(x0: float, y0: float, x1: float, y1: float) -> tuple[Segment, ...]:
    return ring((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def rounded(x0: float, y0: float, x1: float, y1: float, r: float) -> tuple[Segment, ...]:
    """A rectangle with corner radius r, counter-clockwise."""
    return (
        Line("a", (x0 + r, y0), (x1 - r, y0)), Arc("b", (x1 - r, y0), (x1, y0 + r), (x1 - r, y0 + r), r, True),
        Line("c", (x1, y0 + r), (x1, y1 - r)), Arc("d", (x1, y1 - r), (x1 - r, y1), (x1 - r, y1 - r), r, True),
        Line("e", (x1 - r, y1), (x0 + r, y1)), Arc("f", (x0 + r, y1), (x0, y1 - r), (x0 + r, y1 - r), r, True),
        Line("g", (x0, y1 - r), (x0, y0 + r)), Arc("h", (x0, y0 + r), (x0 + r, y0), (x0 + r, y0 + r), r, True),
    )


def disc(x: float, y: float, radius: float, id: str = "c1") -> tuple[Segment, ...]:
    return (Circle(id, (x, y), radius),)


def plate(width: float = 148.0, height: float = 96.0, top: float = 6.0) -> Prism:
    """A plate about the origin with corners of radius 8, from the bed up."""
    return Prism(rounded(-width / 2, -height / 2, width / 2, height / 2, 8.0), (), 0.0, top)


def edge_strip(radius: float) -> float:
    """Area a round of this radius takes off a square edge: (1 - pi/4) r^2."""
    return (1 - math.pi / 4) * radius**2
