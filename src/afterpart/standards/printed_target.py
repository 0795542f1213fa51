"""The printed target: a ring of square markers round an empty middle, with a bar to check the printer by.

Words: a *marker* is a black square of 8 x 8 modules, its outer modules black, its inner 6 x 6 the code; the *ring* is the
frame of markers; the *bar* is a solid strip, 100 mm long as drawn.  The photo stage detects the markers, release/ draws them;
both take every position from here.
Frame of the sheet: mm as drawn, origin in the middle of the ring, x right, y up as the sheet is read.  A printer that scales
by s puts a point (x, y) at (s x, s y); the maker measures the bar, and s = measured length / BAR_LENGTH.
Four marker pitches and one marker make 100 mm too, so that each side of the ring repeats the bar, in both directions.
The printed area (188 x 248 mm) fits A4 and letter paper with margins of at least 11 mm.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.sources import Source

MARKER_SOURCE = Source(
    "Generation of fiducial marker dictionaries using mixed integer linear programming, Pattern Recognition 51, pages 481-491",
    "2016", "dictionary MIP 36h12; bits as in the marker dictionary of OpenCV 5, compared in tests/files")

DICTIONARY = "DICT_ARUCO_MIP_36h12"
"""Name of the dictionary in cv2.aruco."""

CODE_MODULES = 6
"""Modules along one side of the code; a marker has one more black module all round."""

MARKER_SIDE = 12.0
MODULE = MARKER_SIDE / (CODE_MODULES + 2)
PITCH = 22.0
"""Distance between the centres of neighbouring markers: 4 x 22 + 12 = 100 mm from outer edge to outer edge."""

COLUMNS, ROWS = 9, 11
"""Markers along the top and bottom, and along the left and right side, corners counted in both."""

RING_WIDTH = (COLUMNS - 1) * PITCH + MARKER_SIDE
RING_HEIGHT = (ROWS - 1) * PITCH + MARKER_SIDE

QUIET = 3.0
"""White margin the part must leave to the markers; the free middle is the inside of the ring less this."""

FREE_MIDDLE = (RING_WIDTH - 2 * (MARKER_SIDE + QUIET), RING_HEIGHT - 2 * (MARKER_SIDE + QUIET))
"""Width and height of the empty middle, centred on the origin."""

BAR_LENGTH = 100.0
BAR_WIDTH = 2.0
BAR_TOP = -RING_HEIGHT / 2 - 6.0
BAR = (-BAR_LENGTH / 2, BAR_TOP - BAR_WIDTH, BAR_LENGTH / 2, BAR_TOP)
"""Left, bottom, right, top of the solid check bar, below the ring."""

PRINTED_BOTTOM = -RING_HEIGHT / 2 - 16.0
"""Lower end of everything printed (bar and its text)."""

# The 36 code bits of marker 0, 1, 2 ...: row by row from the top left, the first bit is the highest; 1 is white.
_CODES = (
    0xd2b63a09d, 0x6001134e5, 0x1206fbe72, 0xff8ad6cb4, 0x85da9bc49, 0xb461afe9c,
    0x6db51fe13, 0x5248c541f, 0x008f34503, 0x8ea462ece, 0xeac2be76d, 0x1af615c44,
    0xb48a49f27, 0x2e4e1283b, 0x78b1f2fa8, 0x27d34f57e, 0x89222fff1, 0x4c1669406,
    0xbf49b3511, 0xdc191cd5d, 0x11d7c3f85, 0x16a130e35, 0xe29f27eff, 0x428d8ae0c,
    0x90d548477, 0x2319cbc93, 0xc3b0c3dfc, 0x0424bccc9, 0x2a081d630, 0x762743d96,
    0xd0645bf19, 0xf38d7fd60, 0xc6cbf9a10, 0x3c1be7c65, 0x276f75e63, 0x4490a3f63,
)

Point = tuple[float, float]


def marker_bits(marker_id: int) -> tuple[tuple[int, ...], ...]:
    """All 8 x 8 modules of a marker, black border included, rows from the top, 1 is white.  KeyError: no such marker."""
    code = _CODES[_checked(marker_id)]
    side = CODE_MODULES
    rows = [tuple(code >> (side * side - 1 - (side * r + c)) & 1 for c in range(side)) for r in range(side)]
    blank = (0,) * (side + 2)
    return (blank, *((0, *row, 0) for row in rows), blank)


def marker_ids() -> tuple[int, ...]:
    """Ids of all markers on the sheet: 0 at the top left, then clockwise round the ring."""
    return tuple(range(2 * (COLUMNS + ROWS) - 4))


def marker_center(marker_id: int) -> Point:
    """Middle of a marker in mm as drawn.  KeyError: no such marker on the sheet."""
    i = _checked(marker_id)
    right, down = COLUMNS - 1, ROWS - 1
    if i < right:
        column, row = i, 0
    elif i < right + down:
        column, row = right, i - right
    elif i < 2 * right + down:
        column, row = 2 * right + down - i, down
    else:
        column, row = 0, 2 * (right + down) - i
    return ((column - right / 2) * PITCH, (down / 2 - row) * PITCH)


def marker_corners(marker_id: int) -> tuple[Point, Point, Point, Point]:
    """Outer corners of a marker in mm as drawn: top left, top right, bottom right, bottom left.

    This is the order in which cv2.aruco reports the corners of a detected marker.  KeyError: no such marker on the sheet.
    """
    x, y = marker_center(marker_id)
    h = MARKER_SIDE / 2
    return ((x - h, y + h), (x + h, y + h), (x + h, y - h), (x - h, y - h))


def _checked(marker_id: int) -> int:
    if not 0 <= marker_id < len(_CODES):
        raise KeyError(f"marker {marker_id} is not on the printed target, which carries 0 to {len(_CODES) - 1}")
    return marker_id
