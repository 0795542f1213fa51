"""Where the clamp frame's bosses stand along the pocket's wall.

Words: a *corner* is an arc of the wall that turns round a boss by at least the last of TURNS_DEG; a *stretch* is the length of
rim from one boss to the next.
How they are chosen: the fewest corners, three at least, that leave no stretch longer than ABOUT times RIM_BETWEEN; of equally
many the sharpest, then those farthest out, for there a boss takes least of the element's room.  Where corners do not suffice,
bosses stand along the wall, where they take more of it.
Why a longer stretch will do between corners: web and rib are one beam.  With its ends held and the foam pressing evenly,
    w = q s^4 / (384 E I)     q  foam's pressure times the rim's width [N/mm], s stretch, E modulus, I of web and rib
and 0.02 N/mm (4 kPa on 5 mm), s = 120, E = 1500 N/mm2 and I = 5 * 8^3 / 12 mm4 give 0.03 mm, 0.2 mm with ends that do not hold:
a few hundredths of a usual squeeze of 5 mm.  (Foam's pressure from memory.)
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from afterpart.errors import JobError
from afterpart.geometry.segments import arc_angles_rad, segments_box
from afterpart.model.feature import Chain
from afterpart.model.outline import Arc, Circle, Line, Point, Segment
from afterpart.words import tell

RIM_BETWEEN = 80.0
"""Wanted largest length of rim between two bosses."""
ABOUT = 1.5
"""How far a stretch between corners may exceed that before a boss stands along the wall."""
TURNS_DEG = (40.0, 20.0)
"""Corners that turn by the first are tried alone; the flatter ones, where a boss takes more room, only if those do not do."""
WIDEST = 4.0
"""Radius of a corner, at most this many times the boss's own with its clearance."""
LEAST = 3
MOST_CORNERS = 14
"""Of more corners only the sharpest are tried."""


@dataclass(frozen=True)
class _Corner:
    """along: where its middle lies on the wall; turn_deg; reach: of its boss from the middle of the pocket's box."""

    along: float
    turn_deg: float
    reach: float


def boss_spots(pocket: Chain, radius: float, clearance: float, count: int | None) -> tuple[Point, ...]:
    """Middles of the bosses, in order round the pocket (counter-clockwise), each `clearance` from its wall.

    count: how many, None for as many as the rim asks.  JobError: fewer than two, or more than stand side by side.
    """
    lengths = [_length(s) for s in pocket]
    around = sum(lengths)
    most = int(around / (2 * radius + 1.0))
    if count is not None and not 2 <= count <= most:
        raise JobError(tell("holder.screws: {count} found, 2 to {most} expected on a pocket {around:.0f} mm round; leave it out "
                            "to choose", count=count, most=most, around=around))
    ends = np.concatenate([[0.0], np.cumsum(lengths)])
    corners = _corners(pocket, ends, radius + clearance)
    chosen = _as_asked(corners, around, count) if count is not None else _as_needed(corners, around)
    return tuple(_spot(pocket, ends, s, radius + clearance) for s in chosen)


def _corners(pocket: Chain, ends: np.ndarray, inwards: float) -> list[_Corner]:
    """The corners in order along the wall; of very many the sharpest."""
    left, bottom, right, top = segments_box(pocket)
    middle = ((left + right) / 2, (bottom + top) / 2)
    found = []
    for i, segment in enumerate(pocket):
        if _is_corner(segment, WIDEST * inwards):
            along = float(ends[i] + ends[i + 1]) / 2
            found.append(_Corner(along, _turn_deg(segment), math.dist(middle, _spot(pocket, ends, along, inwards))))
    return sorted(sorted(found, key=lambda c: -c.turn_deg)[:MOST_CORNERS], key=lambda c: c.along)


def _as_needed(corners: list[_Corner], around: float) -> list[float]:
    for turn_deg in TURNS_DEG:
        sharp = [c for c in corners if c.turn_deg >= turn_deg]
        for count in range(LEAST, len(sharp) + 1):
            found = _best(sharp, around, count)
            if _longest(found, around) <= ABOUT * RIM_BETWEEN:
                return found
    found = _best(corners, around, min(len(corners), LEAST)) if corners else []
    for count in range(LEAST + 1, len(corners) + 1):
        more = _best(corners, around, count)
        found = more if _longest(more, around) < _longest(found, around) - 1e-6 else found
    return _filled(found, around, ABOUT * RIM_BETWEEN)


def _as_asked(corners: list[_Corner], around: float, count: int) -> list[float]:
    found = _best(corners, around, min(count, len(corners))) if corners else []
    while len(found) < count:
        found = _with_one_more(found, around)
    return found


def _best(corners: list[_Corner], around: float, count: int) -> list[float]:
    """The corners with the shortest longest stretch; among those short enough, the sharpest."""

    def merit(chosen: tuple[_Corner, ...]) -> tuple[float, float, float]:
        beyond = max(_longest([c.along for c in chosen], around), ABOUT * RIM_BETWEEN)
        return round(beyond, 6), -round(sum(c.turn_deg for c in chosen), 1), -round(sum(c.reach for c in chosen), 6)

    return [c.along for c in min(itertools.combinations(corners, count), key=merit)]


def _filled(chosen: list[float], around: float, limit: float) -> list[float]:
    """Spots added along the wall, evenly in each stretch that is too long, and three in all at least."""
    if not chosen:
        count = max(LEAST, math.ceil(around / limit))
        return [i * around / count for i in range(count)]
    spots = []
    for start, length in zip(chosen, _stretches(chosen, around), strict=True):
        parts = math.ceil(length / limit - 1e-9)
        spots += [(start + length * k / parts) % around for k in range(parts)]
    while len(spots) < LEAST:
        spots = _with_one_more(sorted(spots), around)
    return sorted(spots)


def _with_one_more(chosen: list[float], around: float) -> list[float]:
    if not chosen:
        return [0.0]
    stretches = _stretches(chosen, around)
    i = int(np.argmax(np.round(stretches, 6)))
    return sorted([*chosen, (chosen[i] + stretches[i] / 2) % around])


def _stretches(chosen: list[float], around: float) -> list[float]:
    following = [*chosen[1:], chosen[0] + around]
    return [after - before for before, after in zip(chosen, following, strict=True)]


def _longest(chosen: list[float], around: float) -> float:
    return max(_stretches(chosen, around), default=around)


def _is_corner(segment: Segment, widest: float) -> bool:
    return isinstance(segment, Arc) and segment.ccw and segment.radius <= widest and _turn_deg(segment) >= TURNS_DEG[-1]


def _turn_deg(segment: Segment) -> float:
    return abs(math.degrees(arc_angles_rad(segment)[1])) if isinstance(segment, Arc) else 0.0


def _length(segment: Segment) -> float:
    match segment:
        case Line(start=start, end=end):
            return math.dist(start, end)
        case Circle(radius=radius):
            return math.tau * radius
        case Arc(radius=radius):
            return radius * abs(arc_angles_rad(segment)[1])


def _spot(pocket: Chain, ends: np.ndarray, along: float, inwards: float) -> Point:
    """The point this far along the wall, moved inwards (left of the way round)."""
    i = min(int(np.searchsorted(ends, along, side="right")) - 1, len(pocket) - 1)
    share = (along - ends[i]) / (ends[i + 1] - ends[i])
    segment = pocket[i]
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment.start, segment.end
        length = math.dist(segment.start, segment.end)
        return (
            float(x0 + share * (x1 - x0) - inwards * (y1 - y0) / length),
            float(y0 + share * (y1 - y0) + inwards * (x1 - x0) / length),
        )
    first, turn = (0.0, math.tau) if isinstance(segment, Circle) else arc_angles_rad(segment)
    at_rad = first + share * turn
    distance = segment.radius - inwards if turn > 0 else segment.radius + inwards
    return (
        float(segment.center[0] + distance * math.cos(at_rad)),
        float(segment.center[1] + distance * math.sin(at_rad)),
    )
