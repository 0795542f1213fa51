"""What lies on the table beside the part: a sheet of paper, a graduated rule, an open calliper.

Words: a *mark* is a printed or engraved stroke on a body's face; `marked(x, y)` says where the strokes are, in the body's own
frame.  Sizes are true sizes: a sheet trimmed 1 mm short is made by giving it its trimmed size.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from tests.truth.bodies import Body
from tests.truth.drawings import polygon

DIGIT_CELL = 0.05
MARK_CELL, MARK_REACH = 0.1, 0.8


@dataclass(frozen=True)
class Sheet:
    """width, height: true size; x, y: its middle on the table; angle_deg: its turn."""

    width: float = 297.0
    height: float = 210.0
    x: float = 0.0
    y: float = 0.0
    angle_deg: float = 0.0
    albedo: tuple[float, float, float] = (0.80, 0.795, 0.77)

    def corners(self) -> np.ndarray:
        """(4, 2) on the table, counter-clockwise."""
        c, s = math.cos(math.radians(self.angle_deg)), math.sin(math.radians(self.angle_deg))
        w, h = self.width / 2, self.height / 2
        return np.array([(-w, -h), (w, -h), (w, h), (-w, h)]) @ np.array([[c, s], [-s, c]]) + (self.x, self.y)

    def covers(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Whether each table point lies on the sheet."""
        return self.inside_by(x, y) >= 0

    def inside_by(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """How far each table point lies within the nearest side of the sheet, mm; below 0 beside it."""
        c, s = math.cos(math.radians(self.angle_deg)), math.sin(math.radians(self.angle_deg))
        u, v = c * (x - self.x) + s * (y - self.y), c * (y - self.y) - s * (x - self.x)
        return np.minimum(self.width / 2 - np.abs(u), self.height / 2 - np.abs(v))


@dataclass(frozen=True)
class Rule:
    """A graduated rule: graduation along its upper long edge (own frame: 0..length, 0..width), zero `margin` from its end.

    pitch: finest graduation; major: strokes between numbered ones (10 for mm, 16 for sixteenths of an inch).
    """

    length: float = 150.0
    width: float = 25.0
    thickness: float = 0.8
    pitch: float = 1.0
    major: int = 10
    margin: float = 5.0
    stroke: float = 0.2
    x: float = 0.0
    y: float = 0.0
    angle_deg: float = 0.0
    albedo: tuple[float, float, float] = (0.62, 0.615, 0.59)
    ink: tuple[float, float, float] = (0.07, 0.07, 0.07)

    @property
    def count(self) -> int:
        """Number of the last stroke; the first is 0."""
        return int(math.floor((self.length - 2 * self.margin) / self.pitch + 1e-9))

    @cached_property
    def body(self) -> Body:
        """The bar itself; its frame's origin is the lower left corner, put at (x, y)."""
        bar = polygon([(0, 0), (self.length, 0), (self.length, self.width), (0, self.width)], 0)
        return Body((bar,), self.thickness, 0.1, 0.0, self.x, self.y, self.angle_deg, self.albedo)

    def stroke_length(self, number: np.ndarray) -> np.ndarray:
        """Length of stroke `number`: the more it divides the numbered step, the shorter."""
        if self.major == 10:
            return np.where(number % 10 == 0, 8.0, np.where(number % 5 == 0, 6.0, 4.5))
        half = self.major // 2
        short = np.where(number % (half // 2) == 0, 5.5, 4.0)
        return np.where(number % self.major == 0, 9.0, np.where(number % half == 0, 7.0, short))

    def near_marks(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Where strokes or numbers may be, within MARK_REACH."""
        i, j = ((self.width - y) / MARK_CELL).astype(int), (x / MARK_CELL).astype(int)
        shape = self._marks_near.shape
        there = (y < self.width) & (i < shape[0]) & (x > 0) & (j < shape[1])
        there[there] = self._marks_near[i[there], j[there]]
        return there

    @property
    def marks_down_to(self) -> float:
        """Lowest y of a stroke or a number."""
        return self.width - 9.5 - DIGIT_CELL * (self.digits.shape[0] + 1)

    @cached_property
    def _marks_near(self) -> np.ndarray:
        """(rows downwards from the graduated edge, columns) whether a mark lies within MARK_REACH of the cell."""
        fine = MARK_CELL / 2
        x, down = np.meshgrid(*((np.arange(math.ceil(reach / fine)) + 0.5) * fine for reach in (self.length, 16.0)))
        inked = self.marked(x.ravel(), self.width - down.ravel()).reshape(x.shape).astype(np.uint8)
        reach = 2 * round(MARK_REACH / fine) + 1
        return cv2.dilate(inked, np.ones((reach, reach), np.uint8))[::2, ::2] > 0

    def marked(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Whether each point (own frame) is inked."""
        number = np.rint((x - self.margin) / self.pitch)
        along = np.abs(x - self.margin - number * self.pitch) < self.stroke / 2
        down = self.width - y
        inked = along & (number >= 0) & (number <= self.count) & (down > 0.3)
        on = np.flatnonzero(inked)
        inked[on] = down[on] < self.stroke_length(number[on])
        on = np.flatnonzero((down > 9.5 - DIGIT_CELL) & (down < 9.5 + DIGIT_CELL * (self.digits.shape[0] + 1)) & (x > 0))
        i, j = ((down[on] - 9.5) / DIGIT_CELL).astype(int), (x[on] / DIGIT_CELL).astype(int)
        inside = (i < self.digits.shape[0]) & (j < self.digits.shape[1])
        inked[on[inside]] |= self.digits[i[inside], j[inside]]
        return inked

    @cached_property
    def digits(self) -> np.ndarray:
        """The numbers as a bitmap, rows downwards from 9.5 mm below the graduated edge."""
        picture = Image.new("L", (int(self.length / DIGIT_CELL) + 1, int(4.0 / DIGIT_CELL)), 0)
        pen = ImageDraw.Draw(picture)
        font = ImageFont.load_default(size=2.8 / DIGIT_CELL)
        for k in range(self.major, self.count + 1, self.major):
            text = str(k if self.major == 10 else k // self.major)
            pen.text(((self.margin + k * self.pitch) / DIGIT_CELL, 0), text, fill=255, font=font, anchor="ma")
        return np.asarray(picture) > 127

    def stroke_points(self) -> np.ndarray:
        """(2, 3) table points of the first and the last stroke at the graduated edge, at the height of the marks."""
        x = np.array([self.margin, self.margin + self.count * self.pitch])
        wx, wy = self.body.out(x, np.full(2, self.width))
        return np.c_[wx, wy, np.full(2, self.thickness)]


@dataclass(frozen=True)
class Calliper:
    """An open calliper seen from above: a beam and two jaws whose inner faces are `opening` apart, all of one thickness.

    Own frame: the left jaw's inner face is x = 0, the jaws hang down from the beam's lower edge y = 0.
    """

    opening: float = 110.0
    thickness: float = 3.5
    jaw_length: float = 40.0
    jaw_width: float = 12.0
    beam_width: float = 16.0
    x: float = 0.0
    y: float = 0.0
    angle_deg: float = 0.0
    edge_radius: float = 0.15
    albedo: tuple[float, float, float] = (0.55, 0.55, 0.54)

    @cached_property
    def body(self) -> Body:
        a, w, j = self.opening, self.jaw_width, self.jaw_length
        frame = polygon([(-w - 18, self.beam_width), (-w - 18, 0), (-w, 0), (-w, -j), (0, -j), (0, 0), (a, 0), (a, -j),
                         (a + w, -j), (a + w, 0), (a + w + 45, 0), (a + w + 45, self.beam_width)], 0)
        return Body((frame,), self.thickness, self.edge_radius, 0.0, self.x, self.y, self.angle_deg, self.albedo)

    def face_points(self) -> np.ndarray:
        """(2, 3) table points, one on each jaw's inner face, 5 mm from its tip, at the top face; `opening` apart."""
        wx, wy = self.body.out(np.array([0.0, self.opening]), np.full(2, 5.0 - self.jaw_length))
        return np.c_[wx, wy, np.full(2, self.thickness)]
