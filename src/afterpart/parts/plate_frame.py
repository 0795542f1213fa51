"""Windows that turn a check plate into a frame: a band along the rim, islands round the openings, webs between them.

What is judged by the plate (rim and openings) keeps a band of material; the rest is left out to save print time.
Words: *band* the width kept along the outer rim; *island* the material round an opening; *web* a strip that ties an island to
the band; *window* a part left out.  Windows never reach the rim or an opening, so their corners need no accuracy.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points, unary_union

WEB = 4.5
"""Width of a web."""
ISLAND = 3.2
"""Width of material kept round an opening."""
LEAST_WINDOW_MM2 = 60.0
CORNER = 2.0
"""Rounding of a window's corners."""
LONGEST_WINDOW = 95.0
"""A longer window gets a web across, or the band beside it would bend in the hand."""
_SIMPLER = 0.05


def windows(area: BaseGeometry, band: float, pads: BaseGeometry) -> list[Polygon]:
    """What can be left out of what one piece covers (its rim, cut faces included, keeps the band); `pads` must stay besides.

    What is left hangs together as well as the area did.  Empty when no window is worth it.
    """
    return [window for region in polygons_of(area) for window in _windows(region, band, pads)]


def _windows(region: Polygon, band: float, pads: BaseGeometry) -> list[Polygon]:
    kept = unary_union([region.exterior.buffer(band), *(Polygon(r).buffer(ISLAND) for r in region.interiors), pads])
    kept = kept.intersection(region)
    kept = _tied(region, kept)
    for _ in range(12):
        found = _openings(region.difference(kept))
        long = next((w for w in found if max(_size(w)) > LONGEST_WINDOW), None)
        if long is None:
            return found
        kept = unary_union([kept, _web_across(long).intersection(region)])
    return found


def _openings(rest: BaseGeometry) -> list[Polygon]:
    rounded = rest.buffer(-CORNER).buffer(CORNER - 0.01, quad_segs=4).simplify(_SIMPLER)
    return sorted((p for p in polygons_of(rounded) if p.area >= LEAST_WINDOW_MM2 and p.is_valid), key=lambda p: p.bounds)


def _tied(region: Polygon, kept: BaseGeometry) -> BaseGeometry:
    """Join everything kept into one piece by webs."""
    for _ in range(200):
        pieces = polygons_of(kept)
        if len(pieces) == 1:
            return kept
        main = max(pieces, key=lambda p: Polygon(p.exterior).area)
        island = min((p for p in pieces if p is not main), key=lambda p: (p.distance(main), p.bounds))
        webs = _webs(region, island, unary_union([p for p in pieces if p is not island]))
        if not webs:
            # Nothing straight leads out: the shortest way from island to band, as far as the region allows.
            webs = [LineString(nearest_points(island, main)).buffer(WEB)]
        joined = unary_union([kept, *(w.intersection(region) for w in webs)])
        if len(polygons_of(joined)) >= len(pieces):
            return region
        kept = joined
    return region


def _webs(region: Polygon, island: Polygon, others: BaseGeometry) -> list[Polygon]:
    """Two to four straight webs, the shortest ones that leave in clearly different directions."""
    size = max(_size(island))
    wanted, apart_deg = (2, 75.0) if size < 20 else (3, 60.0) if size < 45 else (4, 50.0)
    filled = Polygon(island.exterior)
    middle = filled.centroid if filled.contains(filled.centroid) else filled.representative_point()
    reach = math.hypot(region.bounds[2] - region.bounds[0], region.bounds[3] - region.bounds[1])
    ways = []
    for direction_deg in range(0, 360, 10):
        angle_rad = math.radians(direction_deg)
        ray = LineString([middle, (middle.x + reach * math.cos(angle_rad), middle.y + reach * math.sin(angle_rad))])
        hit = ray.intersection(others)
        if hit.is_empty:
            continue
        way = LineString([middle, ray.interpolate(middle.distance(hit) + 1.0)]).difference(filled.buffer(-1.0))
        if way.geom_type == "LineString" and way.length > 0 and region.contains(way):
            ways.append((way.length, direction_deg, way))
    chosen: list[tuple[float, int, LineString]] = []
    for way in sorted(ways, key=lambda w: (round(w[0], 3), w[1])):
        turns = [abs((way[1] - c[1] + 180) % 360 - 180) for c in chosen]
        if len(chosen) < wanted and all(t >= apart_deg for t in turns):
            chosen.append(way)
    return [way.buffer(WEB / 2, cap_style="flat") for _, _, way in chosen]


def _web_across(window: Polygon) -> Polygon:
    x0, y0, x1, y1 = window.bounds
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    line = [(x, y0 - 1), (x, y1 + 1)] if x1 - x0 >= y1 - y0 else [(x0 - 1, y), (x1 + 1, y)]
    return LineString(line).buffer(WEB / 2, cap_style="flat").intersection(window.buffer(2 * CORNER))


def _size(polygon: Polygon) -> tuple[float, float]:
    x0, y0, x1, y1 = polygon.bounds
    return (x1 - x0, y1 - y0)


def polygons_of(shape: BaseGeometry) -> list[Polygon]:
    """The polygons in a shape, lines and points left aside."""
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    if isinstance(shape, MultiPolygon):
        return list(shape.geoms)
    return [p for g in getattr(shape, "geoms", []) for p in polygons_of(g)]
