"""What every true-scale paper of ours shares: pages, ink, text, the 100 mm check bar, tiles.

Conventions: mm everywhere, origin at the lower left of the page, y up; one mm is 72/25.4 PDF units.  Reproducible: no clock and
no random identity in the file.  Viewers are told not to scale when printing; the bar proves whether they obeyed.
Fonts: shipped and embedded (paper_fonts.py); a letter they do not have is folded or becomes a question mark (never an error).
Towards PDF/A: XMP metadata, an sRGB output intent, no transparency, every font embedded with its meaning, so text can be copied.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import math
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache

from reportlab.lib.utils import ImageReader
from reportlab.pdfbase.pdfmetrics import getFont, stringWidth
from reportlab.pdfgen.canvas import Canvas

from afterpart.geometry.segments import arc_angles_rad
from afterpart.model.outline import Arc, Circle, Line, Loop, Point
from afterpart.model.release import TitleBlock
from afterpart.release.archive_marks import add_archive_marks
from afterpart.release.lengths import bar_word
from afterpart.release.paper_fonts import BOLD as BOLD
from afterpart.release.paper_fonts import PLAIN, known_letters
from afterpart.release.words import word
from afterpart.units import POINTS_PER_MM

A4 = (210.0, 297.0)
A3 = (297.0, 420.0)
PAGE_MARGIN = 8.0
HAIRLINE = 0.1
BAR_LENGTH = 100.0
BAR_THICKNESS = 1.6


@dataclass(frozen=True)
class Placement:
    """Where the drawing lies on the page: a point p of it is at origin + scale * p, in mm of paper."""

    origin: Point
    scale: float = 1.0

    def at(self, point: Point) -> Point:
        """A point of the drawing in mm of paper."""
        return (self.origin[0] + self.scale * point[0], self.origin[1] + self.scale * point[1])


class Paper:
    """A PDF being drawn, in mm.  Every method draws on the current page."""

    def __init__(self, title: TitleBlock, subject: str) -> None:
        self._stream = io.BytesIO()
        known_letters()
        self._canvas = Canvas(self._stream, pagesize=_points(A4), invariant=1, pageCompression=1, initialFontName=PLAIN)
        self._canvas.setTitle(f"{title.name} {title.revision}: {subject}")
        self._canvas.setSubject(subject)
        self._canvas.setCreator(title.made_with)
        add_archive_marks(self._canvas, f"{title.name} {title.revision}: {subject}", subject, title.made_with)
        self._canvas.setViewerPreference("PrintScaling", "None")
        self.size = A4
        self._is_open = False

    def new_page(self, size: tuple[float, float]) -> None:
        """End the page before, if any, and begin one of this width and height."""
        if self._is_open:
            self._canvas.showPage()
        self._is_open = True
        self.size = size
        self._canvas.setPageSize(_points(size))
        self._canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
        self.pen()

    def finish(self) -> bytes:
        """The whole file; nothing can be drawn afterwards."""
        if self._is_open:
            self._canvas.showPage()
        self._canvas.save()
        return self._stream.getvalue()

    def pen(self, width: float = HAIRLINE, grey: float = 0.0, dash: tuple[float, ...] = ()) -> None:
        """Width, grey (0 black) and dash lengths of what is drawn next."""
        self._canvas.setLineWidth(width)
        self._canvas.setStrokeGray(grey)
        self._canvas.setFillGray(grey)
        self._canvas.setDash(list(dash) if dash else [])
        self._canvas.setLineJoin(1)

    def line(self, start: Point, end: Point) -> None:
        """A straight stroke of the current pen."""
        self._canvas.line(*start, *end)

    def circle(self, center: Point, radius: float, is_filled: bool = False) -> None:
        """A stroked circle; is_filled: white inside, to stand out from lines below it."""
        if is_filled:
            self._canvas.setFillGray(1.0)
        self._canvas.circle(*center, radius, stroke=1, fill=int(is_filled))
        self._canvas.setFillGray(0.0)

    def box(self, left: float, bottom: float, width: float, height: float) -> None:
        """A stroked rectangle."""
        self._canvas.rect(left, bottom, width, height, stroke=1, fill=0)

    def solid_box(self, left: float, bottom: float, width: float, height: float, grey: float = 0.0) -> None:
        """A filled rectangle without a stroke: its edges are exactly where they are said to be."""
        self._canvas.setFillGray(grey)
        self._canvas.rect(left, bottom, width, height, stroke=0, fill=1)
        self._canvas.setFillGray(0.0)

    def polygon(self, points: Iterable[Point], is_filled: bool = False) -> None:
        """A closed stroked chain of points; is_filled: filled with the pen's grey."""
        path = self._canvas.beginPath()
        for i, point in enumerate(points):
            (path.lineTo if i else path.moveTo)(*point)
        path.close()
        self._canvas.drawPath(path, stroke=1, fill=int(is_filled))

    def area(self, rings: Iterable[Iterable[Point]], grey: float) -> None:
        """Filled without a stroke where an odd number of the closed rings runs round a place."""
        path = self._canvas.beginPath()
        for ring in rings:
            for i, point in enumerate(ring):
                (path.lineTo if i else path.moveTo)(*point)
            path.close()
        self._canvas.setFillGray(grey)
        self._canvas.drawPath(path, stroke=0, fill=1, fillMode=0)
        self._canvas.setFillGray(0.0)

    def loop(self, loop: Loop, place: Placement, is_closed: bool = True) -> None:
        """A loop's lines, arcs (as Bezier curves of at most a quarter turn, 0.03 % of the radius off) and circles.

        is_closed: False for a stretch of a loop."""
        path = self._canvas.beginPath()
        for i, segment in enumerate(loop.segments):
            match segment:
                case Circle(center=center, radius=radius):
                    path.circle(*place.at(center), radius * place.scale)
                    continue
                case Line(end=end):
                    if i == 0:
                        path.moveTo(*place.at(segment.start))
                    path.lineTo(*place.at(end))
                case Arc():
                    if i == 0:
                        path.moveTo(*place.at(segment.start))
                    for controls in _bezier_arc(segment):
                        path.curveTo(*(v for p in controls for v in place.at(p)))
        if is_closed and not isinstance(loop.segments[0], Circle):
            path.close()
        self._canvas.drawPath(path, stroke=1, fill=0)

    def image(self, data: bytes, left: float, bottom: float, width: float, height: float) -> None:
        """A JPEG stretched over this box; its bytes go into the file as they are."""
        self._canvas.drawImage(ImageReader(io.BytesIO(data)), left, bottom, width, height)

    def text(
        self, at: Point, text: str, size: float = 3.0, font: str = PLAIN, align: str = "left", turn_deg: float = 0.0
    ) -> None:
        """Text with its baseline at `at`; size in mm of font size; align left, middle or right."""
        canvas = self._canvas
        canvas.saveState()
        canvas.translate(*at)
        canvas.rotate(turn_deg)
        canvas.setFont(font, size)
        draw = {"left": canvas.drawString, "middle": canvas.drawCentredString, "right": canvas.drawRightString}[align]
        draw(0, 0, printable(text))
        canvas.restoreState()

    def text_width(self, text: str, size: float, font: str = PLAIN) -> float:
        """Width of a text as `text` would print it."""
        return _width(str(text), size, font)

    def clip(self, left: float, bottom: float, width: float, height: float) -> None:
        """Everything until `unclip` shows only inside this box."""
        self._canvas.saveState()
        path = self._canvas.beginPath()
        path.rect(left, bottom, width, height)
        self._canvas.clipPath(path, stroke=0, fill=0)

    def unclip(self) -> None:
        """End what `clip` began."""
        self._canvas.restoreState()

    def check_bar(self, left: float, bottom: float, is_upright: bool = False) -> None:
        """The solid 100 mm bar, with its length written beside it."""
        if is_upright:
            self.solid_box(left, bottom, BAR_THICKNESS, BAR_LENGTH)
            beside = (left + BAR_THICKNESS + 3.2, bottom + BAR_LENGTH / 2)
            self.text(beside, word("outline", "bar_short", length=bar_word()), 2.6, align="middle", turn_deg=90)
        else:
            self.solid_box(left, bottom, BAR_LENGTH, BAR_THICKNESS)
            self.text((left + BAR_LENGTH + 2.0, bottom), word("outline", "bar_long", length=bar_word()), 2.6)


def printable(text: str) -> str:
    """The text in the letters the fonts have: accents dropped where needed, anything else a question mark."""
    return "".join(map(_printable_letter, " ".join(str(text).split())))


def letters_width(letters: str, font: str, so_far: float = 0.0) -> float:
    """`so_far` and the widths of these printable letters, in thousandths of the font's size: a line grows word by word without
    being added up anew."""
    face = getFont(font).face
    return sum((face.charWidths.get(ord(letter), face.defaultWidth) for letter in letters), so_far)


@lru_cache(maxsize=8192)
def _width(text: str, size: float, font: str) -> float:
    """A paragraph is broken into lines once to know its height and once to print it: each width is added up once."""
    letters = printable(text)  # first: it makes the fonts known
    return float(stringWidth(letters, font, size))


@cache
def _printable_letter(letter: str) -> str:
    bare = "".join(x for x in unicodedata.normalize("NFKD", letter) if not unicodedata.combining(x))
    return next((known for known in (letter, bare) if known and all(ord(x) in known_letters() for x in known)), "?")


def _points(size: tuple[float, float]) -> tuple[float, float]:
    return (size[0] * POINTS_PER_MM, size[1] * POINTS_PER_MM)


def _bezier_arc(arc: Arc) -> list[tuple[Point, Point, Point]]:
    """Control points of curves along an arc; the last one ends exactly at the arc's end."""
    first, turn = arc_angles_rad(arc)
    count = max(1, math.ceil(abs(turn) / (math.pi / 2) - 1e-9))
    step = turn / count
    reach = 4 / 3 * math.tan(step / 4) * arc.radius
    curves = []
    for i in range(count):
        a, b = first + i * step, first + (i + 1) * step
        start = (arc.center[0] + arc.radius * math.cos(a), arc.center[1] + arc.radius * math.sin(a))
        end = (arc.center[0] + arc.radius * math.cos(b), arc.center[1] + arc.radius * math.sin(b)) if i < count - 1 else arc.end
        curves.append(
            (
                (start[0] - reach * math.sin(a), start[1] + reach * math.cos(a)),
                (end[0] + reach * math.sin(b), end[1] - reach * math.cos(b)),
                end,
            )
        )
    return curves
