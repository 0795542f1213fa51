"""Joint geometric fit of a whole chain of carriers to its rim, tangency held exactly where the data support it.

Gauss-Newton on the distances of all points to their carriers, with the touching conditions as equations (one linear system a
step).  Robust weights (Student) keep an outlying stretch from bending the drawing.  The multiplier of a touching condition tells
what releasing it would save; it is released when that exceeds its price.
After that the chain is simplified: a carrier goes when the rim is described more shortly without it.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from afterpart.errors import FitError
from afterpart.geometry.fit import taubin_circle
from afterpart.geometry.robust import mixture_price, mixture_weights, student_weights
from afterpart.outline.chain import Chain, crossing, junctions, off_carriers, signed_distance, tangencies, turn_at
from afterpart.outline.segment import FLAT_PRICE, FLAT_RAD, Pieces

SMOOTH_RAD = math.radians(32.0)
"""Junctions that turn less than this are first taken as tangent; the data may release them."""

PARAMETER_PRICE = 5.0
"""Price of one free number, about the logarithm of the number of independent samples."""

SEGMENT_PRICE = 4.0
"""Price of one more feature in the drawing, beyond its numbers."""


BAD_SHARE = 0.02
"""Share of a rim that may lie in a bad stretch (shadow, dirt, flash)."""

BAD_SPREAD = 0.15
"""Standard deviation of the residuals there, mm."""

VISIBLE_CUT = 0.22
"""A rim this far from the crossing of two edges shows a rounded corner, mm; below it may be the picture's own blur."""

KINK_RAD = 0.04
"""Two edges are hardly ever drawn at so small an angle to each other."""

REPEATED_PRICE = 2.0
"""Price of a fillet like the others of its rim."""

STEP_DEPTH, STEP_PRICE = 0.45, 40.0
"""A step out of an edge and back by less than this (mm) is hardly ever drawn: it is dirt, flash or a shadow.  As one bad stretch
it costs this much less than its samples, one by one, would."""

TWIN_RATIO, TWIN_DEPTH = 1.25, 0.15
"""Two arcs that follow each other with radii this near are hardly ever drawn: one arc that fits within so many mm stands for
both."""

LEAST_EDGE = 1.0
"""Shortest edge drawn between two fillets, mm: what is shorter is a fillet seen badly."""

LIKE_RATIO = 1.12
"""Two fillets of one kind measure alike within this factor."""

LEAST_FILLET, CORNER_WIDTH, CORNER_CUT = 0.8, 1.8, 0.33
"""A corner rounded by less than LEAST_FILLET (mm) over less than CORNER_WIDTH of rim that stays within CORNER_CUT of the crossing
of its edges is a sharp one: picture and rim tracing round it by as much."""


WINDOW = 40
"""How many points to either side of its first a carrier may begin anew in one step of the fit."""

SETTLED = 2e-4
"""A step smaller than this (mm, rad) ends the fit of a chain: a fiftieth of what any number of it is known to."""

PATIENCE, UNSETTLED = 14, 1.0
"""A chain that still moves by more than UNSETTLED (mm, rad) after so many steps will not come to rest."""


@dataclass(frozen=True)
class Rope:
    """A rim prepared for fitting: points (n, 2), samples (n,) independent samples each stands for, noise: sd of a point, mm;
    along (n,) length of rim from the first point; guard: points nearer than this to a sharp corner are not used."""

    points: np.ndarray
    samples: np.ndarray
    noise: float
    along: np.ndarray
    total: float
    guard: float
    tangent_price: float


def fit_chain(rope: Rope, pieces: Pieces) -> Chain:
    """The chain with the types and rough breakpoints of `pieces`, tangency decided by the data."""
    is_arc, first = pieces.is_arc.copy(), pieces.first.copy()
    state = _start_state(rope, is_arc, first, pieces.state)
    tangent = _smooth_junctions(rope, is_arc, state, first)
    return _settle(rope, is_arc, state, tangent, first)


def simplify(rope: Rope, chain: Chain) -> Chain:
    """Drop carriers one by one (or bridge short runs) as long as the description gets shorter."""
    tried: set[tuple[int, ...]] = set()
    improved = True
    while improved and chain.size > 2:
        improved = False
        for pieces in _shorter_rows(rope, chain):
            key = (*pieces.first.tolist(), *pieces.is_arc.tolist())
            if key in tried:
                continue
            tried.add(key)
            try:
                other = fit_chain(rope, pieces)
            except (FitError, np.linalg.LinAlgError):
                continue
            if other.price - _allowance(pieces, other) < chain.price - 1e-6:
                chain, improved = other, True
                break
    return chain


def _allowance(pieces: Pieces, chain: Chain) -> float:
    """What the price of a chain is let off for the one bad stretch it bridges."""
    if pieces.bridged is None or float(np.abs(chain.residuals[pieces.bridged]).max()) > pieces.depth:
        return 0.0
    return STEP_PRICE


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
    width = float(np.mod(rope.along[chain.first[after]] - rope.along[chain.first[i]], rope.total))
    if chain.is_arc[before] or chain.is_arc[after] or before == after or width > CORNER_WIDTH:
        return None
    if any(chain.is_arc[k] and width > LEAST_FILLET * abs(_turn_of(chain, k)) for k in gone if run == 1):
        return None
    own = _stretch(chain.first[i], chain.first[after], points)
    corner = crossing(False, chain.state[before], False, chain.state[after], rope.points[own[len(own) // 2]])
    turn = abs(turn_at(False, chain.state[before], False, chain.state[after], corner))
    if not 0.6 < turn < 2.6 or float(np.hypot(*(rope.points[own] - corner).T).min()) > CORNER_CUT:
        return None
    kept = [k for k in range(count) if k not in gone]
    first, tangent = chain.first.copy(), chain.tangent.copy()
    first[after] = own[len(own) // 2]
    tangent[before] = False
    order = np.argsort(first[kept])
    kept = [kept[k] for k in order]
    wider = replace(rope, guard=max(rope.guard, 0.6 * width))
    try:
        return _settle(wider, chain.is_arc[kept], chain.state[kept], tangent[kept], first[kept])
    except (FitError, np.linalg.LinAlgError):
        return None


def part_rounds(rope: Rope, chain: Chain) -> Chain:
    """Try a short edge in the middle of each wide fillet: two fillets whose edge they have nearly eaten up look like one round.

    Taken when the rim is described more shortly with it, the second fillet being one more of a kind.
    """
    for i in _fillets(chain):
        turn = _turn_of(chain, i)
        own = _stretch(chain.first[i], chain.first[(i + 1) % chain.size], len(rope.points))
        excess = float(np.sum(rope.samples[own] * (chain.residuals[own] / rope.noise) ** 2)) - float(rope.samples[own].sum())
        if abs(turn) < math.radians(75.0) or len(own) < 16 or excess < PARAMETER_PRICE:
            continue
        other = _with_edge(rope, chain, i, turn, own)
        if other is None or _shortest_line(other) < LEAST_EDGE:
            continue
        if other.price - (PARAMETER_PRICE + SEGMENT_PRICE - REPEATED_PRICE) < chain.price:
            return part_rounds(rope, other)
    return chain


def _shortest_line(chain: Chain) -> float:
    """Length of the shortest line, mm."""
    length = np.hypot(*(chain.corners - np.roll(chain.corners, 1, axis=0)).T)
    return float(length[~chain.is_arc].min(initial=math.inf))


def _turn_of(chain: Chain, i: int) -> float:
    """Turn (radians) of arc i between its ends, signed."""
    start, end = chain.corners[i - 1] - chain.state[i, :2], chain.corners[i] - chain.state[i, :2]
    turn = math.atan2(start[0] * end[1] - start[1] * end[0], float(start @ end)) % (2.0 * math.pi)
    return turn if chain.state[i, 2] > 0.0 else turn - 2.0 * math.pi


def _with_edge(rope: Rope, chain: Chain, i: int, turn: float, own: np.ndarray) -> Chain | None:
    """The chain with arc i made two arcs and an edge between them; None where that does not fit."""
    middle, quarter = len(own) // 2, max(2, len(own) // 16)
    crown = rope.points[own[middle - 2 : middle + 3]].mean(axis=0)
    start = chain.corners[i - 1] - chain.state[i, :2]
    direction = math.atan2(start[1], start[0]) + math.copysign(0.5 * math.pi, turn) + 0.5 * turn
    cos, sin = math.cos(direction), math.sin(direction)
    radius = 0.97 * chain.state[i, 2]
    slip = 0.03 * abs(chain.state[i, 2])
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
        other = _settle(rope, is_arc[order], state[order], tangent[order], first[order])
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
            if other is not None and other.price - (PARAMETER_PRICE + SEGMENT_PRICE - REPEATED_PRICE) < chain.price:
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
            if other is not None and other.price - (PARAMETER_PRICE + SEGMENT_PRICE - REPEATED_PRICE) < chain.price:
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
        other = _settle(rope, is_arc[order], state[order], tangent[order], first[order])
    except (FitError, np.linalg.LinAlgError):
        return None
    size = np.abs(other.state[other.is_arc, 2])
    return other if float(np.abs(other.state).max()) < 1e5 and float(size.min()) > 0.05 * radius else None


def _shorter_rows(rope: Rope, chain: Chain) -> list[Pieces]:
    """Rows of pieces with fewer carriers than the chain has, the likeliest first."""
    count = chain.size
    begin = rope.along[chain.first]
    length = np.mod(np.roll(begin, -1) - begin, rope.total)
    rows: list[tuple[float, Pieces]] = []
    flat = _flat(rope, chain.is_arc, chain.state, chain.first)
    for i in range(count):
        j = (i + 1) % count
        both = [chain.is_arc[i], chain.is_arc[j]]
        straight = not chain.is_arc[i] or flat[i], not chain.is_arc[j] or flat[j]
        if (
            all(straight)
            and abs(turn_at(bool(chain.is_arc[i]), chain.state[i], bool(chain.is_arc[j]), chain.state[j], chain.corners[i]))
            < 0.08
        ):
            rows.append((0.0, _without(chain, (j,), False, i)))
        if flat[i]:
            rows.append((0.05, _without(chain, (), False, i)))
        if both == [True, True] and chain.state[i, 2] * chain.state[j, 2] > 0.0:
            ratio = chain.state[i, 2] / chain.state[j, 2]
            if 0.5 < ratio < 2.0 or min(length[i], length[j]) < 3.0:
                pieces = _without(chain, (j,), True, i)
                if 1.0 / TWIN_RATIO < ratio < TWIN_RATIO:
                    pieces = replace(pieces, bridged=_bridged(rope, chain, i, (j + 1) % count), depth=TWIN_DEPTH)
                rows.append((0.1, pieces))
    for run in (1, 2, 3):
        if count - run < 2:
            break
        for i in range(count):
            gone = tuple((i + k) % count for k in range(run))
            span = float(length[list(gone)].sum())
            if span > 7.0:
                continue
            before, after = (i - 1) % count, (i + run) % count
            if run > 1 or chain.is_arc[before] == chain.is_arc[after]:
                if (
                    before != after
                    and count - run > 2
                    and chain.is_arc[before] == chain.is_arc[after]
                    and _alike(chain, before, after)
                ):
                    longer = before if length[before] >= length[after] else after
                    pieces = _without(chain, (*gone, after), bool(chain.is_arc[before]), before)
                    pieces.state[np.isnan(pieces.state[:, 0])] = chain.state[longer]
                    if run > 1 or not chain.is_arc[i]:
                        pieces = replace(pieces, bridged=_bridged(rope, chain, i, (i + run) % count), depth=STEP_DEPTH)
                    rows.append((0.2 + 0.01 * span, pieces))
            if run == 1 and span < 5.0:
                rows.append((1.0 + span, _split_between(rope, chain, i)))
    rows += [(0.15, pieces) for pieces in _without_steps(rope, chain, length)]
    return [pieces for _, pieces in sorted(rows, key=lambda row: row[0])]


def _bridged(rope: Rope, chain: Chain, begin: int, end: int) -> np.ndarray:
    """Rim indices from the start of carrier `begin` to that of carrier `end`."""
    return _stretch(chain.first[begin], chain.first[end], len(rope.points))


def _without_steps(rope: Rope, chain: Chain, length: np.ndarray) -> list[Pieces]:
    """Rows without a step at the end of a line (a riser and a tread that runs on beside it), and three arcs made one."""
    count, rows = chain.size, []
    for i in range(count if count > 4 else 0):
        a, b, c = i, (i + 1) % count, (i + 2) % count
        end = (i + 3) % count
        if not chain.is_arc[[a, b, c]].any():
            along, riser, beside = (a, b, c) if length[a] >= length[c] else (c, b, a)
            turn = math.remainder(chain.state[beside, 0] - chain.state[along, 0], 2.0 * math.pi)
            if length[riser] < 1.5 and length[beside] < 0.3 * length[along] and abs(turn) < 0.06:
                pieces = _without(chain, (b, c), False, a)
                pieces.state[np.isnan(pieces.state[:, 0])] = chain.state[along]
                stretch = (b, end) if along == a else (a, c)
                rows.append(replace(pieces, bridged=_bridged(rope, chain, *stretch), depth=STEP_DEPTH))
        elif chain.is_arc[[a, b, c]].all() and abs(np.sign(chain.state[[a, b, c], 2]).sum()) == 3.0:
            if length[b] < 3.0 or min(length[a], length[c]) < 3.0:
                rows.append(replace(_without(chain, (b, c), True, a), bridged=_bridged(rope, chain, a, end), depth=STEP_DEPTH))
    return rows


def _alike(chain: Chain, a: int, b: int) -> bool:
    """Could carriers a and b be one curve with a bad stretch between?"""
    if chain.is_arc[a]:
        radius = chain.state[[a, b], 2]
        gap = float(np.hypot(*(chain.state[a, :2] - chain.state[b, :2])))
        return radius[0] * radius[1] > 0.0 and gap < 0.5 * float(np.abs(radius).min())
    turn = math.remainder(chain.state[b, 0] - chain.state[a, 0], 2.0 * math.pi)
    if abs(turn) > 0.06:
        return False
    middle = 0.5 * (chain.corners[a] + chain.corners[(b - 1) % chain.size])
    one, _ = signed_distance(np.array([False]), chain.state[a : a + 1], middle[None])
    two, _ = signed_distance(np.array([False]), chain.state[b : b + 1], middle[None])
    return abs(float(one[0] - two[0])) < 0.25


def _without(chain: Chain, gone: tuple[int, ...], is_arc: bool, keeper: int) -> Pieces:
    """Pieces with the carriers `gone` swallowed by carrier `keeper` before them, which is to be found anew."""
    kept = [i for i in range(chain.size) if i not in gone]
    types, state = chain.is_arc.copy(), chain.state.copy()
    types[keeper] = is_arc
    state[keeper] = np.nan
    return _ordered(chain.first[kept], types[kept], state[kept])


def _split_between(rope: Rope, chain: Chain, gone: int) -> Pieces:
    """Pieces without carrier `gone`, its stretch shared by its two neighbours."""
    after = (gone + 1) % chain.size
    first = chain.first.copy()
    count = len(rope.points)
    first[after] = (chain.first[gone] + ((chain.first[after] - chain.first[gone]) % count) // 2) % count
    kept = [i for i in range(chain.size) if i != gone]
    return _ordered(first[kept], chain.is_arc[kept], chain.state[kept])


def _ordered(first: np.ndarray, is_arc: np.ndarray, state: np.ndarray) -> Pieces:
    order = np.argsort(first)
    return Pieces(first[order], is_arc[order], math.inf, state[order])


def _start_state(rope: Rope, is_arc: np.ndarray, first: np.ndarray, known: np.ndarray | None) -> np.ndarray:
    """Rough carriers from the points of each piece, those already known left as they are."""
    count, points = len(is_arc), rope.points
    state = np.full((count, 3), np.nan) if known is None else known.copy()
    for i in range(count):
        if np.isfinite(state[i]).all():
            continue
        index = _stretch(first[i], first[(i + 1) % count], len(points))
        if len(index) > 12:
            trim = max(1, len(index) // 12)
            index = index[trim:-trim]
        if len(index) < 3:
            index = _stretch(first[i] - 2, first[(i + 1) % count] + 2, len(points))
        own = points[index]
        run = own[-1] - own[0]
        if is_arc[i]:
            try:
                cx, cy, radius = taubin_circle(own, np.ones(len(own)))
            except FitError:
                is_arc[i] = False
            else:
                middle = own[len(own) // 2] - own[0]
                left = run[0] * middle[1] - run[1] * middle[0] < 0.0
                state[i] = cx, cy, radius if left else -radius
        if not is_arc[i]:
            center = own.mean(axis=0)
            _, _, way = np.linalg.svd(own - center, full_matrices=False)
            direction = way[0] if way[0] @ run >= 0.0 else -way[0]
            angle = math.atan2(direction[1], direction[0])
            state[i] = angle, center[1] * direction[0] - center[0] * direction[1], 0.0
    return state


def _stretch(begin: int, end: int, count: int) -> np.ndarray:
    """Rim indices from begin up to, not including, end, going forward."""
    return (begin + np.arange((end - begin - 1) % count + 1)) % count


def _smooth_junctions(rope: Rope, is_arc: np.ndarray, state: np.ndarray, first: np.ndarray) -> np.ndarray:
    """(k,) True where the rough carriers meet smoothly and at least one of them is an arc."""
    count = len(is_arc)
    smooth = np.zeros(count, bool)
    for i in range(count):
        j = (i + 1) % count
        if is_arc[i] or is_arc[j]:
            turn = turn_at(bool(is_arc[i]), state[i], bool(is_arc[j]), state[j], rope.points[first[j]])
            smooth[i] = abs(turn) < SMOOTH_RAD
    return smooth


def _settle(rope: Rope, is_arc: np.ndarray, state: np.ndarray, tangent: np.ndarray, first: np.ndarray) -> Chain:
    """Solve, release the touching condition that costs most, until none costs more than its price."""
    chain, saving = _solve(rope, is_arc, state, tangent, first)
    while saving.max() > rope.tangent_price:
        tangent = chain.tangent.copy()
        tangent[int(np.argmax(saving))] = False
        other, other_saving = _solve(rope, is_arc, chain.state, tangent, chain.first)
        if other.price > chain.price:
            break
        chain, saving = other, other_saving
    return chain


def _solve(rope: Rope, is_arc: np.ndarray, state: np.ndarray, tangent: np.ndarray, first: np.ndarray) -> tuple[Chain, np.ndarray]:
    """Gauss-Newton with the touching conditions as equations; gives the chain and what releasing each junction would
    save (k,).
    """
    count, points = len(is_arc), rope.points
    state, tangent, first = state.copy(), tangent.copy(), first.copy()
    corners = points[np.roll(first, -1)]
    bound = np.flatnonzero(tangent)
    size = 3 * count
    matrix = np.zeros((size + len(bound), size + len(bound)))
    blocks = np.arange(size).reshape(count, 3)
    owner = _owners(first, len(points))
    price = math.inf
    step_size = math.inf
    for turn in range(26):
        spread_arc, spread_state = is_arc[owner], state[owner]
        residual, slope = signed_distance(spread_arc, spread_state, points)
        robust = (
            student_weights(residual / rope.noise) if turn < 5 else mixture_weights(residual, rope.noise, BAD_SHARE, BAD_SPREAD)
        )
        weight = rope.samples * robust * _guarded(rope, owner, first, tangent, corners) / rope.noise**2
        hessian, gradient = _normal_equations(owner, count, weight, residual, slope)
        hessian[~is_arc, 2, 2] = 1.0
        matrix[blocks[:, :, None], blocks[:, None, :]] = hessian
        gap, slope_i, slope_j = tangencies(is_arc, state, bound)
        rows = np.arange(size, size + len(bound))[:, None]
        matrix[rows, blocks[bound]] = slope_i
        matrix[rows, blocks[(bound + 1) % count]] = slope_j
        matrix[:size, size:] = matrix[size:, :size].T
        if step_size < SETTLED and turn > 6:
            break
        if turn >= PATIENCE and step_size > UNSETTLED:
            break
        damped = matrix.copy()
        diagonal = np.arange(size)
        damped[diagonal, diagonal] *= 1.0 + (1e-3 if turn < 3 else 1e-7)
        damped[diagonal, diagonal] += 1e-6
        try:
            step = np.linalg.solve(damped, -np.concatenate((gradient.ravel(), gap)))[:size].reshape(count, 3)
        except np.linalg.LinAlgError:
            raise FitError(f"The {count} carriers of a rim cannot be solved together (rank of the equations too low).") from None
        step *= min(1.0, 0.5 / max(1e-12, _relative_step(is_arc, state, step)))
        state = state + step
        step_size = float(np.abs(step).max())
        corners = junctions(is_arc, state, tangent, points[np.roll(first, -1)])
        if turn < 8:
            first = _reassigned(rope, first, corners)
            owner = _owners(first, len(points))
    inverse = np.linalg.pinv(matrix, rcond=1e-14, hermitian=True)
    multiplier = -(inverse[size:] @ np.concatenate((gradient.ravel(), gap)))
    held = -np.diag(inverse)[size:]
    saving = np.zeros(count)
    if len(bound):
        saving[bound] = np.where(held > 0.0, multiplier**2 / np.maximum(held, 1e-300), 0.0)
    covariance = inverse[:size, :size]
    fit_price = _misfit(rope, residual)
    numbers = int(2 * count + is_arc.sum() - tangent.sum())
    price = fit_price + PARAMETER_PRICE * numbers + SEGMENT_PRICE * count
    price += FLAT_PRICE * _kinks(is_arc, state)
    price += _disorder(rope, is_arc, state, first, corners) + FLAT_PRICE * float(_flat(rope, is_arc, state, first).sum())
    return Chain(is_arc.copy(), state, tangent, first, corners, False, covariance, residual, price), saving


def _misfit(rope: Rope, residual: np.ndarray) -> float:
    """Weighted squares of the residuals, bad stretches priced as such."""
    return float(np.sum(rope.samples * mixture_price(residual, rope.noise, BAD_SHARE, BAD_SPREAD)))


def _flat(rope: Rope, is_arc: np.ndarray, state: np.ndarray, first: np.ndarray) -> np.ndarray:
    """(k,) True for arcs that turn by less than FLAT_RAD."""
    begin = rope.along[first]
    length = np.mod(np.roll(begin, -1) - begin, rope.total)
    return is_arc & (length < FLAT_RAD * np.abs(state[:, 2]))


def _kinks(is_arc: np.ndarray, state: np.ndarray) -> int:
    """Junctions of two lines that turn by less than KINK_RAD."""
    straight = ~is_arc & ~np.roll(is_arc, -1)
    turn = np.remainder(np.roll(state[:, 0], -1) - state[:, 0] + math.pi, 2.0 * math.pi) - math.pi
    return int(np.sum(straight & (np.abs(turn) < KINK_RAD)))


def _relative_step(is_arc: np.ndarray, state: np.ndarray, step: np.ndarray) -> float:
    """Largest step as a share of what the carrier may sensibly move in one go (its radius; 0.3 rad, 3 mm for a line)."""
    scale = np.where(is_arc[:, None], np.maximum(np.abs(state[:, 2:3]), 0.2), np.array([[0.6, 6.0, 1.0]]))
    return float(np.abs(step / scale).max())


def _disorder(rope: Rope, is_arc: np.ndarray, state: np.ndarray, first: np.ndarray, corners: np.ndarray) -> float:
    """A large price for chains that do not run: a junction far from the rim, carriers that miss each other, a line backwards."""
    count = len(is_arc)
    price = 0.0
    begin = np.roll(first, -1)
    gap = np.hypot(*(corners - rope.points[begin]).T)
    # where the rim steps over a place left out, the corner may lie as far off as the step is wide
    steps = np.hypot(*(np.roll(rope.points, -1, axis=0) - rope.points).T)
    about = steps[(begin[:, None] + np.arange(-2, 2)) % len(steps)].max(axis=1)
    price += 200.0 * float(np.sum(gap > np.maximum(max(1.0, 20.0 * rope.noise), about)))
    price += 200.0 * float(off_carriers(is_arc, state, corners).sum())
    for i in range(count):
        if not is_arc[i]:
            run = corners[i] - corners[i - 1]
            if run[0] * math.cos(state[i, 0]) + run[1] * math.sin(state[i, 0]) < -2.0 * rope.noise:
                price += 100.0
    return price


def _owners(first: np.ndarray, count: int) -> np.ndarray:
    """(n,) which carrier each rim point belongs to; first need not start at its smallest."""
    start = int(np.argmin(first))
    marks = np.zeros(count, int)
    marks[first] = 1
    rank = np.cumsum(marks) - 1
    return (rank + start) % len(first)


def _reassigned(rope: Rope, first: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """Rim index nearest to each junction, within half the neighbouring stretches; order kept and no carrier left without
    points.
    """
    count = len(rope.points)
    begin = np.roll(first, -1)
    length = (begin - first) % count if len(first) > 1 else np.array([count // 2 + 3])
    back, ahead = np.clip(length - 3, 1, WINDOW), np.clip(np.roll(length, -1) - 3, 1, WINDOW)
    shift = np.arange(-WINDOW, WINDOW + 1)
    window = (begin[:, None] + shift) % count
    gap = rope.points[window] - corners[:, None]
    outside = (shift < -back[:, None]) | (shift > ahead[:, None])
    nearest = np.argmin(np.where(outside, np.inf, gap[..., 0] ** 2 + gap[..., 1] ** 2), axis=1)
    new = np.roll(window[np.arange(len(first)), nearest], 1)
    step = np.diff(np.concatenate((new, new[:1]))) % count
    if (step < 2).any() or int(step.sum()) != count:
        return first
    return new


def _guarded(rope: Rope, owner: np.ndarray, first: np.ndarray, tangent: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """(n,) 0 for points within the guard of a sharp corner, else 1."""
    used = np.ones(len(rope.points))
    here = rope.along[np.roll(first, -1)[~tangent]]
    gap = np.abs(rope.along - here[:, None])
    used[(np.minimum(gap, rope.total - gap) < rope.guard).any(axis=0)] = 0.0
    few = np.bincount(owner, used, len(first)) < 3
    used[few[owner]] = 1.0
    return used


def _normal_equations(
    owner: np.ndarray, count: int, weight: np.ndarray, residual: np.ndarray, slope: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Blocks (k, 3, 3) and gradients (k, 3), summed over each carrier's points."""
    hessian, gradient = np.empty((count, 3, 3)), np.empty((count, 3))
    weighted = slope * weight[:, None]
    for a in range(3):
        gradient[:, a] = np.bincount(owner, weighted[:, a] * residual, count)
        for b in range(a, 3):
            hessian[:, a, b] = hessian[:, b, a] = np.bincount(owner, weighted[:, a] * slope[:, b], count)
    return hessian, gradient


def refitted(rope: Rope, pieces: Pieces, tangent: np.ndarray, known: np.ndarray, bound: np.ndarray) -> Chain:
    """The chain of these pieces, fitted again.  tangent (k,) at the junctions that are `known`; at the others the data decide;
    bound (k,): tangent whatever the data say.  Raises FitError where it cannot be."""
    is_arc, first = pieces.is_arc.copy(), pieces.first.copy()
    state = _start_state(rope, is_arc, first, pieces.state)
    if (is_arc != pieces.is_arc).any():
        raise FitError("A stretch of rim is too straight, or has too few points, for an arc.")
    smooth = np.where(known, tangent, _smooth_junctions(rope, is_arc, state, first)) | bound
    try:
        free, saving = _solve(rope, is_arc, state, smooth, first)
        saving[bound | known] = 0.0
        while saving.max() > rope.tangent_price:
            smooth = free.tangent.copy()
            smooth[int(np.argmax(saving))] = False
            free, saving = _solve(rope, is_arc, free.state, smooth, free.first)
            saving[bound | known] = 0.0
    except np.linalg.LinAlgError as error:
        raise FitError("The lines and arcs of a rim cannot be solved together.") from error
    return free


def circle_chain(rope: Rope, center: tuple[float, float], radius: float, covariance: np.ndarray, ccw: bool) -> Chain:
    """A whole rim as one circle, priced like any other chain."""
    signed = radius if ccw else -radius
    state = np.array([[center[0], center[1], signed]])
    residual, _ = signed_distance(np.array([True]), np.repeat(state, len(rope.points), axis=0), rope.points)
    price = _misfit(rope, residual) + 3.0 * PARAMETER_PRICE + SEGMENT_PRICE
    turned = covariance.copy()
    if not ccw:
        turned[2, :2] *= -1.0
        turned[:2, 2] *= -1.0
    return Chain(np.array([True]), state, np.array([False]), np.array([0]), rope.points[:1], True, turned, residual, price)


def resettled(rope: Rope, chain: Chain) -> Chain:
    """The chain fitted again to a rim whose noise is now known better."""
    return _settle(rope, chain.is_arc, chain.state, chain.tangent, chain.first)


def with_covariance(chain: Chain, covariance: np.ndarray) -> Chain:
    """The chain with another covariance of its state."""
    return replace(chain, covariance=covariance)
