"""A drawing as a list of marks: areas, lines, discs and words, for a picture on the screen and for paper alike.

Conventions: mm, y up; marks lie one over the other in their order.  A picture has PX_PER_MM; on paper inks become greys as light
as they are, and words take the paper's own letters, which are narrower than the picture's.
Limits: no clipping: a drawing's marks lie within its box.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass
from xml.sax.saxutils import escape

import numpy as np

from afterpart.model.outline import Point
from afterpart.release.canvas import INK, PAPER, Canvas
from afterpart.release.paper import Paper, Placement
from afterpart.release.png import png_bytes
from afterpart.release.shown import Tint

PX_PER_MM = 7.0
CAPITALS = 0.72
"""Height of a paper's capitals over the size its letters are named by."""
DASH, PAUSE = 1.6, 1.0
"""Of a dashed line, mm."""
_CORNERS = 64
_ANCHORS = {"left": "start", "middle": "middle", "right": "end"}

Points = tuple[Point, ...]


@dataclass(frozen=True)
class Area:
    """Filled where an odd number of the rings runs round a place."""

    rings: tuple[Points, ...]
    ink: Tint


@dataclass(frozen=True)
class Stroke:
    """A line through points, `width` thick."""

    points: Points
    width: float
    ink: Tint = INK


@dataclass(frozen=True)
class Disc:
    """A circle with white paper inside."""

    center: Point
    radius: float
    width: float
    ink: Tint = INK


@dataclass(frozen=True)
class Words:
    """A line of text; at: its foot at the left, middle or right, as align says; height: of its capitals."""

    text: str
    at: Point
    height: float
    align: str = "left"
    ink: Tint = INK


Mark = Area | Stroke | Disc | Words


@dataclass(frozen=True)
class Drawing:
    """What is drawn, in a box from (0, 0) to (width, height)."""

    width: float
    height: float
    marks: tuple[Mark, ...]

    @property
    def texts(self) -> tuple[str, ...]:
        """Every line of text in it."""
        return tuple(mark.text for mark in self.marks if isinstance(mark, Words))


def circle(middle: Point, radius: float) -> Points:
    """Corners of a circle as it is drawn."""
    turn = np.arange(_CORNERS) * math.tau / _CORNERS
    return tuple((middle[0] + radius * float(c), middle[1] + radius * float(s))
                 for c, s in zip(np.cos(turn), np.sin(turn), strict=True))


def as_points(places: np.ndarray) -> Points:
    """Rows (n, 2) as points."""
    return tuple((float(x), float(y)) for x, y in places)


def dashes(points: Points, dash: float = DASH, pause: float = PAUSE, least: int = 0) -> tuple[Points, ...]:
    """A line cut into dashes, the first at its start.  least: where the line is too short for so many, they are made shorter."""
    run = np.asarray(points, float)
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(run, axis=0).T))))
    scale = min(1.0, along[-1] / (least * (dash + pause))) if least else 1.0
    found = []
    for start in np.arange(0.0, along[-1], (dash + pause) * scale):
        end = min(start + dash * scale, along[-1])
        places = np.concatenate(([start], along[(along > start) & (along < end)], [end]))
        found.append(as_points(np.column_stack([np.interp(places, along, run[:, axis]) for axis in (0, 1)])))
    return tuple(found)


def drawing_png(drawing: Drawing) -> bytes:
    """The drawing as a PNG picture."""
    canvas = Canvas(math.ceil(drawing.height * PX_PER_MM), math.ceil(drawing.width * PX_PER_MM))

    def place(points: Points) -> np.ndarray:
        x, y = np.asarray(points, float).reshape(-1, 2).T
        return np.column_stack((x, drawing.height - y)) * PX_PER_MM

    for mark in drawing.marks:
        match mark:
            case Area(rings, ink):
                canvas.area([place(ring) for ring in rings], ink)
            case Stroke(points, width, ink):
                canvas.stroke(place(points), width * PX_PER_MM, ink)
            case Disc(center, radius, width, ink):
                x, y = place((center,))[0]
                canvas.ring((float(x), float(y)), radius * PX_PER_MM, width * PX_PER_MM, ink, PAPER)
            case Words(text, at, height, align, ink):
                x, y = place((at,))[0]
                canvas.words(text, (float(x), float(y)), height * PX_PER_MM, align, ink)
    return png_bytes(canvas.pixels)


def drawing_svg(drawing: Drawing) -> bytes:
    """Its strokes and words as SVG, one unit one mm.  TypeError: it has areas or discs."""
    width, height = drawing.width, drawing.height
    lines = [f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width:.2f}mm" height="{height:.2f}mm" '
             f'viewBox="0 0 {width:.2f} {height:.2f}" data-unit="mm">', '<rect width="100%" height="100%" fill="#ffffff"/>']
    for mark in drawing.marks:
        match mark:
            case Stroke(points, thick, ink):
                places = " ".join(f"{x:.3f},{height - y:.3f}" for x, y in points)
                lines.append(f'<polyline fill="none" stroke="{_hex(ink)}" stroke-width="{thick:g}" stroke-linecap="round" '
                             f'points="{places}"/>')
            case Words(text, at, high, align, ink):
                lines.append(f'<text x="{at[0]:.2f}" y="{height - at[1]:.2f}" font-family="sans-serif" '
                             f'font-size="{high / CAPITALS:.2f}" fill="{_hex(ink)}" text-anchor="{_ANCHORS[align]}">'
                             f'{escape(text)}</text>')
            case _:
                raise TypeError(f"no SVG of {type(mark).__name__}")
    return ("\n".join([*lines, "</svg>"]) + "\n").encode()


def _hex(ink: Tint) -> str:
    return "#" + "".join(f"{part:02x}" for part in ink)


def draw_marks(paper: Paper, drawing: Drawing, place: Placement) -> None:
    """The drawing on a page; place: of its lower left corner."""
    for mark in drawing.marks:
        grey = _grey(mark.ink)
        match mark:
            case Area(rings):
                paper.area([[place.at(point) for point in ring] for ring in rings], grey)
            case Stroke(points, width):
                paper.pen(width * place.scale, grey)
                for start, end in zip(points[:-1], points[1:], strict=True):
                    paper.line(place.at(start), place.at(end))
            case Disc(center, radius, width):
                paper.pen(width * place.scale, grey)
                paper.circle(place.at(center), radius * place.scale, is_filled=True)
            case Words(text, at, height, align):
                paper.pen(grey=grey)
                paper.text(place.at(at), text, height * place.scale / CAPITALS, align=align)
    paper.pen()


def _grey(ink: Tint) -> float:
    """How light an ink is, 0 to 1 (weights of ITU-R BT.709, from memory)."""
    red, green, blue = ink
    return (0.2126 * red + 0.7152 * green + 0.0722 * blue) / 255.0
