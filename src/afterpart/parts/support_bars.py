"""Bars across an opening, so that the element does not sag through it: how many, where, and the windows between them.

Words: the *free span* is the clear width between two bars, or between a bar and the rib; a *crossing bar* runs the long way and
holds the others where they would be too slender.
    least number of bars:  n = ceil((L - s) / (s + b))     L  length of the opening, s  free span, b  width of a bar
Bars lie parallel to the opening's shorter side (of its smallest rectangle), evenly spaced, and end exactly on the opening.
Limits: the spans are those of the opening's rectangle; an opening that is narrower somewhere has shorter bars there.  mm.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Polygon

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_area, chain_points, polygon_chain
from afterpart.geometry.offset import offset_chain
from afterpart.geometry.region import subtract
from afterpart.model.feature import Bar, Chain
from afterpart.model.outline import Point

SLENDEREST = 20.0
"""Longest free bar, in multiples of its height: as slender as a usual shelf; longer ones get a crossing bar."""
WINDOW_CORNER = 1.0
"""Radius of the windows' corners beside the bars."""
SMALLEST_WINDOW = 4.0
"""Windows below this area, mm2, are filled: a printer would close them anyhow."""
_CHORD = 0.002


@dataclass(frozen=True)
class Bars:
    """The bars with their places, and the windows that are left of the opening."""

    bars: tuple[Bar, ...]
    windows: tuple[Chain, ...]


def lay_bars(opening: Chain, free_span: float, width: float, bottom: float, top: float) -> Bars:
    """Bars of this width from bottom to top across the opening.

    JobError: a span or width that is not above 0, or bars that would leave less than half the opening free.
    """
    if free_span <= 0 or width < 0.8:
        raise JobError(
            f"holder.free_span, holder.bar_width: {free_span:g} mm and {width:g} mm found, a span above 0 and bars of 0.8 mm "
            "(two lines) or more expected"
        )
    frame = _Frame.of(opening)
    across = _middles(frame.length, free_span, width)
    along = _middles(frame.depth, SLENDEREST * (top - bottom), width) if across else ()
    strips = [frame.strip(at, width, is_across=True) for at in across] + [frame.strip(at, width, is_across=False) for at in along]
    windows = _windows(opening, strips)
    share = sum(abs(chain_area(w)) for w in windows) / abs(chain_area(opening))
    if share < 0.5:
        raise JobError(
            f"holder.free_span, holder.bar_width: bars of {width:g} mm every {free_span:g} mm leave {share:.0%} of the opening "
            "free, half of it or more expected; make the span larger or the bars thinner"
        )
    lines = [frame.line(at, True) for at in across] + [frame.line(at, False) for at in along]
    return Bars(tuple(bar for line in lines for bar in _trimmed(opening, line, width, bottom, top)), windows)


def least_bars(length: float, free_span: float, width: float) -> int:
    """Least number of bars that leaves no free length above free_span."""
    return max(0, math.ceil((length - free_span) / (free_span + width) - 1e-9))


def _middles(length: float, free_span: float, width: float) -> tuple[float, ...]:
    """Places of the bars' middles from the start of the length, so that all free spans are equal."""
    count = least_bars(length, free_span, width)
    free = (length - count * width) / (count + 1)
    return tuple((k + 1) * free + (k + 0.5) * width for k in range(count))


@dataclass(frozen=True)
class _Frame:
    """The opening's smallest rectangle: a corner, unit vectors along its longer and shorter side, and their lengths."""

    corner: Point
    along: Point
    length: float
    depth: float

    @classmethod
    def of(cls, opening: Chain) -> _Frame:
        ring = np.array(Polygon(chain_points(opening, _CHORD)).minimum_rotated_rectangle.exterior.coords)[:4]
        sides = np.roll(ring, -1, axis=0) - ring
        lengths = np.hypot(*sides.T)
        i = int(np.argmax(np.round(lengths, 6)))
        along = sides[i] / lengths[i]
        # One of the two ends, told by the sign, so that the same opening gives the same frame however its chain begins.
        if along[0] < -1e-9 or (abs(along[0]) <= 1e-9 and along[1] < 0):
            along = -along
        up = np.array([-along[1], along[0]])
        first = min(float(p @ along) for p in ring), min(float(p @ up) for p in ring)
        corner = first[0] * along + first[1] * up
        return cls(_point(corner), _point(along), float(lengths[i]), float(lengths[i - 1]))

    def at(self, x: float, y: float) -> Point:
        (cx, cy), (ux, uy) = self.corner, self.along
        return (cx + x * ux - y * uy, cy + x * uy + y * ux)

    def strip(self, middle: float, width: float, is_across: bool) -> Chain:
        low, high, far = middle - width / 2, middle + width / 2, 1.0
        if is_across:
            corners = (self.at(low, -far), self.at(high, -far), self.at(high, self.depth + far), self.at(low, self.depth + far))
        else:
            corners = (self.at(-far, low), self.at(self.length + far, low), self.at(self.length + far, high), self.at(-far, high))
        return polygon_chain(corners)

    def line(self, middle: float, is_across: bool) -> tuple[Point, Point]:
        if is_across:
            return self.at(middle, -1.0), self.at(middle, self.depth + 1.0)
        return self.at(-1.0, middle), self.at(self.length + 1.0, middle)


def _windows(opening: Chain, strips: list[Chain]) -> tuple[Chain, ...]:
    left = [region.outer for region in subtract(opening, *strips)] if strips else [opening]
    windows = []
    for chain in left:
        inner = offset_chain(chain, -WINDOW_CORNER)
        made = offset_chain(inner[0], WINDOW_CORNER) if inner else ()
        if made and abs(chain_area(made[0])) >= SMALLEST_WINDOW:
            windows.append(made[0])
    return tuple(windows)


def _trimmed(opening: Chain, line: tuple[Point, Point], width: float, bottom: float, top: float) -> list[Bar]:
    """The parts of a bar's middle line that lie in the opening."""
    cut = LineString(line).intersection(Polygon(chain_points(opening, _CHORD)))
    parts = [cut] if cut.geom_type == "LineString" else list(getattr(cut, "geoms", ()))
    return [
        Bar(_point(np.array(p.coords[0])), _point(np.array(p.coords[-1])), width, bottom, top) for p in parts if p.length > width
    ]


def _point(xy: np.ndarray) -> Point:
    return float(xy[0]), float(xy[1])
