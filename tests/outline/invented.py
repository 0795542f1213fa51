"""Invented drawings and the noisy rims a photograph would give of them.

A drawing is a list of loops, the outer one first; a loop is a list of ("line", p, q), ("arc", p, q, centre, ccw) or one
("circle", centre, radius).  Rims carry an error along the normal that is alike over about a millimetre, a common rotation, shift
and scale.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.model.edges import EdgeMap, Reference, Rim

Loop = list[tuple]


def polygon(vertices: list[tuple[float, float]], radii: float | list[float]) -> Loop:
    """Closed polygon with rounded corners, in the order of the vertices; radius 0 leaves a corner sharp."""
    count = len(vertices)
    sizes = [float(radii)] * count if isinstance(radii, (int, float)) else [float(r) for r in radii]
    points = [np.array(v, float) for v in vertices]
    starts, ends, arcs = [], [], []
    for i in range(count):
        before, here, after = points[i - 1], points[i], points[(i + 1) % count]
        a, b = (before - here) / np.hypot(*(before - here)), (after - here) / np.hypot(*(after - here))
        if sizes[i] == 0.0:
            starts.append(here), ends.append(here), arcs.append(None)
            continue
        half = 0.5 * math.acos(float(np.clip(a @ b, -1.0, 1.0)))
        back = sizes[i] / math.tan(half)
        center = here + (a + b) / np.hypot(*(a + b)) * sizes[i] / math.sin(half)
        ccw = bool((-a)[0] * b[1] - (-a)[1] * b[0] > 0.0)
        starts.append(here + a * back), ends.append(here + b * back), arcs.append((center, ccw))
    loop: Loop = []
    for i in range(count):
        if arcs[i] is not None:
            center, ccw = arcs[i]
            loop.append(("arc", tuple(starts[i]), tuple(ends[i]), tuple(center), ccw))
        follower = (i + 1) % count
        if np.hypot(*(starts[follower] - ends[i])) > 1e-9:
            loop.append(("line", tuple(ends[i]), tuple(starts[follower])))
    return loop


def circle(x: float, y: float, diameter: float) -> Loop:
    return [("circle", (x, y), 0.5 * diameter)]


def slot(x: float, y: float, between: float, width: float, angle_deg: float = 0.0) -> Loop:
    """Obround: centre distance of its ends, width, direction."""
    r, cos, sin = 0.5 * width, math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))

    def at(u: float, v: float) -> tuple[float, float]:
        return x + u * cos - v * sin, y + u * sin + v * cos

    h = 0.5 * between
    return [
        ("line", at(-h, -r), at(h, -r)),
        ("arc", at(h, -r), at(h, r), at(h, 0), True),
        ("line", at(h, r), at(-h, r)),
        ("arc", at(-h, r), at(-h, -r), at(-h, 0), True),
    ]


def lug_plate(big: float, ears: list[tuple[float, float, float]]) -> Loop:
    """Convex hull of circles: a big one about the origin and ears (x, y, radius) round it, counter-clockwise by angle."""
    circles = [(x, y, r) for x, y, r in sorted(ears, key=lambda e: math.atan2(e[1], e[0]))]
    row = []
    for e in circles:
        row += [e, (0.0, 0.0, big)]
    touch = []
    for (x1, y1, r1), (x2, y2, r2) in zip(row, row[1:] + row[:1], strict=True):
        d = math.hypot(x2 - x1, y2 - y1)
        turn = math.atan2(y2 - y1, x2 - x1) - math.acos((r1 - r2) / d)
        n = np.array([math.cos(turn), math.sin(turn)])
        touch.append((np.array([x1, y1]) + r1 * n, np.array([x2, y2]) + r2 * n))
    loop: Loop = []
    for i, (x, y, _) in enumerate(row):
        loop.append(("arc", tuple(touch[i - 1][1]), tuple(touch[i][0]), (x, y), True))
        loop.append(("line", tuple(touch[i][0]), tuple(touch[i][1])))
    return loop


def scaled(loops: list[Loop], factor: float) -> list[Loop]:
    def grow(item):
        return tuple(factor * v for v in item) if isinstance(item, tuple) else item

    return [
        [(s[0], grow(s[1]), factor * s[2]) if s[0] == "circle" else (s[0], *(grow(v) for v in s[1:])) for s in loop]
        for loop in loops
    ]


def sample_loop(loop: Loop, step: float) -> np.ndarray:
    """(n, 2) points about `step` apart."""
    out = []
    for s in loop:
        if s[0] == "line":
            n = max(1, round(math.dist(s[1], s[2]) / step))
            t = (np.arange(n) / n)[:, None]
            out.append(np.array(s[1]) + t * (np.array(s[2]) - np.array(s[1])))
            continue
        if s[0] == "circle":
            center, radius, start, span = s[1], s[2], 0.0, 2.0 * math.pi
        else:
            center, radius = s[3], math.dist(s[1], s[3])
            start = math.atan2(s[1][1] - center[1], s[1][0] - center[0])
            span = (math.atan2(s[2][1] - center[1], s[2][0] - center[0]) - start) % (2.0 * math.pi)
            span = span if s[4] else span - 2.0 * math.pi
        n = max(2, round(abs(span) * radius / step))
        t = start + span * np.arange(n) / n
        out.append(np.column_stack((center[0] + radius * np.cos(t), center[1] + radius * np.sin(t))))
    return np.concatenate(out)


def correlated(count: int, step: float, rms: float, length: float, rng: np.random.Generator) -> np.ndarray:
    """(count,) closed normal noise, alike over `length` (Gaussian kernel)."""
    lag = np.minimum(np.arange(count), count - np.arange(count)) * step
    kernel = np.exp(-0.5 * (lag / length) ** 2)
    kernel /= math.sqrt(float((kernel**2).sum()))
    return rms * np.real(np.fft.ifft(np.fft.fft(rng.normal(size=count)) * np.fft.fft(kernel)))


def rims_of(
    loops: list[Loop],
    rng: np.random.Generator,
    *,
    step: float = 0.25,
    rms: float = 0.015,
    length: float = 0.7,
    scale_u: float = 0.001,
    bias: float = 0.0,
    bad_per_100: float = 0.0,
    angle_rad: float | None = None,
    relative_u: float | None = None,
    part: int = 1,
    shift: tuple[float, float] | None = None,
) -> EdgeMap:
    """The edge map of a drawing.  bias: every edge moved out of the material by so much (holes grow); bad_per_100: outlying
    stretches per 100 mm of rim, up to 0.3 mm."""
    angle = rng.uniform(0.0, 2.0 * math.pi) if angle_rad is None else angle_rad
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    scale = 1.0 + scale_u * rng.normal()
    move = rng.uniform(-40.0, 40.0, 2) if shift is None else np.array(shift)
    rims = []
    for k, loop in enumerate(loops):
        points = sample_loop(loop, step)
        x, y = points.T
        ccw = float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) > 0.0
        if ccw != (k == 0):
            points = points[::-1]
        tangent = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
        tangent /= np.hypot(*tangent.T)[:, None]
        error = correlated(len(points), step, rms, length, rng) + bias
        for _ in range(rng.poisson(bad_per_100 * len(points) * step / 100.0)):
            off = np.abs(np.arange(len(points)) - rng.integers(len(points)))
            off = np.minimum(off, len(points) - off) * step
            error += rng.uniform(-0.3, 0.3) * np.exp(-0.5 * (2.0 * off / rng.uniform(1.0, 4.0)) ** 2)
        points = points + np.column_stack((-tangent[:, 1], tangent[:, 0])) * error[:, None]
        points = np.roll(points, int(rng.integers(len(points))), axis=0)
        rims.append(Rim("outer" if k == 0 else "opening", part, scale * points @ turn.T + move, np.full(len(points), 0.4 * rms)))
    return EdgeMap(
        "mm", tuple(rims), Reference("sheet", 20.0, max(scale_u, 2e-4) if relative_u is None else relative_u), None, 0.0, 0.0
    )


def invented_part(kind: str, rng: np.random.Generator) -> list[Loop]:
    """A drawing of the kind, its numbers drawn at random as a designer would choose them."""
    pick = rng.choice
    if kind == "cover":
        w, h = int(rng.integers(35, 80)), int(rng.integers(25, 55))
        cut_x, cut_y = int(rng.integers(10, w // 2)), int(rng.integers(8, h // 2))
        r = float(pick([4, 5, 6, 8, 10, 12]))
        outer = polygon([(-w, -h), (w - cut_x, -h), (w, -h + cut_y), (w, h), (-w + cut_y, h), (-w, h - cut_x)], r)
        d = float(pick([4.5, 5.5, 6.6, 4.3, 3.4, 6.0]))
        e = int(r)
        holes = [(-w + e, -h + e), (w - cut_x - e, -h + e + 1), (w - e, h - e), (-w + cut_y + e, h - e - 1)]
        bore = float(pick([16, 20, 25, 30, 32]))
        return [outer, *(circle(x, y, d) for x, y in holes), circle(int(rng.integers(-5, 6)), int(rng.integers(-4, 5)), bore)]
    if kind == "flange":
        count = int(pick([3, 4, 5, 6, 8]))
        big, pcd, bore = float(pick([60, 80, 95, 115, 140])), 0.0, 0.0
        pcd = round(big * 0.72)
        bore = float(round(big * 0.3))
        d = float(pick([5.5, 6.6, 9.0, 11.0]))
        start = float(pick([0.0, 180.0 / count, 90.0]))
        at = [math.radians(start + 360.0 * k / count) for k in range(count)]
        return [circle(0, 0, big), *(circle(0.5 * pcd * math.cos(a), 0.5 * pcd * math.sin(a), d) for a in at), circle(0, 0, bore)]
    if kind == "bracket":
        w, h, leg = int(rng.integers(70, 120)), int(rng.integers(60, 100)), int(rng.integers(22, 34))
        r = float(pick([2, 3, 5]))
        outer = polygon([(0, 0), (w, 0), (w, leg), (leg, leg), (leg, h), (0, h)], [r, r, r, float(pick([6, 8, 12])), r, r])
        d = float(pick([5.5, 6.6, 8.0, 9.0]))
        mid = 0.5 * leg if leg % 2 == 0 else 0.5 * (leg - 1)
        return [
            outer,
            circle(mid, mid, d),
            circle(w - mid, mid, d),
            circle(mid, h - mid, d),
            slot(0.5 * w, mid, float(pick([12, 16, 20])), float(pick([5.5, 6.6, 7.0]))),
        ]
    if kind == "lug":
        ear, big, r = float(rng.integers(34, 48)), float(rng.integers(24, 31)), float(pick([8, 9, 10, 12]))
        d = float(pick([6.6, 9.0, 11.0]))
        return [
            lug_plate(big, [(ear, 0.0, r), (-ear, 0.0, r)]),
            circle(ear, 0, d),
            circle(-ear, 0, d),
            circle(0, 0, float(pick([25, 28, 30]))),
        ]
    if kind == "inch":
        u = 25.4 / 16.0
        w, h = int(rng.integers(20, 34)) * 2, int(rng.integers(14, 22)) * 2
        outer = polygon([(-w, -h), (w, -h), (w, h), (-w, h)], float(pick([4, 6, 8])))
        e = int(pick([6, 7, 8]))
        holes = [(sx * (w - e), sy * (h - e)) for sx in (-1, 1) for sy in (-1, 1)]
        loops = [
            outer,
            *(circle(x, y, float(4)) for x, y in holes),
            circle(int(rng.integers(-6, 7)), 0, float(pick([12, 16, 18]))),
        ]
        return scaled(loops, u)
    if kind == "tenth":
        w, h = rng.integers(350, 700) / 10.0, rng.integers(250, 450) / 10.0
        outer = polygon([(-w, -h), (w, -h), (w, h), (-w, h)], float(pick([3.0, 4.5, 6.0])))
        ex, ey = rng.integers(50, 90) / 10.0, rng.integers(50, 90) / 10.0
        holes = [(sx * round(w - ex, 1), sy * round(h - ey, 1)) for sx in (-1, 1) for sy in (-1, 1)]
        return [
            outer,
            *(circle(x, y, 4.3) for x, y in holes),
            circle(rng.integers(-80, 80) / 10.0, rng.integers(-60, 60) / 10.0, 22.4),
            circle(rng.integers(200, 260) / 10.0, rng.integers(-60, 60) / 10.0, 8.2),
        ]
    if kind == "moulding":
        return scaled(invented_part("cover", rng), 1.0 - rng.uniform(0.002, 0.010))
    if kind == "sharp":
        w, h = int(rng.integers(30, 60)), int(rng.integers(20, 40))
        c = int(rng.integers(5, 12))
        outer = polygon([(-w, -h), (w - c, -h), (w, -h + c), (w, h), (4, h), (4, h - 7), (-4, h - 7), (-4, h), (-w, h)], 0.0)
        return [
            outer,
            circle(-w + 8, -h + 8, 4.5),
            circle(-w + 8, h - 8, 4.5),
            circle(w - 12, h - 9, 4.5),
            polygon([(-12, -9), (12, -9), (12, 9), (-12, 9)], 2.0),
        ]
    raise ValueError(kind)


KINDS = ("cover", "flange", "bracket", "lug", "inch", "tenth", "moulding", "sharp")
