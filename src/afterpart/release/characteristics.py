"""What is measured on the new piece: its characteristics, each with a number, a size, limits where they matter, and its place.

Words: a *characteristic* is one size of the piece with a number of its own; where it is a size of the old part too, its number is
that of the outline's dimension (d7: 7), so that photograph, drawing and inspection table agree; what the old part had not is
numbered on from there.
Conventions: mm; places on the plan are in the drawing's frame; places on the cut are (s, z) of the cut, filled in by its view.
Limits: equal radii of one loop share one balloon, the first one's number; lengths and angles that follow from the others have
none (the table of the outline's dimensions holds them).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from afterpart.geometry.segments import segment_middle, segments_box
from afterpart.model.feature import Groove, Hole, Lip, Opening, Seat
from afterpart.model.job import Job
from afterpart.model.outline import Arc, Circle, Dimension, Line, Outline, Point, Segment
from afterpart.model.piece import Add, Piece, Prism
from afterpart.model.wishes import LOCATES
from afterpart.release.limits import (
    SizeLimits,
    general_limits,
    groove_depth_limits,
    groove_width_limits,
    hole_limits,
    located_limits,
    position_tolerance,
)
from afterpart.release.words import word

PLAN, CUT, DETAIL, TABLE = "plan", "cut", "detail", "table"
_SAME = 0.005


@dataclass(frozen=True)
class Characteristic:
    """number: of its balloon; name: in words; sign: "Ø", "R", "4x R" or ""; limits: its own, None where the general tolerance
    rules; general: that one; view: plan | cut | detail | table (shown nowhere); key: what the section finds its place by; datum:
    letter or ""; old: id of the outline's dimension it continues, "" where the old part had none."""

    number: int
    name: str
    sign: str
    nominal: float
    limits: SizeLimits | None
    general: SizeLimits | None
    view: str
    at: Point = (0.0, 0.0)
    key: str = ""
    datum: str = ""
    old: str = ""
    is_free: bool = False
    reach: float = 0.0
    """Radius of a round hole about `at`."""
    edge_deg: float | None = None
    """Direction of the straight edge at `at`."""
    also: tuple[int, ...] = ()
    """Numbers of equal sizes that share its balloon."""

    @property
    def allowed(self) -> SizeLimits | None:
        """Its limits, or those of the general tolerance."""
        return self.limits or self.general


def number_of(dimension: Dimension, index: int) -> int:
    """The number in a dimension's id, or its place in the list where the id holds none."""
    found = re.search(r"\d+", dimension.id)
    return int(found.group()) if found else index


def characteristics(piece: Piece, outline: Outline, job: Job) -> tuple[Characteristic, ...]:
    """Every characteristic of a cover, bracket or plate, by number."""
    numbers = {d.id: number_of(d, i) for i, d in enumerate(outline.dimensions, 1)}
    fresh = itertools.count(max(numbers.values(), default=0) + 1)
    found = [*_holes(piece, outline, numbers), *_distances(piece, outline, numbers), *_overall(piece, outline, job, numbers),
             *_loops(piece, outline, numbers), *_heights(piece, job, outline, numbers)]
    return tuple(sorted((replace(c, number=c.number or next(fresh)) for c in found), key=lambda c: c.number))


def edge_of(piece: Piece) -> tuple[Segment, ...]:
    """The piece's outer edge: of the first body that its steps add.  ValueError: it has none."""
    return _first_body(piece).outer


def mating_face(piece: Piece) -> float:
    """Height of the mating face above the bed: lips and pins may stand higher.  ValueError: as edge_of."""
    return _first_body(piece).top


def _first_body(piece: Piece) -> Prism:
    for step in piece.steps:
        if isinstance(step, Add):
            for body in step.prisms:
                if isinstance(body, Prism):
                    return body
    raise ValueError(f"{piece.name}: no step adds a prism")


def bolt_holes(piece: Piece) -> tuple[Hole, ...]:
    """The holes that bolts go through, in the drawing's order."""
    return tuple(f for f in piece.features if isinstance(f, Hole) and f.purpose == "bolt")


def datum_letters(piece: Piece) -> dict[str, str]:
    """Letters of the datums in the plane, by hole: B holds the place, C the direction; A is the mating face."""
    locating = [h.id for h in bolt_holes(piece) if h.role == "locates"]
    return dict(zip(locating, "BC", strict=False))


def told_role(hole: Hole) -> str:
    """What a hole is for, in words."""
    through = hole.screw if hole.purpose == "bolt" else word("drawing", "small_screw")
    return word("drawing", f"role_{hole.role}", screw=through).strip()


def _holes(piece: Piece, outline: Outline, numbers: dict[str, int]) -> Iterator[Characteristic]:
    letters = datum_letters(piece)
    by_circle = {d.of[0]: d for d in outline.dimensions if d.kind == "diameter" and d.of}
    others: dict[float, list[Hole]] = {}
    for hole in (f for f in piece.features if isinstance(f, Hole)):
        old = by_circle.get(hole.id)
        if hole.purpose != "bolt" and old is None:
            others.setdefault(round(hole.diameter, 3), []).append(hole)
            continue
        yield Characteristic(numbers[old.id] if old else 0, told_role(hole), f"{hole.id} Ø", hole.diameter, hole_limits(hole),
                             None, PLAN, hole.center, datum=letters.get(hole.id, ""), old=old.id if old else "",
                             reach=hole.diameter / 2)
    for group in others.values():
        sign = f"{len(group)}x Ø" if len(group) > 1 else "Ø"
        yield Characteristic(0, group[0].id if len(group) == 1 else word("drawing", "screw_holes", first=group[0].id), sign,
                             group[0].diameter, hole_limits(group[0]), None, PLAN, group[0].center,
                             reach=group[0].diameter / 2)


def _distances(piece: Piece, outline: Outline, numbers: dict[str, int]) -> Iterator[Characteristic]:
    """Distances between bolt holes that keep the old part's circles: each axis in its zone of position, so the distance strays by
    the zone's diameter at most."""
    holes = {h.id: h for h in bolt_holes(piece)}
    zone = position_tolerance(tuple(holes.values()))
    for d in outline.dimensions:
        if d.kind == "distance" and len(d.of) == 2 and set(d.of) <= set(holes) and zone is not None:
            size = math.dist(holes[d.of[0]].center, holes[d.of[1]].center)
            limits = SizeLimits(size - zone, size + zone, word("drawing", "position_why"))
            yield Characteristic(numbers[d.id], word("drawing", "kind_distance"), "", size, limits, None, TABLE, old=d.id)


def _overall(piece: Piece, outline: Outline, job: Job, numbers: dict[str, int]) -> Iterator[Characteristic]:
    """Length and width across the outer edge; limits of their own where the edge locates on the mating part."""
    wish = job.wishes.cover
    x0, y0, x1, y1 = segments_box(edge_of(piece))
    outer = {s.id for loop in outline.design if loop.role == "outer" for s in loop.segments}
    for key, size in (("across_x", x1 - x0), ("across_y", y1 - y0)):
        old = next((d for d in outline.dimensions if d.kind in ("width", "over") and set(d.of) <= outer
                    and abs(d.design - size) < _SAME), None)
        limits = None
        if wish is not None and wish.fit in ("over", "inside"):
            limits = located_limits(size, LOCATES if wish.clearance is None else wish.clearance)
        yield Characteristic(numbers[old.id] if old else 0, word("drawing", key), "", size, limits, general_limits(size), PLAN,
                             key=key, old=old.id if old else "")


def _loops(piece: Piece, outline: Outline, numbers: dict[str, int]) -> Iterator[Characteristic]:
    """Radii and widths of the edge and of the openings that the old part had too; sizes across those it had not."""
    chains = [edge_of(piece)]
    for feature in piece.features:
        if isinstance(feature, Opening | Seat):
            chain = feature.chain if isinstance(feature, Opening) else feature.pocket
            known = {d.of[0] for d in outline.dimensions if d.of} & {s.id for s in chain}
            if isinstance(feature, Opening) and known and _is_kept(chain, outline):
                chains.append(chain)
            else:
                yield from _across(chain, word("drawing", "seat" if isinstance(feature, Seat) else "inlet"))
    for chain in chains:
        yield from _radii(chain, outline, numbers)
        if chain is not chains[0]:
            yield from _widths(chain, outline, numbers)


def _is_kept(chain: tuple[Segment, ...], outline: Outline) -> bool:
    """Is it an opening of the old part as it was?"""
    box = segments_box(chain)
    return any(max(abs(a - b) for a, b in zip(box, segments_box(loop.segments), strict=True)) < _SAME
               for loop in outline.design if loop.role == "opening")


def _radii(chain: tuple[Segment, ...], outline: Outline, numbers: dict[str, int]) -> Iterator[Characteristic]:
    arcs = {s.id: s for s in chain if isinstance(s, Arc)}
    groups: dict[float, list[Dimension]] = {}
    for d in outline.dimensions:
        if d.kind == "radius" and d.of and d.of[0] in arcs:
            groups.setdefault(round(arcs[d.of[0]].radius, 3), []).append(d)
    for radius, same in groups.items():
        first = arcs[same[0].of[0]]
        also = tuple(numbers[d.id] for d in same[1:])
        name = word("drawing", "radius_also", others=", ".join(map(str, also))) if also else word("drawing", "radius")
        yield Characteristic(numbers[same[0].id], name, f"{len(same)}x R" if also else "R", radius, None,
                             general_limits(radius), PLAN, segment_middle(first), old=same[0].id,
                             is_free=same[0].origin == "free", also=also)


def _widths(chain: tuple[Segment, ...], outline: Outline, numbers: dict[str, int]) -> Iterator[Characteristic]:
    lines = {s.id: s for s in chain if isinstance(s, Line)}
    arcs = {s.id: s for s in chain if isinstance(s, Arc)}
    for d in outline.dimensions:
        if d.kind == "width" and d.of and set(d.of) <= set(lines):
            yield Characteristic(numbers[d.id], word("drawing", "width"), "", d.design, None, general_limits(d.design), PLAN,
                                 segment_middle(lines[d.of[0]]), old=d.id, is_free=d.origin == "free",
                                 edge_deg=_direction_deg(lines[d.of[0]]))
        elif d.kind == "distance" and len(d.of) == 2 and set(d.of) <= set(arcs):
            yield Characteristic(numbers[d.id], word("drawing", "between_arcs"), "", d.design, None,
                                 general_limits(d.design), PLAN, arcs[d.of[1]].center, old=d.id, is_free=d.origin == "free")


def _across(chain: tuple[Segment, ...], name: str) -> Iterator[Characteristic]:
    if isinstance(chain[0], Circle):
        across = 2 * chain[0].radius
        yield Characteristic(0, name, "Ø", across, None, general_limits(across), PLAN, chain[0].center, reach=chain[0].radius)
        return
    x0, y0, x1, y1 = segments_box(chain)
    lines = [s for s in chain if isinstance(s, Line)]
    for size, k, words in ((x1 - x0, 0, "x"), (y1 - y0, 1, "y")):
        side = max(lines or chain, key=lambda s: abs(s.end[1 - k] - s.start[1 - k]) if not isinstance(s, Circle) else 0.0)
        yield Characteristic(0, word("drawing", "across", what=name, axis=words), "", size, None, general_limits(size), PLAN,
                             segment_middle(side), edge_deg=_direction_deg(side))


def _direction_deg(segment: Segment) -> float | None:
    if not isinstance(segment, Line):
        return None
    return math.degrees(math.atan2(segment.end[1] - segment.start[1], segment.end[0] - segment.start[0]))


def _heights(piece: Piece, job: Job, outline: Outline, numbers: dict[str, int]) -> Iterator[Characteristic]:
    """Sizes seen on the cut and on its detail."""
    def one(name: str, size: float, limits: SizeLimits | None, view: str, old: Dimension | None = None,
            sign: str = "") -> Characteristic:
        return Characteristic(numbers[old.id] if old else 0, word("drawing", name), sign, size, limits, general_limits(size),
                              view, key=name, old=old.id if old else "")
    yield one("thickness", mating_face(piece), None, CUT)
    for feature in piece.features:
        if isinstance(feature, Seat):
            yield one("seat_depth", feature.depth, None, CUT)
            yield one("floor", feature.ledge, None, CUT)
        elif isinstance(feature, Lip):
            x0, _, x1, _ = segments_box(feature.outer)
            yield one("lip_height", feature.top - feature.bottom, None, CUT)
            yield one("lip_across", x1 - x0, located_limits(x1 - x0, feature.clearance), CUT)
        elif isinstance(feature, Groove):
            yield one("groove_width", feature.width, groove_width_limits(feature), DETAIL, _channel_width(outline, feature.width))
            yield one("groove_depth", feature.depth, groove_depth_limits(feature, job.wishes.printer.layer), DETAIL)
            if feature.bottom_radius > 0:
                yield one("groove_round", feature.bottom_radius, None, DETAIL, sign="R")


def _channel_width(outline: Outline, width: float) -> Dimension | None:
    """The old channel's width, where the new groove keeps it."""
    walls = {s.id for loop in outline.design if loop.role == "channel" for s in loop.segments}
    return next((d for d in outline.dimensions if d.kind == "width" and set(d.of) <= walls and abs(d.design - width) < 0.5), None)
