"""How far apart places lie along a closed path."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

from afterpart.geometry.chain import chain_points
from afterpart.model.feature import Chain
from afterpart.model.outline import Point

_CHORD = 1e-3
"""Chord error with which the path is walked, mm."""


def spacings(path: Chain, places: tuple[Point, ...]) -> tuple[float, ...]:
    """Length of path from each place to the next, once round: each counts where the path is nearest to it."""
    start = chain_points(path, _CHORD)
    along = np.roll(start, -1, axis=0) - start
    chord = np.hypot(*along.T)
    before = np.concatenate([[0.0], np.cumsum(chord)[:-1]])
    at = []
    for place in places:
        share = np.clip(((place - start) * along).sum(axis=1) / np.maximum(chord**2, _CHORD**4), 0.0, 1.0)
        nearest = int(np.hypot(*(start + share[:, None] * along - place).T).argmin())
        at.append(float(before[nearest] + share[nearest] * chord[nearest]))
    at.sort()
    whole = float(chord.sum())
    return tuple(b - a for a, b in zip(at, (*at[1:], at[0] + whole), strict=True))
