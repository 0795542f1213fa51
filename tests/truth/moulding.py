"""Mouldings as they are: what the mould, the plastic and the press make of a drawing.

Words: *shrinkage* is the share by which the part is smaller than its drawing, in x and in y; *scatter* is what is left when the
shrinkage is taken out: every opening a little off its place, every feature a little off its size; a *bow* is a face that is not
flat (bodies.Bow).  `mould` keeps the form of a drawing: line stays line, arc stays the tangent arc it was, circle stays circle of
the mean shrinkage; so the moulded part has true dimensions of its own, segment by segment beside those of the drawing.
Limits: parallel edges stay parallel; chains other than polygons with rounded corners and slots shrink alike in x and y about
their middle; channels keep their inset.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from tests.truth.drawings import Drawing
from tests.truth.field import arc_span, walk

TANGENT_RAD = 1e-6


@dataclass(frozen=True)
class Moulding:
    """shrink_x, shrink_y: shares; place_sd: of an opening's place in x and in y, mm; size_sd: of diameters, widths and fillet
    radii, mm."""

    shrink_x: float = 0.0
    shrink_y: float = 0.0
    place_sd: float = 0.0
    size_sd: float = 0.0


def mould(drawing: Drawing, how: Moulding, rng: np.random.Generator) -> Drawing:
    """The part that comes out of the mould, at the height of its face, loop by loop and segment by segment as in the drawing."""
    scale = np.array([1 - how.shrink_x, 1 - how.shrink_y])
    loops = []
    for k, loop in enumerate(drawing.loops):
        middle = _middle(loop)
        at = scale * middle + (rng.normal(0, how.place_sd, 2) if k else np.zeros(2))
        loops.append(_moulded(loop, middle, at, scale, how.size_sd, rng))
    return replace(drawing, loops=tuple(loops))


def _middle(loop: tuple) -> np.ndarray:
    """Middle of a loop's box (of a circle: its centre)."""
    if loop[0][0] == "circle":
        return np.array(loop[0][1], float)
    points = walk(list(loop))
    return 0.5 * (points.min(0) + points.max(0))


def _moulded(loop: tuple, middle: np.ndarray, at: np.ndarray, scale: np.ndarray, size_sd: float,
             rng: np.random.Generator) -> tuple:
    mean = float(scale.mean())
    if loop[0][0] == "circle":
        return (("circle", tuple(at), loop[0][2] * mean + rng.normal(0, size_sd) / 2),)
    extent = np.ptp(walk(list(loop)), axis=0)
    grow = scale + rng.normal(0, size_sd, 2) / extent

    def moved(p: tuple, by: np.ndarray | float) -> np.ndarray:
        return at + by * (np.array(p, float) - middle)

    if _is_slot(loop):
        return _slot(loop, moved, grow, size_sd, rng)
    if not _is_polygon(loop):
        alike = mean + rng.normal(0, size_sd) / float(extent.max())
        return tuple(s[:1] + tuple(tuple(moved(p, alike)) if isinstance(p, tuple) else p for p in s[1:]) for s in loop)
    lines = {k: (moved(s[1], grow), moved(s[2], grow)) for k, s in enumerate(loop) if s[0] == "line"}
    # alike fillets come from one cutter: their radii scatter together
    sizes: dict[float, float] = {}
    feet: dict[int, tuple] = {}
    for k, s in enumerate(loop):
        if s[0] != "arc":
            continue
        radius = math.dist(s[1], s[3])
        sizes.setdefault(round(radius, 6), max(0.1, radius * mean + rng.normal(0, size_sd)))
        feet[k] = _fillet(lines[k - 1 if k else len(loop) - 1], lines[(k + 1) % len(loop)], sizes[round(radius, 6)])
    out = []
    for k, s in enumerate(loop):
        before, after = (k - 1) % len(loop), (k + 1) % len(loop)
        if s[0] == "arc":
            out.append(("arc", feet[k][0], feet[k][1], feet[k][2], s[4]))
            continue
        start = feet[before][1] if before in feet else tuple(_crossing(lines[before], lines[k]))
        end = feet[after][0] if after in feet else tuple(_crossing(lines[k], lines[after]))
        out.append(("line", start, end))
    return tuple(out)


def _is_slot(loop: tuple) -> bool:
    arcs = [s for s in loop if s[0] == "arc"]
    return len(loop) == 4 and len(arcs) == 2 and all(abs(abs(arc_span(*s[1:])[1]) - math.pi) < 1e-6 for s in arcs)


def _is_polygon(loop: tuple) -> bool:
    """Lines, and between them arcs of less than half a turn that touch both neighbours."""
    for k, s in enumerate(loop):
        if s[0] == "line":
            continue
        before, after = loop[k - 1], loop[(k + 1) % len(loop)]
        if before[0] != "line" or after[0] != "line" or abs(arc_span(*s[1:])[1]) > math.radians(179):
            return False
        for line, foot in ((before, s[1]), (after, s[2])):
            along = np.subtract(line[2], line[1]) / math.dist(line[1], line[2])
            if abs(float(along @ np.subtract(foot, s[3]))) > TANGENT_RAD * math.dist(foot, s[3]):
                return False
    return True


def _slot(loop: tuple, moved: object, grow: np.ndarray, size_sd: float, rng: np.random.Generator) -> tuple:
    """Centres where the shrinkage puts them, round ends of the mean radius."""
    arcs = {k: moved(s[3], grow) for k, s in enumerate(loop) if s[0] == "arc"}
    first, second = arcs.values()
    u = (second - first) / np.hypot(*(second - first))
    k0 = next(iter(arcs))
    radius = math.dist(loop[k0][1], loop[k0][3]) * float(grow.mean()) + rng.normal(0, size_sd) / 2

    def corner(k: int, which: int) -> tuple:
        """End `which` (1 start, 2 end) of arc k: square to the slot's axis, on the side it was."""
        side = np.subtract(loop[k][which], loop[k][3])
        normal = np.array([-u[1], u[0]])
        return tuple(arcs[k] + radius * math.copysign(1.0, float(normal @ side)) * normal)

    out = []
    for k, s in enumerate(loop):
        if s[0] == "arc":
            out.append(("arc", corner(k, 1), corner(k, 2), tuple(arcs[k]), s[4]))
        else:
            out.append(("line", corner((k - 1) % 4, 2), corner((k + 1) % 4, 1)))
    return tuple(out)


def _crossing(a: tuple[np.ndarray, np.ndarray], b: tuple[np.ndarray, np.ndarray]) -> np.ndarray:
    """Where two straight lines, each through two points, cross."""
    u, v = a[1] - a[0], b[1] - b[0]
    t = float((b[0] - a[0])[0] * v[1] - (b[0] - a[0])[1] * v[0]) / float(u[0] * v[1] - u[1] * v[0])
    return a[0] + t * u


def _fillet(a: tuple[np.ndarray, np.ndarray], b: tuple[np.ndarray, np.ndarray], radius: float) -> tuple:
    """(start, end, centre) of the arc of this radius that rounds the corner from line a to line b."""
    corner = _crossing(a, b)
    back, on = (a[0] - a[1]) / np.hypot(*(a[0] - a[1])), (b[1] - b[0]) / np.hypot(*(b[1] - b[0]))
    half = 0.5 * math.acos(float(np.clip(back @ on, -1, 1)))
    reach = radius / math.tan(half)
    middle = (back + on) / np.hypot(*(back + on))
    return tuple(corner + back * reach), tuple(corner + on * reach), tuple(corner + middle * radius / math.sin(half))
