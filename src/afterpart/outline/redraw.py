"""One rim drawn otherwise than the program drew it: its segments changed, parted, joined, and fitted again.

Words: a *stretch* is one segment to be: its id, where on the rim it begins, whether it is an arc, its carrier where that is known
already.  Two stretches are *twins* while they are halves of one segment and of one kind: the rim decides whether they are two
carriers or one, parted.  A rim whose stretches are those it was traced with keeps its chain as it is.
House units, photo frame.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from afterpart.errors import FitError
from afterpart.model.edges import Rim
from afterpart.outline.chain import Chain, off_carriers, signed_distance
from afterpart.outline.refine import PARAMETER_PRICE, SEGMENT_PRICE, Rope, refitted
from afterpart.outline.segment import Pieces
from afterpart.outline.trace import round_chain

LEAST_POINTS = 4
"""A stretch of fewer points of its rim is too short to be drawn."""

STRAIGHT = 2.0
"""An arc whose middle stands no farther off its chord than so many times the rim's noise is a line."""

MEET = 1e-3
"""Two segments meet when their junction lies on both to within so many mm."""

FARTHEST_SEAM = 3.0
"""Two halves whose carriers cross farther than this from where they were parted (mm) are one carrier."""


@dataclass(frozen=True)
class Stretch:
    """first: rim index at which it begins; state (3,): its carrier, None to be found; twin: name of the segment it is half of;
    tangent: whether the junction at its end is, None when the rim shall tell; bound: tangent because the maker says so."""

    id: str
    first: int
    is_arc: bool
    state: tuple[float, float, float] | None
    tangent: bool | None
    twin: str = ""
    bound: bool = False


@dataclass(frozen=True)
class Drawn:
    """One rim and what is drawn of it.  points (n, 2), u (n,) house units; chain, ids (one a carrier); stretches: what it shall
    be, None while that is what it is; start: id with which the drawing begins; seams: pairs of ids of one parted carrier;
    row: number of the correction that added it, 0 where it was traced."""

    rim: Rim
    points: np.ndarray
    u: np.ndarray
    chain: Chain
    ids: tuple[str, ...]
    start: str
    stretches: tuple[Stretch, ...]
    is_circle: bool
    seams: tuple[tuple[str, str], ...] = ()
    row: int = 0

    def place(self, name: str) -> int:
        """Which of the stretches has this id.  Raises ValueError when none has."""
        return [stretch.id for stretch in self.stretches].index(name)


def stretches_of(chain: Chain, ids: tuple[str, ...]) -> tuple[Stretch, ...]:
    """The stretches a chain was drawn with."""
    return tuple(Stretch(name, int(chain.first[k]), bool(chain.is_arc[k]), tuple(float(v) for v in chain.state[k]),
                         bool(chain.tangent[k])) for k, name in enumerate(ids))


def own_points(drawn: Drawn, k: int) -> np.ndarray:
    """Rim indices of stretch k."""
    count, begin = len(drawn.points), drawn.stretches[k].first
    end = drawn.stretches[(k + 1) % len(drawn.stretches)].first
    return (begin + np.arange((end - begin - 1) % count + 1)) % count


def with_kind(drawn: Drawn, k: int, is_arc: bool) -> Drawn:
    """Stretch k a line or an arc; its junctions as the rim tells."""
    stretch = drawn.stretches[k]
    if stretch.is_arc == is_arc and not stretch.twin:
        return drawn
    rows = list(drawn.stretches)
    rows[k] = replace(stretch, is_arc=is_arc, state=None, twin="", tangent=None)
    rows[k - 1] = replace(rows[k - 1], tangent=None)
    return replace(drawn, stretches=tuple(rows))


def parted(drawn: Drawn, k: int, at: np.ndarray) -> Drawn:
    """Stretch k parted at the point of its rim nearest to `at` (2,).  Raises FitError too near to its ends."""
    stretch, own = drawn.stretches[k], own_points(drawn, k)
    cut = int(np.argmin(np.hypot(*(drawn.points[own] - at).T)))
    if cut < LEAST_POINTS or len(own) - cut < LEAST_POINTS:
        raise FitError(f"found a place at the end of {stretch.id}, expected one within it.")
    one = replace(stretch, id=stretch.id + "a", twin=stretch.id, tangent=None, bound=False)
    two = replace(stretch, id=stretch.id + "b", twin=stretch.id, first=int(own[cut]))
    rows = (*drawn.stretches[:k], one, two, *drawn.stretches[k + 1:])
    return replace(drawn, stretches=rows, start=one.id if drawn.start == stretch.id else drawn.start)


def joined_at(drawn: Drawn, k: int, original: Stretch | None) -> Drawn:
    """Stretches k and k + 1 as one; `original`: the segment they are halves of, None when they are two of their own."""
    one, two = drawn.stretches[k], drawn.stretches[(k + 1) % len(drawn.stretches)]
    if original is not None:
        whole = replace(original, first=one.first)
    else:
        is_arc = one.is_arc if len(own_points(drawn, k)) >= len(own_points(drawn, drawn.place(two.id))) else two.is_arc
        whole = Stretch(f"{one.id}_{two.id}", one.first, is_arc, None, None)
    rows = [whole if stretch is one else stretch for stretch in drawn.stretches if stretch is not two]
    if original is None:
        before = rows.index(whole) - 1
        rows[before] = replace(rows[before], tangent=None)
    start = whole.id if drawn.start in (one.id, two.id) else drawn.start
    return replace(drawn, stretches=tuple(rows), start=start)


def redrawn(drawn: Drawn, rope: Rope) -> Drawn:
    """The rim with its chain fitted to its stretches.  Raises FitError where that cannot be."""
    if drawn.is_circle:
        if drawn.chain.is_circle:
            return drawn
        circle = round_chain(rope, drawn.u)
        if circle is None:
            raise FitError("its points fix no circle.")
        return replace(drawn, chain=circle, ids=(drawn.start,))
    if drawn.stretches == stretches_of(drawn.chain, drawn.ids):
        return drawn
    if len(drawn.stretches) < 2:
        raise FitError("found one segment left, expected at least two, or a circle.")
    whole = _without_twins(drawn)
    base = replace(whole, chain=_fitted(whole, rope))
    if len(whole.stretches) == len(drawn.stretches):
        return base
    alone = _alone(drawn, rope)
    if alone is not None:
        # the maker parted them: a second carrier costs half of what it would have to save by itself
        worth = (len(drawn.stretches) - len(whole.stretches)) * (SEGMENT_PRICE + 2.0 * PARAMETER_PRICE)
        if alone.chain.price < _fit_of(whole.stretches, rope).price + 0.5 * worth:
            return alone
    return _with_seams(base, drawn)


def _check_bends(rows: Sequence[Stretch], chain: Chain, noise: float) -> None:
    """Raises FitError for a stretch made an arc that does not bend by more than its noise."""
    for k, stretch in enumerate(rows):
        if chain.is_arc[k] and stretch.state is None:
            chord = float(np.hypot(*(chain.corners[k] - chain.corners[k - 1])))
            bend = chord * chord / (8.0 * abs(float(chain.state[k, 2])))
            if bend < STRAIGHT * noise:
                raise FitError(f"{stretch.id} bends by only {bend:.3f} mm over its {chord:.1f} mm, which is no more than its "
                               "noise: it is straight.")


def _fitted(drawn: Drawn, rope: Rope) -> Chain:
    """The chain of the stretches."""
    rows = sorted(drawn.stretches, key=lambda stretch: stretch.first)
    if _is_as_traced(drawn):
        return _reordered(drawn.chain, np.argsort(drawn.chain.first))
    return _fit_of(rows, rope)


def _fit_of(rows: Sequence[Stretch], rope: Rope) -> Chain:
    """The chain of stretches in order of their beginnings."""
    nan = (np.nan, np.nan, np.nan)
    state = np.array([row.state if row.state is not None else nan for row in rows])
    pieces = Pieces(np.array([row.first for row in rows]), np.array([row.is_arc for row in rows]), np.inf, state)
    known = np.array([row.tangent is not None for row in rows])
    tangent = np.array([bool(row.tangent) for row in rows])
    chain = refitted(rope, pieces, tangent, known, np.array([row.bound for row in rows]))
    _check_bends(rows, chain, rope.noise)
    missed = np.flatnonzero(off_carriers(chain.is_arc, chain.state, chain.corners, MEET))
    if len(missed):
        one, two = rows[missed[0]].id, rows[(missed[0] + 1) % len(rows)].id
        raise FitError(f"{one} and {two} would not meet.")
    return chain


def _is_as_traced(drawn: Drawn) -> bool:
    """Whether the stretches, in any order, are those of the chain."""
    now = sorted((s.first, s.is_arc, s.tangent) for s in drawn.stretches)
    chain = drawn.chain
    return now == sorted((int(chain.first[k]), bool(chain.is_arc[k]), bool(chain.tangent[k])) for k in range(chain.size)) \
        if not chain.is_circle else False


def _without_twins(drawn: Drawn) -> Drawn:
    """The rim with twins of one segment and one kind taken together."""
    rows: list[Stretch] = []
    for stretch in drawn.stretches:
        if rows and stretch.twin and rows[-1].twin == stretch.twin and rows[-1].is_arc == stretch.is_arc:
            rows[-1] = replace(rows[-1], tangent=stretch.tangent, bound=stretch.bound)
        else:
            rows.append(stretch)
    ordered = sorted(rows, key=lambda stretch: stretch.first)
    return replace(drawn, stretches=tuple(ordered), ids=tuple(stretch.id for stretch in ordered))


def _alone(drawn: Drawn, rope: Rope) -> Drawn | None:
    """The rim with each twin a carrier of its own; None where they do not meet near the place they were parted at."""
    rows = tuple(sorted((replace(s, state=None) if s.twin else s for s in drawn.stretches), key=lambda stretch: stretch.first))
    own = replace(drawn, stretches=rows, ids=tuple(stretch.id for stretch in rows))
    try:
        chain = _fitted(own, rope)
    except FitError:
        return None
    for k, stretch in enumerate(rows):
        after = rows[(k + 1) % len(rows)]
        if stretch.twin and stretch.twin == after.twin:
            if float(np.hypot(*(chain.corners[k] - drawn.points[after.first]))) > FARTHEST_SEAM:
                return None
    return replace(own, chain=chain)


def _with_seams(base: Drawn, drawn: Drawn) -> Drawn:
    """The chain of the whole segments with those parted whose halves are one carrier."""
    chain, ids, seams = base.chain, list(base.ids), []
    known = set(ids)
    for k, stretch in enumerate(drawn.stretches):
        if stretch.id in known:
            continue
        before = drawn.stretches[k - 1].id
        place = ids.index(before)
        chain = _doubled(chain, place, stretch.first, base.points[stretch.first])
        ids.insert(place + 1, stretch.id)
        seams.append((before, stretch.id))
    order = np.argsort(chain.first, kind="stable")
    return replace(base, chain=_reordered(chain, order), ids=tuple(ids[k] for k in order), seams=tuple(seams),
                   stretches=tuple(drawn.stretches[drawn.place(ids[k])] for k in order))


def _doubled(chain: Chain, k: int, first: int, at: np.ndarray) -> Chain:
    """The chain with carrier k parted near the point `at` (2,), both halves on it."""
    off, slope = signed_distance(chain.is_arc[k:k + 1], chain.state[k:k + 1], at[None])
    if chain.is_arc[k]:
        way = at - chain.state[k, :2]
        corner = chain.state[k, :2] + abs(chain.state[k, 2]) * way / np.hypot(*way)
    else:
        corner = at - off[0] * np.array([-np.sin(chain.state[k, 0]), np.cos(chain.state[k, 0])])
    rows = np.insert(np.arange(chain.size), k + 1, k)
    numbers = (3 * rows[:, None] + np.arange(3)).ravel()
    corners, tangent = chain.corners[rows], chain.tangent[rows]
    corners[k], tangent[k] = corner, False
    begin = chain.first[rows]
    begin[k + 1] = first
    return replace(chain, is_arc=chain.is_arc[rows], state=chain.state[rows], tangent=tangent, first=begin, corners=corners,
                   covariance=chain.covariance[np.ix_(numbers, numbers)])


def _reordered(chain: Chain, order: np.ndarray) -> Chain:
    """The chain with its carriers in this order (a turn round the rim)."""
    numbers = (3 * order[:, None] + np.arange(3)).ravel()
    return replace(chain, is_arc=chain.is_arc[order], state=chain.state[order], tangent=chain.tangent[order],
                   first=chain.first[order], corners=chain.corners[order],
                   covariance=chain.covariance[np.ix_(numbers, numbers)])
