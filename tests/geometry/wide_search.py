"""How much more a much wider search finds than geometry/inscribed.py, on odd regions.

Run: python -m tests.geometry.wide_search [-n REGIONS] [-f FIRST] [--starts STARTS]; prints one JSON line.
Words: an *odd region* is drawn by chance from a seed: a star of uneven points, a plate with discs bitten out of its edge, or
boxes at any angle joined and taken away; the *wide search* grows many small shapes, each at a place, angle and with cuts of its
own by chance, for every number of cuts and sides; the *shortfall* of a region is the largest share by which any of its answers
is smaller than the wide search's.
Limits: both searches climb by the same steps (ascent.py, settling.py): what is told apart is where they begin.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import argparse
import json
import math
import time
from itertools import combinations

import numpy as np
import shapely
from shapely import Polygon, box
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from afterpart.geometry.ascent import Pace, Shape, climb
from afterpart.geometry.cut_shapes import CutRectangle, FreePolygon
from afterpart.geometry.inscribed import Inscribed, largest_shapes
from afterpart.geometry.room import Room, drawn_inside, make_room, shape_area
from afterpart.geometry.settling import settle

STARTS, SETTLED = 40, 8
"""Starts of the wide search for each number of cuts or sides, and how many of them are grown to the end."""

PACE = Pace(steps=10, least_reach=1e-3, least_gain=1e-3)


def odd_region(seed: int) -> np.ndarray:
    """Corners (n, 2) of one region of area 10 000."""
    rng = np.random.default_rng(seed)
    drawn = (_star, _bitten, _boxes)[int(rng.integers(3))](rng)
    whole = rotate(_largest(drawn.buffer(0)), float(rng.uniform(0, 180)))
    return np.asarray(whole.exterior.coords)[:-1] * (100.0 / math.sqrt(Polygon(whole.exterior).area))


def _star(rng: np.random.Generator) -> BaseGeometry:
    count = int(rng.integers(6, 12))
    angle_rad = np.sort((np.arange(count) + rng.uniform(-0.35, 0.35, count)) * math.tau / count)
    reach = rng.uniform(0.45, 1.0, count)
    return Polygon(np.column_stack([reach * np.cos(angle_rad) * rng.uniform(1, 2), reach * np.sin(angle_rad)]))


def _bitten(rng: np.random.Generator) -> BaseGeometry:
    plate: BaseGeometry = box(0, 0, rng.uniform(1, 2), 1)
    for _ in range(int(rng.integers(2, 7))):
        at = _largest(plate).exterior.interpolate(rng.uniform(0, 1), normalized=True)
        plate = _largest(plate.difference(at.buffer(rng.uniform(0.08, 0.35), quad_segs=8)))
    return plate


def _boxes(rng: np.random.Generator) -> BaseGeometry:
    whole: BaseGeometry = box(0, 0, 1, 1)
    for _ in range(3):
        (x, y), (w, h) = rng.uniform(-0.2, 1.2, 2), rng.uniform(0.2, 0.8, 2)
        other = rotate(box(x - w, y - h, x + w, y + h), float(rng.uniform(0, 90)))
        joined = whole.union(other) if rng.random() < 0.6 else whole.difference(other)
        whole = whole if joined.area < 0.2 else _largest(joined)
    return whole


def _largest(shape: BaseGeometry) -> Polygon:
    parts = [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, Polygon)]
    return max(parts, key=lambda part: (part.area, part.bounds))


def wide_areas(region: np.ndarray, seed: int, starts: int = STARTS) -> dict[str, float]:
    """The largest area the wide search finds for each number of cuts (c1 to c4) and of sides (k5 to k8)."""
    rng, room = np.random.default_rng(seed), make_room(region)
    found = {f"c{cuts}": _best(room, [_cut_box(room, rng, cuts) for _ in range(starts)]) for cuts in range(1, 5)}
    found |= {f"k{sides}": _best(room, [_regular(room, rng, sides) for _ in range(starts)]) for sides in range(5, 9)}
    return {name: area * room.size ** 2 for name, area in found.items()}


def _place(room: Room, rng: np.random.Generator) -> np.ndarray:
    x0, y0, x1, y1 = room.polygon.bounds
    while True:
        at = rng.uniform((x0, y0), (x1, y1))
        if room.polygon.contains(shapely.Point(at)):
            return np.asarray(at)


def _cut_box(room: Room, rng: np.random.Generator, cuts: int) -> tuple[Shape, np.ndarray]:
    angle_rad = float(rng.uniform(0, math.pi / 2))
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    x, y = np.array([[c, s], [-s, c]]) @ _place(room, rng)
    w, h = rng.uniform(0.05, 0.3, 2)
    corners = list(combinations(range(4), cuts))
    shape = CutRectangle(corners[int(rng.integers(len(corners)))])
    return shape, np.concatenate([[angle_rad, x - w, x + w, y - h, y + h], rng.uniform(0.1, 0.9, 2 * cuts) * min(w, h)])


def _regular(room: Room, rng: np.random.Generator, sides: int) -> tuple[Shape, np.ndarray]:
    angle_rad = rng.uniform(0, math.tau) + math.tau * np.arange(sides) / sides
    ring = _place(room, rng) + rng.uniform(0.05, 0.2) * np.column_stack([np.cos(angle_rad), np.sin(angle_rad)])
    return FreePolygon(sides), ring.ravel()


def _best(room: Room, starts: list[tuple[Shape, np.ndarray]]) -> float:
    grown = [(shape, climb(room, shape, p, PACE)) for shape, p in starts]
    grown.sort(key=lambda one: -shape_area(one[0].corners(one[1])))
    areas = [0.0]
    for shape, p in grown[:SETTLED]:
        drawn = drawn_inside(room, shape.corners(settle(room, shape, p)))
        areas.append(0.0 if drawn is None else shape_area(drawn))
    return max(areas)


def areas_of(found: Inscribed) -> dict[str, float]:
    """The search's own areas under the names of wide_areas."""
    return {**{f"c{i}": shape_area(corners) for i, corners in enumerate(found.cut_rectangles) if i},
            **{f"k{sides}": shape_area(corners) for sides, corners in found.polygons.items()}}


def shortfalls(region: np.ndarray, seed: int, starts: int = STARTS) -> dict[str, float]:
    """By what share each answer is smaller than what the wide search finds; below 0 where it is larger."""
    own = areas_of(largest_shapes(region))
    return {name: area / own[name] - 1.0 for name, area in wide_areas(region, seed, starts).items()}


def main() -> None:
    """Hold one search against the other, and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("-n", type=int, default=200)
    parser.add_argument("-f", type=int, default=0)
    parser.add_argument("--starts", type=int, default=STARTS)
    asked = parser.parse_args()
    rows, began = [], time.process_time()
    for seed in range(asked.f, asked.f + asked.n):
        found = shortfalls(odd_region(seed), seed, asked.starts)
        rows.append(found)
        worst = max(found, key=lambda name: found[name])
        print(f"{seed}: {found[worst]:+.4%} {worst}", flush=True)
    most = {name: max(row[name] for row in rows) for name in rows[0]}
    print(json.dumps({
        "regions": len(rows), "first": asked.f, "starts": asked.starts, "worst": {name: round(most[name], 6) for name in most},
        "regions_short_by_more_than_1e-3": sum(max(row.values()) > 1e-3 for row in rows),
        "answers_larger_than_the_wide_search's": sum(value < -1e-3 for row in rows for value in row.values()),
        "work_s": round(time.process_time() - began, 1)}))


if __name__ == "__main__":
    main()
