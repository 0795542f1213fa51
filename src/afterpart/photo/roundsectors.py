"""A circle settled by its sectors: each tells where it sees the rim, and none counts for more than it can know.

The sum of all probes' costs lets those count most that the picture shows sharpest.  What they are off by is seldom noise: the
model of rounding, wall and floor does not hold everywhere, and where the sight line runs aslant over the edge its faults move
the rim by a share of a pixel.  A *sector* is a stretch of the rim with some probes; its *fault* is what the model may be off by
there, besides noise.  Sectors that see something else (a channel, a mark) are down-weighted (Cauchy).  The circle's covariance is
long in the direction it is seen aslant, so that photographs from several sides each give what they know best.
Limits: faults of neighbouring sectors are taken for independent, as they were found to be (residuals of 1363 sectors on ten
rendered pictures of known parts: correlation of neighbours below 0.1).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.rimchain import view_slopes
from afterpart.photo.roundrim import RoundFit, probe_costs

FAULT_PX, SLOPE_FAULT_PX = 0.1, 0.75
"""Fault of a sector, px: everywhere, and for each unit of slope of the sight line across the rim (fitted to the ten pictures by
greatest likelihood: 0.0 to 0.1 and 0.75)."""

STRANGE = 3.0
"""A sector so many standard uncertainties from the circle counts half."""

MOST_SECTORS, FEWEST_SECTORS, PROBES = 24, 8, 5
"""Sectors of a circle: so many probes or more in each, within these bounds."""

TURNS = 10


@dataclass(frozen=True)
class Settled:
    """centre (2,), radius in mm; covariance (3, 3) of (x, y, radius), mm2."""

    centre: np.ndarray
    radius: float
    covariance: np.ndarray


def settle_by_sectors(fitted: RoundFit, camera: Camera, height: float, px: float) -> Settled:
    """The circle that its sectors agree on, from where all costs together put it.  height: of the face; px: mm per pixel."""
    rim = fitted.rim
    count = len(rim.base)
    middle = rim.base.mean(0)
    begin = np.array([*middle, float(np.hypot(*(rim.base - middle).T).mean())])
    sectors = int(np.clip(count // PROBES, FEWEST_SECTORS, MOST_SECTORS))
    heads = (np.arange(sectors) * count) // sectors
    number = np.diff(np.append(heads, count))
    outward = np.sign(((rim.base - middle) * rim.normals).sum(1).mean())
    way = np.add.reduceat(np.c_[rim.normals, np.full(count, outward)], heads) / number[:, None]
    slope = np.add.reduceat(view_slopes(camera, rim.base, rim.normals, height), heads) / number
    shift = np.array([*fitted.centre, fitted.radius]) - begin
    place, noise = lowest_places(np.add.reduceat(probe_costs(rim), heads), rim.places, way @ shift)
    weight = 1 / (noise**2 + (FAULT_PX * px) ** 2 + (SLOPE_FAULT_PX * px * slope) ** 2)
    for _ in range(TURNS):
        robust = weight / (1 + (place - way @ shift) ** 2 * weight / STRANGE**2)
        information = way.T @ (way * robust[:, None])
        shift = np.linalg.solve(information, way.T @ (robust * place))
    found = begin + shift
    return Settled(found[:2], float(found[2]), np.linalg.inv(information))


def lowest_places(costs: np.ndarray, places: np.ndarray, near: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The lowest place of each row of costs (s, d) that is reached downhill from the place near (s,), between the grid's by a
    parabola, and its standard uncertainty, mm."""
    step, last = places[1] - places[0], len(places) - 2
    rows = np.arange(len(costs))
    at = np.clip(np.rint((near - places[0]) / step).astype(int), 1, last)
    for _ in range(len(places)):
        moved = np.clip(at + costs[rows[:, None], at[:, None] + np.array([-1, 0, 1])].argmin(1) - 1, 1, last)
        if (moved == at).all():
            break
        at = moved
    a, b, c = costs[rows, at - 1], costs[rows, at], costs[rows, at + 1]
    curve = np.maximum(a - 2 * b + c, 1e-9)
    return places[at] + np.clip(0.5 * (a - c) / curve, -1, 1) * step, step * np.sqrt(2 / curve)
