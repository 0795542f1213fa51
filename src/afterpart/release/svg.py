"""The design outline as plain SVG at true scale.

Conventions: width and height in mm, viewBox in mm, so one user unit is one mm; y is turned over (SVG counts downwards):
a point (x, y) of the drawing lies at (x - left, top - y), and left and top stand in the root's data attributes.  One path for
each loop, circles as circles, stroke 0.1 mm; a loop that is free in part (settled by no relation or number) is a group of open
paths of the classes "held" and "free", one that is free altogether has the class "free" beside its role.  An outline of unknown
size has no width in mm and says so.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from xml.sax.saxutils import escape, quoteattr

from afterpart.geometry.segments import arc_angles_rad, segments_box
from afterpart.model.outline import Arc, Circle, Line, Loop, Outline, Point, Segment
from afterpart.release.free_style import FREE_DASHES, FREE_WIDTH, runs_by_style
from afterpart.release.words import word

MARGIN = 2.0
HAIRLINE = 0.1


def outline_svg(outline: Outline) -> bytes:
    """The design loops of an outline as an SVG file.  ValueError: no loops."""
    x0, y0, x1, y1 = segments_box(s for loop in outline.design for s in loop.segments)
    is_sized = outline.unit == "mm"
    margin = MARGIN if is_sized else 0.02 * max(x1 - x0, y1 - y0)
    left, top = x0 - margin, y1 + margin
    width, height = x1 - x0 + 2 * margin, y1 - y0 + 2 * margin
    size = f'width="{_number(width)}mm" height="{_number(height)}mm" ' if is_sized else ""
    stroke = HAIRLINE if is_sized else max(width, height) / 1000
    note = "" if is_sized else f"<desc>{escape(word('outline', 'size_unknown_svg'))}</desc>\n"
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" {size}viewBox="0 0 {_number(width)} {_number(height)}" '
        f'data-unit={quoteattr(outline.unit)} data-left="{_number(left)}" data-top="{_number(top)}">\n{note}'
        f'<g fill="none" stroke="#000000" stroke-width="{_number(stroke)}" stroke-linejoin="round">'
    ]
    dashes = f'stroke-width="{_number(FREE_WIDTH * stroke / HAIRLINE)}" ' \
             f'stroke-dasharray="{" ".join(_number(dash * stroke / HAIRLINE) for dash in FREE_DASHES)}"'
    lines += [_loop(loop, k, (left, top), frozenset(outline.free), dashes) for k, loop in enumerate(outline.design, start=1)]
    return ("\n".join([*lines, "</g>", "</svg>"]) + "\n").encode()


def _loop(loop: Loop, number: int, origin: Point, free: frozenset[str], dashes: str) -> str:
    """One element; dashes: the attributes that make its line a free one."""
    runs = runs_by_style(loop, free)
    is_free = runs[0][0] and len(runs) == 1
    role = f"{loop.role} free" if is_free else loop.role
    names = f'id="loop{number}" class={quoteattr(role)} data-part="{loop.part}"' + (f" {dashes}" if is_free else "")
    if loop.role == "channel":
        # a hidden edge to whoever cuts along these lines: a channel is no opening
        names += f" data-wall={quoteattr(loop.wall)}" + ('' if is_free else ' stroke-dasharray="2 1"')
    first = loop.segments[0]
    if isinstance(first, Circle):
        x, y = _turned(first.center, origin)
        return f'<circle {names} data-segments={quoteattr(first.id)} cx="{x}" cy="{y}" r="{_number(first.radius)}"/>'
    if len(runs) == 1:
        return f'<path {names} {_path(loop.segments, origin, " Z")}/>'
    rows = [f'<path class="free" {dashes} {_path(run, origin)}/>' if own else f'<path class="held" {_path(run, origin)}/>'
            for own, run in runs]
    return "\n".join([f"<g {names}>", *rows, "</g>"])


def _path(segments: tuple[Segment, ...], origin: Point, closing: str = "") -> str:
    """The attributes of a path along segments; closing: the command that closes it."""
    first = segments[0]
    assert not isinstance(first, Circle)
    steps = ["M {} {}".format(*_turned(first.start, origin))]
    for segment in segments:
        match segment:
            case Line(end=end):
                steps.append("L {} {}".format(*_turned(end, origin)))
            case Arc(end=end, radius=radius, ccw=ccw):
                _, turn = arc_angles_rad(segment)
                r = _number(radius)
                # Turning y over turns the sense of rotation over: counter-clockwise is sweep 0.
                steps.append("A {} {} 0 {:d} {:d} {} {}".format(r, r, abs(turn) > math.pi, not ccw, *_turned(end, origin)))
            case Circle():
                raise ValueError(f"circle {segment.id} stands in a loop of several segments; a circle is a loop by itself")
    ids = quoteattr(" ".join(s.id for s in segments))
    return f'data-segments={ids} d="{" ".join(steps)}{closing}"'


def _turned(point: Point, origin: Point) -> tuple[str, str]:
    return _number(point[0] - origin[0]), _number(origin[1] - point[1])


def _number(value: float) -> str:
    """A nanometre is enough; no exponent, no minus zero."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
