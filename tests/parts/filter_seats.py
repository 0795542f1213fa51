"""Invented filter seats with known answers."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon

from afterpart.geometry.chain import polygon_chain
from afterpart.model.feature import Seat
from afterpart.model.outline import Point

BOSS = 8.0
WIDTH, HEIGHT = 100.0, 60.0
CORNERS: tuple[Point, ...] = ((0.0, 0.0), (WIDTH, 0.0), (WIDTH, HEIGHT), (0.0, HEIGHT))


def seat_of(region: Polygon, rim: float = 5.0) -> Seat:
    """A seat with this free region; pocket and opening are not looked at by what is tested with it."""
    points = tuple((float(x), float(y)) for x, y in region.exterior.coords[:-1])
    chain = polygon_chain(points)
    return Seat(chain, 3.0, chain, points, (), BOSS, rim, 3.0)


def box_with_bosses(count: int, radius: float = BOSS) -> Seat:
    """A rectangle of 100 x 60 with quarter discs out of its first `count` corners."""
    region = shapely.box(0.0, 0.0, WIDTH, HEIGHT)
    for corner in CORNERS[:count]:
        region = region.difference(shapely.Point(corner).buffer(radius, quad_segs=16))
    return seat_of(region)


def box_with_slanted_corner(leg: float = 20.0) -> Seat:
    """A rectangle of 100 x 60 with one corner missing at 45 degrees."""
    return seat_of(shapely.box(0.0, 0.0, WIDTH, HEIGHT).difference(Polygon([(WIDTH, HEIGHT), (WIDTH - leg, HEIGHT),
                                                                            (WIDTH, HEIGHT - leg)])))


def round_seat(radius: float = 40.0, count: int = 180) -> Seat:
    """A disc."""
    angle_rad = 2 * np.pi * np.arange(count) / count
    return seat_of(Polygon(np.column_stack([radius * np.cos(angle_rad), radius * np.sin(angle_rad)])))
