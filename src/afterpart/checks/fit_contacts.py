"""Where a cover meets other people's machines: the places that can touch, and what locates.

Words: a *locator* is a feature whose role is to locate; a *place* is anything that can touch: each bolt in its hole, locating or
clearing, and each wall of a lip or of an edge that goes inside.
Conventions: mm; drawing frame.  Bolts are taken at their greatest size, the thread's nominal.
Limits: the cover alone (what holds it to its own other pieces is no matter of other machines); seals yield and are not counted.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.formulas.trial_sizes import is_settled
from afterpart.geometry.chain import chain_points, counter_clockwise, distance_to_chain
from afterpart.model.case import Case
from afterpart.model.feature import Chain, Hole, Lip, Opening, Sleeve
from afterpart.model.outline import Arc, Circle, Line, Point
from afterpart.model.piece import Add, Piece, Prism
from afterpart.standards.clearance_holes import clearance_hole
from afterpart.words import tell

ARC_STEP_DEG = 22.5
"""An arc of a wall is looked at this often: between, its room is told too large by 2 % at most."""


MEETING = ("bolt", "insert", "other")
"""Purposes of holes that may locate the cover on the machine; the others are for its own pieces."""


@dataclass(frozen=True)
class Spot:
    """A place of contact.  gap: as drawn; printed: a round hole of the print, so that undersize and printer act on its width;
    normal, group: as of a Contact; size: diameter of what a round lip meets, 0 for bolts, whose greatest size is taken; as_tried:
    a hole that stays as drawn where files for printing are corrected, because a bolt was tried in it."""

    name: str
    at: Point
    gap: float
    normal: Point | None = None
    group: str = ""
    printed: bool = False
    size: float = 0.0
    as_tried: bool = False


@dataclass(frozen=True)
class Locator:
    """holds: how many of the three freedoms in the plane; size: the width it spans, 0 for a hole; gap: room as drawn, None when
    not known what it meets."""

    name: str
    id: str
    at: Point
    holds: int
    gap: float | None
    size: float = 0.0
    printed: bool = False
    as_tried: bool = False


def cover_of(case: Case) -> Piece | None:
    """The piece that meets the machine."""
    return next((p for p in case.build.pieces if p.kind == "cover"), None)


def meets_machine(case: Case) -> bool:
    """Whether any bolt or wall of the machine can touch the cover."""
    cover = cover_of(case)
    return cover is not None and (any(isinstance(f, Hole) and f.purpose == "insert" for f in cover.features) or bool(spots(case)))


def spots(case: Case) -> tuple[Spot, ...]:
    """Every place where the cover may touch the machine or its bolts."""
    cover = cover_of(case)
    assert cover is not None
    sleeves = {f.of: f.inside for f in cover.features if isinstance(f, Sleeve)}
    found = []
    for hole in cover.features:
        if isinstance(hole, Hole) and hole.purpose == "bolt":
            wide = sleeves.get(hole.id, hole.diameter)
            found.append(Spot(hole.id, hole.center, (wide - clearance_hole(hole.screw).nominal) / 2, None, hole.id,
                              hole.id not in sleeves, as_tried=is_settled(hole.diameter, case.job.wishes)))
    for name, chain, clearance, outward in _walls(case, cover):
        found += _wall_spots(name, chain, clearance, outward)
    return tuple(found)


def meeting_walls(case: Case) -> tuple[tuple[str, Chain], ...]:
    """The walls of lips or of an inner edge that meet the machine: name as in their spots, and chain."""
    cover = cover_of(case)
    assert cover is not None
    return tuple((name, chain) for name, chain, _, _ in _walls(case, cover))


def locators(case: Case) -> tuple[Locator, ...]:
    """What locates, in the order of the cover's features."""
    cover = cover_of(case)
    assert cover is not None
    by_name = {s.name: s for s in spots(case)}
    found = []
    for f in cover.features:
        if isinstance(f, Hole) and f.role == "locates" and f.purpose in MEETING:
            spot = by_name.get(f.id)
            found.append(Locator(tell("hole {f_id}", f_id=f.id), f.id, f.center, 2, spot.gap if spot else None, 0.0,
                                 bool(spot and spot.printed), bool(spot and spot.as_tried)))
        elif isinstance(f, Opening) and f.role == "locates":
            found.append(Locator(tell("opening {f_id}", f_id=f.id), f.id, _middle(f.chain), _freedoms(f.chain), None,
                                 _span(f.chain)))
        elif isinstance(f, Lip) and f.role == "locates":
            chain = _meeting(case, f)
            found.append(Locator(tell("lip on {of}", of=f.of), "lip", _middle(chain), _freedoms(chain), f.clearance,
                                 _span(chain)))
    return tuple(found)


def longest(places: tuple[Spot, ...]) -> float:
    """Greatest distance of two places, or width of one."""
    at = np.array([s.at for s in places]).reshape(-1, 2)
    apart = float(np.hypot(*(at[:, None, :] - at[None, :, :]).transpose(2, 0, 1)).max(initial=0.0))
    return max(apart, *(s.size for s in places)) if places else 0.0


def _walls(case: Case, cover: Piece) -> list[tuple[str, Chain, float, bool]]:
    """Walls that meet the machine: name, chain, clearance, whether the machine lies outside of it."""
    lips = [f for f in cover.features if isinstance(f, Lip)]
    inside = case.job.wishes.cover is not None and case.job.wishes.cover.fit == "inside"
    found = [(tell("lip on {of}", of=f.of), _meeting(case, f), f.clearance, f.of != "outer" or inside) for f in lips]
    if inside and not any(f.of == "outer" for f in lips):
        edge = next(s.prisms[0].outer for s in cover.steps if isinstance(s, Add) and isinstance(s.prisms[0], Prism))
        old = next(loop.segments for loop in case.outline.design if loop.role == "outer")
        found.append((tell("edge"), edge, float(distance_to_chain(chain_points(edge), old).min()), True))
    return found


def _meeting(case: Case, lip: Lip) -> Chain:
    """The side of a lip that meets the machine: the inner one where it hangs outside of it."""
    inside = case.job.wishes.cover is not None and case.job.wishes.cover.fit == "inside"
    return lip.inner if lip.of == "outer" and not inside else lip.outer


def _wall_spots(name: str, chain: Chain, clearance: float, outward: bool) -> list[Spot]:
    """Ends of lines and points along arcs.  outward: the machine lies outside, so that it stops the part from going out, and its
    own features from coming in."""
    if isinstance(chain[0], Circle):
        return [Spot(name, chain[0].center, clearance, None, name, size=2.0 * chain[0].radius)]
    sign = -1.0 if outward else 1.0
    found = []
    for number, segment in enumerate(counter_clockwise(chain)):
        for at, normal in _normals(segment):
            found.append(Spot(name, at, clearance, (sign * normal[0], sign * normal[1]), f"{name} {number}"))
    return found


def _normals(segment: Line | Arc | Circle) -> list[tuple[Point, Point]]:
    """Points with the normals that look out of a counter-clockwise chain."""
    if isinstance(segment, Line):
        dx, dy = segment.end[0] - segment.start[0], segment.end[1] - segment.start[1]
        length = math.hypot(dx, dy)
        return [(p, (dy / length, -dx / length)) for p in (segment.start, segment.end)]
    assert isinstance(segment, Arc)
    cx, cy = segment.center
    first = math.atan2(segment.start[1] - cy, segment.start[0] - cx)
    last = math.atan2(segment.end[1] - cy, segment.end[0] - cx)
    sweep = (last - first) % math.tau if segment.ccw else -((first - last) % math.tau)
    count = max(math.ceil(abs(math.degrees(sweep)) / ARC_STEP_DEG), 1)
    out = 1.0 if segment.ccw else -1.0
    angles = [first + sweep * k / count for k in range(count + 1)]
    return [((cx + segment.radius * math.cos(a), cy + segment.radius * math.sin(a)), (out * math.cos(a), out * math.sin(a)))
            for a in angles]


def _middle(chain: Chain) -> Point:
    low, high = _box(chain)
    return (float(low[0] + high[0]) / 2, float(low[1] + high[1]) / 2)


def _span(chain: Chain) -> float:
    low, high = _box(chain)
    return float((high - low).max())


def _box(chain: Chain) -> tuple[np.ndarray, np.ndarray]:
    points = chain_points(chain)
    return points.min(axis=0), points.max(axis=0)


def _freedoms(chain: Chain) -> int:
    """2 for a circle (place), 1 for a slot (across it), 3 for anything else (place and direction)."""
    if isinstance(chain[0], Circle):
        return 2
    arcs = [s for s in chain if isinstance(s, Arc)]
    slot = len(chain) == 4 and len(arcs) == 2 and abs(arcs[0].radius - arcs[1].radius) < 1e-6
    return 1 if slot else 3
