"""Where bars lie across an opening: how many, how far apart, and what they leave of it.

Words: the *free span* is the clear width between two bars, or between a bar and the edge; a *crossing bar* runs the long way and
holds the others where they would be too slender.
    least number of bars:  n = ceil((L - s) / (s + b))     L  length of the opening, s  free span, b  width of a bar
Bars lie parallel to the opening's shorter side (of its smallest rectangle), evenly spaced.
Limits: the spans are those of the opening's rectangle; an opening that is narrower somewhere has shorter bars there.  mm.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely import unary_union
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from afterpart.geometry.chain import polygon_chain
from afterpart.model.feature import Chain
from afterpart.model.outline import Point

SLENDEREST = 20.0
"""Longest free bar, in multiples of its height: as slender as a usual shelf; longer ones get a crossing bar."""
_BEYOND = 1.0
"""How far a strip reaches beyond the opening's rectangle."""


@dataclass(frozen=True)
class BarRule:
    """free_span: largest clear width; width and height of a bar."""

    free_span: float
    width: float
    height: float


@dataclass(frozen=True)
class BarStrip:
    """One bar before it is trimmed to its opening: its middle line, and its outline as a chain; both reach beyond it."""

    start: Point
    end: Point
    outline: Chain


def bar_strips(opening: Polygon, rule: BarRule) -> tuple[BarStrip, ...]:
    """The bars of this opening, those across first, then the crossing ones."""
    frame = _Frame.of(opening)
    across = _middles(frame.length, rule.free_span, rule.width)
    along = _middles(frame.depth, SLENDEREST * rule.height, rule.width) if across else ()
    return tuple([frame.strip(at, rule.width, True) for at in across] + [frame.strip(at, rule.width, False) for at in along])


def bars_shape(opening: Polygon, rule: BarRule) -> BaseGeometry:
    """The plane shape of all bars within the opening; empty where it needs none."""
    strips = bar_strips(opening, rule)
    half = rule.width / 2.0
    drawn = [LineString((strip.start, strip.end)).buffer(half, cap_style="flat") for strip in strips]
    return unary_union(drawn).intersection(opening) if drawn else Polygon()


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
    def of(cls, opening: Polygon) -> _Frame:
        ring = np.array(opening.minimum_rotated_rectangle.exterior.coords)[:4]
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

    def strip(self, middle: float, width: float, is_across: bool) -> BarStrip:
        low, high, far = middle - width / 2, middle + width / 2, _BEYOND
        if is_across:
            corners = (self.at(low, -far), self.at(high, -far), self.at(high, self.depth + far), self.at(low, self.depth + far))
            return BarStrip(self.at(middle, -far), self.at(middle, self.depth + far), polygon_chain(corners))
        corners = (self.at(-far, low), self.at(self.length + far, low), self.at(self.length + far, high), self.at(-far, high))
        return BarStrip(self.at(-far, middle), self.at(self.length + far, middle), polygon_chain(corners))


def _point(xy: np.ndarray) -> Point:
    return float(xy[0]), float(xy[1])
