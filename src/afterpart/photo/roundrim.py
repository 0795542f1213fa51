"""Round rims fitted as circles straight to the picture: centre and radius that all probes of a rim agree on best.

A small dark hole gives each single probe little to go by, and some probes prefer a wrong edge; the sum of their costs over one
circle has its minimum in the right place.  The foot of the wall is recomputed from the circle each time.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.rims import RimFit, fit_rim

MOST_PROBES = 200
"""Probes round a large circle: more add nothing, their errors are alike."""

TRUNCATE = 25.0
"""Largest cost above its own minimum that one probe may contribute."""


@dataclass(frozen=True)
class RoundFit:
    """centre (2,), radius in mm; u: standard uncertainties of (x, y, radius); cost: mean truncated cost per probe;
    rim: the last pass's probes."""

    centre: np.ndarray
    radius: float
    u: np.ndarray
    cost: float
    rim: RimFit


def robust_circle(points: np.ndarray) -> tuple[np.ndarray, float, float]:
    """Centre, radius and robust scatter of a circle through points (n, 2): Gauss-Newton on distances, Cauchy weights."""
    centre = points.mean(0)
    radius = float(np.median(np.hypot(*(points - centre).T)))
    scatter = radius
    for _ in range(25):
        d = points - centre
        length = np.hypot(*d.T)
        off = length - radius
        scatter = 1.4826 * float(np.median(np.abs(off))) + 1e-9
        weight = 1 / (1 + (off / (2.5 * scatter)) ** 2)
        jacobian = np.c_[d / length[:, None], np.ones(len(d))]
        step = np.linalg.lstsq(jacobian * weight[:, None] ** 0.5, off * weight**0.5, rcond=None)[0]
        centre, radius = centre + step[:2], radius + float(step[2])
        if np.abs(step).max() < 1e-7:
            break
    return centre, radius, scatter


def round_guess(chain: np.ndarray, px: float, slack_px: float, slack_share: float) -> tuple[np.ndarray, float] | None:
    """Centre and radius of a closed chain that is round to within slack_px pixels or slack_share of the radius, else None.

    A long straight side alone would make an excellent circle of enormous radius: the circle must be as large as the chain."""
    centre, radius, scatter = robust_circle(chain)
    across = float(np.ptp(chain, axis=0).max())
    if not 0.35 * across < radius < 0.65 * across or scatter > max(slack_px * px, slack_share * radius):
        return None
    return centre, radius


def circle_chain(centre: np.ndarray, radius: float, count: int, opening: bool) -> np.ndarray:
    """Points (count, 2) with the material on the left: clockwise round an opening, counter-clockwise round a disc."""
    angle = np.arange(count) * 2 * np.pi / count * (-1 if opening else 1)
    return centre + radius * np.stack([np.cos(angle), np.sin(angle)], 1)


def fit_round_rim(light: np.ndarray, camera: Camera, centre: np.ndarray, radius: float, opening: bool, shape: RimShape, px: float,
                  spread: Spread, reach_px: tuple[float, ...] = (8.0, 3.5), void_px: float = 12.0) -> RoundFit:
    """Best circle near the given one.  Arguments as for fit_rim; reach_px: how far it may move in each pass."""
    u, mean_cost = np.full(3, np.inf), np.inf
    rim: RimFit | None = None
    for number, reach in enumerate(reach_px, start=1):
        count = int(np.clip(2 * np.pi * radius / (2.0 * px), 40, MOST_PROBES))
        chain = circle_chain(centre, radius, count, opening)
        void = min(void_px, max(1.1 * radius / px - reach, 3.0)) if opening else void_px
        # averaging along the rim must not smear the foot of the wall, which slides along small holes
        average = float(np.clip((radius / px - 60) / 80, 0.0, 1.5))
        rim = fit_rim(light, camera, chain, shape, px, spread, reach, void, average, 0.0,
                      chained=number == len(reach_px))
        move, u, mean_cost = _joint_move(rim)
        centre, radius = centre + move[:2], radius + float(move[2])
    assert rim is not None
    return RoundFit(centre, radius, u, mean_cost, rim)


def round_cost(rim: RimFit) -> np.ndarray:
    """Cost of every probe (n,) at the place on the circle that suits them all best."""
    move, _, _ = _joint_move(rim, 0.5)
    index = np.round((_offsets(rim, move[None])[0] - rim.places[0]) / (rim.places[1] - rim.places[0])).astype(int)
    return rim.costs[np.arange(len(rim.costs)), np.clip(index, 0, len(rim.places) - 1)]


def _offsets(rim: RimFit, moves: np.ndarray) -> np.ndarray:
    """Places (m, n) along the probes that moves (m, 3) of the circle (dx, dy, dR) mean."""
    sign = np.sign(np.median((rim.normals * (rim.base - rim.base.mean(0))).sum(1)))
    return moves[:, :2] @ rim.normals.T + sign * moves[:, 2:]


def _joint_move(rim: RimFit, finest: float = 0.03) -> tuple[np.ndarray, np.ndarray, float]:
    """Shift (dx, dy, dR) of the circle that minimises the summed costs, its uncertainty, and the mean cost left.
    finest: width of the last search grid, in steps of the places."""
    places, step = rim.places, float(rim.places[1] - rim.places[0])
    level = rim.costs - rim.costs.min(1, keepdims=True)
    # the model never fits perfectly: what even the best place leaves over is taken as noise
    misfit = max(1.0, float(np.median(rim.costs.min(1))) / (0.3 * rim.samples))
    level = np.minimum(level / misfit, TRUNCATE)
    rows = np.arange(len(level))

    def total(moves: np.ndarray) -> np.ndarray:
        """Summed costs (m,) of moves (m, 3)."""
        at = (_offsets(rim, moves) - places[0]) / step
        outside = (at < 0) | (at > len(places) - 1.001)
        low = np.clip(at.astype(int), 0, len(places) - 2)
        share = np.clip(at - low, 0, 1)
        value = level[rows, low] * (1 - share) + level[rows, low + 1] * share
        return np.where(outside, TRUNCATE, value).sum(1)

    best, width = np.zeros(3), 0.7 * float(places[-1])
    points = 7
    while width > finest * step:
        axis = np.linspace(-width, width, points)
        grid = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), -1).reshape(-1, 3) + best
        best = grid[total(grid).argmin()]
        # the first grid may have several valleys; afterwards five points a side bracket the one that was found
        width *= 0.45 if points == 7 else 0.55
        points = 5
    centre_cost = float(total(best[None])[0])
    probe = 0.7 * step
    hessian = np.empty((3, 3))
    unit = np.eye(3) * probe
    for i in range(3):
        for j in range(3):
            four = best + np.array([unit[i] + unit[j], unit[i] - unit[j], unit[j] - unit[i], -unit[i] - unit[j]])
            hessian[i, j] = np.array([1, -1, -1, 1]) @ total(four) / (4 * probe**2)
    try:
        spread = np.sqrt(np.maximum(np.diag(np.linalg.inv(hessian / 2)), (0.02 * step) ** 2))
    except np.linalg.LinAlgError:
        spread = np.full(3, step)
    return best, np.minimum(np.nan_to_num(spread, nan=step), 10 * step), centre_cost / len(level)
