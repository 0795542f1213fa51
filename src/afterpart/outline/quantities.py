"""Numbers read off a state of carriers: what a nominal, a relation or a reading can be about.

A *quantity* has a kind, the rows (carriers) it is read from, and slopes by the numbers of these rows.  Kinds:
    direction, offset                     of a line (radians; mm along the left normal)
    center_x, center_y, radius, diameter  of an arc or circle
    vertex_x, vertex_y                    crossing of two lines
    touch                                 gap of the touching condition of two carriers (0 when tangent)
    same_radius, same_x, same_y           difference between two arcs or circles
    same_direction                        of two lines that run the same way, or against each other
    sum_x, sum_y                          of two arcs or circles (mirror pairs)
    distance                              between two centres
    turn                                  of the second line against the first (radians)
    length                                of the middle of three carriers, between its junctions (told: whether each is tangent,
                                          then a rough place of each)
    mirror_x, mirror_y                    second centre less the mirror image of the first (told: direction, point of the axis)
    mirror_turn, mirror_offset            the same of two lines, the image travelled the other way
    off_axis, off_square                  a centre's distance from the axis; a line's direction less the square to the axis
Lengths that depend on where segments end are in dimensions.py.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from afterpart.outline.chain import junction, tangency
from afterpart.outline.junction_slopes import junction_slopes

PARALLEL = 1e-9
"""Sine of the angle between two lines below which they count as parallel."""


@dataclass(frozen=True)
class Quantity:
    """told: what the kind needs beside its rows, see above."""

    kind: str
    rows: tuple[int, ...]
    told: tuple[float, ...] = ()


@dataclass(frozen=True)
class Held:
    """A quantity held at a value; probability of that value when it was chosen; told: by the maker, never given up for others."""

    quantity: Quantity
    value: float
    probability: float = 1.0
    told: bool = False


def read(quantity: Quantity, is_arc: np.ndarray, state: np.ndarray) -> tuple[float, list[np.ndarray]]:
    """Value of a quantity and its slopes (3,) by each of its rows."""
    kind, rows = quantity.kind, quantity.rows
    a = state[rows[0]]
    if kind == "direction":
        return float(a[0]), [np.array([1.0, 0.0, 0.0])]
    if kind == "offset":
        return float(a[1]), [np.array([0.0, 1.0, 0.0])]
    if kind == "center_x":
        return float(a[0]), [np.array([1.0, 0.0, 0.0])]
    if kind == "center_y":
        return float(a[1]), [np.array([0.0, 1.0, 0.0])]
    if kind in ("radius", "diameter"):
        factor = 1.0 if kind == "radius" else 2.0
        return factor * abs(float(a[2])), [np.array([0.0, 0.0, math.copysign(factor, a[2])])]
    if kind in ("off_axis", "off_square"):
        return _about_axis(kind, a, quantity.told)
    if kind == "length":
        return _length(quantity, is_arc, state)
    b = state[rows[1]]
    if kind.startswith("mirror"):
        return _mirrored(kind, a, b, quantity.told)
    if kind == "turn":
        return math.remainder(float(b[0] - a[0]), 2.0 * math.pi), [np.array([-1.0, 0.0, 0.0]), np.array([1.0, 0.0, 0.0])]
    if kind == "touch":
        gap, slope_a, slope_b = tangency(bool(is_arc[rows[0]]), a, bool(is_arc[rows[1]]), b)
        return gap, [slope_a, slope_b]
    if kind == "same_radius":
        return (
            abs(float(a[2])) - abs(float(b[2])),
            [np.array([0.0, 0.0, math.copysign(1.0, a[2])]), np.array([0.0, 0.0, -math.copysign(1.0, b[2])])],
        )
    if kind in ("same_x", "same_y", "sum_x", "sum_y"):
        axis, sign = (0 if kind.endswith("x") else 1), (-1.0 if kind.startswith("same") else 1.0)
        slope = np.zeros(3)
        slope[axis] = 1.0
        return float(a[axis] + sign * b[axis]), [slope, sign * slope]
    if kind == "same_direction":
        return math.remainder(float(a[0] - b[0]), math.pi), [np.array([1.0, 0.0, 0.0]), np.array([-1.0, 0.0, 0.0])]
    if kind == "sum_offset":
        return float(a[1] + b[1]), [np.array([0.0, 1.0, 0.0])] * 2
    if kind == "same_offset":
        return float(a[1] - b[1]), [np.array([0.0, 1.0, 0.0]), np.array([0.0, -1.0, 0.0])]
    if kind == "distance":
        dx, dy = a[0] - b[0], a[1] - b[1]
        reach = max(math.hypot(dx, dy), 1e-12)
        slope = np.array([dx / reach, dy / reach, 0.0])
        return reach, [slope, -slope]
    return _vertex(kind, a, b)


def _vertex(kind: str, a: np.ndarray, b: np.ndarray) -> tuple[float, list[np.ndarray]]:
    """Crossing of two lines: n_a . p = d_a, n_b . p = d_b."""
    (angle_a, offset_a, _), (angle_b, offset_b, _) = a.tolist(), b.tolist()
    ax, ay, bx, by = -math.sin(angle_a), math.cos(angle_a), -math.sin(angle_b), math.cos(angle_b)
    det = ax * by - ay * bx
    if abs(det) < PARALLEL:
        # lines that have become parallel meet nowhere: the nearest answer, with a slope so steep that it is never sure
        inverse = np.linalg.pinv(np.array([[ax, ay], [bx, by]]), rcond=1e-12).tolist()
    else:
        inverse = [[by / det, -ay / det], [-bx / det, ax / det]]
    x, y = (row[0] * offset_a + row[1] * offset_b for row in inverse)
    which = 0 if kind == "vertex_x" else 1
    by_a, by_b = inverse[which]
    # a line's place moves by its turn times the crossing's place along it
    return (x, y)[which], [np.array([by_a * (x * ay - y * ax), by_a, 0.0]), np.array([by_b * (x * by - y * bx), by_b, 0.0])]


def _about_axis(kind: str, a: np.ndarray, axis: tuple[float, ...]) -> tuple[float, list[np.ndarray]]:
    """One curve against an axis (direction, point)."""
    angle, x, y = axis
    if kind == "off_square":
        return math.remainder(float(a[0]) - angle - 0.5 * math.pi, math.pi), [np.array([1.0, 0.0, 0.0])]
    across = np.array([-math.sin(angle), math.cos(angle)])
    return float(across @ (a[:2] - (x, y))), [np.array([across[0], across[1], 0.0])]


def _mirrored(kind: str, a: np.ndarray, b: np.ndarray, axis: tuple[float, ...]) -> tuple[float, list[np.ndarray]]:
    """Second curve less the mirror image of the first about an axis (direction, point)."""
    angle, x, y = axis
    turn = np.array([[math.cos(2.0 * angle), math.sin(2.0 * angle)], [math.sin(2.0 * angle), -math.cos(2.0 * angle)]])
    place = np.array([x, y])
    if kind == "mirror_turn":
        return (math.remainder(float(a[0] + b[0]) - 2.0 * angle - math.pi, 2.0 * math.pi),
                [np.array([1.0, 0.0, 0.0]), np.array([1.0, 0.0, 0.0])])
    if kind == "mirror_offset":
        normal, change = np.array([-math.sin(a[0]), math.cos(a[0])]), np.array([-math.cos(a[0]), -math.sin(a[0])])
        value = float(b[1] - a[1] - (turn @ normal - normal) @ place)
        return value, [np.array([-float((turn @ change - change) @ place), -1.0, 0.0]), np.array([0.0, 1.0, 0.0])]
    k = 0 if kind == "mirror_x" else 1
    image = place + turn @ (a[:2] - place)
    own = np.zeros(3)
    own[k] = 1.0
    return float(b[k] - image[k]), [np.array([-turn[k, 0], -turn[k, 1], 0.0]), own]


def _length(quantity: Quantity, is_arc: np.ndarray, state: np.ndarray) -> tuple[float, list[np.ndarray]]:
    """Distance between the junctions of the middle one of three carriers with the others."""
    own, told = state[list(quantity.rows)], quantity.told
    kinds, near = [bool(is_arc[row]) for row in quantity.rows], np.array(told[2:]).reshape(2, 2)
    pairs = [(kinds[k], own[k], kinds[k + 1], own[k + 1], bool(told[k]), near[k]) for k in (0, 1)]
    start, end = (junction(*pair) for pair in pairs)
    length = float(np.hypot(*(end - start)))
    along = (end - start) / max(length, 1e-12)
    by_before, by_own = junction_slopes(*pairs[0], (float(start[0]), float(start[1])))
    by_own_too, by_after = junction_slopes(*pairs[1], (float(end[0]), float(end[1])))
    return length, [-along @ by_before, along @ (by_own_too - by_own), along @ by_after]


LINEAR: dict[str, tuple[tuple[int, int, float], ...]] = {
    "direction": ((0, 0, 1.0),),
    "offset": ((0, 1, 1.0),),
    "center_x": ((0, 0, 1.0),),
    "center_y": ((0, 1, 1.0),),
    "same_x": ((0, 0, 1.0), (1, 0, -1.0)),
    "same_y": ((0, 1, 1.0), (1, 1, -1.0)),
    "sum_x": ((0, 0, 1.0), (1, 0, 1.0)),
    "sum_y": ((0, 1, 1.0), (1, 1, 1.0)),
    "sum_offset": ((0, 1, 1.0), (1, 1, 1.0)),
    "same_offset": ((0, 1, 1.0), (1, 1, -1.0)),
    "radius": ((0, 2, 1.0),),
    "diameter": ((0, 2, 2.0),),
    "same_radius": ((0, 2, 1.0), (1, 2, -1.0)),
}
"""Kinds that are sums of few numbers of the state: which of the quantity's rows, which number of it, its factor.  A radius counts
without its sign.  They are what is asked for most, and need no slopes worked out."""


def terms_of(quantity: Quantity, state: np.ndarray) -> tuple[float, tuple[tuple[int, float], ...]] | None:
    """Value of a quantity of a linear kind and its slopes, (place in the state's numbers, slope) each; None for other kinds."""
    told = LINEAR.get(quantity.kind)
    if told is None:
        return None
    value, terms = 0.0, []
    for which, number, factor in told:
        place = 3 * quantity.rows[which] + number
        now = state.item(place)
        if number == 2 and now < 0.0:
            factor = -factor
        value += factor * now
        terms.append((place, factor))
    return value, tuple(terms)


def spread(quantity: Quantity, is_arc: np.ndarray, state: np.ndarray, covariance: np.ndarray) -> tuple[float, float]:
    """Value and its variance in a state with this covariance (3k, 3k)."""
    linear = terms_of(quantity, state)
    if linear is not None:
        value, terms = linear
        return value, max(sum(a * b * covariance.item(i, j) for i, a in terms for j, b in terms), 0.0)
    value, slopes = read(quantity, is_arc, state)
    own = (3 * np.array(quantity.rows)[:, None] + np.arange(3)).ravel()
    slope = np.concatenate(slopes)
    return value, max(float(slope @ covariance[own[:, None], own] @ slope), 0.0)


def gradient(quantity: Quantity, is_arc: np.ndarray, state: np.ndarray) -> tuple[float, np.ndarray]:
    """Value and the full gradient (3k,) over the state."""
    full = np.zeros(state.size)
    linear = terms_of(quantity, state)
    if linear is not None:
        value, terms = linear
        for place, slope in terms:
            full[place] += slope
        return value, full
    value, slopes = read(quantity, is_arc, state)
    for row, slopes_of_row in zip(quantity.rows, slopes, strict=True):
        full[3 * row : 3 * row + 3] += slopes_of_row
    return value, full


class Together:
    """Many quantities of one kind of state, read at once: those of linear kinds without asking each."""

    def __init__(self, quantities: Sequence[Quantity], is_arc: np.ndarray) -> None:
        self._is_arc, self._count = is_arc, len(quantities)
        self._others = [(i, quantity) for i, quantity in enumerate(quantities) if quantity.kind not in LINEAR]
        terms = [(i, 3 * quantity.rows[which] + number, factor, number == 2) for i, quantity in enumerate(quantities)
                 for which, number, factor in LINEAR.get(quantity.kind, ())]
        owner, place, factor, signed = zip(*terms, strict=True) if terms else ((), (), (), ())
        self._owner, self._place = np.array(owner, int), np.array(place, int)
        self._factor, self._signed = np.array(factor, float), np.array(signed, bool)

    def read(self, state: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Values (h,) in a state (k, 3) and their slopes (h, 3k) by it."""
        numbers = state.ravel()[self._place]
        factor = np.where(self._signed & (numbers < 0.0), -self._factor, self._factor)
        # of no terms at all bincount makes whole numbers
        values = np.bincount(self._owner, weights=factor * numbers, minlength=self._count).astype(float)
        slopes = np.zeros((self._count, state.size))
        slopes[self._owner, self._place] = factor
        for i, quantity in self._others:
            values[i], slopes[i] = gradient(quantity, self._is_arc, state)
        return values, slopes
