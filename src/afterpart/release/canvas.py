"""A picture to draw strokes, rings and words on: smooth lines on a pixel array.

Coordinates in px, x right, y down from the upper left corner; pixel middles at .5.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.release.shown import Tint
from afterpart.release.strokes import text_length, text_strokes

INK: Tint = (38, 50, 56)
PAPER: Tint = (255, 255, 255)
LETTER_WIDTH = 0.13
"""Thickness of a letter's stroke as a share of the letter's height."""
BAND = 24
"""Rows of a slanting line that are drawn at a time: the box round all of it holds hardly anything of it."""


class Canvas:
    """A picture being drawn on.  pixels: (rows, columns, 3) uint8, changed in place."""

    def __init__(self, rows: int, columns: int) -> None:
        self.pixels = np.full((rows, columns, 3), PAPER, dtype=np.uint8)

    def paste(self, picture: np.ndarray, left: int, top: int) -> None:
        """Lay a picture on, its upper left corner there; what reaches beyond the canvas is cut off."""
        rows, columns = self.pixels[top:, left:].shape[:2]
        part = picture[:rows, :columns]
        self.pixels[top:top + part.shape[0], left:left + part.shape[1]] = part

    def stroke(self, points: np.ndarray, width: float, ink: Tint = INK) -> None:
        """A line through the points (n, 2), round at its ends."""
        for start, end in zip(points[:-1], points[1:], strict=True):
            along = end - start
            length2 = float(along @ along)
            for box in self._bands(start, end, width):
                x, y = self._middles(box)
                share = np.clip(((x - start[0]) * along[0] + (y - start[1]) * along[1]) / length2, 0, 1) if length2 else 0.0 * x
                away = np.hypot(x - start[0] - share * along[0], y - start[1] - share * along[1])
                self._blend(box, np.clip(width / 2 + 0.5 - away, 0, 1), ink)

    def _bands(self, start: np.ndarray, end: np.ndarray, width: float) -> list[tuple[slice, slice]]:
        """Boxes, apart, that hold every pixel within the line's reach: one, or some rows each where it slants far."""
        low, high = np.minimum(start, end) - width, np.maximum(start, end) + width
        rows, columns = self._box(low, high)
        if start[1] == end[1] or min(rows.stop - rows.start, columns.stop - columns.start) <= 2 * BAND:
            return [(rows, columns)]
        slope, reach = (end[0] - start[0]) / (end[1] - start[1]), width + 2.0
        bands = []
        for top in range(rows.start, rows.stop, BAND):
            bottom = min(top + BAND, rows.stop)
            # the line's stretch in these rows and a reach beyond them, so that what lies slantwise beside it is in, too
            ends = start[0] + (np.clip([top - reach, bottom + reach], *sorted((start[1], end[1]))) - start[1]) * slope
            left, right = max(ends.min() - reach, low[0]), min(ends.max() + reach, high[0])
            bands.append(self._box(np.array([left, top]), np.array([right, bottom])))
        return bands

    def ring(self, center: tuple[float, float], radius: float, width: float, ink: Tint = INK, inside: Tint = PAPER) -> None:
        """A circle filled with `inside`."""
        middle = np.array(center)
        box = self._box(middle - radius - width, middle + radius + width)
        x, y = self._middles(box)
        away = np.hypot(x - center[0], y - center[1])
        self._blend(box, np.clip(radius + 0.5 - away, 0, 1), inside)
        self._blend(box, np.clip(width / 2 + 0.5 - np.abs(away - radius), 0, 1), ink)

    def area(self, rings: list[np.ndarray], ink: Tint) -> None:
        """Filled where an odd number of the rings (n, 2) runs round a pixel's middle."""
        if not rings:
            return
        start = np.vstack(rings)
        end = np.vstack([np.roll(ring, -1, axis=0) for ring in rings])
        rows, columns = self._box(start.min(axis=0), start.max(axis=0))
        first, last = (np.clip(np.ceil(f(start[:, 1], end[:, 1]) - 0.5), rows.start, rows.stop).astype(int)
                       for f in (np.minimum, np.maximum))
        edge = np.repeat(np.arange(len(start)), last - first)
        row = np.arange(len(edge)) - np.repeat(np.cumsum(last - first) - last, last - first)
        (x0, y0), (x1, y1) = start[edge].T, end[edge].T
        crossed = x0 + (row + 0.5 - y0) * (x1 - x0) / (y1 - y0)
        column = np.clip(np.ceil(crossed - 0.5), columns.start, columns.stop).astype(int) - columns.start
        turns = np.zeros((rows.stop - rows.start, columns.stop - columns.start + 1), dtype=np.int64)
        np.add.at(turns, (row - rows.start, column), 1)
        self.pixels[rows, columns][np.cumsum(turns, axis=1)[:, :-1] % 2 == 1] = ink

    def patch(self, left: float, top: float, width: float, height: float, ink: Tint) -> None:
        """A filled rectangle."""
        rows, columns = self._box(np.array([left, top]), np.array([left + width, top + height]))
        self.pixels[rows, columns] = ink

    def words(self, text: str, at: tuple[float, float], height: float, align: str = "left", ink: Tint = INK) -> None:
        """A line of text; at: its foot at the left, middle or right, as `align` says; height: of its capitals."""
        shift = {"left": 0.0, "middle": 0.5, "right": 1.0}[align] * text_length(text, height)
        width = max(1.2, LETTER_WIDTH * height)
        for stroke in text_strokes(text, height):
            self.stroke(np.column_stack([at[0] - shift + stroke[:, 0], at[1] - stroke[:, 1]]), width, ink)

    def _box(self, low: np.ndarray, high: np.ndarray) -> tuple[slice, slice]:
        rows, columns = self.pixels.shape[:2]
        left, top = (max(0, math.floor(v)) for v in low)
        right, bottom = min(columns, math.ceil(high[0])), min(rows, math.ceil(high[1]))
        return slice(top, max(top, bottom)), slice(left, max(left, right))

    @staticmethod
    def _middles(box: tuple[slice, slice]) -> tuple[np.ndarray, np.ndarray]:
        rows, columns = box
        return np.arange(columns.start, columns.stop)[None, :] + 0.5, np.arange(rows.start, rows.stop)[:, None] + 0.5

    def _blend(self, box: tuple[slice, slice], cover: np.ndarray, ink: Tint) -> None:
        below = self.pixels[box].astype(float)
        self.pixels[box] = np.round(below + cover[..., None] * (np.array(ink) - below)).astype(np.uint8)
