"""Invented outlines for tests, written by hand: no photograph stands behind them.

Coordinates in mm, x right, y up.  Each function returns a whole `Outline` whose measured loops equal its design.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import json
import math
from pathlib import Path

from afterpart.model.edges import Reference
from afterpart.model.outline import Arc, Circle, Datum, Dimension, Line, Loop, Outline, Point, Segment

SHARED_PHOTOS = Path(__file__).parents[3] / "shared" / "photos"


def rounded_rectangle(x0: float, y0: float, x1: float, y1: float, radius: float, role: str, first_id: int) -> Loop:
    """Four lines and four fillets; counter-clockwise for an outer loop, clockwise for an opening."""
    r = radius
    corners = (
        ((x1 - r, y0), (x1, y0 + r), (x1 - r, y0 + r)),
        ((x1, y1 - r), (x1 - r, y1), (x1 - r, y1 - r)),
        ((x0 + r, y1), (x0, y1 - r), (x0 + r, y1 - r)),
        ((x0, y0 + r), (x0 + r, y0), (x0 + r, y0 + r)),
    )
    segments: list[Segment] = []
    here: Point = (x0 + r, y0)
    for k, (start, end, center) in enumerate(corners):
        segments += [Line(f"s{first_id + 2 * k}", here, start), Arc(f"s{first_id + 2 * k + 1}", start, end, center, r, True)]
        here = end
    return Loop(role, 1, tuple(segments) if role == "outer" else reversed_segments(segments))


def slot(center: Point, length: float, width: float, angle_deg: float, first_id: int) -> Loop:
    """A slot as an opening: two lines, two half circles; length over all."""
    r, half = width / 2, (length - width) / 2
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))

    def at(u: float, v: float) -> Point:
        return (center[0] + u * c - v * s, center[1] + u * s + v * c)

    segments = [
        Line(f"s{first_id}", at(-half, -r), at(half, -r)),
        Arc(f"s{first_id + 1}", at(half, -r), at(half, r), at(half, 0), r, True),
        Line(f"s{first_id + 2}", at(half, r), at(-half, r)),
        Arc(f"s{first_id + 3}", at(-half, r), at(-half, -r), at(-half, 0), r, True),
    ]
    return Loop("opening", 1, reversed_segments(segments))


def reversed_segments(segments: list[Segment] | tuple[Segment, ...]) -> tuple[Segment, ...]:
    """The chain run backwards."""
    turned: list[Segment] = []
    for s in reversed(segments):
        match s:
            case Line():
                turned.append(dataclasses.replace(s, start=s.end, end=s.start))
            case Arc():
                turned.append(dataclasses.replace(s, start=s.end, end=s.start, ccw=not s.ccw))
            case Circle():
                turned.append(s)
    return tuple(turned)


def hole(id: str, x: float, y: float, diameter: float) -> Loop:
    return Loop("opening", 1, (Circle(id, (x, y), diameter / 2),))


def outline_of(loops: tuple[Loop, ...], dimensions: tuple[Dimension, ...] = (), unit: str = "mm") -> Outline:
    return Outline(
        unit,
        Reference("sheet", 10.0, 0.001),
        Datum("origin at the middle, x along the lower edge", (0.0, 0.0), 0.0),
        loops,
        loops,
        dimensions,
        (),
    )


def gauge_lid() -> Outline:
    """120 x 80, fillets R8, four holes, a slot, and a bite of 12 mm radius out of the upper edge (a clockwise arc)."""
    a = 60.0
    outer = Loop(
        "outer",
        1,
        (
            Line("s1", (-52, -40), (52, -40)),
            Arc("s2", (52, -40), (a, -32), (52, -32), 8, True),
            Line("s3", (a, -32), (a, 32)),
            Arc("s4", (a, 32), (52, 40), (52, 32), 8, True),
            Line("s5", (52, 40), (12, 40)),
            Arc("s6", (12, 40), (-12, 40), (0, 40), 12, False),
            Line("s7", (-12, 40), (-52, 40)),
            Arc("s8", (-52, 40), (-a, 32), (-52, 32), 8, True),
            Line("s9", (-a, 32), (-a, -32)),
            Arc("s10", (-a, -32), (-52, -40), (-52, -32), 8, True),
        ),
    )
    holes = tuple(hole(f"c{i}", x, y, 6.6) for i, (x, y) in enumerate(((-50, -30), (50, -30), (50, 30), (-50, 30)), start=1))
    window = slot((0, -10), 40, 12, 20, 20)
    return outline_of(
        (outer, *holes, window),
        (
            Dimension("d1", "length", ("s3", "s9"), 120.03, 0.04, 120.0, 0.99, 120.5, "inferred"),
            Dimension("d2", "width", ("s1", "s5"), 79.98, 0.03, 80.0, 0.98, 79.5, "inferred"),
            Dimension("d3", "diameter", ("c1",), 6.58, 0.02, 6.6, 0.93, 6.5, "inferred"),
            Dimension("d4", "diameter", ("c2",), 6.61, 0.02, 6.6, 0.93, 6.5, "inferred"),
            Dimension("d5", "distance", ("c1", "c2"), 100.02, 0.03, 100.0, 0.99, 99.5, "reading"),
            Dimension("d6", "distance", ("c2", "c3"), 59.99, 0.03, 60.0, 0.99, None, "inferred"),
            Dimension("d7", "radius", ("s6",), 12.1, 0.15, 12.0, 0.71, 12.5, "inferred"),
            Dimension("d8", "radius", ("s2",), 8.05, 0.2, 8.0, 0.8, 7.5, "free"),
            Dimension("d9", "angle", ("s1", "s20"), 19.9, 0.3, 20.0, 0.9, None, "inferred"),
            Dimension("d10", "distance", ("c1", "s1"), 10.01, 0.03, 10.0, 0.97, None, "maker"),
        ),
    )


def ring_flange() -> Outline:
    """Round, 115 across, a 50 mm middle, eight holes of 9 mm on a pitch circle of 85 mm: no straight edge at all."""
    holes = tuple(hole(f"c{i + 3}", 42.5 * math.cos(math.tau * i / 8), 42.5 * math.sin(math.tau * i / 8), 9.0) for i in range(8))
    return outline_of(
        (Loop("outer", 1, (Circle("c1", (0, 0), 57.5),)), hole("c2", 0, 0, 50.0), *holes),
        (
            Dimension("d1", "diameter", ("c1",), 115.02, 0.05, 115.0, 0.99, None, "inferred"),
            Dimension("d2", "diameter", ("c2",), 50.01, 0.03, 50.0, 0.99, None, "inferred"),
            Dimension("d3", "distance", ("c3", "c7"), 85.0, 0.03, 85.0, 0.99, None, "inferred"),
        ),
    )


def long_rail() -> Outline:
    """300 x 60, ten holes and two windows: longer than a usual bed and than an A3 sheet's usable width is high."""
    outer = rounded_rectangle(-150, -30, 150, 30, 6, "outer", 1)
    holes = tuple(hole(f"c{i + 1}", -140 + 70 * (i // 2), 22 * (-1) ** i, 5.5) for i in range(10))
    return outline_of(
        (
            outer,
            *holes,
            rounded_rectangle(-90, -10, -20, 10, 4, "opening", 40),
            rounded_rectangle(20, -10, 90, 10, 4, "opening", 60),
        ),
        (
            Dimension("d1", "length", ("s3", "s7"), 300.1, 0.1, 300.0, 0.99, None, "inferred"),
            Dimension("d2", "width", ("s1", "s5"), 60.0, 0.03, 60.0, 0.99, None, "inferred"),
        ),
    )


def wide_panel() -> Outline:
    """430 x 330 with four holes and a round middle: four pieces on a bed of 220 x 220, four A4 pages."""
    outer = rounded_rectangle(-215, -165, 215, 165, 10, "outer", 1)
    holes = tuple(
        hole(f"c{i}", x, y, 8.4) for i, (x, y) in enumerate(((-200, -150), (200, -150), (200, 150), (-200, 150)), start=1)
    )
    return outline_of((outer, *holes, hole("c5", 0, 0, 120.0)))


def from_truth(name: str) -> Outline:
    """The true drawing of a rendered photograph (needs ../shared beside the checkout)."""
    data = json.loads((SHARED_PHOTOS / f"{name}.json").read_text())
    loops, count = [], 0
    for k, chain in enumerate(data["loops"]):
        segments: list[Segment] = []
        for entry in chain:
            count += 1
            if entry[0] == "circle":
                segments.append(Circle(f"c{count}", tuple(entry[1]), entry[2]))
            elif entry[0] == "line":
                segments.append(Line(f"s{count}", tuple(entry[1]), tuple(entry[2])))
            else:
                center = tuple(entry[3])
                segments.append(Arc(f"s{count}", tuple(entry[1]), tuple(entry[2]), center, math.dist(entry[1], center), entry[4]))
        loops.append(Loop("outer" if k == 0 else "opening", 1, tuple(segments)))
    return outline_of(tuple(loops))
