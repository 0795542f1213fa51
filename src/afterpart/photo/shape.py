"""What the picture itself tells of the rim's rounding and of its own blur, when nobody told.

Both are common to all rims of a part: the values under which the rims' costs are least.  Only a thinned set of probes is used.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.rims import fit_rim

BLURS_PX = (0.6, 0.8, 1.0, 1.25, 1.6, 2.1, 2.8, 3.8, 5.2, 7.0)
ROUNDINGS_MM = (0.08, 0.2, 0.35, 0.5, 0.7, 0.95, 1.3)
EDGE_WIDTH = 2.563
"""Width of a Gaussian-blurred step from 10 to 90 %, in standard deviations."""


@dataclass(frozen=True)
class RimLook:
    """shape and spread that explain the rims best; rounding_told: the maker gave it."""

    shape: RimShape
    spread: Spread
    rounding_told: bool


def settle_look(light: np.ndarray, camera: Camera, chains: Sequence[np.ndarray], shape: RimShape, px: float, told: bool) -> RimLook:
    """Blur, then rounding, then blur again; shape.rounding is the start, and stays when `told`."""
    spread = Spread(1.0)
    shape = replace(shape, rounding=min(shape.rounding, 0.9 * shape.height) if shape.height > 0 else 0.0)
    probes = _thin(chains)
    spread = replace(spread, blur_px=_best(BLURS_PX, lambda b: _cost(light, camera, probes, shape, px, replace(spread, blur_px=b))))
    if not told and shape.height > 0.2:
        sizes = [r for r in ROUNDINGS_MM if r < 0.9 * shape.height]
        shape = replace(shape, rounding=_best(sizes, lambda r: _cost(light, camera, probes, replace(shape, rounding=r), px, spread)))
        near = [b for b in BLURS_PX if 0.5 * spread.blur_px < b < 2 * spread.blur_px]
        spread = replace(spread, blur_px=_best(near, lambda b: _cost(light, camera, probes, shape, px, replace(spread, blur_px=b))))
    return RimLook(shape, spread, told)


def _thin(chains: Sequence[np.ndarray]) -> list[np.ndarray]:
    """The longest chains; on short ones the foot of the wall slides too fast for averaging along the rim."""
    order = sorted(chains, key=len, reverse=True)
    return [order[0], *(c for c in order[1:3] if len(c) > 150)]


def _cost(light: np.ndarray, camera: Camera, chains: list[np.ndarray], shape: RimShape, px: float, spread: Spread) -> float:
    costs = [np.minimum(rim.cost, 6 * np.median(rim.cost)) for rim in
             (fit_rim(light, camera, chain, shape, px, spread, 5.0, 10.0, 3.0, every=8, chained=False) for chain in chains)]
    return float(np.mean(np.concatenate(costs)))


def _best(values: Sequence[float], cost) -> float:  # type: ignore[no-untyped-def]
    """Value of least cost: downhill from the middle of the list, then a parabola through the three nearest on a logarithmic axis."""
    known: dict[int, float] = {}

    def at(k: int) -> float:
        if k not in known:
            known[k] = cost(values[k])
        return known[k]

    k = min(2, len(values) - 1)
    while True:
        if k > 0 and at(k - 1) < at(k):
            k -= 1
        elif k < len(values) - 1 and at(k + 1) < at(k):
            k += 1
        else:
            break
    if k in (0, len(values) - 1):
        return values[k]
    x = np.log([values[k - 1], values[k], values[k + 1]])
    curve = np.polyfit(x - x[1], [at(k - 1), at(k), at(k + 1)], 2)
    shift = -curve[1] / (2 * curve[0]) if curve[0] > 0 else 0.0
    return float(np.exp(x[1] + np.clip(shift, x[0] - x[1], x[2] - x[1])))
