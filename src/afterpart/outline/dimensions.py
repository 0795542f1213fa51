"""The list of dimensions of a part, their values in any state, and their uncertainties.

Which dimensions there are depends on the measured shape alone, never on nominals or readings, so that ids stay the same when the
same photo is measured again.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from afterpart.outline.chain import junction
from afterpart.outline.drawing import Layout
from afterpart.outline.part import Part

MOST_DISTANCES = 45


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


class Ends:
    """Where the segments of a part begin and end, in any state of it; a junction asked for once is known from then on, and a
    state that differs in one number asks anew only for what hangs on it.  near: rough ends of segments in the states' frame."""

    def __init__(self, part: Part, near: list[np.ndarray]) -> None:
        self._near = near
        self._chains = part.chains
        self._place = {row: (i, row - part.begin[i]) for i in range(len(part.chains)) for row in part.rows(i)}
        self._known: dict[tuple[int, int, bytes, bytes], tuple[float, float]] = {}

    def of(self, row: int, state: np.ndarray) -> tuple[tuple[float, float], tuple[float, float]]:
        """Start and end of a segment in a state (k, 3)."""
        i, k = self._place[row]
        size, begin = self._chains[i].size, row - k
        before, after = (k - 1) % size, (k + 1) % size
        return (self._junction(i, before, state[begin + before], state[row]),
                self._junction(i, k, state[row], state[begin + after]))

    def middle(self, row: int, state: np.ndarray) -> tuple[float, float]:
        """Half way from start to end."""
        (x0, y0), (x1, y1) = self.of(row, state)
        return 0.5 * (x0 + x1), 0.5 * (y0 + y1)

    def _junction(self, i: int, k: int, own: np.ndarray, following: np.ndarray) -> tuple[float, float]:
        """Where carrier k of a loop hands over to the next one."""
        key = i, k, own.tobytes(), following.tobytes()
        found = self._known.get(key)
        if found is None:
            chain = self._chains[i]
            place = junction(bool(chain.is_arc[k]), own, bool(chain.is_arc[(k + 1) % chain.size]), following,
                             bool(chain.tangent[k]), self._near[i][k])
            found = self._known[key] = (float(place[0]), float(place[1]))
        return found


def value_of(item: Item, part: Part, state: np.ndarray, ends: Ends) -> float:
    """Value of a dimension in a state (k, 3) of the part."""
    a = state[item.rows[0]]
    if item.kind == "diameter":
        return 2.0 * abs(float(a[2]))
    if item.kind == "radius":
        return abs(float(a[2]))
    if item.kind == "length":
        (x0, y0), (x1, y1) = ends.of(item.rows[0], state)
        return math.hypot(x1 - x0, y1 - y0)
    b = state[item.rows[1]]
    if item.kind == "distance":
        return math.hypot(a[0] - b[0], a[1] - b[1])
    if item.kind in ("width", "gap") and part.is_arc[item.rows[0]]:
        return abs(abs(float(a[2])) - abs(float(b[2])))
    if item.kind in ("width", "gap"):
        direction = a[0] + 0.5 * math.remainder(b[0] - math.pi - a[0], 2.0 * math.pi)
        (ax, ay), (bx, by) = (ends.middle(row, state) for row in item.rows)
        return abs(math.cos(direction) * (ay - by) - math.sin(direction) * (ax - bx))
    turn = abs(math.remainder(float(b[0] - a[0]), 2.0 * math.pi))
    return 180.0 - math.degrees(turn)


def slope_of(item: Item, part: Part, state: np.ndarray, ends: Ends) -> np.ndarray:
    """(3k,) derivative of a dimension by the state, by differences over the rows it can depend on."""
    rows = set(item.rows)
    if item.kind in ("length", "width", "gap"):
        for row in item.rows:
            for i, chain in enumerate(part.chains):
                if part.begin[i] <= row < part.begin[i] + chain.size:
                    rows |= {part.begin[i] + (row - part.begin[i] + d) % chain.size for d in (-1, 1)}
    slope, own = np.zeros(state.shape), state.copy()
    for row in rows:
        for k in _numbers(item, bool(part.is_arc[row])):
            step, now = 1e-6 if k or part.is_arc[row] else 1e-7, state[row, k]
            own[row, k] = now + step
            up = value_of(item, part, own, ends)
            own[row, k] = now - step
            slope[row, k] = (up - value_of(item, part, own, ends)) / (2.0 * step)
            own[row, k] = now
    return slope.ravel()


def _numbers(item: Item, is_arc: bool) -> tuple[int, ...]:
    """Which of a row's numbers a dimension depends on."""
    if item.kind in ("diameter", "radius"):
        return (2,)
    if item.kind == "distance":
        return (0, 1)
    return (0, 1, 2) if is_arc else (0, 1)
