"""Free geometry: the segments of a design that no relation or number settles, so that they keep their measured shape.

A segment is free when its edge still has room: when its start, its middle or its end may move across it by more than ROOM, given
all that is held (what moves along an edge leaves it where it is).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from afterpart.outline.chain import signed_distance
from afterpart.outline.verdicts import ROOM, Grounds


def free_segments(grounds: Grounds, ids: dict[int, str], corners: Sequence[np.ndarray]) -> tuple[str, ...]:
    """Ids of the free segments, in the order of the part's loops.

    ids: row -> id; corners: (k, 2) for every loop, where its carriers end, in the design's frame.  Without a lattice (a part of
    unknown size) nothing was designed and nothing is called free.
    """
    design = grounds.design
    if design.lattice is None:
        return ()
    part = design.part
    free = []
    for i, chain in enumerate(part.chains):
        for k, row in enumerate(part.rows(i)):
            points = _places(chain.is_circle, bool(part.is_arc[row]), part.state[row], corners[i], k)
            if _room(grounds, row, points) > ROOM:
                free.append(ids[row])
    return tuple(free)


def _room(grounds: Grounds, row: int, points: np.ndarray) -> float:
    """How far the edge of carrier `row` may move across itself at points (n, 2) on it: the largest standard uncertainty, mm."""
    part = grounds.design.part
    count = len(points)
    _, slopes = signed_distance(np.full(count, bool(part.is_arc[row])), np.repeat(part.state[row][None], count, axis=0), points)
    widest = 0.0
    for own in slopes:
        slope = np.zeros(part.state.size)
        slope[3 * row : 3 * row + 3] = own
        widest = max(widest, grounds.of(slope)[0])
    return widest


def _places(is_circle: bool, is_arc: bool, state: np.ndarray, corners: np.ndarray, k: int) -> np.ndarray:
    """Start, middle and end of carrier k of a loop; of a circle, three places round it."""
    if is_circle:
        angle = np.array([0.0, 2.0, 4.0]) * np.pi / 3.0
        return state[:2] + abs(state[2]) * np.column_stack((np.cos(angle), np.sin(angle)))
    start, end = corners[k - 1], corners[k]
    middle = 0.5 * (start + end)
    if is_arc:
        a, b = start - state[:2], end - state[:2]
        turn = np.arctan2(a[0] * b[1] - a[1] * b[0], float(a @ b)) % (2.0 * np.pi)
        half = 0.5 * (turn if state[2] > 0.0 else turn - 2.0 * np.pi)
        cos, sin = np.cos(half), np.sin(half)
        middle = state[:2] + np.array([a[0] * cos - a[1] * sin, a[0] * sin + a[1] * cos])
    return np.array([start, middle, end])
