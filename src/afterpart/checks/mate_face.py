"""The cover's face as a mate is laid on it: from the drawing alone, or from the cover as built.

Conventions: mm; drawing frame.  A bolt is taken at its thread's nominal diameter.
Limits: from the drawing, lips are not known (no photograph from above shows them as loops).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.checks.fit_contacts import Spot, cover_of, meeting_walls, spots
from afterpart.geometry.matching import own_uncertainties
from afterpart.model.case import Case
from afterpart.model.edges import TWO_WALLS
from afterpart.model.feature import Chain, Groove, Hole, Opening
from afterpart.model.outline import Circle, Loop, Outline, Point
from afterpart.model.wishes import BoltWish
from afterpart.standards.clearance_holes import CLEARANCE_HOLES, ClearanceHole, likely_screws

SUITS = 0.3
"""How far a hole may be from the table's for its thread, mm: moulding tolerance and the photograph's error together."""


@dataclass(frozen=True)
class FaceHole:
    """gap: radial room of the bolt as drawn, None where no bolt is known; u: standard uncertainty of its place in the drawing."""

    id: str
    at: Point
    diameter: float
    bolt: float | None
    gap: float | None
    u: float


@dataclass(frozen=True)
class Face:
    """of: "drawing" or "cover"; outer: its edge; openings: those that are no round holes; seal: outer and inner wall of the
    channel or groove, () without one; walls: chains of lips and inner edges that meet the mate, by name; spots: their places."""

    of: str
    holes: tuple[FaceHole, ...]
    outer: Chain
    openings: tuple[tuple[str, Chain], ...]
    seal: tuple[Chain, ...]
    walls: tuple[tuple[str, Chain], ...] = ()
    spots: tuple[Spot, ...] = ()


def face_of_drawing(outline: Outline, bolts: BoltWish | None, part: int = 1) -> Face:
    """The design loops of one part; its bolts by the thread told, else by the one clearance hole (ISO 273) that each suits."""
    loops = [loop for loop in outline.design if loop.part == part]
    circles = round_holes(loops)
    known = place_uncertainties(outline, tuple(c.id for c in circles))
    free = set(outline.free)
    holes = []
    for circle, u in zip(circles, known, strict=True):
        row = _thread(2.0 * circle.radius, bolts, circle.id)
        bolt = row.nominal if row else None
        gap = None if bolt is None else circle.radius - bolt / 2.0
        holes.append(FaceHole(circle.id, circle.center, 2.0 * circle.radius, bolt, gap, float(u) if circle.id in free else 0.0))
    walls = {loop.wall: loop.segments for loop in loops if loop.wall in TWO_WALLS}
    seal = (walls["outer"], walls["inner"]) if set(walls) == set(TWO_WALLS) else ()
    return Face("drawing", tuple(holes), outer_of(loops), shaped_openings(loops), seal)


def face_of_cover(case: Case) -> Face | None:
    """The cover as built; None when the build has none."""
    cover = cover_of(case)
    if cover is None:
        return None
    places = spots(case)
    gaps = {spot.name: spot.gap for spot in places if spot.normal is None and not spot.size}
    nominal = {row.size: row.nominal for row in CLEARANCE_HOLES}
    u = {hole.id: hole.u for hole in face_of_drawing(case.outline, case.job.wishes.bolts).holes}
    holes = tuple(FaceHole(h.id, h.center, h.diameter, nominal.get(h.screw), gaps.get(h.id), u.get(h.id, 0.0))
                  for h in cover.features if isinstance(h, Hole) and h.purpose == "bolt")
    openings = tuple((f.id, f.chain) for f in cover.features if isinstance(f, Opening) and not isinstance(f.chain[0], Circle))
    seal = next(((f.outer, f.inner) for f in cover.features if isinstance(f, Groove)), ())
    outer = outer_of([loop for loop in case.outline.design if loop.part == 1])
    return Face("cover", holes, outer, openings, seal, meeting_walls(case),
                tuple(spot for spot in places if spot.normal is not None))


def outer_of(loops: list[Loop]) -> Chain:
    """The chain of the outer loop."""
    return next(loop.segments for loop in loops if loop.role == "outer")


def round_holes(loops: list[Loop]) -> tuple[Circle, ...]:
    """The openings that are whole circles, in the drawing's order."""
    found = [loop.segments[0] for loop in loops if loop.role == "opening"]
    return tuple(segment for segment in found if isinstance(segment, Circle))


def shaped_openings(loops: list[Loop]) -> tuple[tuple[str, Chain], ...]:
    """The openings that are no circles, by the id of their first segment."""
    return tuple((loop.segments[0].id, loop.segments) for loop in loops
                 if loop.role == "opening" and not isinstance(loop.segments[0], Circle))


def place_uncertainties(outline: Outline, ids: tuple[str, ...]) -> np.ndarray:
    """Standard uncertainty of the places of these circles, each direction, without what their picture's scale adds to all of
    them, mm: from their distances (own_uncertainties), else as for the drawing's widths."""
    scale = outline.reference.relative_u
    ends, rest = [], []
    for d in outline.dimensions:
        if d.kind == "distance" and len(d.of) == 2 and set(d.of) <= set(ids):
            ends.append((ids.index(d.of[0]), ids.index(d.of[1])))
            rest.append(math.sqrt(max(d.u ** 2 - (scale * d.measured) ** 2, 0.0)))
    return own_uncertainties(len(ids), ends, rest) if ends else np.full(len(ids), edge_uncertainty(outline))


def edge_uncertainty(outline: Outline) -> float:
    """Standard uncertainty of a place of the outline's edges, each direction, without its scale, mm: from its widths, else from
    all that is known of its lengths."""
    scale = outline.reference.relative_u
    rest = {d.id: math.sqrt(max(d.u ** 2 - (scale * d.measured) ** 2, 0.0) / 2.0) for d in outline.dimensions
            if d.kind not in ("angle", "radius", "diameter")}
    wide = [rest[d.id] for d in outline.dimensions if d.kind == "width"] or list(rest.values())
    return math.sqrt(float(np.mean(np.square(wide)))) if wide else 0.0


def _thread(diameter: float, bolts: BoltWish | None, hole: str) -> ClearanceHole | None:
    """What goes through a hole of the drawing; None where that is not known."""
    if bolts is not None:
        row = next((row for row in CLEARANCE_HOLES if row.size == bolts.thread), None)
        if row is None or (bolts.holes and hole not in bolts.holes):
            return None
        return row if any(abs(size - diameter) <= SUITS for size in (row.fine, row.medium, row.coarse)) else None
    sizes = {words.split()[0] for words in likely_screws(diameter)}
    return next((row for row in CLEARANCE_HOLES if sizes == {row.size}), None)
