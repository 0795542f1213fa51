"""Marks on a check plate: tick scales along two edges, a number beside each opening, name and revision.

Words: a *tick* is a shallow groove that runs in from the rim; a *scale* is a row of ticks at whole millimetres of the drawing's
frame, every fifth and tenth longer, the one at zero longest.  A tick leaves the rim whole below its floor, so the rim can still
be felt and compared.
Limits: ticks stand only where the rim runs within 30 degrees of the scale's direction; marks keep clear of each other, of
openings and of cuts; a text that finds no room is made smaller, then left out and said so.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from afterpart.model.piece import Lettering
from afterpart.parts.text_places import CLEAR, best_place
from afterpart.solid.lettering import text_width
from afterpart.words import entry

TICK_WIDTH = 0.5
TICK_LENGTHS = ((0, 5.2), (10, 4.2), (5, 3.2), (1, 2.2))
"""Every so many mm: how far the tick runs in; 0 stands for the frame's zero."""
_STEEPEST_DEG = 30.0
_OVERHANG = 0.3
"""How far a tick's tool reaches out beyond the rim."""


@dataclass(frozen=True)
class Scale:
    """One scale: which rim it runs along, and its ticks as polygons that reach out over the rim.  at: whole mm of each tick."""

    side: str
    ticks: tuple[Polygon, ...]
    at: tuple[int, ...]


def two_scales(region: Polygon, blocked: BaseGeometry) -> tuple[Scale, Scale]:
    """The scale along x on the lower or upper rim, and the one along y on the left or right rim: where more ticks find room.

    blocked: where no tick may lie, besides openings.
    """
    openings = shapely.unary_union([Polygon(r) for r in region.interiors]).buffer(CLEAR)
    forbidden = shapely.unary_union([openings, blocked])
    pairs = ((entry("lower"), entry("upper")), (entry("left"), entry("right")))
    first, second = (max((_scale(region, forbidden, side) for side in pair), key=lambda s: len(s.ticks)) for pair in pairs)
    return first, second


def _scale(region: Polygon, forbidden: BaseGeometry, side: str) -> Scale:
    along = 0 if side in ("lower", "upper") else 1
    inward = 1.0 if side in ("lower", "left") else -1.0
    hull = Polygon(region.exterior)
    low, high = hull.bounds[along], hull.bounds[along + 2]
    shapely.prepare(forbidden)
    ticks, places = [], []
    for mm in range(math.ceil(low + 0.5), math.floor(high - 0.5) + 1):
        edge = [_rim_at(hull, mm + d, along, inward) for d in (-0.25, 0.0, 0.25)]
        if None in edge or abs(edge[2] - edge[0]) > 0.5 * math.tan(math.radians(_STEEPEST_DEG)):
            continue
        length = next(n for every, n in TICK_LENGTHS if (mm == 0 if every == 0 else mm % every == 0))
        ends = (edge[1] - inward * (_OVERHANG + abs(edge[2] - edge[0])), edge[1] + inward * length)
        half = TICK_WIDTH / 2
        tick = box(mm - half, min(ends), mm + half, max(ends)) if along == 0 else box(min(ends), mm - half, max(ends), mm + half)
        # Beyond the rim the tool is in the air; inside, the floor must be whole.
        if not forbidden.intersects(tick) and tick.intersection(hull).area > 0.85 * TICK_WIDTH * length:
            ticks.append(tick)
            places.append(mm)
    return Scale(side, tuple(ticks), tuple(places))


def _rim_at(hull: Polygon, value: float, along: int, inward: float) -> float | None:
    x0, y0, x1, y1 = hull.bounds
    line = LineString([(value, y0 - 1), (value, y1 + 1)] if along == 0 else [(x0 - 1, value), (x1 + 1, value)])
    hit = hull.intersection(line)
    if hit.is_empty:
        return None
    return float(hit.bounds[1 - along] if inward > 0 else hit.bounds[3 - along])


def place_number(
    number: int, opening: Polygon, free: BaseGeometry, kept: BaseGeometry, heights: tuple[float, ...] = (3.6, 3.0, 2.5)
) -> Lettering | None:
    """The number beside an opening, inside `free`, where it needs least material beyond `kept`; None: no room."""
    for height in heights:
        half = math.hypot(text_width(str(number), height), height) / 2
        for gap in (CLEAR, 2.0, 4.0):
            ring = opening.buffer(gap + half).exterior
            count = max(16, int(ring.length / 2))
            spots = [ring.interpolate(i / count, normalized=True) for i in range(count)]
            found = best_place([Lettering(str(number), (p.x, p.y), height, 0.0) for p in spots], free, kept)
            if found is not None:
                return found
    return None
