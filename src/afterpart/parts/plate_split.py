"""Where a check plate larger than the bed is divided, and how its pieces key into each other.

Words: a *cut* is a straight line across the plate; a *key* is a dovetail tab of one piece in the socket of the next; a *cell*
is what one piece keeps of the plate.  The faces along the cut touch; the sockets are CLEARANCE wider all round than the tabs,
so the pieces drop together and the faces set the distance.
Limits: a cut that finds no room for a key is left plain, and is said so.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from shapely import affinity
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from afterpart.errors import JobError
from afterpart.model.outline import Point
from afterpart.words import tell

BED_MARGIN = 5.0
"""Kept free along each side of the bed (brim, clips)."""
CLEARANCE = 0.12
"""Gap between tab and socket, each side."""
KEY_LENGTH = 6.0
KEY_FLARE = 1.5
"""How much wider the tab's head is than its root, each side."""
KEY_ROOTS = (10.0, 7.0, 4.5)
"""Widths of the root tried in turn."""
KEY_WALL = 2.0
"""Material left round a socket."""
_NEAR_OPENING = 4.0
_MOST_PIECES = 36


@dataclass(frozen=True)
class Cell:
    """column, row from the lower left; keep: the polygons all of which the piece keeps; zone: near a cut, kept free of marks."""

    column: int
    row: int
    keep: tuple[tuple[Point, ...], ...]
    area: Polygon


@dataclass(frozen=True)
class Division:
    """cells: one or more; zone: surroundings of cuts and keys, where nothing else may be placed; pads: material keys need;
    plain_cuts: cuts without a key."""

    cells: tuple[Cell, ...]
    zone: BaseGeometry
    pads: BaseGeometry
    plain_cuts: int


def divide_for_bed(region: Polygon, bed: tuple[float, float]) -> Division:
    """Divide the region so that each piece, tabs included, fits the bed one way round or the other.

    JobError: the bed is too small (more than 36 pieces, or no room beside its margins).
    """
    across, along = _counts(region.bounds, bed)
    openings = [Polygon(ring) for ring in region.interiors]
    x_cuts = _cut_positions(region, openings, across, axis=0)
    y_cuts = _cut_positions(region, openings, along, axis=1)
    x_lines, y_lines = [_cut_line(region, x, 0) for x in x_cuts], [_cut_line(region, y, 1) for y in y_cuts]
    x_keys = [_keys_on_cut(_away_from(region, y_lines), x, 0) for x in x_cuts]
    y_keys = [_keys_on_cut(_away_from(region, x_lines), y, 1) for y in y_cuts]
    columns, rows = _strips(region, x_cuts, x_keys, 0), _strips(region, y_cuts, y_keys, 1)
    cells = []
    for row, lying in enumerate(rows):
        for column, standing in enumerate(columns):
            keep = tuple(_ring(s) for s, cuts in ((standing, x_cuts), (lying, y_cuts)) if cuts)
            area = standing.intersection(lying).intersection(region)
            if area.area > 1.0:
                cells.append(Cell(column, row, keep, area))
    keys = [key for cut in x_keys + y_keys for key in cut]
    zone = unary_union([line.buffer(1.5) for line in x_lines + y_lines] + [key.buffer(1.5) for key in keys])
    pads = unary_union([_pad(key, 0) for cut in x_keys for key in cut] + [_pad(key, 1) for cut in y_keys for key in cut])
    return Division(tuple(cells), zone, pads.intersection(region), sum(not k for k in x_keys + y_keys))


def _away_from(region: Polygon, lines: list[LineString]) -> BaseGeometry:
    return region.difference(unary_union([line.buffer(KEY_LENGTH + 3 * KEY_WALL) for line in lines])) if lines else region


def _pad(key: Polygon, axis: int) -> BaseGeometry:
    """Material that holds a tab on its own side of the cut and its socket on the other."""
    back = affinity.translate(key, -KEY_LENGTH if axis == 0 else 0.0, -KEY_LENGTH if axis == 1 else 0.0)
    return unary_union([key, back]).buffer(KEY_WALL + 0.5, join_style="mitre")


def _counts(bounds: tuple[float, float, float, float], bed: tuple[float, float]) -> tuple[int, int]:
    """Pieces across and along, for the turn of the bed that needs fewest."""
    size = (bounds[2] - bounds[0], bounds[3] - bounds[1])
    room = (bed[0] - 2 * BED_MARGIN, bed[1] - 2 * BED_MARGIN)
    if min(room) < 4 * KEY_LENGTH:
        raise JobError(tell("the bed of {bed:g} x {bed_2:g} mm leaves no room for a piece; give the printer's bed in mm, at "
                            "least {key_length:g} each way", bed=bed[0], bed_2=bed[1],
                            key_length=4 * KEY_LENGTH + 2 * BED_MARGIN))
    choices = []
    for turned in (room, room[::-1]):
        counts = [1 if size[i] <= turned[i] else math.ceil(size[i] / (turned[i] - KEY_LENGTH)) for i in (0, 1)]
        choices.append((counts[0] * counts[1], counts))
    total, counts = min(choices, key=lambda c: c[0])
    if total > _MOST_PIECES:
        raise JobError(tell("a plate of {size:.0f} x {size_2:.0f} mm on a bed of {bed:g} x {bed_2:g} mm makes {total} pieces; "
                            "give a larger bed (at most {most_pieces} pieces)", size=size[0], size_2=size[1], bed=bed[0],
                            bed_2=bed[1], total=total, most_pieces=_MOST_PIECES))
    return counts[0], counts[1]


def _cut_positions(region: Polygon, openings: list[Polygon], count: int, axis: int) -> list[float]:
    """Evenly spaced, moved up to a tenth of a piece where that keeps clear of openings."""
    low, high = region.bounds[axis], region.bounds[axis + 2]
    pitch = (high - low) / count
    positions = []
    for k in range(1, count):
        shifts = sorted(np.linspace(-0.1, 0.1, 41) * pitch, key=abs)
        costs = [_crossed(openings, low + k * pitch + s, region, axis) for s in shifts]
        positions.append(float(low + k * pitch + shifts[int(np.argmin(costs))]))
    return positions


def _crossed(openings: list[Polygon], value: float, region: Polygon, axis: int) -> float:
    line = _cut_line(region, value, axis)
    return sum(100.0 / (1.0 + o.area**0.5) + 1.0 for o in openings if line.distance(o) < _NEAR_OPENING)


def _cut_line(region: Polygon, value: float, axis: int) -> LineString:
    x0, y0, x1, y1 = region.bounds
    return LineString([(value, y0 - 1), (value, y1 + 1)] if axis == 0 else [(x0 - 1, value), (x1 + 1, value)])


def _keys_on_cut(region: BaseGeometry, value: float, axis: int) -> list[Polygon]:
    """Tabs pointing up the axis, wherever the cut crosses enough material: one, or two far apart on a long crossing."""
    if region.is_empty:
        return []
    x0, y0, x1, y1 = region.bounds
    line = LineString([(value, y0 - 1), (value, y1 + 1)] if axis == 0 else [(x0 - 1, value), (x1 + 1, value)])
    crossing = region.intersection(line)
    keys: list[Polygon] = []
    for piece in getattr(crossing, "geoms", [crossing]):
        if piece.is_empty or piece.length < KEY_ROOTS[-1] + 2 * KEY_WALL:
            continue
        start, end = (sorted(c[1 - axis] for c in piece.coords)[i] for i in (0, -1))
        wanted = (start + 14.0, end - 14.0) if end - start > 60 else ((start + end) / 2,)
        for place in wanted:
            shifts = sorted(np.arange(-12.0, 12.5, 1.0), key=abs)
            found = next(
                (
                    key
                    for root in KEY_ROOTS
                    for s in shifts
                    if (key := _key(value, place + s, root, axis)).buffer(KEY_WALL).within(region)
                    and all(key.distance(k) > 3 * KEY_WALL for k in keys)
                ),
                None,
            )
            if found is not None:
                keys.append(found)
    return keys


def _key(value: float, place: float, root: float, axis: int) -> Polygon:
    """A dovetail tab standing on the cut, its root 0.01 behind the line so that unions join."""
    half, head = root / 2, root / 2 + KEY_FLARE
    corners = [
        (value - 0.01, place - half),
        (value + KEY_LENGTH, place - head),
        (value + KEY_LENGTH, place + head),
        (value - 0.01, place + half),
    ]
    return Polygon(corners if axis == 0 else [(b, a) for a, b in corners])


def _strips(region: Polygon, cuts: list[float], keys: list[list[Polygon]], axis: int) -> list[Polygon]:
    """Between each two cuts: the strip with its tabs beyond the far cut, less the sockets of the near one."""
    x0, y0, x1, y1 = (v + d for v, d in zip(region.bounds, (-10, -10, 10, 10), strict=True))
    ends = [(x0, y0)[axis], *cuts, (x1, y1)[axis]]
    strips = []
    for i, (low, high) in enumerate(itertools.pairwise(ends)):
        strip: BaseGeometry = box(low, y0, high, y1) if axis == 0 else box(x0, low, x1, high)
        if i < len(cuts):
            strip = unary_union([strip, *keys[i]])
        if i > 0:
            strip = (
                strip.difference(unary_union([k.buffer(CLEARANCE, join_style="mitre") for k in keys[i - 1]]))
                if keys[i - 1]
                else strip
            )
        strips.append(strip)
    return strips


def _ring(polygon: Polygon) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in polygon.exterior.coords[:-1])
