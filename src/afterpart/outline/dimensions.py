"""The list of dimensions of a part, their values in any state, and their uncertainties.

Which dimensions there are depends on the measured shape alone, never on nominals or readings, so that ids stay the same when the
same photo is measured again.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from afterpart.outline.drawing import Layout
from afterpart.outline.junction_slopes import junction_slopes
from afterpart.outline.part import Part, part_corners

MOST_DISTANCES = 45

STRAIGHT = 1e-9
"""Two edges that turn by less (radians) run straight on: whichever way one turns, their angle gets smaller: no slope."""


@dataclass(frozen=True)
class Item:
    """kind as in model.outline.Dimension; rows it belongs to."""

    kind: str
    rows: tuple[int, ...]


def list_dimensions(part: Part, layout: Layout, corners: list[np.ndarray]) -> list[Item]:
    """All dimensions of one part, in a steady order: diameters, distances, widths, radii, lengths, angles."""
    # channels have dimensions of their own (channelsizes.py)
    layout = replace(layout, loops=tuple(i for i in layout.loops if i < part.settled))
    ordered = [row for i in layout.loops for row in _in_order(part, layout, i)]
    circles = [row for row in ordered if row in set(part.circles())]
    arcs = [row for row in ordered if part.is_arc[row] and row not in circles]
    lines = [row for row in ordered if not part.is_arc[row]]
    items = [Item("diameter", (row,)) for row in circles]
    items += [Item("distance", pair) for pair in _center_pairs(part, circles)]
    items += _slot_distances(part, layout)
    items += _widths(part, layout, corners)
    items += [Item("radius", (row,)) for row in arcs]
    items += [Item("length", (row,)) for row in lines]
    items += _angles(part, layout)
    return items


def _in_order(part: Part, layout: Layout, loop: int) -> list[int]:
    """Rows of a loop in drawing order."""
    size = part.chains[loop].size
    return [part.begin[loop] + (layout.start[loop] + k) % size for k in range(size)]


def _center_pairs(part: Part, circles: list[int]) -> list[tuple[int, int]]:
    """Pairs of centres: all of them while they are few, else a chain of near neighbours and the far ones."""
    centers = part.state[circles, :2]
    pairs = [
        (a, b)
        for i, a in enumerate(circles)
        for b in circles[i + 1 :]
        if math.hypot(*(part.state[a, :2] - part.state[b, :2])) > 1.0
    ]
    if len(pairs) <= MOST_DISTANCES:
        return pairs
    reach = np.hypot(centers[:, None, 0] - centers[None, :, 0], centers[:, None, 1] - centers[None, :, 1])
    kept: set[tuple[int, int]] = set()
    for i in range(len(circles)):
        near = [j for j in np.argsort(reach[i], kind="stable") if reach[i, j] > 1.0]
        for j in near[:2] + near[-1:]:
            kept.add((min(i, int(j)), max(i, int(j))))
    return [(circles[i], circles[j]) for i, j in sorted(kept)]


def _slot_distances(part: Part, layout: Layout) -> list[Item]:
    """Centre distance of the two end arcs of a slot (two lines, two arcs)."""
    items = []
    for i in layout.loops:
        chain = part.chains[i]
        if chain.size == 4 and chain.is_arc.sum() == 2 and chain.is_arc[0] == chain.is_arc[2]:
            rows = [row for row in _in_order(part, layout, i) if part.is_arc[row]]
            items.append(Item("distance", (rows[0], rows[1])))
    return items


def _widths(part: Part, layout: Layout, corners: list[np.ndarray]) -> list[Item]:
    """For each loop and direction of edges: the two farthest edges that run against each other."""
    items = []
    for i in layout.loops:
        chain = part.chains[i]
        lines = [row for row in _in_order(part, layout, i) if not part.is_arc[row]] if not chain.is_circle else []
        used: list[float] = []
        found = []
        for n, row_a in enumerate(lines):
            for row_b in lines[n + 1 :]:
                turn = math.remainder(part.state[row_a, 0] - part.state[row_b, 0] - math.pi, 2.0 * math.pi)
                if abs(turn) < math.radians(1.5):
                    found.append((abs(part.state[row_a, 1] + part.state[row_b, 1]), row_a, row_b))
        for _, row_a, row_b in sorted(found, reverse=True):
            direction = part.state[row_a, 0]
            if all(abs(math.remainder(direction - other, math.pi)) > math.radians(4.0) for other in used):
                used.append(direction)
                items.append(Item("width", (row_a, row_b)))
    return items


def _angles(part: Part, layout: Layout) -> list[Item]:
    """Angles between neighbouring edges (fillets left out) that are neither straight nor square."""
    after = part.following()
    items = []
    for i in layout.loops:
        for k in range(part.chains[i].size):
            row = part.begin[i] + (layout.start[i] + k) % part.chains[i].size
            if part.is_arc[row] or part.chains[i].is_circle:
                continue
            follower = after[row]
            if part.is_arc[follower]:
                follower = after[follower]
            if part.is_arc[follower] or follower == row:
                continue
            turn = abs(math.remainder(part.state[follower, 0] - part.state[row, 0], math.pi))
            if math.radians(2.0) < turn and abs(turn - math.pi / 2) > math.radians(2.0):
                items.append(Item("angle", (row, follower)))
    return items


Places = tuple[tuple[float, float], tuple[float, float]]
Moves = list[tuple[int, np.ndarray]]


class Ends:
    """Where the segments of a part begin and end, and how these places move with its state.  near: rough ends of the segments in
    the part's frame; corners: loop by loop (k, 2), where each segment ends."""

    def __init__(self, part: Part, near: list[np.ndarray]) -> None:
        self._part, self._near = part, near
        self.corners = part_corners(part, near)
        self._corners: list[list[tuple[float, float]]] = [list(map(tuple, c.tolist())) for c in self.corners]
        self._place = {row: (i, row - part.begin[i]) for i in range(len(part.chains)) for row in part.rows(i)}
        self._slopes: dict[tuple[int, int], Moves] = {}

    def of(self, row: int) -> Places:
        """Start and end of a segment."""
        i, k = self._place[row]
        return self._corners[i][k - 1], self._corners[i][k]

    def middle(self, row: int) -> tuple[float, float]:
        """Half way from start to end."""
        (x0, y0), (x1, y1) = self.of(row)
        return 0.5 * (x0 + x1), 0.5 * (y0 + y1)

    def moves(self, row: int) -> tuple[Moves, Moves]:
        """Of a segment's start and of its end: the rows it hangs on and its slopes (2, 3) by the numbers of each."""
        i, k = self._place[row]
        return self._moves(i, (k - 1) % self._part.chains[i].size), self._moves(i, k)

    def _moves(self, i: int, k: int) -> Moves:
        """The same of the place where carrier k of a loop hands over to the next one."""
        found = self._slopes.get((i, k))
        if found is None:
            part, chain, begin = self._part, self._part.chains[i], self._part.begin[i]
            after = (k + 1) % chain.size
            own, following = junction_slopes(bool(chain.is_arc[k]), part.state[begin + k], bool(chain.is_arc[after]),
                                             part.state[begin + after], bool(chain.tangent[k]), self._near[i][k],
                                             self._corners[i][k])
            found = self._slopes[i, k] = [(begin + k, own), (begin + after, following)]
        return found


def value_of(item: Item, part: Part, ends: Ends) -> float:
    """Value of a dimension of the part; ends: of its segments."""
    state = part.state
    a = state[item.rows[0]]
    if item.kind == "diameter":
        return 2.0 * abs(float(a[2]))
    if item.kind == "radius":
        return abs(float(a[2]))
    if item.kind == "length":
        (x0, y0), (x1, y1) = ends.of(item.rows[0])
        return math.hypot(x1 - x0, y1 - y0)
    b = state[item.rows[1]]
    if item.kind == "distance":
        return math.hypot(a[0] - b[0], a[1] - b[1])
    if item.kind in ("width", "gap"):
        if part.is_arc[item.rows[0]]:
            return abs(abs(float(a[2])) - abs(float(b[2])))
        (nx, ny), (dx, dy) = _across(item, state, ends)
        return abs(nx * dx + ny * dy)
    turn = abs(math.remainder(float(b[0] - a[0]), 2.0 * math.pi))
    return 180.0 - math.degrees(turn)


def _across(item: Item, state: np.ndarray, ends: Ends) -> Places:
    """Of two edges that run against each other: the normal of their mean direction, and the way from the middle of the second to
    that of the first."""
    a, b = (float(state[row, 0]) for row in item.rows)
    direction = a + 0.5 * math.remainder(b - math.pi - a, 2.0 * math.pi)
    (ax, ay), (bx, by) = (ends.middle(row) for row in item.rows)
    return (-math.sin(direction), math.cos(direction)), (ax - bx, ay - by)


def slope_of(item: Item, part: Part, ends: Ends) -> np.ndarray:
    """(3k,) derivative of a dimension by the part's state; ends: of its segments."""
    state, slope = part.state, np.zeros(part.state.shape)
    a, b = item.rows[0], item.rows[-1]
    if item.kind in ("diameter", "radius"):
        slope[a, 2] = math.copysign(2.0 if item.kind == "diameter" else 1.0, state[a, 2])
    elif item.kind == "distance":
        away = state[a, :2] - state[b, :2]
        slope[a, :2] = away / max(math.hypot(*away), 1e-12)
        slope[b, :2] = -slope[a, :2]
    elif item.kind == "length":
        (x0, y0), (x1, y1) = ends.of(a)
        length = max(math.hypot(x1 - x0, y1 - y0), 1e-12)
        along = np.array([(x1 - x0) / length, (y1 - y0) / length])
        for sign, moves in zip((-1.0, 1.0), ends.moves(a), strict=True):
            for row, by in moves:
                slope[row] += sign * (along @ by)
    elif item.kind in ("width", "gap") and part.is_arc[a]:
        sign = math.copysign(1.0, abs(state[a, 2]) - abs(state[b, 2]))
        slope[a, 2], slope[b, 2] = math.copysign(sign, sign * state[a, 2]), -math.copysign(sign, sign * state[b, 2])
    elif item.kind in ("width", "gap"):
        (nx, ny), (dx, dy) = _across(item, state, ends)
        sign = math.copysign(1.0, nx * dx + ny * dy)
        normal = np.array([nx, ny])
        for edge, way in ((a, 0.5 * sign), (b, -0.5 * sign)):
            for moves in ends.moves(edge):
                for row, by in moves:
                    slope[row] += way * (normal @ by)
            slope[edge, 0] -= 0.5 * sign * (ny * dx - nx * dy)  # the mean direction turns by half of what one edge does
    else:
        turn = math.remainder(float(state[b, 0] - state[a, 0]), 2.0 * math.pi)
        if abs(turn) > STRAIGHT:
            slope[a, 0] = math.copysign(math.degrees(1.0), turn)
            slope[b, 0] = -slope[a, 0]
    return slope.ravel()
