"""A closed rim -> the fewest lines and arcs that explain it: dynamic programming over breakpoints by description length.

Words: *nodes* are the rim points at which a segment may begin (close together where the rim bends, far apart where it runs
straight); the *price* of a segment is what it must save in weighted squared distances.  All stretches from node to node are
priced at once: running sums of the points' moments give the least-squares line and Taubin's circle of any stretch in closed form.
These algebraic circles only choose the breakpoints; refine.py fits the survivors geometrically.
On a rim of many corners a stretch ends at most FARTHEST_AHEAD nodes on, so that the cost grows with the rim and not with its
square; an edge longer than that comes in pieces, which simplify.py makes one.
Errors along a rim are alike over the correlation length, so a stretch counts as length / (2 correlation length) samples.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.geometry.contour import edge_lengths, point_weights, signed_curvature
from afterpart.geometry.robust import spread

SMALLEST_BEND = 0.12
"""Node spacing as a share of the local radius of curvature."""

FARTHEST_NODES = 6.0
"""Node spacing on straight stretches, mm."""

MOST_NODES = 260
"""More nodes than this are first thinned out where the rim bends by no more than noise does (so many standard deviations of it),
then where it bends: until they are WIDEST_AT_BENDS (mm) apart there, or farther where that leaves more than MOST_OF_ALL."""

BENDS_OF_NOISE, WIDEST_AT_BENDS, MOST_OF_ALL = 3.0, 0.8, 2400

LARGEST_WHOLE, FARTHEST_AHEAD = 300, 64
"""On a rim of more than LARGEST_WHOLE nodes so many of them are looked ahead from each: an arc has hardly more than
2 pi / SMALLEST_BEND."""

GAP_STEPS = 4.0
"""A step this many times the rim's usual one has nothing of the rim in it."""

FLAT_RAD = 0.12
"""Turn below which an arc is hardly ever drawn on purpose: what bends so little is a straight edge seen through a lens."""

FLAT_PRICE = 30.0


@dataclass(frozen=True)
class Pieces:
    """first: (k,) rim index at which each piece begins, rising; is_arc: (k,); state: (k, 3) carriers already known, rows of nan
    where not (see chain.py); None when none is; bridged: rim indices of a stretch taken for a bad one, None when
    none is; depth: how far its points may lie off, mm."""

    first: np.ndarray
    is_arc: np.ndarray
    price: float
    state: np.ndarray | None = None
    bridged: np.ndarray | None = None
    depth: float = 0.0


def effective_weights(points: np.ndarray, correlation_length: float) -> np.ndarray:
    """(n,) independent samples that each point stands for: its length of rim over twice the correlation length, at most one."""
    return np.minimum(point_weights(points) / (2.0 * correlation_length), 1.0)


def choose_nodes(points: np.ndarray) -> np.ndarray:
    """Rim indices at which segments may begin, rising."""
    length = edge_lengths(points)
    step = float(np.median(length))
    reach = max(1, int(round(1.0 / step)))
    signed = signed_curvature(points, reach)
    bend = np.abs(signed)
    around = max(1, int(round(1.2 / step)))
    widest = bend.copy()
    for shift in range(-around, around + 1, max(1, around // 3)):
        np.maximum(widest, np.roll(bend, shift), out=widest)
    least = max(2.0 * step, 0.3)
    if float((length / np.clip(SMALLEST_BEND / np.maximum(widest, 1e-6), least, FARTHEST_NODES)).sum()) > MOST_NODES + 1:
        # straight edges bend by noise alone: twice the reach apart it is another
        noise = spread(signed - np.roll(signed, 2 * reach)) * math.sqrt(0.5)
        widest = np.maximum(widest - BENDS_OF_NOISE * noise, 0.0)
    for _ in range(12):
        spacing = np.clip(SMALLEST_BEND / np.maximum(widest, 1e-6), least, FARTHEST_NODES)
        walked = np.cumsum(length / spacing)
        count = int(walked[-1])
        if count <= MOST_NODES or (least >= WIDEST_AT_BENDS and count <= MOST_OF_ALL):
            break
        least *= 1.25
    marks = np.searchsorted(walked, np.arange(max(count, 4)) * (walked[-1] / max(count, 4)))
    # where the rim steps over a place left out, one segment may end and the next begin
    gaps = np.flatnonzero(length > GAP_STEPS * step)
    return np.unique(np.concatenate((np.minimum(marks, len(points) - 1), gaps, (gaps + 1) % len(points))))


def segment_rim(points: np.ndarray, noise: float, correlation_length: float, line_price: float, arc_price: float) -> Pieces:
    """The pieces of a closed rim (n, 2).  noise: standard deviation of a point, mm; prices in weighted squares.

    A closed row needs a first breakpoint: the search is repeated from breakpoints it found until none is cheaper.
    """
    nodes = choose_nodes(points)
    count = len(nodes)
    ahead = count if count <= LARGEST_WHOLE else FARTHEST_AHEAD
    line, arc = _stretch_costs(points, effective_weights(points, correlation_length) / noise**2, nodes, ahead)
    line += line_price
    arc += arc_price
    into = _by_end(np.minimum(line, arc))
    chosen, price = _cheapest_cycle(into, 0)
    for share in (0.5, 0.25, 0.75):
        again, new_price = _cheapest_cycle(into, chosen[int(share * len(chosen))])
        if new_price < price - 1e-9:
            chosen, price = again, new_price
    begin, end = np.array(chosen), np.roll(np.array(chosen), -1)
    order = np.argsort(nodes[begin])
    begin, end = begin[order], end[order]
    steps = (end - begin - 1) % count
    return Pieces(nodes[begin], arc[begin, steps] < line[begin, steps], price)


def _stretch_costs(points: np.ndarray, weights: np.ndarray, nodes: np.ndarray, ahead: int) -> tuple[np.ndarray, np.ndarray]:
    """Weighted squares of the best line and the best circle over each stretch node i -> node i + 1 + k, going forward round the
    rim: (nodes, ahead), twice.

    Circles that turn by less than FLAT_RAD over the stretch (its length taken as that of a straight one) cost FLAT_PRICE more.

    Extended precision in the running sums: fourth moments of a 400 mm part lose ten digits when subtracted.
    """
    size = float(np.abs(points - points.mean(axis=0)).max())
    x, y = ((points - points.mean(axis=0)) / size).T.astype(np.longdouble)
    z, w = x * x + y * y, weights.astype(np.longdouble)
    terms = np.stack((np.ones_like(x), x, y, x * x, y * y, x * y, x * z, y * z, z * z))
    sums = np.zeros((9, len(points) + 1), np.longdouble)
    np.cumsum(terms * w, axis=1, out=sums[:, 1:])
    at, total = sums[:, nodes], sums[:, -1]
    end = np.arange(len(nodes))[:, None] + np.arange(1, ahead + 1)
    part = at[:, end % len(nodes)] - at[:, :, None]
    part[:, end >= len(nodes)] += total[:, None]
    mass = part[0]
    mx, my, sxx, syy, sxy, sxz, syz, szz = part[1:] / mass
    xx, yy, xy = sxx - mx * mx, syy - my * my, sxy - mx * my
    mm = mx * mx + my * my
    # third and fourth moments about the stretch's own middle
    xz = sxz - 2.0 * mx * sxx - 2.0 * my * sxy + mx * mm - mx * (sxx + syy - mm)
    yz = syz - 2.0 * my * syy - 2.0 * mx * sxy + my * mm - my * (sxx + syy - mm)
    sz = sxx + syy
    zz = (
        szz
        - 4.0 * (mx * sxz + my * syz)
        + 4.0 * (mx * mx * sxx + my * my * syy + 2.0 * mx * my * sxy)
        + 2.0 * mm * sz
        - 4.0 * mm * mm
        + mm * mm
    )
    xx, yy, xy, xz, yz, zz, mass = (np.asarray(v, float) for v in (xx, yy, xy, xz, yz, zz, mass))
    trace, cov = xx + yy, np.maximum(xx * yy - xy * xy, 0.0)
    smallest = 0.5 * trace - np.sqrt(np.maximum(0.25 * trace * trace - cov, 0.0))
    line = np.maximum(smallest, 0.0)
    a3, a2 = 4.0 * trace, -3.0 * trace * trace - zz
    a1 = zz * trace + 4.0 * cov * trace - xz * xz - yz * yz - trace**3
    a0 = xz * xz * yy + yz * yz * xx - zz * cov - 2.0 * xz * yz * xy + trace * trace * cov
    root = np.zeros_like(trace)
    with np.errstate(all="ignore"):
        for _ in range(6):
            slope = a1 + root * (2.0 * a2 + root * 3.0 * a3)
            step = np.where(slope != 0.0, (a0 + root * (a1 + root * (a2 + root * a3))) / slope, 0.0)
            root = root - np.where(np.isfinite(step), step, 0.0)
        bad = ~(root >= 0.0)
        det = root * root - root * trace + cov
        bend = np.abs(det) / np.maximum(0.5 * np.hypot(xz * (yy - root) - yz * xy, yz * (xx - root) - xz * xy), 1e-300)
    circle = np.maximum(np.where(bad, line, np.minimum(root, line)), 0.0)
    reach = np.sqrt(12.0 * np.maximum(trace, 0.0))
    scale = mass * size * size
    return line * scale, circle * scale + np.where(bend * reach < FLAT_RAD, FLAT_PRICE, 0.0)


def _by_end(cost: np.ndarray) -> np.ndarray:
    """The cost (nodes, ahead) of stretches by the node they end at: row j, from the longest stretch to the shortest."""
    count, ahead = cost.shape
    back = np.arange(ahead)[::-1]
    return cost[(np.arange(count)[:, None] - 1 - back) % count, back]


def _cheapest_cycle(into: np.ndarray, start: int) -> tuple[list[int], float]:
    """Cheapest closed row of stretches that has a breakpoint at node `start`.  into: as `_by_end` has it."""
    count, ahead = into.shape
    best = np.full(count + 1, np.inf)
    best[0] = 0.0
    came = np.zeros(count + 1, int)
    for j in range(1, count + 1):
        low = max(0, j - ahead)
        price = best[low:j] + into[(start + j) % count, ahead - (j - low):]
        k = int(np.argmin(price))
        came[j], best[j] = low + k, price[k]
    chosen, j = [], count
    while j > 0:
        j = int(came[j])
        chosen.append((start + j) % count)
    return chosen[::-1], float(best[count])
