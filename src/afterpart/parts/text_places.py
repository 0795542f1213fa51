"""Places for texts on a plane region: inside what is free, at the least cost, as large as there is room for.

Words: a *text box* is the rectangle a text takes up; *free* is where texts may lie; *kept* is where material stays anyway.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from afterpart.model.outline import Point
from afterpart.model.piece import Lettering
from afterpart.solid.lettering import text_width

CLEAR = 0.8
"""Between marks, and between a mark and an edge."""


def text_box(text: Lettering, clear: float = 0.0) -> Polygon:
    """The rectangle a text takes up, `clear` added all round (letters that hang below the line included in it at 1)."""
    width, height = text_width(text.text, text.height) / 2 + clear, text.height / 2 + clear
    x, y = text.at
    return affinity.rotate(box(x - width, y - height, x + width, y + height), text.angle_deg, origin=(x, y))


def place_line(text: str, area: Polygon, free: BaseGeometry, kept: BaseGeometry, heights: tuple[float, ...]) -> Lettering | None:
    """A line of text lying or standing inside `free`, where it needs least material beyond `kept`; None: no room."""
    x0, y0, x1, y1 = area.bounds
    spots: list[Point] = [(float(x), float(y)) for x in np.arange(x0 + 1, x1, 2.0) for y in np.arange(y0 + 1, y1, 2.0)]
    for height in heights:
        found = best_place([Lettering(text, spot, height, angle) for angle in (0.0, 90.0) for spot in spots], free, kept)
        if found is not None:
            return found
    return None


def best_place(candidates: list[Lettering], free: BaseGeometry, kept: BaseGeometry) -> Lettering | None:
    """The first candidate inside `free` that needs no material beyond `kept`, else the one that needs least; None: none fits."""
    boxes = _text_boxes(candidates, CLEAR)
    shapely.prepare(free)
    fits = np.flatnonzero(shapely.contains_properly(free, boxes))
    if len(fits) == 0:
        return None
    shapely.prepare(kept)
    at_no_cost = fits[shapely.contains_properly(kept, boxes[fits])]
    if len(at_no_cost):
        return candidates[int(at_no_cost[0])]
    extra = shapely.area(shapely.difference(boxes[fits], kept))
    return candidates[int(fits[int(np.argmin(np.round(extra, 3)))])]


def _text_boxes(texts: list[Lettering], clear: float) -> np.ndarray:
    """text_box of many texts at once, (n,) polygons."""
    widths = {key: text_width(*key) for key in {(t.text, t.height) for t in texts}}
    half = np.array([(widths[t.text, t.height] / 2 + clear, t.height / 2 + clear) for t in texts])
    angle_rad = np.radians([t.angle_deg for t in texts])
    across = np.stack([np.cos(angle_rad), np.sin(angle_rad)], axis=1) * half[:, :1]
    up = np.stack([-np.sin(angle_rad), np.cos(angle_rad)], axis=1) * half[:, 1:]
    at = np.array([t.at for t in texts])
    corners = np.stack([at - across - up, at + across - up, at + across + up, at - across + up], axis=1)
    return shapely.polygons(corners)
