"""The heights card: one section through the part, with a blank for every level a photograph from above cannot tell.

A *level* is one height or depth of the section (model/job.py, LEVELS).  A told one stands in its blank with its standard
uncertainty; the others are blanks to write in, beside how to take them with a calliper's depth rod.  One page of A4; the section
is a sketch, not to scale, and dashes the channel where the outline has none.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import textwrap
from dataclasses import dataclass

from afterpart.model.edges import TWO_WALLS, Note
from afterpart.model.job import LEVELS, Height, Shot
from afterpart.model.outline import Circle, Outline, Point
from afterpart.model.release import TitleBlock
from afterpart.release.paper import A4, BOLD, PAGE_MARGIN, Paper
from afterpart.release.template import draw_arrow
from afterpart.release.words import word

_ABSENT = {"lip": "absent_one", "boss": "absent_one", "channel floor": "absent_channel"}
"""Key of the words for a level this outline can do without."""
_LEFT, _ROW = 20.0, 21.0
_WALL, _TOLD_DIGITS = 0.35, 3


@dataclass(frozen=True)
class _Mark:
    """One level in the sketch, in mm of paper: two heights and where its dimension line runs; the edges it starts from."""

    level: str
    low: float
    high: float
    x: float
    from_low: float
    from_high: float


def heights_of(told: tuple[Height, ...], shot: Shot) -> dict[str, Height]:
    """Level -> what is known of it: the card's own lines, then what was told about the photo."""
    known = {height.level: height for height in told}
    for level, value in (("face", shot.face_height), ("channel floor", shot.channel_depth)):
        if value is not None and level not in known:
            known[level] = Height(level, value)
    return known


def needed_levels(outline: Outline) -> tuple[str, ...]:
    """Levels this outline cannot do without: the face; a channel's or a pocket's floor; a pad's top; the room above and below
    where round holes may take screws, whose heads and ends stand out of the part."""
    walls = {loop.wall for loop in outline.design}
    has_holes = any(loop.role == "opening" and isinstance(loop.segments[0], Circle) for loop in outline.design)
    needed = ["face"]
    needed += ["channel floor"] if walls & {*TWO_WALLS, "pocket"} else []
    needed += ["boss"] if "pad" in walls else []
    return (*needed, *(("room above", "room below") if has_holes else ()))


def missing_heights(outline: Outline, known: dict[str, Height]) -> list[Note]:
    """A note that names the needed levels nobody told; [] when all are known."""
    missing = [level for level in needed_levels(outline) if level not in known]
    if not missing:
        return []
    return [Note("heights_missing", _told("missing_note", levels=", ".join(missing)))]


def how_to_take(level: str) -> str:
    """What to do with the depth rod for a level."""
    return _told(f"take_{level.replace(' ', '_')}")


def _told(key: str, **fields: object) -> str:
    return word("heights", key, **fields)


def heights_pdf(outline: Outline, known: dict[str, Height], title: TitleBlock) -> bytes:
    """The card as a PDF of one page.  Same input, same bytes."""
    paper = Paper(title, _told("subject"))
    paper.new_page(A4)
    needed = needed_levels(outline)
    paper.pen(0.25)
    paper.box(PAGE_MARGIN, PAGE_MARGIN, A4[0] - 2 * PAGE_MARGIN, A4[1] - 2 * PAGE_MARGIN)
    paper.text((_LEFT, 278.0), f"{title.name}  {title.revision}  {title.date}".rstrip(), 5.0, BOLD)
    paper.text((_LEFT, 271.5), _told("about"), 3.0)
    marks = _draw_section(paper, needed)
    for number, level in enumerate(LEVELS, start=1):
        _draw_mark(paper, marks[level], number)
        _draw_row(paper, level, number, known.get(level), needed, 156.0 - _ROW * (number - 1))
    _draw_end(paper, [level for level in needed if level not in known], title)
    return paper.finish()


def _draw_section(paper: Paper, needed: tuple[str, ...]) -> dict[str, _Mark]:
    """The section: machine below, part with lip, channel, screw hole and boss, ceiling above; where each level is marked."""
    floor, table, face, lip, boss, ceiling = 178.0, 196.0, 214.0, 222.0, 228.0, 246.0
    left, right = 46.0, 164.0
    # what stands above and below on the machine
    for y, side in ((ceiling, 1.0), (floor, -1.0)):
        paper.pen(0.18)
        paper.line((left - 6.0, y), (right + 6.0, y))
        for k in range(21):
            x = left - 6.0 + 6.2 * k
            paper.line((x, y if side > 0 else y - 3.0), (x + 3.0, y + 3.0 if side > 0 else y))
    # the part: its cut faces, hatched, with a lip at the left, a channel, a hole and a boss
    bottom = face - 7.0
    channel = [(86.0, face), (86.0, bottom), (102.0, bottom), (102.0, face)]
    outline: list[Point] = [(left, table), (left, lip), (left + 7.0, lip), (left + 7.0, face), *channel, (112.0, face)]
    hole = [(112.0, table), (112.0, face), (122.0, face), (122.0, table)]
    rest: list[Point] = [(122.0, face), (140.0, face), (140.0, boss), (154.0, boss), (154.0, face), (right, face), (right, table)]
    for k in range(int((right - left + boss - table) / 3.0)):
        _hatch(paper, left + 3.0 * k, (left, right, table), (lip, face, bottom, boss))
    paper.pen(_WALL)
    for chain in (outline, [(112.0, face), (112.0, table), (left, table)], rest, [(right, table), (122.0, table), (122.0, face)]):
        for start, end in zip(chain, chain[1:], strict=False):
            dashed = "channel floor" not in needed and start in channel and end in channel
            paper.pen(_WALL, grey=0.45 if dashed else 0.0, dash=(1.6, 1.0) if dashed else ())
            paper.line(start, end)
    paper.pen(0.1)
    paper.line((hole[0][0], table), (hole[3][0], table))
    paper.line((hole[1][0], face), (hole[2][0], face))
    paper.pen(0.1, dash=(4.0, 1.0, 0.6, 1.0))
    paper.line((117.0, table - 5.0), (117.0, face + 5.0))
    paper.pen()
    for y, key in ((ceiling, "beside_above"), (floor - 1.0, "beside_below"), (table - 0.8, "beside_table"),
                   (face - 0.8, "beside_face")):
        paper.text((right + 8.0, y), _told(key), 2.6)
    return {
        "face": _Mark("face", table, face, 30.0, left, left),
        "channel floor": _Mark("channel floor", bottom, face, 91.5, 91.5, 91.5),
        "lip": _Mark("lip", face, lip, 62.0, 53.0, 53.0),
        "boss": _Mark("boss", face, boss, 160.0, 154.0, 154.0),
        "room above": _Mark("room above", face, ceiling, 74.0, 74.0, 74.0),
        "room below": _Mark("room below", floor, table, 74.0, 74.0, 74.0),
    }


def _hatch(paper: Paper, start: float, box: tuple[float, float, float], tops: tuple[float, float, float, float]) -> None:
    """One hatching line at 45 degrees from (start, table) through the cut faces."""
    left, right, table = box
    lip, face, bottom, boss = tops
    spans = ((left, left + 7.0, lip), (left + 7.0, 86.0, face), (86.0, 102.0, bottom), (102.0, 112.0, face), (122.0, 140.0, face),
             (140.0, 154.0, boss), (154.0, right, face))
    paper.pen(0.1, grey=0.55)
    for low, high, top in spans:
        # the line is y = table + (x - first); each column of the part shows its own stretch of it
        for first in (start - (boss - table), start):
            x0, x1 = max(low, first), min(high, first + top - table)
            if x1 - x0 > 0.3 and first + top - table > low:
                paper.line((x0, table + x0 - first), (x1, table + x1 - first))


def _draw_mark(paper: Paper, mark: _Mark, number: int) -> None:
    """The level's dimension line with its balloon."""
    paper.pen(0.13)
    for y, x in ((mark.low, mark.from_low), (mark.high, mark.from_high)):
        if abs(x - mark.x) > 1.0:
            paper.line((x, y), (mark.x + (1.5 if mark.x > x else -1.5), y))
    paper.line((mark.x, mark.low), (mark.x, mark.high))
    paper.pen()
    draw_arrow(paper, (mark.x, mark.high), 90.0)
    draw_arrow(paper, (mark.x, mark.low), -90.0)
    paper.pen(0.2)
    at = (mark.x, 0.5 * (mark.low + mark.high))
    beside = mark.high - mark.low < 10.0
    at = (at[0] + 4.2, at[1]) if beside else at
    paper.circle(at, 3.0, is_filled=True)
    paper.text((at[0], at[1] - 1.1), str(number), 3.0, BOLD, align="middle")


def _draw_row(paper: Paper, level: str, number: int, known: Height | None, needed: tuple[str, ...], y: float) -> None:
    """One level: balloon, name, blank or value, how to take it."""
    paper.pen(0.2)
    paper.circle((_LEFT + 3.0, y), 3.0, is_filled=True)
    paper.text((_LEFT + 3.0, y - 1.1), str(number), 3.0, BOLD, align="middle")
    paper.text((_LEFT + 9.0, y + 0.6), level, 3.8, BOLD)
    state = "needed" if level in needed else _ABSENT.get(level, "absent_room")
    paper.text((_LEFT + 9.0, y - 3.6), _told(state if known is None else "told"), 2.6)
    paper.pen(0.25)
    paper.box(_LEFT + 48.0, y - 5.0, 34.0, 10.0)
    if known is not None:
        value = f"{known.value:.{_TOLD_DIGITS}f}".rstrip("0").rstrip(".")
        paper.text((_LEFT + 65.0, y - 1.4), value, 4.4, BOLD, align="middle")
        paper.text((_LEFT + 65.0, y - 4.4), _told("spread", u=known.u), 2.0, align="middle")
    else:
        paper.text((_LEFT + 80.5, y - 4.0), "mm", 2.4, align="right")
    for k, line in enumerate(textwrap.wrap(f"{LEVELS[level].capitalize()}. {how_to_take(level)}", 66)):
        paper.text((_LEFT + 86.0, y + 4.4 - 3.3 * k), line, 2.7)
    paper.pen(0.1, grey=0.6)
    paper.line((_LEFT, y - 0.5 * _ROW + 0.5), (A4[0] - _LEFT, y - 0.5 * _ROW + 0.5))
    paper.pen()


def _draw_end(paper: Paper, missing: list[str], title: TitleBlock) -> None:
    """What is missing, and where the values go."""
    told = _told("missing", levels=", ".join(missing)) if missing else _told("missing_nothing")
    paper.text((_LEFT, 33.0), told, 3.6, BOLD)
    paper.text((_LEFT, 27.5), _told("zero"), 2.7)
    paper.text((_LEFT, 23.0), _told("into_job"), 2.7)
    paper.text((_LEFT, 12.5), title.made_with, 2.4)
