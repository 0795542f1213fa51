"""The letters that go into solids: strokes on a grid, and the outline of each letter in the plane.

Words: a *stroke* runs along the middle of what is sunk, STEM wide, square at its ends and mitred at its bends; a *dot* is a
stroke of one point.  The *ink* of a letter is all its strokes together, cut off at the box of its points with half a STEM round
it.  Every side of a letter becomes a wall of the solid, which is measured, written and read back: sides are straight and few.
Letters differ where pairs are easily taken for each other: S has a slope where 5 is square, O has its corners cut where 0 has
not, Z slopes where 2 is square, B is narrower above where 8 is not.
Conventions: grid units; two figures name a point (column, row from three below the foot line); capitals and figures reach from
row 3 to row 9, small letters to row 7, tails down to row 1.  Drawn here; printable ASCII.
Limits: no kerning; for sinking with a nozzle of 0.4 mm into capitals of 2.5 mm and more: STEM is then 0.5 mm, the least island
between two strokes 0.5 mm.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from afterpart.model.outline import Point

STEM = 1.5
"""Width of a stroke."""

CAPITAL = 6.0 + STEM
"""Height of a capital's ink, from the lower side of row 3 to the upper side of row 9."""

GAP = 1.5
"""Between the inks of neighbours."""

BLANK = 3.0
"""What a blank takes up."""

_FOOT_ROW = 3
_SAME = 1e-6

_STROKES: dict[str, tuple[str, ...]] = {
    "A": ("03 29 43", "15 35"), "B": ("36 39 09 03 43 46 06",), "C": ("49 09 03 43",), "D": ("03 09 29 47 45 23 03",),
    "E": ("49 09 03 43", "06 36"), "F": ("49 09 03", "06 36"), "G": ("49 09 03 43 46 36",), "H": ("03 09", "43 49", "06 46"),
    "I": ("03 09",), "J": ("49 43 03 05",), "K": ("03 09", "49 16 43"), "L": ("09 03 43",), "M": ("03 09 36 69 63",),
    "N": ("03 09 43 49",), "O": ("13 04 08 19 39 48 44 33 13",), "P": ("03 09 49 46 06",),
    "Q": ("13 04 08 19 39 48 44 33 13", "34 52"), "R": ("03 09 49 46 06", "26 43"), "S": ("49 09 07 45 43 03",),
    "T": ("09 49", "29 23"), "U": ("09 03 43 49",), "V": ("09 23 49",), "W": ("09 13 39 53 69",), "X": ("03 49", "09 43"),
    "Y": ("09 26 49", "26 23"), "Z": ("09 49 03 43",), "a": ("03 07 47 43 03", "43 53"), "b": ("09 03 43 47 07",),
    "c": ("47 07 03 43",), "d": ("49 43 03 07 47",), "e": ("43 03 07 47 03",), "f": ("29 09 03", "06 26"),
    "g": ("03 07 47 43 03", "43 21"), "h": ("09 03", "07 47 43"), "i": ("03 06", "09"), "j": ("01 21 26", "29"),
    "k": ("03 09", "47 14 43"), "l": ("09 03 23",), "m": ("03 07 67 63", "37 33"), "n": ("03 07 47 43",),
    "o": ("13 04 06 17 37 46 44 33 13",), "p": ("01 07 47 43 03",), "q": ("41 47 07 03 43",), "r": ("03 07 37",),
    "s": ("47 07 43 03",), "t": ("09 03 33", "07 27"), "u": ("07 03 43 47",), "v": ("07 23 47",), "w": ("07 03 63 67", "33 37"),
    "x": ("03 47", "07 43"), "y": ("47 11", "07 24"), "z": ("07 47 03 43",), "0": ("03 09 49 43 03",), "1": ("07 29 23",),
    "2": ("09 49 46 06 03 43",), "3": ("09 49 43 03", "16 46"), "4": ("09 06 46", "49 43"), "5": ("49 09 06 46 43 03",),
    "6": ("49 09 03 43 46 06",), "7": ("09 49 23",), "8": ("03 09 49 43 03", "06 46"), "9": ("03 43 49 09 06 46",),
    ".": ("03",), ",": ("13 11",), ":": ("03", "07"), ";": ("14 12", "17"), "-": ("06 26",), "_": ("01 41",),
    "+": ("06 46", "28 24"), "=": ("04 44", "07 47"), "/": ("03 49",), "\\": ("09 43",), "|": ("01 09",), "(": ("29 07 05 23",),
    ")": ("09 27 25 03",), "[": ("29 09 03 23",), "]": ("09 29 23 03",), "{": ("39 19 17 06 15 13 33",),
    "}": ("09 29 27 36 25 23 03",), "%": ("13 59", "09", "63"), "#": ("13 19", "43 49", "04 54", "08 58"), "'": ("09 07",),
    '"': ("09 07", "39 37"), "`": ("09 18",), "*": ("26 29", "06 46", "26 14", "26 34"), "<": ("49 06 43",), ">": ("09 46 03",),
    "!": ("03", "06 09"), "?": ("09 49 46 26", "23"), "$": ("69 09 06 66 63 03", "39 33"),
    "&": ("06 09 39 36 06", "06 03 53 57"), "@": ("63 03 09 69 66 36",), "^": ("07 29 47",), "~": ("05 17 35 47",),
}
"""Strokes of every printable character but the blank."""


def advance(letter: str) -> float:
    """From the letter's left side to that of its neighbour.  KeyError: not a printable ASCII character."""
    if letter == " ":
        return BLANK
    left, right = _sides(_points(letter))
    return right - left + GAP


def ink(letter: str) -> tuple[Polygon, ...]:
    """The letter's outline: its left side at x = 0, its foot at y = 0, counter-clockwise, islands as holes; from left to right.

    KeyError: not a printable ASCII character."""
    if letter == " ":
        return ()
    strokes = _points(letter)
    left, right = _sides(strokes)
    rows = [y for stroke in strokes for _, y in stroke]
    drawn = shapely.unary_union([_drawn(stroke) for stroke in strokes])
    shape = drawn.intersection(box(left, min(rows) - STEM / 2, right, max(rows) + STEM / 2))
    parts = [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, Polygon)]
    return tuple(sorted((_clean(part, left) for part in parts), key=lambda part: tuple(round(side, 6) for side in part.bounds)))


def _points(letter: str) -> tuple[tuple[Point, ...], ...]:
    return tuple(tuple((float(p[0]), float(p[1])) for p in stroke.split()) for stroke in _STROKES[letter])


def _sides(strokes: tuple[tuple[Point, ...], ...]) -> tuple[float, float]:
    columns = [x for stroke in strokes for x, _ in stroke]
    return min(columns) - STEM / 2, max(columns) + STEM / 2


def _drawn(stroke: tuple[Point, ...]) -> BaseGeometry:
    if len(stroke) == 1:
        return shapely.Point(stroke[0]).buffer(STEM / 2, cap_style="square")
    if stroke[0] == stroke[-1]:
        return Polygon(stroke).exterior.buffer(STEM / 2, join_style="mitre")
    return LineString(stroke).buffer(STEM / 2, cap_style="square", join_style="mitre")


def _clean(part: Polygon, left: float) -> Polygon:
    """Without points on a straight side, moved to the letter's own origin, in a fixed order of its points."""
    low = _FOOT_ROW - STEM / 2
    return orient(shapely.normalize(shapely.transform(part.simplify(_SAME), lambda at: at - (left, low))))
