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

PLACES = 3
"""Places looked at on every segment."""


def free_segments(grounds: Grounds, ids: dict[int, str], corners: Sequence[np.ndarray]) -> tuple[str, ...]:
    """Ids of the free segments, in the order of the part's loops.

    ids: row -> id; corners: (k, 2) for every loop, where its carriers end, in the design's frame.  Without a lattice (a part of
    unknown size) nothing was designed and nothing is called free.
    """
    design = grounds.design
    if design.lattice is None:
        return ()
    part = design.part
    owners = [(i, k, row) for i in range(len(part.chains)) for k, row in enumerate(part.rows(i))]
    points = [_places(part.chains[i].is_circle, bool(part.is_arc[row]), part.state[row], corners[i], k) for i, k, row in owners]
    rows = np.repeat([row for _, _, row in owners], PLACES)
    is_free = _rooms(grounds, rows, np.concatenate(points)).reshape(-1, PLACES).max(axis=1) > ROOM
    return tuple(ids[row] for (_, _, row), free in zip(owners, is_free, strict=True) if free)


def _rooms(grounds: Grounds, rows: np.ndarray, points: np.ndarray) -> np.ndarray:
    """(n,) how far the edges of carriers `rows` (n,) may move across themselves at points (n, 2) on them, mm."""
    part, each = grounds.design.part, np.arange(len(rows))
    slopes = np.zeros((len(rows), *part.state.shape))
    slopes[each, rows] = signed_distance(part.is_arc[rows], part.state[rows], points)[1]
    return grounds.of(slopes.reshape(len(rows), -1))[0]


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
