"""Where the wall of the material stands along a rim, in mm, with its uncertainty.

Probes run across the rim every few pixels; neighbours are averaged along it, which costs nothing where the rim is straight or
gently curved.  Each probe gets a cost for every place of the wall (profile.py); the chain of places round the rim is the one of
least total cost with a bound on its jumps, so one bad probe cannot pull the rim to a wrong edge.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.profile import LEVELS, RimShape, Spread, place_costs, visible_model
from afterpart.photo.rimchain import smooth_closed
from afterpart.photo.rimprobe import ProbedRim, probe_rim

CORRELATION = 3.0
"""Neighbouring values share noise (demosaicing, sharpening, JPEG): costs are divided by this."""


@dataclass(frozen=True)
class RimFit:
    """points: (n, 2) on the wall in mm of the face plane, normals (n, 2) from material to void, slopes (n,), u (n,) mm;
    cost: (n,) at the best place; gain: (n,) how much worse the probe is explained without any edge; levels: (n, LEVELS);
    places (d,), costs (n, d), base (n, 2): all costs, and the chain they are measured from; noise: of one value;
    samples: number of values in a typical probe."""

    points: np.ndarray
    normals: np.ndarray
    slopes: np.ndarray
    u: np.ndarray
    cost: np.ndarray
    gain: np.ndarray
    levels: np.ndarray
    places: np.ndarray
    costs: np.ndarray
    base: np.ndarray
    noise: float
    samples: int


def fit_rim(light: np.ndarray, camera: Camera, chain: np.ndarray, shape: RimShape, px: float, spread: Spread,
            reach_px: float, void_px: float, average: float = 1.5, normal_smooth: float = 3.0, inward_px: float = 0.0,
            chained: bool = True) -> RimFit:
    """One pass over one rim: probe_rim (see there for the arguments), then judge_rim."""
    probed = probe_rim(light, camera, chain, shape, px, reach_px, void_px, average, normal_smooth, inward_px=inward_px)
    return judge_rim(probed, shape, spread, chained)


def judge_rim(probed: ProbedRim, shape: RimShape, spread: Spread, chained: bool = True) -> RimFit:
    """Place of the wall for every probe.  chained: False leaves each probe at its own least cost."""
    n, places = len(probed.chain), probed.places
    costs, levels, gain = np.empty((n, len(places))), np.empty((n, LEVELS)), np.empty(n)
    for g in probed.groups:
        model = visible_model(shape, g.slope, g.foot, probed.px, spread, probed.low, probed.high)
        costs[g.rows], levels[g.rows] = place_costs(g.values, g.t, model, places, g.means, g.prior_u, g.sigma)
        gain[g.rows] = (((g.values - g.values.mean(1, keepdims=True)) / g.sigma) ** 2).sum(1) - costs[g.rows].min(1)
    if chained:
        # neighbours stand almost alike on the smoothed chain: sharing their costs keeps the foot sharp, averaging brightness
        # would not
        costs = smooth_closed(costs, 0.8)
    costs /= CORRELATION
    index = _chain_places(costs, places) if chained else costs.argmin(1)
    offset, u = _refine_places(costs, places, index)
    points = probed.chain + offset[:, None] * probed.normals
    samples = max(len(g.t) for g in probed.groups)
    return RimFit(points, probed.normals, probed.slopes, u, costs[np.arange(n), index], gain, levels, places, costs, probed.chain,
                  probed.noise, samples)


def _chain_places(costs: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Least-cost closed chain of places, as indices (n,)."""
    n, d = costs.shape
    level = costs - costs.min(1, keepdims=True)
    # a hopeless probe (no edge at all, or a foreign thing across it) must not outweigh its neighbours
    level = np.minimum(level, 60.0)
    jump = np.abs(np.arange(-8, 9)) * (places[1] - places[0])
    penalty = 0.5 * (jump / (0.5 * (places[1] - places[0]))) ** 2
    penalty = np.minimum(penalty, 40.0)
    start = int(np.argmax(np.partition(level, d // 2, axis=1)[:, d // 2]))
    order = np.roll(np.arange(n), -start)
    # twice round the loop: the first lap settles where the second starts
    lap = np.concatenate([order, order])
    buffer = np.full(d + 16, 1e9)
    best = buffer[8:-8]
    best[:] = level[lap[0]]
    window = np.lib.stride_tricks.sliding_window_view(buffer, 17)
    back = np.zeros((len(lap), d), np.int16)
    rows = np.arange(d)
    for k in range(1, len(lap)):
        reached = window + penalty
        step_back = reached.argmin(1)
        best[:] = reached[rows, step_back] + level[lap[k]]
        back[k] = step_back - 8
    at = int(best.argmin())
    path = np.empty(len(lap), int)
    for k in range(len(lap) - 1, -1, -1):
        path[k] = at
        at = at + int(back[k][at])
    index = np.empty(n, int)
    middle = path[n // 2: n // 2 + n]
    index[lap[n // 2: n // 2 + n]] = middle
    return index


def _refine_places(costs: np.ndarray, places: np.ndarray, index: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places (n,) between the grid's, by a parabola through three costs, and their standard uncertainty (n,)."""
    inner = np.clip(index, 1, len(places) - 2)
    rows = np.arange(len(costs))
    a, b, c = costs[rows, inner - 1], costs[rows, inner], costs[rows, inner + 1]
    curve = a - 2 * b + c
    step = places[1] - places[0]
    shift = np.where(curve > 1e-9, np.clip(0.5 * (a - c) / np.where(curve > 1e-9, curve, 1), -1, 1), 0)
    u = np.where(curve > 1e-9, step * np.sqrt(2 / np.where(curve > 1e-9, curve, 1)), 10 * step)
    return places[inner] + shift * step, np.clip(u, 0.01 * step, 10 * step)
