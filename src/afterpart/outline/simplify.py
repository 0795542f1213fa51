"""A chain made simpler: carriers dropped, or short runs bridged, as long as the rim is described more shortly without them."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from afterpart.errors import FitError
from afterpart.outline.chain import Chain, signed_distance, turn_at
from afterpart.outline.refine import KINK_RAD, Rope, fit_chain, flat_arcs, price_of, stretch
from afterpart.outline.rounding import is_bare_corner
from afterpart.outline.segment import Pieces

STEP_DEPTH, STEP_PRICE = 0.45, 40.0
"""A step out of an edge and back by less than this (mm) is hardly ever drawn: it is dirt, flash or a shadow.  As one bad stretch
it costs this much less than its samples, one by one, would."""

REACH, LONG_ROW = 3, 40
"""So many carriers to either side of a change are fitted with it, in rows longer than LONG_ROW."""

SURE_PRICE = 250.0
"""A change that costs so much more by itself is not tried in the whole row."""

TWIN_RATIO, TWIN_DEPTH = 1.25, 0.15
"""Two arcs that follow each other with radii this near are hardly ever drawn: one arc that fits within so many mm stands for
both."""


def simplify(rope: Rope, chain: Chain) -> Chain:
    """Drop carriers one by one (or bridge short runs) as long as the description gets shorter.

    In a long row the bits that breakpoints beside sharp corners leave go all at once first, a change is looked at by itself
    before the whole row is fitted with it, and changes that gain by themselves, far enough apart, are made together."""
    is_long = chain.size > LONG_ROW
    chain = _with_bare_corners(rope, chain) if is_long else chain
    gains: dict[tuple[int, ...], float] = {}
    tried: set[tuple[int, ...]] = set()
    improved = True
    while improved and chain.size > 2:
        improved = False
        if is_long and (together := _all_at_once(rope, chain, gains)) is not None:
            chain, improved = together, True
            continue
        for pieces in _shorter_rows(rope, chain):
            key = (*pieces.first.tolist(), *pieces.is_arc.tolist())
            if key in tried:
                continue
            tried.add(key)
            if is_long and _gain_alone(rope, chain, pieces, gains) < -SURE_PRICE:
                continue
            try:
                other = fit_chain(rope, pieces)
            except (FitError, np.linalg.LinAlgError):
                continue
            if other.price - _allowance(pieces, other) < chain.price - 1e-6:
                chain, improved = other, True
                break
    return chain


def _with_bare_corners(rope: Rope, chain: Chain) -> Chain:
    """The chain without the bits at the crossing of two lines that the picture alone would round off as much, where the rim is
    described more shortly without them all."""
    count, gone = chain.size, np.zeros(chain.size, bool)
    first = chain.first.copy()
    for run in (1, 2, 3):
        for i in range(count):
            bits = (i + np.arange(run)) % count
            before, after = (i - 1) % count, (i + run) % count
            if gone[[before, *bits, after]].any() or chain.is_arc[before] or chain.is_arc[after]:
                continue
            own = stretch(chain.first[i], chain.first[after], len(rope.points))
            if is_bare_corner(rope, chain, before, after, own):
                gone[bits] = True
                first[after] = own[len(own) // 2]
    if not gone.any() or count - int(gone.sum()) < 3:
        return chain
    order = np.argsort(first[~gone])
    first, is_arc, state = first[~gone][order], chain.is_arc[~gone][order], chain.state[~gone][order]
    try:
        other = fit_chain(rope, Pieces(first, is_arc, math.inf, state))
    except (FitError, np.linalg.LinAlgError):
        return chain
    return other if other.price < chain.price else chain


def _all_at_once(rope: Rope, chain: Chain, gains: dict[tuple[int, ...], float]) -> Chain | None:
    """The chain with every change that gains by itself and leaves alone what another one is fitted with, the likeliest first;
    None where there are not two of them or the rim is not described more shortly."""
    taken, chosen = np.zeros(chain.size, bool), []
    for pieces in _shorter_rows(rope, chain):
        touched = _touched(chain, pieces)
        if not (taken & touched).any() and 0.0 < _gain_alone(rope, chain, pieces, gains) < math.inf:
            taken |= _around(touched, REACH)
            chosen.append(pieces)
    if len(chosen) < 2:
        return None
    try:
        other = fit_chain(rope, _merged(chain, chosen))
    except (FitError, np.linalg.LinAlgError):
        return None
    return other if other.price - sum(_allowance(pieces, other) for pieces in chosen) < chain.price - 1e-6 else None


def _touched(chain: Chain, pieces: Pieces) -> np.ndarray:
    """(k,) which of the chain's carriers do not stay as they are, from beginning to end."""
    return ~np.isin(chain.first, pieces.first[_unchanged(chain, pieces)])


def _merged(chain: Chain, changes: list[Pieces]) -> Pieces:
    """The chain's carriers with all these changes, no two of which touch the same carrier."""
    assert all(pieces.state is not None for pieces in changes)
    rows = {first: (is_arc, state) for first, is_arc, state in zip(chain.first.tolist(), chain.is_arc, chain.state, strict=True)}
    for pieces in changes:
        new = {first: k for k, first in enumerate(pieces.first.tolist())}
        same = _unchanged(chain, pieces)
        for first, gone in zip(chain.first.tolist(), _touched(chain, pieces), strict=True):
            if gone:
                del rows[first]
        rows |= {first: (pieces.is_arc[k], pieces.state[k]) for first, k in new.items() if not same[k]}  # type: ignore[index]
    first = np.array(list(rows))
    return _ordered(first, np.array([rows[at][0] for at in rows]), np.array([rows[at][1] for at in rows]))


def _gain_alone(rope: Rope, chain: Chain, pieces: Pieces, gains: dict[tuple[int, ...], float]) -> float:
    """What `pieces` save by a fit of the rim around what they change; inf where that cannot be told.  gains: those told before.

    This costs the same however long the whole row is.  The ends of what is looked at are free, so that it fits at least as well
    as it would in the row."""
    assert pieces.state is not None
    near = _around(~_unchanged(chain, pieces), REACH)
    size, count = int(near.sum()), len(rope.points)
    if size > len(near) - 2:
        return math.inf
    rows = (int(np.flatnonzero(near & ~np.roll(near, 1))[0]) + np.arange(size)) % len(near)
    start, end = int(pieces.first[rows[0]]), int(pieces.first[(rows[-1] + 1) % len(near)])
    own = stretch(start, end, count)
    key = (start, end, *pieces.first[rows].tolist(), *pieces.is_arc[rows].tolist(), pieces.bridged is None)
    if key not in gains:
        before = np.flatnonzero((chain.first - start) % count < len(own))
        before = before[np.argsort((chain.first[before] - start) % count)]
        part = _part_of(rope, own)
        try:
            new = fit_chain(part, Pieces((pieces.first[rows] - start) % count, pieces.is_arc[rows], math.inf, pieces.state[rows]))
        except (FitError, np.linalg.LinAlgError):
            gains[key] = math.inf
        else:
            let_off = STEP_PRICE if pieces.bridged is not None else 0.0
            gains[key] = _price_there(part, chain, before, own, start) + let_off - new.price
    return gains[key]


def _price_there(part: Rope, chain: Chain, rows: np.ndarray, own: np.ndarray, start: int) -> float:
    """Price of the chain's carriers `rows`, in order, as a description of this part of the rim alone."""
    tangent, corners = chain.tangent[rows], chain.corners[rows]
    tangent[-1], corners[-1] = False, part.points[0]
    first = (chain.first[rows] - start) % len(chain.residuals)
    return price_of(part, chain.is_arc[rows], chain.state[rows], tangent, first, corners, chain.residuals[own])


def _unchanged(chain: Chain, pieces: Pieces) -> np.ndarray:
    """(k,) which of the pieces are the chain's own carriers, from beginning to end."""
    place = np.minimum(np.searchsorted(chain.first, pieces.first), chain.size - 1)
    same = (chain.first[place] == pieces.first) & (chain.is_arc[place] == pieces.is_arc)
    same &= (chain.state[place] == pieces.state).all(axis=1)
    return same & (chain.first[(place + 1) % chain.size] == np.roll(pieces.first, -1))


def _around(marked: np.ndarray, reach: int) -> np.ndarray:
    """(k,) the marked ones of a closed row and those up to `reach` beside them."""
    out = marked.copy()
    for shift in range(1, reach + 1):
        out |= np.roll(marked, shift) | np.roll(marked, -shift)
    return out


def _part_of(rope: Rope, own: np.ndarray) -> Rope:
    """The rim at these indices (m,), one after the other, as an open rope."""
    begin = rope.along[own[0]]
    after = np.mod(rope.along[(own[-1] + 1) % len(rope.along)] - begin, rope.total)
    return replace(rope, points=rope.points[own], samples=rope.samples[own], along=np.mod(rope.along[own] - begin, rope.total),
                   total=float(after), is_open=True)


def _allowance(pieces: Pieces, chain: Chain) -> float:
    """What the price of a chain is let off for the one bad stretch it bridges."""
    if pieces.bridged is None or float(np.abs(chain.residuals[pieces.bridged]).max()) > pieces.depth:
        return 0.0
    return STEP_PRICE


def _shorter_rows(rope: Rope, chain: Chain) -> list[Pieces]:
    """Rows of pieces with fewer carriers than the chain has, the likeliest first."""
    count = chain.size
    begin = rope.along[chain.first]
    length = np.mod(np.roll(begin, -1) - begin, rope.total)
    rows: list[tuple[float, Pieces]] = []
    flat = flat_arcs(rope, chain.is_arc, chain.state, chain.first)
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
            if run == 1 and span < 5.0 and not _are_parallel(chain, before, after):
                rows.append((1.0 + span, _split_between(rope, chain, i)))
    rows += [(0.15, pieces) for pieces in _without_steps(rope, chain, length)]
    return [pieces for _, pieces in sorted(rows, key=lambda row: row[0])]


def _bridged(rope: Rope, chain: Chain, begin: int, end: int) -> np.ndarray:
    """Rim indices from the start of carrier `begin` to that of carrier `end`."""
    return stretch(chain.first[begin], chain.first[end], len(rope.points))


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


def _are_parallel(chain: Chain, a: int, b: int) -> bool:
    """Are both lines that meet nowhere near?  What lies between them cannot be shared by them."""
    return not chain.is_arc[a] and not chain.is_arc[b] and abs(math.sin(chain.state[b, 0] - chain.state[a, 0])) < KINK_RAD


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
