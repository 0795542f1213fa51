"""What is sunk into the cover's outside: the arrow of the air, part number and revision, the bolts' torque, the one-way mark.

Words: the *outside* is the face on the bed, read from below; *free* is what of it bears nothing and opens nowhere.
The arrow points at the opening the air goes in by.  Texts are made smaller until they find room; what finds none is left out
and said so.
Limits: strokes are sunk TEXT_DEPTH, two usual layers, which the bridges over them span.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from afterpart.geometry.chain import chain_polygon, polygon_chain
from afterpart.model.edges import Note
from afterpart.model.feature import Chain
from afterpart.model.piece import Cut, Deboss, Lettering, Prism, Step
from afterpart.parts.face_room import Surroundings
from afterpart.parts.text_places import CLEAR, best_place, place_line, text_box
from afterpart.solid.lettering import plain_text
from afterpart.words import tell

TEXT_DEPTH = 0.4
"""Two usual layers, mm."""

SMALLEST_TEXT = 2.5
"""Capitals lower than this do not print, mm."""

ARROW = ((-7.0, -0.8), (1.5, -0.8), (1.5, -2.8), (7.0, 0.0), (1.5, 2.8), (1.5, 0.8), (-7.0, 0.8))
"""The arrow's corners, tip to the right, its middle at the origin, mm: drawn here."""

ARROW_REACH = 7.0
"""From the arrow's middle to its tip, mm."""

ARROW_SIZES = (1.0, 0.75, 0.55)
MIDDLE_WEIGHT = 0.3
"""How much nearer to the inlet outweighs standing opposite its middle."""

_GRID = 1.5


@dataclass(frozen=True)
class OutsideText:
    """steps: that sink arrow and texts; texts: the lines that found room; notes: what did not, and why."""

    steps: tuple[Step, ...]
    texts: tuple[Lettering, ...]
    notes: tuple[Note, ...]


def free_outside(around: Surroundings, heads: tuple[Chain, ...], chamfer: float) -> BaseGeometry:
    """What of the outside face is plain: no edge, chamfer, opening, entry, head, washer or seat.  Texts keep CLEAR inside it.

    heads: what heads, washers and the mouths of their seats take up.
    """
    edge = chain_polygon(around.edge).buffer(-chamfer)
    holes = [chain_polygon(chain) for _, chain in around.openings]
    holes += [chain_polygon(around.entry)] if around.entry is not None else []
    holes += [chain_polygon(head) for head in heads]
    return edge.difference(shapely.unary_union([g.buffer(chamfer) for g in holes]))


def sink_text(lines: tuple[str, ...], height: float, free: BaseGeometry, area: Chain, inlet: Chain | None,
              top: str = "") -> OutsideText:
    """The lines, and an arrow towards the inlet where one is given, each clear of what is placed before it.

    height: of the capitals, as wished; they are made smaller down to SMALLEST_TEXT where there is no room.  top: a word for
    the upper side, as the outside is read.
    """
    steps: list[Step] = []
    notes: list[Note] = []
    if inlet is not None:
        arrow = _place_arrow(free, chain_polygon(inlet))
        if arrow is None:
            notes.append(Note("no_room_for_arrow", tell("No room on the outside for the arrow of the air.")))
        else:
            steps.append(Cut((Prism(polygon_chain(list(arrow.exterior.coords)), (), -TEXT_DEPTH, TEXT_DEPTH),)))
            free = free.difference(arrow)
    texts: list[Lettering] = []
    heights = tuple(h for h in (height, 0.8 * height, 0.65 * height, SMALLEST_TEXT) if SMALLEST_TEXT <= h <= height) or (height,)
    hull = chain_polygon(area)
    for place, line in ((_place_on_top, plain_text(top)), *((place_line, plain_text(line)) for line in lines)):
        if not line:
            continue
        text = place(line, hull, free, hull, heights)
        if text is None:
            notes.append(Note("no_room_for_text", tell("No room on the outside for {line!r}; write it on by hand.", line=line)))
            continue
        texts.append(text)
        free = free.difference(text_box(text))
    if texts:
        steps.append(Deboss(tuple(texts), 0.0, TEXT_DEPTH, from_below=True))
    return OutsideText(tuple(steps), tuple(texts), tuple(notes))


def _place_on_top(text: str, area: Polygon, free: BaseGeometry, kept: BaseGeometry, heights: tuple[float, ...]
                  ) -> Lettering | None:
    """The word lying as far up as there is room when the outside is read (lowest y seen from above), near the middle."""
    x0, y0, x1, y1 = area.bounds
    spots = [(float(x), float(y)) for y in np.arange(y0, y1, 1.0) for x in sorted(np.arange(x0, x1, 1.0),
                                                                               key=lambda x: abs(x - (x0 + x1) / 2))]
    for height in heights:
        found = best_place([Lettering(text, spot, height, 0.0) for spot in spots], free, kept)
        if found is not None:
            return found
    return None


def _place_arrow(free: BaseGeometry, inlet: Polygon) -> Polygon | None:
    """The arrow inside `free`, near to the inlet and its middle, pointing at it; the largest size that finds room."""
    x0, y0, x1, y1 = free.bounds if not free.is_empty else (0.0, 0.0, 0.0, 0.0)
    spots = [(float(x), float(y)) for x in np.arange(x0, x1, _GRID) for y in np.arange(y0, y1, _GRID)]
    points = shapely.points(np.array(spots).reshape(-1, 2))
    away = shapely.distance(points, inlet)
    inside = shapely.contains(inlet, points)
    middle = np.array([inlet.centroid.x, inlet.centroid.y])
    off_middle = np.abs(np.array(spots).reshape(-1, 2) - middle).min(axis=1)
    cost = np.round(away + MIDDLE_WEIGHT * off_middle, 3)
    order = [i for i in np.lexsort((np.arange(len(spots)), cost)) if not inside[i]]
    shapely.prepare(free)
    for size in ARROW_SIZES:
        for i in order:
            arrow = _arrow_at(spots[i], inlet, size) if away[i] > ARROW_REACH * size and free.contains(points[i]) else None
            if arrow is not None and free.contains(arrow.buffer(CLEAR)):
                return arrow
    return None


def _arrow_at(spot: tuple[float, float], inlet: Polygon, size: float) -> Polygon | None:
    """The arrow at the spot, along x or y where the nearest of the inlet lies that way within 10 degrees."""
    nearest = inlet.exterior.interpolate(inlet.exterior.project(shapely.Point(spot)))
    angle_deg = math.degrees(math.atan2(nearest.y - spot[1], nearest.x - spot[0]))
    straight = 90.0 * round(angle_deg / 90.0)
    if abs(angle_deg - straight) > 10.0:
        return None
    shape = affinity.scale(Polygon(ARROW), size, size, origin=(0, 0))
    return affinity.translate(affinity.rotate(shape, straight, origin=(0, 0)), *spot)
