"""The chain of places round a rim.

The least total cost with a bound on its jumps: one bad probe cannot pull the chain to a wrong edge.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

HOPELESS = 60.0
"""A probe's cost counts up to this above its least: a hopeless probe (no edge at all, or a foreign thing across it) must not
outweigh its neighbours."""

JUMP_PX, FAR_JUMP_PX, MOST_JUMP_COST = 0.15, 2.4, 40.0
"""From one probe to the next: standard deviation of the jump, farthest jump, and its cost's bound."""

RUN, MEET = 36, 30
"""Probes in a stretch that is solved beside the others, and how far each goes on beyond both its ends."""


def chain_places(costs: np.ndarray, step_px: float) -> np.ndarray:
    """Least-cost closed chain of places, as indices (n,).  costs (n, d); step_px: distance of places.

    A rim is solved in stretches side by side, each with its neighbours' ends added; where two stretches disagree about the place
    they share, the whole rim is solved in one go."""
    level = np.minimum(costs - costs.min(1, keepdims=True), HOPELESS)
    most = max(1, int(FAR_JUMP_PX / step_px + 0.5))
    jump = np.arange(-most, most + 1) * step_px
    penalty = np.minimum(0.5 * (jump / JUMP_PX) ** 2, MOST_JUMP_COST)
    n = len(level)
    if n > 2 * (RUN + MEET):
        stretches = n // RUN
        first = (np.arange(stretches) * n) // stretches
        length = int(np.diff(np.append(first, n)).max()) + 1
        index = (first[:, None] + np.arange(-MEET, length + MEET)) % n
        path = _least_paths(level[index], penalty)
        # the place where a stretch ends is the next one's first
        last = MEET + np.diff(np.append(first, n))
        rows = np.arange(stretches)
        if np.array_equal(path[rows, last], np.roll(path[:, MEET], -1)):
            return np.concatenate([path[k, MEET:last[k]] for k in rows])
    start = int(np.argmax(np.partition(level, level.shape[1] // 2, axis=1)[:, level.shape[1] // 2]))
    order = np.roll(np.arange(n), -start)
    # twice round the loop: the first lap settles where the second starts
    lap = np.concatenate([order, order])
    path = _least_paths(level[lap][None], penalty)[0]
    index = np.empty(n, int)
    index[lap[n // 2: n // 2 + n]] = path[n // 2: n // 2 + n]
    return index


def _least_paths(level: np.ndarray, penalty: np.ndarray) -> np.ndarray:
    """Least-cost open path (s, m) through each of s stretches: level (s, m, d), penalty (jumps,)."""
    s, m, d = level.shape
    most = len(penalty) // 2
    buffer = np.full((s, d + 2 * most), 1e9)
    best = buffer[:, most:-most]
    best[:] = level[:, 0]
    window = np.lib.stride_tricks.sliding_window_view(buffer, len(penalty), axis=1)
    back = np.zeros((m, s, d), np.int16)
    reached = np.empty((s, d, len(penalty)))
    flat = np.arange(s * d).reshape(s, d) * len(penalty)
    for k in range(1, m):
        np.add(window, penalty, out=reached)
        jump = reached.argmin(2)
        best[:] = reached.ravel()[flat + jump] + level[:, k]
        back[k] = jump - most
    at = best.argmin(1)
    path = np.empty((s, m), int)
    rows = np.arange(s)
    for k in range(m - 1, -1, -1):
        path[:, k] = at
        at = at + back[k, rows, at]
    return path
