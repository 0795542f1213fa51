"""The assembly guide on paper: verdict and cautions first, then the steps with boxes to tick and their pictures.

A4, black on white but for the pictures; text can be selected.  Same guide, same bytes.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import struct
from collections.abc import Mapping
from dataclasses import dataclass

from afterpart.model.finding import Caution
from afterpart.model.release import TitleBlock
from afterpart.release.findings_page import readable
from afterpart.release.flow_table import draw_table, table_room
from afterpart.release.flowing import LEFT, RIGHT, Flow
from afterpart.release.guide import Chapter, Guide, Step
from afterpart.release.paper import BOLD, PLAIN, Paper
from afterpart.release.words import word

_TEXT = 3.6
_INDENT = 7.0
_BOX = 3.2
_CAPTION, _CAPTION_STEP = 2.8, 3.8
_PAD = 3.0
_TALLEST, _TALLEST_ALL = 78.0, 205.0
"""Of a step's picture on the page, and of the one that shows all parts."""
_GAP = 6.0
_KEPT = 175.0
"""Steps up to this height are kept on one page."""
_BESIDE = 2
"""Pictures in one row."""


def guide_pdf(guide: Guide, pictures: Mapping[str, bytes], title: TitleBlock) -> bytes:
    """The guide as a PDF.  pictures: PNG by name (step_pictures.py); a step's picture that is not there is left out."""
    subject = word("guide", "title")
    paper = Paper(title, subject)
    flow = Flow(paper, f"{title.name}  {title.revision}  {title.date}".rstrip() + f"  -  {subject}")
    flow.paragraph(readable(f"{subject}: {guide.name}"), 6.0, BOLD)
    flow.skip(3.0)
    _framed(flow, word("guide", "verdict_title"), (guide.verdict, *guide.actions))
    _cautions(flow, guide.cautions)
    _contents(flow, guide)
    for chapter in guide.chapters:
        _chapter(flow, chapter, guide, pictures)
    flow.skip(4.0)
    flow.paragraph(title.made_with, 2.4)
    return paper.finish()


def _framed(flow: Flow, heading: str, texts: tuple[str, ...]) -> None:
    """A frame with a heading: what must not be passed over."""
    until = RIGHT - _PAD
    height = 2 * _PAD + flow.height_of(readable(heading), 4.0, BOLD, _PAD, until)
    height += sum(flow.height_of(readable(text), _TEXT, PLAIN, _PAD, until) + 1.0 for text in texts)
    flow.room(height)
    top = flow.cursor
    flow.paper.pen(0.6)
    flow.paper.box(LEFT, top - height, RIGHT - LEFT, height)
    flow.paper.pen()
    flow.skip(_PAD)
    flow.paragraph(readable(heading), 4.0, BOLD, _PAD, until)
    for text in texts:
        flow.skip(1.0)
        flow.paragraph(readable(text), _TEXT, PLAIN, _PAD, until)
    flow.cursor = top - height - 2.0


def caution_heading(caution: Caution) -> str:
    """The danger, with what is declined said so; "" for the caution that always holds."""
    danger = caution.danger[:1].upper() + caution.danger[1:]
    return word("guide", "declined", danger=danger) if caution.declined else danger


def _cautions(flow: Flow, cautions: tuple[Caution, ...]) -> None:
    flow.heading_line(word("guide", "cautions_title"), 30.0)
    for caution in cautions:
        heading = caution_heading(caution)
        text = readable(f"{heading}. {caution.text}" if heading else caution.text)
        flow.room(flow.height_of(text, _TEXT, BOLD if caution.declined else PLAIN, _INDENT))
        _mind_sign(flow, LEFT + 2.6, flow.cursor - 2.4)
        flow.paragraph(text, _TEXT, BOLD if caution.declined or not heading else PLAIN, _INDENT)
        flow.skip(1.2)


def _mind_sign(flow: Flow, x: float, y: float) -> None:
    """A triangle with a stroke in it."""
    flow.paper.pen(0.35)
    flow.paper.polygon([(x - 2.2, y - 1.5), (x + 2.2, y - 1.5), (x, y + 2.2)])
    flow.paper.text((x, y - 1.1), "!", 2.8, BOLD, "middle")
    flow.paper.pen()


def _contents(flow: Flow, guide: Guide) -> None:
    flow.heading_line(word("guide", "contents"), 10.0 + 5.0 * len(guide.chapters))
    for chapter in guide.chapters:
        flow.paragraph(readable(chapter.title), _TEXT, PLAIN, _INDENT)
    flow.skip(1.0)
    flow.paragraph(word("guide", "tick"), _TEXT, PLAIN)


def _chapter(flow: Flow, chapter: Chapter, guide: Guide, pictures: Mapping[str, bytes]) -> None:
    laid = [(step, _laid_out_all(flow, step, guide, pictures)) for step in chapter.steps]
    flow.skip(4.0)
    first = _kept(flow, *laid[0]) if laid else table_room(flow, chapter.tables[0]) if chapter.tables else 30.0
    flow.room(14.0 + flow.height_of(readable(chapter.intro), _TEXT) + first)
    flow.paper.pen(0.5)
    flow.paper.line((LEFT, flow.cursor), (RIGHT, flow.cursor))
    flow.paper.pen()
    flow.skip(2.0)
    flow.paragraph(readable(chapter.title), 5.2, BOLD)
    if chapter.intro:
        flow.skip(1.0)
        flow.paragraph(readable(chapter.intro), _TEXT)
    for step, rows in laid:
        _step(flow, step, rows)
    for table in chapter.tables:
        draw_table(flow, table)
    for note in chapter.notes:
        flow.room(flow.height_of(readable(note), _TEXT))
        flow.paragraph(readable(note), _TEXT)
        flow.skip(1.0)


def _laid_out_all(flow: Flow, step: Step, guide: Guide, pictures: Mapping[str, bytes]) -> list[_Pictures]:
    """The step's pictures in rows."""
    shown = tuple((name, pictures[name]) for name in step.pictures if name in pictures)
    return [_laid_out(flow, shown[start:start + _BESIDE], guide) for start in range(0, len(shown), _BESIDE)]


def _kept(flow: Flow, step: Step, rows: list[_Pictures]) -> float:
    """What must be free on the page for the step to begin there: all of it, where that is not too much."""
    height = 14.0 + sum(flow.height_of(readable(text), _TEXT, PLAIN, _INDENT) + 1.4
                        for text in (*step.actions, *filter(None, (step.warning,)))) + sum(row.height for row in rows)
    return height if height <= _KEPT or not step.actions else 60.0


def _step(flow: Flow, step: Step, rows: list[_Pictures]) -> None:
    flow.heading_line(readable(step.title), _kept(flow, step, rows))
    if step.warning:
        _warning(flow, step.warning)
    for action in step.actions:
        text = readable(action)
        flow.room(flow.height_of(text, _TEXT, PLAIN, _INDENT))
        flow.paper.pen(0.3)
        flow.paper.box(LEFT + 1.0, flow.cursor - _TEXT, _BOX, _BOX)
        flow.paper.pen()
        flow.paragraph(text, _TEXT, PLAIN, _INDENT)
        flow.skip(1.2)
    for row in rows:
        _draw_pictures(flow, row)


def _warning(flow: Flow, text: str) -> None:
    told = readable(f"{word('guide', 'warning')}: {text}")
    height = flow.height_of(told, _TEXT, BOLD, _INDENT)
    flow.room(height + 2.0)
    _mind_sign(flow, LEFT + 2.6, flow.cursor - 2.4)
    flow.paragraph(told, _TEXT, BOLD, _INDENT)
    flow.skip(1.4)


@dataclass(frozen=True)
class _Pictures:
    """Pictures side by side: their bytes, sizes and captions in lines, and the height they take together."""

    data: tuple[bytes, ...]
    sizes: tuple[tuple[float, float], ...]
    captions: tuple[list[str], ...]
    width: float

    @property
    def tall(self) -> float:
        """Height of the tallest picture."""
        return max(height for _, height in self.sizes)

    @property
    def height(self) -> float:
        """Pictures and captions."""
        return self.tall + _CAPTION_STEP * max(map(len, self.captions)) + 4.0


def _laid_out(flow: Flow, shown: tuple[tuple[str, bytes], ...], guide: Guide) -> _Pictures:
    width = (RIGHT - LEFT - _GAP * (len(shown) - 1)) / len(shown)
    sizes = []
    for name, data in shown:
        columns, rows = png_size(data)
        scale = min(width / columns, (_TALLEST_ALL if name == "all" else _TALLEST) / rows)
        sizes.append((scale * columns, scale * rows))
    told = (word("guide", "picture_of", what=guide.captions.get(name, name)) for name, _ in shown)
    captions = tuple(flow.lines(readable(text), _CAPTION, PLAIN, width) for text in told)
    return _Pictures(tuple(data for _, data in shown), tuple(sizes), captions, width)


def _draw_pictures(flow: Flow, row: _Pictures) -> None:
    """The pictures, each with its caption under it."""
    flow.room(row.height)
    top = flow.cursor - 1.0
    for place, (data, (wide, high), lines) in enumerate(zip(row.data, row.sizes, row.captions, strict=True)):
        left = LEFT + place * (row.width + _GAP)
        flow.paper.image(data, left + (row.width - wide) / 2, top - high, wide, high)
        for line, text in enumerate(lines):
            flow.paper.text((left, top - row.tall - _CAPTION_STEP * (line + 1)), text, _CAPTION)
    flow.cursor = top + 1.0 - row.height


def png_size(data: bytes) -> tuple[int, int]:
    """Columns and rows of a PNG, from its header (ISO/IEC 15948)."""
    columns, rows = struct.unpack(">II", data[16:24])
    return columns, rows
