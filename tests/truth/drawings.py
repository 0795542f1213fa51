"""Invented plates with known drawings, in millimetres: covers, brackets, flanges, gaskets.

Words: a *drawing* is an outer loop and its openings, in the segment form of tests/truth/field.py; a *channel* is a groove in the
face that follows the outer loop: (inset of its outer wall, width, depth); a *pocket* a loop of its own and its depth, negative
for a raised pad.  Nothing here copies a part that exists.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

Point = tuple[float, float]
INCH = 25.4


@dataclass(frozen=True)
class Drawing:
    """loops[0] is the outer loop.  unit: the designer's lattice, "metric" or "inch"."""

    name: str
    loops: tuple[tuple, ...]
    channels: tuple[tuple[float, float, float], ...] = ()
    pockets: tuple[tuple[tuple, float], ...] = ()
    unit: str = "metric"


def circle(x: float, y: float, diameter: float) -> tuple:
    return (("circle", (float(x), float(y)), diameter / 2),)


def polygon(corners: list[Point], radii: float | list[float]) -> tuple:
    """A closed polygon, counter-clockwise, each corner rounded by a tangent arc of its radius (0: left sharp)."""
    n = len(corners)
    radii = [float(radii)] * n if isinstance(radii, (int, float)) else radii
    feet, arcs = [], []
    for k in range(n):
        p, a, b = corners[k], corners[k - 1], corners[(k + 1) % n]
        ua = _unit(a[0] - p[0], a[1] - p[1])
        ub = _unit(b[0] - p[0], b[1] - p[1])
        if radii[k] == 0:
            feet.append((p, p))
            arcs.append(None)
            continue
        half = math.acos(max(-1.0, min(1.0, ua[0] * ub[0] + ua[1] * ub[1]))) / 2
        back = radii[k] / math.tan(half)
        mid = _unit(ua[0] + ub[0], ua[1] + ub[1])
        reach = radii[k] / math.sin(half)
        start, end = (p[0] + ua[0] * back, p[1] + ua[1] * back), (p[0] + ub[0] * back, p[1] + ub[1] * back)
        feet.append((start, end))
        ccw = (p[0] - a[0]) * (b[1] - p[1]) - (p[1] - a[1]) * (b[0] - p[0]) > 0
        arcs.append(("arc", start, end, (p[0] + mid[0] * reach, p[1] + mid[1] * reach), ccw))
    chain = []
    for k in range(n):
        if arcs[k]:
            chain.append(arcs[k])
        here, there = feet[k][1], feet[(k + 1) % n][0]
        if math.dist(here, there) > 1e-6:
            chain.append(("line", here, there))
    return tuple(chain)


def box(width: float, height: float, radius: float, x: float = 0.0, y: float = 0.0) -> tuple:
    """A rectangle about (x, y) with rounded corners."""
    w, h = width / 2, height / 2
    return polygon([(x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h)], radius)


def slot(x1: float, y1: float, x2: float, y2: float, width: float) -> tuple:
    """A slot with round ends about two centres."""
    r = width / 2
    ux, uy = _unit(x2 - x1, y2 - y1)
    nx, ny = -uy * r, ux * r
    a, b, c, d = (x1 - nx, y1 - ny), (x2 - nx, y2 - ny), (x2 + nx, y2 + ny), (x1 + nx, y1 + ny)
    return (("line", a, b), ("arc", b, c, (x2, y2), True), ("line", c, d), ("arc", d, a, (x1, y1), True))


def ring(count: int, pitch_diameter: float, diameter: float, first_deg: float = 0.0, x: float = 0.0, y: float = 0.0) -> tuple:
    """Equal holes on a pitch circle."""
    turn = [math.radians(first_deg + 360 * k / count) for k in range(count)]
    return tuple(circle(x + pitch_diameter / 2 * math.cos(t), y + pitch_diameter / 2 * math.sin(t), diameter) for t in turn)


def eared(centres: list[Point], radius: float) -> tuple:
    """Outline of a gasket: round ears about the centres (counter-clockwise order), joined by straight tangents."""
    n = len(centres)
    chain = []
    for k in range(n):
        a, b, c = centres[k - 1], centres[k], centres[(k + 1) % n]
        u_in, u_out = _unit(b[0] - a[0], b[1] - a[1]), _unit(c[0] - b[0], c[1] - b[1])
        p = (b[0] + u_in[1] * radius, b[1] - u_in[0] * radius)
        q = (b[0] + u_out[1] * radius, b[1] - u_out[0] * radius)
        chain.append(("arc", p, q, b, True))
        chain.append(("line", q, (c[0] + u_out[1] * radius, c[1] - u_out[0] * radius)))
    return tuple(chain)


def _unit(x: float, y: float) -> Point:
    n = math.hypot(x, y)
    return x / n, y / n


def corner_holes(width: float, height: float, diameter: float) -> tuple:
    """Four equal holes at the corners of a rectangle of centre distances."""
    return tuple(circle(sx * width / 2, sy * height / 2, diameter) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1)))


DRAWINGS: tuple[Drawing, ...] = (
    Drawing("pump_cover", (polygon([(-50, -30), (50, -30), (50, 14), (32, 38), (-32, 38), (-50, 14)], [8, 8, 10, 14, 14, 10]),
                           *(circle(x, y, 5.5) for x, y in ((-42, -22), (42, -22), (42, 10), (-42, 10), (0, 31))),
                           circle(0, 0, 36))),
    Drawing("angle_bracket", (polygon([(0, 0), (80, 0), (80, 22), (26, 22), (26, 64), (0, 64)], [4, 6, 6, 10, 4, 4]),
                              circle(13, 11, 6.6), circle(13, 52, 6.6), circle(68, 11, 6.6), slot(34, 11, 50, 11, 6.6))),
    Drawing("round_flange", (circle(0, 0, 96), circle(0, 0, 42), *ring(6, 75, 9, 30))),
    Drawing("square_flange", (box(70, 70, 10), circle(0, 0, 30), *corner_holes(52, 52, 6.6))),
    Drawing("slotted_plate", (box(110, 60, 5), slot(-40, -18, -40, 18, 7), slot(40, -18, 40, 18, 7), slot(-20, 20, 20, 20, 5),
                              circle(0, -4, 25), circle(0, -24, 4.5))),
    Drawing("inch_cover", (box(4 * INCH, 2.5 * INCH, 0.375 * INCH), *corner_holes(3.25 * INCH, 1.75 * INCH, 0.28125 * INCH),
                           circle(0, 0, 1.25 * INCH)), unit="inch"),
    Drawing("screw_grid", (box(60, 44, 3), *(circle(x, y, 3.4) for x in (-24, -8, 8, 24) for y in (-16, 0, 16)))),
    Drawing("outlet_gasket", (eared([(-38, 0), (0, -22), (38, 0), (0, 22)], 10), circle(0, 0, 34), circle(-38, 0, 8.5),
                              circle(38, 0, 8.5))),
    Drawing("sharp_plate", (polygon([(-45, -25), (45, -25), (45, 25), (15, 25), (15, 10), (-15, 10), (-15, 25), (-45, 25)], 0),
                            circle(-30, -10, 8), circle(30, -10, 8), polygon([(-8, -18), (8, -18), (8, -4), (-8, -4)], 0))),
    Drawing("three_arm", (polygon([(-36, -21), (36, -21), (0, 42)], 11),
                          *(circle(x, y, 6.4) for x, y in ((-22, -13), (22, -13), (0, 24))),
                          circle(0, -2, 22), *ring(3, 32, 3.4, 90, 0, -2))),
    Drawing("sensor_lid", (box(52, 36, 6), *corner_holes(42, 26, 4.5), box(18, 10, 2))),
    Drawing("filter_frame", (box(120, 90, 12), box(84, 54, 6), *corner_holes(102, 72, 5.5), circle(0, -36, 5.5),
                             circle(0, 36, 5.5))),
    Drawing("valve_cover", (polygon([(-60, -25), (60, -25), (60, 5), (40, 30), (-60, 30)], [10, 10, 10, 16, 10]),
                            *(circle(x, y, 6.6) for x, y in ((-50, -15), (50, -15), (50, 4), (34, 20), (-50, 20))),
                            circle(-16, 2, 14), circle(22, 0, 9)), channels=((14.5, 3.0, 2.0),)),
    Drawing("keyed_washer", (circle(0, 0, 62), box(20, 20, 1.5), *ring(4, 44, 5.5, 45))),
    Drawing("half_moon", ((("arc", (50.0, 0.0), (-50.0, 0.0), (0.0, 0.0), True), ("line", (-50.0, 0.0), (50.0, 0.0))),
                          circle(-36, 10, 6.6), circle(36, 10, 6.6), circle(0, 36, 6.6), circle(0, 15, 20))),
)


def drawing(name: str) -> Drawing:
    """The drawing of this name; KeyError when there is none."""
    return {d.name: d for d in DRAWINGS}[name]
