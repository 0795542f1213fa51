"""Invented lids with seal channels for tests: outlines as the photo stage would hand them on.

Coordinates in mm, x right, y up.  A channel's walls are exact parallels of the outer edge, the outer wall clockwise.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import math
from pathlib import Path

from afterpart.geometry.chain import reversed_chain
from afterpart.geometry.offset import offset_chain
from afterpart.model.feature import Hole
from afterpart.model.outline import Arc, Circle, Line, Loop, Outline, Segment
from tests.parts.drawings import hole, outline_of, rounded_rectangle


def with_channel(outline: Outline, inset: float, width: float, depth: float | None) -> Outline:
    """The outline with a channel `inset` inside its outer edge."""
    rim = next(loop for loop in outline.design if loop.role == "outer").segments
    outer, inner = offset_chain(rim, -inset)[0], offset_chain(rim, -inset - width)[0]
    walls = (Loop("channel", 1, reversed_chain(outer), "outer", depth), Loop("channel", 1, inner, "inner", depth))
    return outline_of((*outline.design, *walls))


def plain_lid(corner: float = 20.0, holes: tuple[tuple[float, float], ...] = ()) -> Outline:
    """140 x 100, four equal corners, holes of 5.5 mm for M5."""
    return outline_of((rounded_rectangle(-70, -50, 70, 50, corner, "outer", 1),
                       *(hole(f"c{k}", x, y, 5.5) for k, (x, y) in enumerate(holes, start=1))))


def pump_lid() -> Outline:
    """118 x 86, corners R 24, six holes of 5.5 mm, a channel 3.8 wide and 2.0 deep whose corners suit a 2.65 mm cord."""
    reach = 19 / math.sqrt(2)
    places = [(x, y) for x in (-35 - reach, 35 + reach) for y in (-19 - reach, 19 + reach)] + [(0.0, 38.0), (0.0, -38.0)]
    lid = outline_of((rounded_rectangle(-59, -43, 59, 43, 24, "outer", 1),
                      *(hole(f"c{k}", x, y, 5.5) for k, (x, y) in enumerate(places, start=1))))
    return with_channel(lid, 10.0, 3.8, 2.0)


def inlet_cover(example: Path) -> Outline:
    """The example's cover as it was invented: six holes of 6.6 mm, a window, a channel 3.6 wide with R 2 in its outer corners and
    sharp ones inside."""
    truth = json.loads((example / "inlet_cover_truth.json").read_text())
    loops = tuple(Loop("opening" if k else "outer", 1, _chain(chain, k)) for k, chain in enumerate(truth["loops"]))
    inset, width, depth = truth["grooves"][0]
    return with_channel(outline_of(loops), inset, width, depth)


def bolts_of(outline: Outline, screw: str, diameter: float, thickness: float = 6.0) -> tuple[Hole, ...]:
    """A bolt hole in every round opening."""
    circles = [s for loop in outline.design if loop.role == "opening" for s in loop.segments if isinstance(s, Circle)]
    return tuple(Hole(c.id, c.center, diameter, 0.0, thickness, "bolt", screw) for c in circles)


def _chain(entries: list[list], loop: int) -> tuple[Segment, ...]:
    found: list[Segment] = []
    for n, entry in enumerate(entries):
        name = f"s{loop}.{n}"
        if entry[0] == "circle":
            found.append(Circle(f"c{loop}", tuple(entry[1]), entry[2]))
        elif entry[0] == "line":
            found.append(Line(name, tuple(entry[1]), tuple(entry[2])))
        else:
            found.append(Arc(name, tuple(entry[1]), tuple(entry[2]), tuple(entry[3]), math.dist(entry[1], entry[3]), entry[4]))
    return tuple(found)
