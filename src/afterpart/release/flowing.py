"""Text that flows down A4 pages: paragraphs, headings, and blocks that are not torn apart.

Words: the *cursor* is the height on the page under which nothing stands yet; `room` begins a new page when a block of that
height would not fit.  Every page carries a heading and its number.  mm, as in paper.py.
Limits: one column; a word longer than a line is broken where the line ends.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.release.paper import A4, BOLD, PLAIN, Paper, letters_width, printable
from afterpart.release.words import word

LEFT, RIGHT = 18.0, 192.0
_TOP, _BOTTOM = 279.0, 16.0
_LEADING = 1.32
"""Distance of lines over the size of the letters."""


class Flow:
    """A paper written from the top down.  width of the column: RIGHT - LEFT."""

    def __init__(self, paper: Paper, heading: str) -> None:
        self.paper, self.heading, self.page = paper, heading, 0
        self.cursor = _TOP
        self.new_page()

    def new_page(self) -> None:
        """Go on at the top of a fresh page."""
        self.page += 1
        self.paper.new_page(A4)
        self.paper.text((LEFT, 287.0), self.heading, 2.8)
        self.paper.text((RIGHT, 287.0), word("outline", "page", number=self.page), 2.8, align="right")
        self.paper.pen(0.15)
        self.paper.line((LEFT, 285.2), (RIGHT, 285.2))
        self.cursor = _TOP

    def room(self, height: float) -> None:
        """Make sure that this much is free below the cursor."""
        if self.cursor - height < _BOTTOM:
            self.new_page()

    def skip(self, height: float) -> None:
        """Leave a gap."""
        self.cursor -= height

    def heading_line(self, text: str, with_room: float = 20.0) -> None:
        """A heading that keeps with what follows it."""
        self.skip(3.0)
        self.room(with_room)
        self.paragraph(text, 4.4, BOLD)
        self.skip(0.8)

    def paragraph(self, text: str, size: float = 3.2, font: str = PLAIN, indent: float = 0.0, until: float = RIGHT) -> None:
        """The text in lines between LEFT + indent and `until`."""
        for line in self.lines(text, size, font, until - LEFT - indent):
            self.room(size * _LEADING)
            self.cursor -= size
            self.paper.text((LEFT + indent, self.cursor), line, size, font)
            self.cursor -= size * (_LEADING - 1.0)

    def height_of(self, text: str, size: float = 3.2, font: str = PLAIN, indent: float = 0.0, until: float = RIGHT) -> float:
        """What `paragraph` would take."""
        return len(self.lines(text, size, font, until - LEFT - indent)) * size * _LEADING

    def lines(self, text: str, size: float, font: str, width: float) -> list[str]:
        """The text broken into lines of at most this width."""
        lines: list[str] = []
        line, long = "", 0.0
        for part in printable(text).split():
            grown = letters_width(f" {part}" if line else part, font, long)
            if 0.001 * size * grown <= width:
                line, long = f"{line} {part}" if line else part, grown
                continue
            if line:
                lines.append(line)
            while self.paper.text_width(part, size, font) > width:
                cut = max(1, sum(self.paper.text_width(part[:n], size, font) <= width for n in range(1, len(part))))
                lines.append(part[:cut])
                part = part[cut:]
            line, long = part, letters_width(part, font)
        return [*lines, line] if line else lines
