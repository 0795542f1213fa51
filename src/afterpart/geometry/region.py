"""Regions bounded by chains: uniting, subtracting, intersecting, with exact arcs.

Words: a *region* is what lies inside its outer chain and outside every opening.  A *rule* says from "inside chain 1, inside
chain 2 ..." whether a point is wanted.
How: all chains are cut where they meet; a piece is kept when the rule answers differently on its two sides, once where chains
share a stretch; the kept pieces are joined with the wanted side on their left.
Conventions: mm; outer chains come out counter-clockwise, openings clockwise (a circle has no way).
Limits: chains do not cross themselves; runs shorter than loops.SAME vanish.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from afterpart.geometry.chain import (
    KEPT,
    chain_area,
    chain_length,
    counter_clockwise,
    is_inside,
    require_closed,
    reversed_chain,
)
from afterpart.geometry.loops import (
    SAME,
    Pieces,
    chosen,
    closed_chains,
    cut_at_crossings,
    middles,
    once,
    turned,
    without_dead_ends,
)
from afterpart.geometry.strand import (
    Strands,
    chosen_strands,
    foot_shares,
    points_at,
    strands_of,
    tangents_at,
    winding,
    without_specks,
)
from afterpart.model.feature import Chain

Rule = Callable[[np.ndarray], np.ndarray]
"""From (m, k) booleans, inside each of k chains, to (m,) booleans, wanted."""

ALONG = 1e-7
"""A piece whose middle lies this near to another chain runs along it, mm."""


@dataclass(frozen=True)
class Region:
    """What lies inside outer and outside every opening."""

    outer: Chain
    openings: tuple[Chain, ...] = ()


def region_area(region: Region) -> float:
    """Area, mm2."""
    return abs(chain_area(region.outer)) - sum(abs(chain_area(o)) for o in region.openings)


def unite(*chains: Chain) -> tuple[Region, ...]:
    """What lies in any of the chains.  SolidError: a chain is degenerate."""
    return combine(chains, lambda inside: np.asarray(inside.any(axis=1)))


def subtract(chain: Chain, *others: Chain) -> tuple[Region, ...]:
    """What lies in the first chain and in none of the others.  SolidError: a chain is degenerate."""
    return _subtracted((chain, *others))


@lru_cache(maxsize=KEPT)
def _subtracted(chains: tuple[Chain, ...]) -> tuple[Region, ...]:
    return combine(chains, lambda inside: inside[:, 0] & ~inside[:, 1:].any(axis=1))


def intersect(a: Chain, b: Chain) -> tuple[Region, ...]:
    """What lies in both chains.  SolidError: a chain is degenerate."""
    return combine((a, b), lambda inside: np.asarray(inside.all(axis=1)))


def combine(chains: tuple[Chain, ...], rule: Rule) -> tuple[Region, ...]:
    """The regions where the rule holds, the largest first.  The rule must not hold outside all chains.
    SolidError: a chain is degenerate."""
    for chain in chains:
        require_closed(chain)
    turned_right = tuple(counter_clockwise(without_specks(chain)) for chain in chains)
    strands = strands_of([segment for chain in turned_right for segment in chain])
    owner = np.repeat(np.arange(len(chains)), [len(chain) for chain in turned_right])
    pieces = cut_at_crossings(strands, *_pairs_of_chains(owner))
    left, right = _sides(strands, owner, pieces)
    wanted_left, wanted_right = rule(left), rule(right)
    keep = wanted_left != wanted_right
    pieces = once(strands, turned(chosen(pieces, keep), wanted_right[keep]))
    loops = [c for c in closed_chains(strands, without_dead_ends(pieces)) if abs(chain_area(c)) > SAME * chain_length(c)]
    return _nested(loops)


def _pairs_of_chains(owner: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Pairs i < j of strands that belong to different chains."""
    first, second = np.nonzero(owner[:, None] < owner[None, :])
    return first, second


def _sides(strands: Strands, owner: np.ndarray, pieces: Pieces) -> tuple[np.ndarray, np.ndarray]:
    """Whether each chain (k) holds the left and the right side of each piece (m): two arrays (m, k).

    A chain that the piece runs along holds one side of it; any other holds both or none.
    """
    at = middles(strands, pieces)
    count = int(owner.max()) + 1
    left, right = np.zeros((len(at), count), bool), np.zeros((len(at), count), bool)
    shares, apart = foot_shares(strands, np.arange(len(strands))[None, :], at[:, None, :])
    ahead = tangents_at(strands, pieces.of, (pieces.low + pieces.high) / 2)
    for k in range(count):
        own = np.nonzero(owner == k)[0]
        nearest = own[apart[:, own].argmin(axis=1)]
        rows = np.arange(len(at))
        along = apart[rows, nearest] <= ALONG
        same_way = np.einsum("nk,nk->n", ahead, tangents_at(strands, nearest, shares[rows, nearest])) > 0
        inside = winding(at, chosen_strands(strands, own)) != 0
        left[:, k], right[:, k] = np.where(along, same_way, inside), np.where(along, ~same_way, inside)
    return left, right


def _holds(a: Chain, b: Chain) -> bool:
    """Whether loop b lies in loop a, which it does not cross: most of five points do, as loops may touch in some."""
    if a is b:
        return False
    first = strands_of(b[:1])
    probes = points_at(first, np.zeros(5, int), np.array([0.11, 0.31, 0.5, 0.71, 0.91]))
    return int(is_inside(probes, a).sum()) > 2


def _nested(loops: list[Chain]) -> tuple[Region, ...]:
    """Loops inside an even number of others are outer chains; the rest are openings of the smallest that holds them."""
    size = [abs(chain_area(loop)) for loop in loops]
    holds = np.array([[_holds(a, b) for b in loops] for a in loops], dtype=bool).reshape(len(loops), len(loops))
    depth = holds.sum(axis=0)
    openings: dict[int, list[Chain]] = {k: [] for k in range(len(loops)) if depth[k] % 2 == 0}
    for k in np.nonzero(depth % 2)[0]:
        holder = min((n for n in openings if holds[n, k]), key=lambda n: size[n])
        openings[holder].append(reversed_chain(counter_clockwise(loops[k])))
    regions = [Region(counter_clockwise(loops[k]), tuple(inner)) for k, inner in openings.items()]
    return tuple(sorted(regions, key=region_area, reverse=True))
