"""Corners of a chain judged: made sharp, given the fillet its rim's other corners have, or an edge between two fillets.

A fillet is an arc that touches a line on both sides.  Each judgement fits the chain anew and keeps it where the rim is described
more shortly, one more fillet of a kind being cheap.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from afterpart.errors import FitError
from afterpart.outline.chain import Chain, crossing, turn_at
from afterpart.outline.refine import PARAMETER_PRICE, SEGMENT_PRICE, Rope, settle, stretch

VISIBLE_CUT = 0.22
"""A rim this far from the crossing of two edges shows a rounded corner, mm; below it may be the picture's own blur."""

REPEATED_PRICE = 2.0
"""Price of a fillet like the others of its rim."""

LEAST_EDGE = 1.0
"""Shortest edge drawn between two fillets, mm: what is shorter is a fillet seen badly, unless both are like the others."""

LEAST_GAP = 0.05
"""Shortest edge between two fillets like the others of their rim, mm: below it they are one."""

OF_A_KIND = 1.015
"""Fillets of one kind, sharply seen, measure alike within this factor."""

WIDE_TURN_RAD = math.radians(75.0)
"""A fillet that turns by less does not show whether it is two."""

LIKE_RATIO = 1.12
"""Two fillets of one kind measure alike within this factor."""

ONE_MORE = PARAMETER_PRICE + SEGMENT_PRICE - REPEATED_PRICE
"""What a fillet like the others of its rim costs less than one of its own."""

LEAST_FILLET, CORNER_WIDTH, CORNER_CUT = 0.8, 1.8, 0.33
"""A corner rounded by less than LEAST_FILLET (mm) over less than CORNER_WIDTH of rim that stays within CORNER_CUT of the crossing
of its edges is a sharp one: picture and rim tracing round it by as much."""


def sharpen_corners(rope: Rope, chain: Chain) -> Chain:
    """Make corners sharp whose rounding is no larger than picture and tracing round every corner."""
    for i in range(chain.size):
        for run in (1, 2, 3):
            if chain.size - run < 2:
                break
            other = _sharpened(rope, chain, i, run)
            if other is not None:
                return sharpen_corners(rope, other)
    return chain


def _sharpened(rope: Rope, chain: Chain, i: int, run: int) -> Chain | None:
    """The chain without the `run` small carriers from i on, which lie at a corner of two lines; None where they are no such."""
    count, points = chain.size, len(rope.points)
    gone = [(i + k) % count for k in range(run)]
    before, after = (i - 1) % count, (i + run) % count
    if chain.is_arc[before] or chain.is_arc[after] or before == after:
        return None
    own = stretch(chain.first[i], chain.first[after], points)
    width = _width(rope, chain, i, after)
    if any(chain.is_arc[k] and width > LEAST_FILLET * abs(_turn_of(chain, k)) for k in gone if run == 1):
        return None
    if not is_bare_corner(rope, chain, before, after, own):
        return None
    kept = [k for k in range(count) if k not in gone]
    first, tangent = chain.first.copy(), chain.tangent.copy()
    first[after] = own[len(own) // 2]
    tangent[before] = False
    order = np.argsort(first[kept])
    kept = [kept[k] for k in order]
    wider = replace(rope, guard=max(rope.guard, 0.6 * width))
    try:
        return settle(wider, chain.is_arc[kept], chain.state[kept], tangent[kept], first[kept])
    except (FitError, np.linalg.LinAlgError):
        return None


def _width(rope: Rope, chain: Chain, i: int, after: int) -> float:
    """Length of rim from carrier i up to carrier `after`."""
    return float(np.mod(rope.along[chain.first[after]] - rope.along[chain.first[i]], rope.total))


def is_bare_corner(rope: Rope, chain: Chain, before: int, after: int, own: np.ndarray) -> bool:
    """Whether the rim points `own` between lines `before` and `after` lie at their crossing, as near as a picture rounds it."""
    if before == after or _width(rope, chain, (before + 1) % chain.size, after) > CORNER_WIDTH:
        return False
    corner = crossing(False, chain.state[before], False, chain.state[after], rope.points[own[len(own) // 2]])
    turn = abs(turn_at(False, chain.state[before], False, chain.state[after], corner))
    return 0.6 < turn < 2.6 and float(np.hypot(*(rope.points[own] - corner).T).min()) <= CORNER_CUT


def part_rounds(rope: Rope, chain: Chain) -> Chain:
    """Try a short edge in the middle of each wide fillet: two fillets whose edge they have nearly eaten up look like one round.

    Taken when the rim is described more shortly with it, the second fillet being one more of a kind.
    """
    for i in _fillets(chain):
        turn = _turn_of(chain, i)
        own = stretch(chain.first[i], chain.first[(i + 1) % chain.size], len(rope.points))
        excess = float(np.sum(rope.samples[own] * (chain.residuals[own] / rope.noise) ** 2)) - float(rope.samples[own].sum())
        if abs(turn) < WIDE_TURN_RAD or len(own) < 16 or excess < PARAMETER_PRICE:
            continue
        other = _with_edge(rope, chain, i, 0.97 * abs(chain.state[i, 2]), len(own) // 16)
        if other is None or _shortest_line(other) < LEAST_EDGE:
            continue
        if other.price - ONE_MORE < chain.price:
            return part_rounds(rope, other)
    return _part_by_kind(rope, chain)


def _part_by_kind(rope: Rope, chain: Chain) -> Chain:
    """Try two fillets of the rim's usual radius for each wide one that is a little larger: their edge, however short, is drawn
    where both come out as the others are and the rim is described more shortly, the two being no more than two of a kind."""
    for i in _fillets(chain):
        own = stretch(chain.first[i], chain.first[(i + 1) % chain.size], len(rope.points))
        radius = _usual_radius(chain, i)
        if radius is None or abs(_turn_of(chain, i)) < WIDE_TURN_RAD or len(own) < 16:
            continue
        other = _with_edge(rope, chain, i, radius, 2)
        if other is None:
            continue
        k = _line_at(other, int(own[len(own) // 2]), len(rope.points))
        length = float(np.hypot(*(other.corners[k] - other.corners[k - 1])))
        if length > LEAST_GAP and other.price - 2.0 * ONE_MORE + _pull(other, k, radius) < chain.price:
            return _part_by_kind(rope, other)
    return chain


def _line_at(chain: Chain, at: int, count: int) -> int:
    """The line that begins nearest to rim index `at` of `count`."""
    lines = np.flatnonzero(~chain.is_arc)
    return int(lines[np.argmin(np.abs((chain.first[lines] - at + count // 2) % count - count // 2))])


def _usual_radius(chain: Chain, i: int) -> float | None:
    """The radius that most other fillets of the rim have, two at least, where fillet i is somewhat larger."""
    own = chain.state[i, 2]
    others = [float(chain.state[k, 2]) for k in _fillets(chain) if k != i]
    kinds = [[r for r in others if 1.0 / OF_A_KIND < r / one < OF_A_KIND] for one in others
             if OF_A_KIND - 0.005 < own / one < LIKE_RATIO]
    kind = max(kinds, key=len, default=[])
    return abs(float(np.mean(kind))) if len(kind) > 1 else None


def _pull(chain: Chain, k: int, radius: float) -> float:
    """What the misfit grows by when the fillets beside edge k are given this radius."""
    rows = [3 * (k - 1) % (3 * chain.size) + 2, 3 * ((k + 1) % chain.size) + 2]
    off = np.abs(chain.state[[k - 1, (k + 1) % chain.size], 2]) - radius
    sign = np.sign(chain.state[[k - 1, (k + 1) % chain.size], 2])
    return float((sign * off) @ np.linalg.solve(chain.covariance[np.ix_(rows, rows)], sign * off))


def _shortest_line(chain: Chain) -> float:
    """Length of the shortest line, mm."""
    length = np.hypot(*(chain.corners - np.roll(chain.corners, 1, axis=0)).T)
    return float(length[~chain.is_arc].min(initial=math.inf))


def _turn_of(chain: Chain, i: int) -> float:
    """Turn (radians) of arc i between its ends, signed."""
    start, end = chain.corners[i - 1] - chain.state[i, :2], chain.corners[i] - chain.state[i, :2]
    turn = math.atan2(start[0] * end[1] - start[1] * end[0], float(start @ end)) % (2.0 * math.pi)
    return turn if chain.state[i, 2] > 0.0 else turn - 2.0 * math.pi


def _with_edge(rope: Rope, chain: Chain, i: int, size: float, quarter: int) -> Chain | None:
    """The chain with arc i made two arcs of about this radius and an edge between them, at first of so many points to either side
    of the middle; None where that does not fit."""
    turn, own = _turn_of(chain, i), stretch(chain.first[i], chain.first[(i + 1) % chain.size], len(rope.points))
    middle, quarter = len(own) // 2, max(2, quarter)
    crown = rope.points[own[middle - 2 : middle + 3]].mean(axis=0)
    start = chain.corners[i - 1] - chain.state[i, :2]
    direction = math.atan2(start[1], start[0]) + math.copysign(0.5 * math.pi, turn) + 0.5 * turn
    cos, sin = math.cos(direction), math.sin(direction)
    radius = math.copysign(size, chain.state[i, 2])
    slip = abs(chain.state[i, 2]) - size
    one = np.array([chain.state[i, 0] - slip * cos, chain.state[i, 1] - slip * sin, radius])
    two = np.array([chain.state[i, 0] + slip * cos, chain.state[i, 1] + slip * sin, radius])
    edge = np.array([direction, crown[1] * cos - crown[0] * sin, 0.0])
    at = [i, i + 1, i + 1]
    first = np.insert(np.delete(chain.first, i), [i, i, i], [chain.first[i], own[middle - quarter], own[middle + quarter]])
    state = np.insert(np.delete(chain.state, i, axis=0), [i, i, i], [one, edge, two], axis=0)
    is_arc = np.insert(np.delete(chain.is_arc, i), [i, i, i], [True, False, True])
    tangent = np.insert(chain.tangent, at[1:], [True, True])
    order = np.argsort(first)
    try:
        other = settle(rope, is_arc[order], state[order], tangent[order], first[order])
    except (FitError, np.linalg.LinAlgError):
        return None
    place = int(np.flatnonzero(order == i)[0])
    ratio = other.state[place, 2] / other.state[(place + 2) % other.size, 2]
    return other if 1.0 / LIKE_RATIO < ratio < LIKE_RATIO else None


def round_corners(rope: Rope, chain: Chain) -> Chain:
    """Give a sharp corner the fillet that most corners of its rim have, where the rim is described no worse with it.

    A fillet that turns little hardly leaves its corner, so that by itself it would not earn its price; as one more of a kind it
    costs nearly nothing.  A corner whose rim keeps clear of the crossing of its edges is asked first, with the radius that shows.
    """
    for i in range(chain.size - 1, -1, -1):
        cut = _cut_corner(rope, chain, i)
        if cut is not None:
            other = _with_fillet(rope, chain, i, cut)
            if other is not None and other.price - ONE_MORE < chain.price:
                return round_corners(rope, other)
    for _ in range(chain.size):
        fillets = _fillets(chain)
        sharp = [
            i
            for i in range(chain.size)
            if not chain.tangent[i] and not chain.is_arc[i] and not chain.is_arc[(i + 1) % chain.size]
        ]
        if len(fillets) < 2 or len(sharp) > len(fillets):
            return chain
        radius = float(np.median(np.abs(chain.state[fillets, 2])))
        for i in sharp:
            other = _with_fillet(rope, chain, i, radius)
            if other is not None and other.price - ONE_MORE < chain.price:
                chain = other
                break
        else:
            return chain
    return chain


def _cut_corner(rope: Rope, chain: Chain, i: int) -> float | None:
    """Radius that the cut between the crossing of lines i and i + 1 and the rim speaks of; None when the corner is sharp.

    A fillet R leaves its corner by R (1 / cos(turn / 2) - 1).
    """
    j = (i + 1) % chain.size
    if chain.tangent[i] or chain.is_arc[i] or chain.is_arc[j] or chain.size < 3:
        return None
    turn = abs(turn_at(False, chain.state[i], False, chain.state[j], chain.corners[i]))
    around = (chain.first[j] + np.arange(-12, 13)) % len(rope.points)
    cut = float(np.hypot(*(rope.points[around] - chain.corners[i]).T).min())
    if cut < max(VISIBLE_CUT, 8.0 * rope.noise) or not 0.3 < turn < 2.5:
        return None
    return cut / (1.0 / math.cos(0.5 * turn) - 1.0)


def _fillets(chain: Chain) -> list[int]:
    """Arcs that touch a line on both sides."""
    count = chain.size
    return [
        i
        for i in range(count)
        if chain.is_arc[i]
        and chain.tangent[i]
        and chain.tangent[i - 1]
        and not chain.is_arc[i - 1]
        and not chain.is_arc[(i + 1) % count]
    ]


def _with_fillet(rope: Rope, chain: Chain, i: int, radius: float) -> Chain | None:
    """The chain with a fillet of about this radius between lines i and i + 1; None where it does not fit."""
    count, j = chain.size, (i + 1) % chain.size
    turn = turn_at(False, chain.state[i], False, chain.state[j], chain.corners[i])
    back = radius * math.tan(0.5 * abs(turn))
    here = chain.first[j]
    step = rope.total / len(rope.points)
    reach = max(2, int(round(back / step)))
    length = [((chain.first[(k + 1) % count] - chain.first[k]) % len(rope.points)) for k in (i, j)]
    if not 0.05 < abs(turn) < 2.5 or reach + 3 > min(length):
        return None
    signed = math.copysign(radius, turn)
    normal_i, normal_j = (np.array([-math.sin(chain.state[k, 0]), math.cos(chain.state[k, 0])]) for k in (i, j))
    center = np.linalg.solve(np.array([normal_i, normal_j]), np.array([chain.state[i, 1] + signed, chain.state[j, 1] + signed]))
    first = chain.first.copy()
    first[j] = (here + reach) % len(rope.points)
    first = np.insert(first, i + 1, (here - reach) % len(rope.points))
    state = np.insert(chain.state, i + 1, [center[0], center[1], signed], axis=0)
    is_arc, tangent = np.insert(chain.is_arc, i + 1, True), np.insert(chain.tangent, i + 1, True)
    tangent[i] = True
    order = np.argsort(first)
    try:
        other = settle(rope, is_arc[order], state[order], tangent[order], first[order])
    except (FitError, np.linalg.LinAlgError):
        return None
    size = np.abs(other.state[other.is_arc, 2])
    return other if float(np.abs(other.state).max()) < 1e5 and float(size.min()) > 0.05 * radius else None
