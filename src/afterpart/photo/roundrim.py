"""Round rims fitted as circles straight to the picture: centre and radius that all probes of a rim agree on best.

A small dark hole gives each single probe little to go by, and some probes prefer a wrong edge; the sum of their costs over one
circle has its minimum in the right place.  The foot of the wall is recomputed from the circle each time.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.rimprobe import COARSE, FINE, Course, Grain
from afterpart.photo.rims import RimFit, fit_rims

MOST_PROBES = 200
"""Probes round a large circle: more add nothing, their errors are alike."""

TRUNCATE = 25.0
"""Largest cost above its own minimum that one probe may contribute."""

SEARCH_PROBES = 48
"""Probes of a circle that are asked where to look closer."""

NEAR_PLACES = 16
"""A circle with so many places to go is near enough for a short search."""


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


def fit_round_rims(light: np.ndarray, camera: Camera, guesses: Sequence[tuple[np.ndarray, float, bool]], shape: RimShape,
                   px: float, spread: Spread, reach_px: tuple[float, ...] = (8.0, 3.5), void_px: float = 12.0,
                   grain: Grain = FINE) -> list[RoundFit]:
    """Best circles near the given ones (centre, radius, whether it is an opening), all looked for together.  Arguments as for
    read_probes; reach_px: how far they may move in each pass."""
    circles = list(guesses)
    fits: list[RoundFit] = []
    for number, reach in enumerate(reach_px, start=1):
        courses = [_course(*circle, px, reach, void_px) for circle in circles]
        last = number == len(reach_px)
        rims = fit_rims(light, camera, courses, shape, px, spread, chained=last, grain=grain if last else COARSE)
        moves = [_joint_move(rim) for rim in rims]
        circles = [(centre + move.shift[:2], radius + float(move.shift[2]), opening)
                   for (centre, radius, opening), move in zip(circles, moves, strict=True)]
        fits = [RoundFit(centre, radius, move.u, move.mean_cost, rim)
                for (centre, radius, _), move, rim in zip(circles, moves, rims, strict=True)]
    return fits


def _course(centre: np.ndarray, radius: float, opening: bool, px: float, reach: float, void_px: float) -> Course:
    count = int(np.clip(2 * np.pi * radius / (2.0 * px), 40, MOST_PROBES))
    void = min(void_px, max(1.1 * radius / px - reach, 3.0)) if opening else void_px
    # averaging along the rim must not smear the foot of the wall, which slides along small holes
    average = float(np.clip((radius / px - 60) / 80, 0.0, 1.5))
    return Course(circle_chain(centre, radius, count, opening), reach, void, average, 0.0)


def round_move(rim: RimFit) -> tuple[np.ndarray, float]:
    """Cost of every probe (n,) at the place of the circle that suits them all best, and how far that is from where the circle
    stood, mm away from the material."""
    costs = _Costs(rim.costs, rim.places, _directions(rim))
    move = _joint_move(rim).shift
    return costs.near(move)[0], float(costs.directions[0, 2] * move[2])


def _directions(rim: RimFit) -> np.ndarray:
    """How far along each probe (n, 3) a shift of the circle by one in x, y and radius moves its edge."""
    sign = np.sign(np.median((rim.normals * (rim.base - rim.base.mean(0))).sum(1)))
    return np.column_stack([rim.normals, np.full(len(rim.normals), sign)])


@dataclass(frozen=True)
class _Costs:
    """costs (n, d) of probes at places (d,), and directions (n, 3): what a move of the circle means along each."""

    costs: np.ndarray
    places: np.ndarray
    directions: np.ndarray

    def totals(self, moves: np.ndarray) -> np.ndarray:
        """Sum over the probes (m,) of the costs next to the moves (m, 3), outside the places TRUNCATE."""
        step = self.places[1] - self.places[0]
        at = np.round((moves @ self.directions.T - self.places[0]) / step)
        inside = (at >= 0) & (at < len(self.places))
        index = np.arange(len(self.costs)) * len(self.places) + np.where(inside, at, 0).astype(int)
        return np.where(inside, self.costs.ravel()[index], TRUNCATE).sum(1)

    def near(self, move: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Cost, slope and curvature (n,) at one move (3,), from the parabola through the three nearest places."""
        step = self.places[1] - self.places[0]
        at = np.clip((self.directions @ move - self.places[0]) / step, 0, len(self.places) - 1)
        middle = np.clip(np.round(at).astype(int), 1, len(self.places) - 2)
        rows = np.arange(len(self.costs))
        a, b, c = self.costs[rows, middle - 1], self.costs[rows, middle], self.costs[rows, middle + 1]
        off, curve, slope = at - middle, a - 2 * b + c, 0.5 * (c - a)
        return b + off * (slope + 0.5 * off * curve), (slope + off * curve) / step, curve / step**2


@dataclass(frozen=True)
class _Move:
    """shift (dx, dy, dR) of a circle, its standard uncertainties, and the mean cost left."""

    shift: np.ndarray
    u: np.ndarray
    mean_cost: float


def _joint_move(rim: RimFit) -> _Move:
    """The shift of the circle that minimises the summed costs: a grid finds the valley, Newton's method its lowest place."""
    places, step = rim.places, float(rim.places[1] - rim.places[0])
    level = rim.costs - rim.costs.min(1, keepdims=True)
    # the model never fits perfectly: what even the best place leaves over is taken as noise
    misfit = max(1.0, float(np.median(rim.costs.min(1))) / (0.9 * rim.value_cost * rim.samples))
    level = np.minimum(level / misfit, TRUNCATE)
    costs = _Costs(level, places, _directions(rim))
    some = slice(None, None, max(1, round(len(level) / SEARCH_PROBES)))
    few = _Costs(np.ascontiguousarray(level[some]), places, costs.directions[some])
    best, width = np.zeros(3), 0.7 * float(places[-1])
    # five points a side find the valley where the places reach no farther than a few pixels
    for points in (7, 5) if len(places) > NEAR_PLACES else (5,):
        axis = np.linspace(-width, width, points)
        grid = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), -1).reshape(-1, 3) + best
        best = grid[few.totals(grid).argmin()]
        width *= 0.45
    value, slope, curve = costs.near(best)
    a = costs.directions
    for _ in range(12):
        steep = np.maximum(curve, 0.0) + 0.02 / step**2
        move = -np.linalg.solve(a.T @ (a * steep[:, None]), a.T @ slope)
        move *= min(1.0, 1.5 * step / float(np.abs(move).max() + 1e-12))
        for _ in range(4):
            there = costs.near(best + move)
            if there[0].sum() < value.sum():
                break
            move = 0.4 * move
        else:
            break
        best, (value, slope, curve) = best + move, there
        if np.abs(move).max() < 0.02 * step:
            break
    half_hessian = costs.directions.T @ (costs.directions * curve[:, None]) / 2
    try:
        u = np.sqrt(np.maximum(np.diag(np.linalg.inv(half_hessian)), (0.02 * step) ** 2))
    except np.linalg.LinAlgError:
        u = np.full(3, step)
    return _Move(best, np.minimum(np.nan_to_num(u, nan=step), 10 * step), float(value.mean()))
