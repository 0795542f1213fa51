"""A plain single-stroke alphabet for pictures, and its letters as strokes of given height.

Letters stand on a grid four wide and six high; two figures name a point (column, row from below), points in a row make a
stroke.  Capitals only: small letters are written as capitals, accents dropped, what is unknown becomes a question mark.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

from afterpart.solid.lettering import plain_text

_HEIGHT = 6.0
_ADVANCE = 5.6
_ROUND = "10 01 05 16 36 45 41 30 10"
_LETTERS = {
    "A": ("00 26 40", "12 32"), "B": ("00 06 36 45 44 33 03", "33 42 41 30 00"), "C": ("45 36 16 05 01 10 30 41",),
    "D": ("00 06 26 44 42 20 00",), "E": ("46 06 00 40", "03 33"), "F": ("46 06 00", "03 33"),
    "G": ("45 36 16 05 01 10 30 41 43 23",), "H": ("00 06", "40 46", "03 43"), "I": ("20 26", "10 30", "16 36"),
    "J": ("46 41 30 10 01",), "K": ("00 06", "46 02", "13 40"), "L": ("06 00 40",), "M": ("00 06 23 46 40",),
    "N": ("00 06 40 46",), "O": (_ROUND,), "P": ("00 06 36 45 44 33 03",), "Q": (_ROUND, "22 40"),
    "R": ("00 06 36 45 44 33 03", "23 40"), "S": ("01 10 30 41 42 33 13 04 05 16 36 45",), "T": ("06 46", "20 26"),
    "U": ("06 01 10 30 41 46",), "V": ("06 20 46",), "W": ("06 10 24 30 46",), "X": ("00 46", "06 40"),
    "Y": ("06 23 46", "23 20"), "Z": ("06 46 00 40",),
    "0": (_ROUND, "11 35"), "1": ("15 26 20", "10 30"), "2": ("05 16 36 45 44 00 40",),
    "3": ("05 16 36 45 44 33 42 41 30 10 01", "13 33"), "4": ("30 36 02 42",), "5": ("46 06 03 33 42 41 30 10 01",),
    "6": ("45 36 16 05 01 10 30 41 42 33 03",), "7": ("06 46 10",),
    "8": ("13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",), "9": ("01 10 30 41 45 36 16 05 04 13 43",),
    ".": ("10 11",), ",": ("21 10",), ":": ("11 12", "14 15"), ";": ("22 10", "24 25"), "-": ("13 33",), "_": ("00 40",),
    "+": ("03 43", "21 25"), "=": ("02 42", "04 44"), "/": ("00 46",), "(": ("36 24 22 30",), ")": ("16 24 22 10",),
    "%": ("00 46", "05 06 16 15 05", "30 31 41 40 30"), "#": ("10 16", "30 36", "02 42", "04 44"), "'": ("26 24",),
    '"': ("16 14", "36 34"), "*": ("02 44", "04 42", "21 25"), "<": ("45 03 41",), ">": ("05 43 01",), "!": ("20 21", "22 26"),
    "?": ("05 16 36 45 44 23 22", "20 21"), " ": (),
}


def text_strokes(text: str, height: float) -> tuple[np.ndarray, ...]:
    """Strokes (n, 2) of the text, x to the right from its left edge, y up from its foot, capitals `height` high."""
    strokes = []
    for place, letter in enumerate(plain_text(text).upper()):
        for stroke in _LETTERS.get(letter, _LETTERS["?"]):
            points = np.array([(float(point[0]) + place * _ADVANCE, float(point[1])) for point in stroke.split()])
            strokes.append(points * (height / _HEIGHT))
    return tuple(strokes)


def text_length(text: str, height: float) -> float:
    """Length of the text with capitals `height` high."""
    count = len(plain_text(text))
    return max(0.0, (count * _ADVANCE - (_ADVANCE - 4.0)) * height / _HEIGHT)
