"""Where the wall of the material stands along a rim, in mm, with its uncertainty.

Probes run across the rim every few pixels; neighbours are averaged along it, which costs nothing where the rim is straight or
gently curved.  Each probe gets a cost for every place of the wall (placecost.py); the chain of places round the rim is the one of
least total cost with a bound on its jumps, so one bad probe cannot pull the rim to a wrong edge.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.placechain import chain_places
from afterpart.photo.placecost import place_costs
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.rimchain import smooth_closed
from afterpart.photo.rimprobe import FINE, Course, Grain, ProbeBlock, read_probes


@dataclass(frozen=True)
class RimFit:
    """points: (n, 2) on the wall in mm of the face plane, normals (n, 2) from material to void, u (n,) mm;
    cost: (n,) at the best place; gain: (n,) how much worse the probe is explained without any edge;
    places (d,), costs (n, d), base (n, 2): all costs, and the chain they are measured from;
    samples: number of values in a typical probe; value_cost: cost of one value that only noise keeps from the model."""

    points: np.ndarray
    normals: np.ndarray
    u: np.ndarray
    cost: np.ndarray
    gain: np.ndarray
    places: np.ndarray
    costs: np.ndarray
    base: np.ndarray
    samples: int
    value_cost: float


def fit_rims(light: np.ndarray, camera: Camera, courses: Sequence[Course], shape: RimShape, px: float, spread: Spread,
             chained: bool = True, grain: Grain = FINE) -> list[RimFit]:
    """One pass over several rims: read_probes (see there for the arguments), then judge_rims."""
    return judge_rims(read_probes(light, camera, courses, shape, px, grain), shape, spread, chained) if courses else []


def judge_rims(block: ProbeBlock, shape: RimShape, spread: Spread, chained: bool = True,
               costs_of: Callable[[ProbeBlock, RimShape, Spread], tuple[np.ndarray, np.ndarray]] = place_costs) -> list[RimFit]:
    """Place of the wall for every probe, rim by rim.  chained: False leaves each probe at its own least cost; costs_of: what the
    probes are held against, by default the rim of a part over the table."""
    costs, _ = costs_of(block, shape, spread)
    gain = block.unexplained - costs.min(1)
    back = np.empty_like(block.order)
    back[block.order] = np.arange(len(back))
    costs, gain = costs[back], gain[back]
    if not chained and (block.allowed == block.allowed[0]).all():
        # nothing joins a probe to the next: all rims are one
        whole = _rim(block, 0, slice(None), slice(*block.allowed[0]), costs, gain, False)
        return [_cut(whole, slice(start, stop), int(samples))
                for start, stop, samples in zip(block.starts[:-1], block.starts[1:], block.samples, strict=True)]
    out = []
    for k, (start, stop) in enumerate(zip(block.starts[:-1], block.starts[1:], strict=True)):
        low, high = block.allowed[k]
        out.append(_rim(block, k, slice(start, stop), slice(low, high), costs, gain, chained))
    return out


def _rim(block: ProbeBlock, number: int, own: slice, allowed: slice, costs: np.ndarray, gain: np.ndarray,
         chained: bool) -> RimFit:
    costs, places = costs[own, allowed], block.places[allowed]
    if chained:
        # neighbours stand almost alike on the smoothed chain: sharing their costs keeps the foot sharp, averaging brightness
        # would not
        costs = smooth_closed(costs, 0.8)
    costs = costs / block.correlation
    index = chain_places(costs, (places[1] - places[0]) / block.px) if chained else costs.argmin(1)
    offset, u = _refine_places(costs, places, index)
    chain, normals = block.chain[own], block.normals[own]
    points = chain + offset[:, None] * normals
    least = costs[np.arange(len(costs)), index]
    return RimFit(points, normals, u, least, gain[own], places, costs, chain, int(block.samples[number]),
                  1 / block.correlation)


def _cut(rim: RimFit, own: slice, samples: int) -> RimFit:
    """Some of a rim's probes as a rim of their own."""
    return RimFit(rim.points[own], rim.normals[own], rim.u[own], rim.cost[own], rim.gain[own], rim.places, rim.costs[own],
                  rim.base[own], samples, rim.value_cost)


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
