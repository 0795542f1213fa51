"""Cutting strands at their crossings, and joining the pieces that are kept into closed chains.

Words: a *piece* is a run of one strand between two cuts; a *node* is a place where pieces end.
Conventions: mm; kept pieces have the wanted region on their left, so that chains round it come out counter-clockwise and chains
round its openings clockwise.
Limits: places nearer than SAME are one node; runs shorter than that vanish.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from afterpart.geometry.crossing import REACH, crossing_points
from afterpart.geometry.strand import Strands, foot_shares, points_at, tangents_at
from afterpart.model.feature import Chain
from afterpart.model.outline import Arc, Circle, Line, Point, Segment

SAME = 1e-6
"""Places nearer than this are one, mm: well above rounding and the last digit of a stored drawing, well below any print."""


@dataclass(frozen=True)
class Pieces:
    """m pieces of strands.  of: strand; low, high: shares; first, last: nodes in the direction of travel; turned: runs against
    its strand; nodes: places (k, 2)."""

    of: np.ndarray
    low: np.ndarray
    high: np.ndarray
    first: np.ndarray
    last: np.ndarray
    turned: np.ndarray
    nodes: np.ndarray

    def __len__(self) -> int:
        return len(self.of)


def cut_at_crossings(strands: Strands, i: np.ndarray, j: np.ndarray) -> Pieces:
    """The strands cut wherever the pairs i, j of them meet."""
    i, j, points = crossing_points(strands, strands, i, j)
    own = np.arange(len(strands))
    of = np.concatenate([own, own, i, j])
    places = np.concatenate([strands.start, strands.end, points, points])
    share = np.concatenate([np.zeros(len(own)), np.ones(len(own)), foot_shares(strands, of[2 * len(own):],
                                                                             places[2 * len(own):])[0]])
    node, nodes = _nodes(places)
    order = np.lexsort((share, of))
    of, share, node = of[order], share[order], node[order]
    within = of[1:] == of[:-1]
    length = (share[1:] - share[:-1]) * strands.length[of[1:]]
    within &= (node[1:] != node[:-1]) | (length > 10 * SAME)
    low, high, of = share[:-1][within], share[1:][within], of[1:][within]
    return Pieces(of, low, high, node[:-1][within], node[1:][within], np.zeros(len(of), bool), nodes)


def _nodes(places: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which node each place belongs to, and where the nodes are.

    A node lies at the first of its places, an end of a segment where there is one, unless they are apart: then at the last, which
    is a crossing where there is one, and so lies on both curves.
    """
    row, column = cKDTree(places).query_pairs(SAME, output_type="ndarray").T
    near = coo_matrix((np.ones(len(row), bool), (row, column)), shape=(len(places), len(places)))
    node = connected_components(near, directed=False)[1]
    first = places[np.unique(node, return_index=True)[1]]
    last = places[::-1][np.unique(node[::-1], return_index=True)[1]]
    apart = np.hypot(*(first - last).T) > REACH / 10
    return node, np.where(apart[:, None], last, first)


def middles(strands: Strands, pieces: Pieces) -> np.ndarray:
    """The point (m, 2) halfway along each piece."""
    return points_at(strands, pieces.of, (pieces.low + pieces.high) / 2)


def chosen(pieces: Pieces, keep: np.ndarray) -> Pieces:
    """The pieces where keep (m,) is True, or in the order of its indices."""
    return Pieces(pieces.of[keep], pieces.low[keep], pieces.high[keep], pieces.first[keep], pieces.last[keep],
                  pieces.turned[keep], pieces.nodes)


def turned(pieces: Pieces, back: np.ndarray) -> Pieces:
    """The same pieces, those where back (m,) is True run the other way."""
    return replace(pieces, first=np.where(back, pieces.last, pieces.first), last=np.where(back, pieces.first, pieces.last),
                   turned=pieces.turned ^ back)


def once(strands: Strands, pieces: Pieces) -> Pieces:
    """Pieces that lie on each other: once where they run the same way, not at all where they run against each other."""
    at = middles(strands, pieces)
    groups: dict[tuple[int, int], list[int]] = {}
    for k, ends in enumerate(zip(pieces.first.tolist(), pieces.last.tolist(), strict=True)):
        groups.setdefault((min(ends), max(ends)), []).append(k)
    keep = np.ones(len(pieces), bool)
    for group in groups.values():
        for position, k in enumerate(group):
            for other in group[:position]:
                if keep[k] and keep[other] and np.hypot(*(at[k] - at[other])) <= SAME:
                    keep[k] = False
                    keep[other] = _same_way(strands, pieces, k, other)
    return chosen(pieces, keep)


def _same_way(strands: Strands, pieces: Pieces, k: int, other: int) -> bool:
    if pieces.first[k] != pieces.last[k]:
        return bool(pieces.first[k] == pieces.first[other])
    both = np.array([k, other])
    ahead = tangents_at(strands, pieces.of[both], (pieces.low + pieces.high)[both] / 2)
    return bool((ahead[0] @ ahead[1] > 0) == (pieces.turned[k] == pieces.turned[other]))


def without_dead_ends(pieces: Pieces) -> Pieces:
    """Only pieces that something leads to and from, over and over until nothing changes."""
    while len(pieces):
        keep = np.isin(pieces.first, pieces.last) & np.isin(pieces.last, pieces.first)
        if keep.all():
            break
        pieces = chosen(pieces, keep)
    return pieces


def closed_chains(strands: Strands, pieces: Pieces) -> tuple[Chain, ...]:
    """The pieces joined end to end.  Where several go on, the leftmost is taken; a place met twice closes a chain of its own."""
    out: dict[int, list[int]] = {}
    for k, node in enumerate(pieces.first.tolist()):
        out.setdefault(node, []).append(k)
    unused, chains = dict.fromkeys(range(len(pieces))), []
    while unused:
        path = [next(iter(unused))]
        del unused[path[0]]
        while path:
            node = pieces.last[path[-1]]
            back = next((n for n, k in enumerate(path) if pieces.first[k] == node), None)
            if back is not None:
                chains.append(_as_chain(strands, pieces, path[back:]))
                path = path[:back]
                continue
            following = [k for k in out.get(int(node), ()) if k in unused]
            if not following:
                break
            path.append(_leftmost(strands, pieces, path[-1], following))
            del unused[path[-1]]
    return tuple(chain for chain in chains if chain)


def _leftmost(strands: Strands, pieces: Pieces, before: int, following: list[int]) -> int:
    if len(following) == 1:
        return following[0]
    heading = _heading(strands, pieces, before, 1.0)

    def turn_rad(k: int) -> float:
        ahead = _heading(strands, pieces, k, 0.0)
        turn = math.atan2(heading[0] * ahead[1] - heading[1] * ahead[0], heading @ ahead)
        return turn if turn > -math.pi + 1e-6 else -math.pi

    return max(following, key=turn_rad)


def _heading(strands: Strands, pieces: Pieces, k: int, share: float) -> np.ndarray:
    """Direction of travel at the beginning (0) or end (1) of a piece, taken a little way in so that touching curves differ."""
    inward = 1e-3 if share == 0.0 else 1 - 1e-3
    inward = 1 - inward if pieces.turned[k] else inward
    at = pieces.low[k] + (pieces.high[k] - pieces.low[k]) * inward
    return tangents_at(strands, pieces.of[k], at) * (-1.0 if pieces.turned[k] else 1.0)


def _as_chain(strands: Strands, pieces: Pieces, path: list[int]) -> Chain:
    """The pieces as segments; neighbours on one carrier with one name are one segment again."""
    starts = [n for n, k in enumerate(path) if not _goes_on(strands, pieces, path[n - 1], k)]
    first = int(pieces.of[path[0]])
    if not starts:
        if strands.is_line[first]:
            return ()
        x, y = strands.center[first].tolist()
        return (Circle(strands.ids[first], (x, y), float(strands.radius[first])),)
    runs = [(path[n], path[(starts[(m + 1) % len(starts)] - 1) % len(path)]) for m, n in enumerate(starts)]
    return tuple(_segment(strands, pieces, a, b) for a, b in runs)


def _goes_on(strands: Strands, pieces: Pieces, k: int, following: int) -> bool:
    """Whether the second piece continues the first on the same carrier and under the same name."""
    a, b = int(pieces.of[k]), int(pieces.of[following])
    if a == b and pieces.turned[k] == pieces.turned[following]:
        return True
    if strands.ids[a] != strands.ids[b] or strands.is_line[a] != strands.is_line[b]:
        return False
    if not strands.is_line[a]:
        same = np.hypot(*(strands.center[a] - strands.center[b])) < 1e-9 and abs(strands.radius[a] - strands.radius[b]) < 1e-9
        ahead = np.sign(strands.turn_rad[[a, b]]) * np.where(pieces.turned[[k, following]], -1, 1)
        return bool(same and ahead[0] == ahead[1])
    (ux, uy), (vx, vy) = ((strands.end[n] - strands.start[n]).tolist() for n in (a, b))
    way = 1 if pieces.turned[k] == pieces.turned[following] else -1
    lengths = math.hypot(ux, uy) * math.hypot(vx, vy)
    return bool(abs(ux * vy - uy * vx) < 1e-10 * lengths and way * (ux * vx + uy * vy) > 0)


def _segment(strands: Strands, pieces: Pieces, first: int, last: int) -> Segment:
    strand = int(pieces.of[first])
    start, end = (_point(pieces.nodes[n]) for n in (pieces.first[first], pieces.last[last]))
    if strands.is_line[strand]:
        return Line(strands.ids[strand], start, end)
    ccw = bool((strands.turn_rad[strand] > 0) != pieces.turned[first])
    return Arc(strands.ids[strand], start, end, _point(strands.center[strand]), float(strands.radius[strand]), ccw)


def _point(row: np.ndarray) -> Point:
    return float(row[0]), float(row[1])
