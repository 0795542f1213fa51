"""In which order bolts are tightened: crosswise, so that a part comes down flat.

Each second bolt is the one nearest to opposite of the one before (mirrored at the middle of all); each bolt between starts where
the part is held least: farthest from all that are tightened.
Limits: plane places only; bolts in one row have no opposite, and are taken from the middle outwards by the same rule.
Source: usual practice of crosswise tightening, from memory.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.model.outline import Point


def crosswise(places: tuple[Point, ...], first: tuple[int, ...] = ()) -> tuple[int, ...]:
    """Indices of the places in the order of tightening.  first: places that come first, in this order (locating holes).

    () for no places.  ValueError: `first` names a place twice or one that is not there.
    """
    if len(set(first)) != len(first) or not all(0 <= i < len(places) for i in first):
        raise ValueError(f"found {first!r}, expected different places from 0 to {len(places) - 1}")
    if not places:
        return ()
    at = np.asarray(places, dtype=float)
    middle = at.mean(axis=0)
    order = list(first) or [0]
    while len(order) < len(places):
        left = [i for i in range(len(places)) if i not in order]
        if len(order) % 2:
            opposite = 2.0 * middle - at[order[-1]]
            order.append(min(left, key=lambda i: (round(math.dist(at[i], opposite), 6), i)))
        else:
            order.append(max(left, key=lambda i: (round(min(math.dist(at[i], at[k]) for k in order), 6), -i)))
    return tuple(order)


def mid_spans(places: tuple[Point, ...]) -> tuple[Point, ...]:
    """The middles between neighbouring places, going round their middle; one between two places, () for fewer."""
    if len(places) < 2:
        return ()
    at = np.asarray(places, dtype=float)
    away = at - at.mean(axis=0)
    ring = at[np.argsort(np.arctan2(away[:, 1], away[:, 0]), kind="stable")]
    middles = 0.5 * (ring + np.roll(ring, -1, axis=0))
    return tuple((float(x), float(y)) for x, y in middles[:1 if len(places) == 2 else None])
