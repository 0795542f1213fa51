"""Round rims fitted as circles straight to the picture: centre and radius that all probes of a rim agree on best.

A small dark hole gives each single probe little to go by, and some probes prefer a wrong edge; the sum of their costs over one
circle has its minimum in the right place.  The foot of the wall is recomputed from the circle each time.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from afterpart.geometry.robust import median
from afterpart.model.camera import Camera
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.rimchain import resample_closed
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
    radius = median(np.hypot(*(points - centre).T))
    scatter = radius
    for _ in range(25):
        d = points - centre
        length = np.hypot(*d.T)
        off = length - radius
        scatter = 1.4826 * median(np.abs(off)) + 1e-9
        weight = 1 / (1 + (off / (2.5 * scatter)) ** 2)
        jacobian = np.c_[d / length[:, None], np.ones(len(d))]
        step = np.linalg.lstsq(jacobian * weight[:, None] ** 0.5, off * weight**0.5, rcond=None)[0]
        centre, radius = centre + step[:2], radius + float(step[2])
        if np.abs(step).max() < 1e-7:
            break
    return centre, radius, scatter


ARC_SLACK = 0.05
"""A rough contour lies on its circle's arc to within this share of the radius."""

ARC_BIN, LEAST_ARC = np.pi / 18, np.radians(170.0)
"""The arc is counted in steps of so much; half a circle, all but a step, has to be seen for the rest to be looked for."""


def round_guess(chain: np.ndarray, px: float, slack_px: float, slack_share: float) -> tuple[np.ndarray, float] | None:
    """Centre and radius of a closed chain that is round to within slack_px pixels or slack_share of the radius, else None.

    A long straight side alone would make an excellent circle of enormous radius: the circle must be as large as the chain."""
    centre, radius, scatter = robust_circle(chain)
    across = float(np.ptp(chain, axis=0).max())
    if not 0.35 * across < radius < 0.65 * across or scatter > max(slack_px * px, slack_share * radius):
        return None
    return centre, radius


def arc_guess(chain: np.ndarray) -> tuple[np.ndarray, float] | None:
    """Centre and radius of the circle of which a closed chain (n, 2) shows the greater arc, the rest of it cut in; else None.

    Where a hole's floor is in places as dark as the face, its rough contour runs through the hole there: what is left of it is
    the hull's round stretch, and nothing stands out beyond the circle."""
    hull = cv2.convexHull(chain.astype(np.float32))[:, 0].astype(float)
    size = float(np.ptp(hull, axis=0).max())
    points = resample_closed(hull, size / 60)
    member = np.ones(len(points), bool)
    centre, radius, off = np.zeros(2), 0.0, np.zeros(len(points))
    for _ in range(8):
        centre, radius, _ = robust_circle(points[member])
        off = np.hypot(*(points - centre).T) - radius
        member = np.abs(off) < max(ARC_SLACK * radius, float(np.quantile(np.abs(off), 0.5)))
    seen = np.unique(np.floor(np.arctan2(*(points[np.abs(off) < ARC_SLACK * radius] - centre).T) / ARC_BIN))
    if not 0.35 * size < radius < 0.7 * size or off.max() > ARC_SLACK * radius or len(seen) * ARC_BIN < LEAST_ARC:
        return None
    return centre, radius


def circle_chain(centre: np.ndarray, radius: float, count: int, opening: bool) -> np.ndarray:
    """Points (count, 2) with the material on the left: clockwise round an opening, counter-clockwise round a disc."""
    angle = np.arange(count) * 2 * np.pi / count * (-1 if opening else 1)
    return centre + radius * np.stack([np.cos(angle), np.sin(angle)], 1)


def fit_round_rims(light: np.ndarray, camera: Camera, guesses: Sequence[tuple[np.ndarray, float, bool]], shape: RimShape,
                   px: float, spread: Spread, reach_px: tuple[float, ...] = (8.0, 3.5), void_px: float = 12.0,
                   grain: Grain = FINE, beside: tuple[np.ndarray, ...] = ()) -> list[RoundFit]:
    """Best circles near the given ones (centre, radius, whether it is an opening), all looked for together.  Arguments as for
    read_probes; reach_px: how far they may move in each pass; beside: as in Course, for the openings."""
    circles = list(guesses)
    fits: list[RoundFit] = []
    for number, reach in enumerate(reach_px, start=1):
        courses = [replace(circle_course(*circle, px, reach, void_px), beside=beside if circle[2] else ()) for circle in circles]
        last = number == len(reach_px)
        rims = fit_rims(light, camera, courses, shape, px, spread, chained=last, grain=grain if last else COARSE)
        moves = _joint_moves(rims, _laid(rims)) if rims else []
        circles = [(centre + move.shift[:2], radius + float(move.shift[2]), opening)
                   for (centre, radius, opening), move in zip(circles, moves, strict=True)]
        fits = [RoundFit(centre, radius, move.u, move.mean_cost, rim)
                for (centre, radius, _), move, rim in zip(circles, moves, rims, strict=True)]
    return fits


def circle_course(centre: np.ndarray, radius: float, opening: bool, px: float, reach: float, void_px: float) -> Course:
    """Where a circle's probes are read: places up to reach pixels to either side, the table up to void_px beyond, within an
    opening's half."""
    count = int(np.clip(2 * np.pi * radius / (2.0 * px), 40, MOST_PROBES))
    void = min(void_px, max(1.1 * radius / px - reach, 3.0)) if opening else void_px
    # averaging along the rim must not smear the foot of the wall, which slides along small holes
    average = float(np.clip((radius / px - 60) / 80, 0.0, 1.5))
    return Course(circle_chain(centre, radius, count, opening), reach, void, average, 0.0)


def round_moves(rims: Sequence[RimFit]) -> list[tuple[np.ndarray, float]]:
    """For each circle the cost of every probe (n,) at the place of the circle that suits them all best, and how far that is from
    where the circle stood, mm away from the material.  The rims come from one block."""
    if not rims:
        return []
    laid = _laid(rims)
    moves = _joint_moves(rims, laid)
    costs = laid.with_levels([rim.costs for rim in rims])
    value = costs.near(np.array([move.shift for move in moves]))[0]
    # beside a place that is ruled out the parabola dips below any cost there is
    return [(np.maximum(own[: len(rim.costs)], rim.costs.min(1)), float(turn * move.shift[2]))
            for own, rim, move, turn in zip(value, rims, moves, costs.directions[:, 0, 2], strict=True)]


@dataclass(frozen=True)
class _Costs:
    """Costs of several circles' probes, laid out together: level (c, n, d) at the common places, of which the first lies at
    `first` mm and the others `step` apart; directions (c, n, 3): how far along each probe a shift of the circle by one in x, y
    and radius moves its edge; row (c, n): where each probe's costs begin.  Circles of fewer probes are filled up with probes
    that cost nothing."""

    level: np.ndarray
    directions: np.ndarray
    row: np.ndarray
    first: float
    step: float

    @property
    def count(self) -> int:
        """How many places there are."""
        return self.level.shape[2]

    def with_levels(self, levels: Sequence[np.ndarray]) -> _Costs:
        """The same probes at other costs, those of one circle (n, d) each."""
        laid = np.zeros_like(self.level)
        for own, level in zip(laid, levels, strict=True):
            own[:len(level)] = level
        return replace(self, level=laid)

    def totals(self, moves: np.ndarray, probes: np.ndarray) -> np.ndarray:
        """Sums (c, m) of the costs next to the moves (c, m, 3) over some probes (c, s), outside the places TRUNCATE."""
        own = np.arange(len(probes))[:, None]
        at = np.rint((self.directions[own, probes] @ moves.transpose(0, 2, 1) - self.first) / self.step)
        inside = (at >= 0) & (at < self.count)
        index = self.row[own, probes][..., None] + np.where(inside, at, 0).astype(int)
        return np.where(inside, self.level.ravel()[index], TRUNCATE).sum(1)

    def near(self, moves: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Costs, slopes and curvatures (c, n) at one move (c, 3) each, from the parabolas through the three nearest places."""
        at = ((self.directions @ moves[:, :, None])[..., 0] - self.first) / self.step
        at = np.minimum(np.maximum(at, 0.0), self.count - 1.0)
        middle = np.minimum(np.maximum(np.rint(at), 1.0), self.count - 2.0)
        flat, index = self.level.ravel(), self.row + middle.astype(int)
        a, b, c = flat[index - 1], flat[index], flat[index + 1]
        off, curve, slope = at - middle, a - 2 * b + c, 0.5 * (c - a)
        return b + off * (slope + 0.5 * off * curve), (slope + off * curve) / self.step, curve / self.step**2


@dataclass(frozen=True)
class _Move:
    """shift (dx, dy, dR) of a circle, its standard uncertainties, and the mean cost left."""

    shift: np.ndarray
    u: np.ndarray
    mean_cost: float


def probe_costs(rim: RimFit) -> np.ndarray:
    """Costs of a rim's probes (n, d) above each one's least, at most TRUNCATE."""
    least = rim.costs.min(1, keepdims=True)
    # the model never fits perfectly: what even the best place leaves over is taken as noise
    misfit = max(1.0, median(least[:, 0]) / (0.9 * rim.value_cost * rim.samples))
    return np.minimum((rim.costs - least) / misfit, TRUNCATE)


def _laid(rims: Sequence[RimFit]) -> _Costs:
    """The circles' probes laid out together, at costs that leave each probe's least one at nothing."""
    most, places = max(len(rim.base) for rim in rims), rims[0].places
    directions = np.zeros((len(rims), most, 3))
    for way, rim in zip(directions, rims, strict=True):
        n = len(rim.base)
        way[:n, :2] = rim.normals
        way[:n, 2] = np.sign(median(((rim.base - rim.base.mean(0)) * rim.normals).sum(1)))
    row = np.arange(len(rims) * most).reshape(len(rims), most) * len(places)
    bare = _Costs(np.zeros((len(rims), most, len(places))), directions, row, float(places[0]), float(places[1] - places[0]))
    return bare.with_levels([probe_costs(rim) for rim in rims])


def _joint_moves(rims: Sequence[RimFit], costs: _Costs) -> list[_Move]:
    """The shifts of the circles that minimise each one's summed costs: a grid finds the valley, Newton's method its lowest
    place.  The rims come from one block, and are laid out in `costs`."""
    number = np.array([len(rim.base) for rim in rims])
    some = np.linspace(0, number, min(SEARCH_PROBES, int(number.min())), endpoint=False).astype(int).T
    best, width = np.zeros((len(rims), 3)), 0.7 * float(rims[0].places[-1])
    # five points a side find the valley where the places reach no farther than a few pixels
    for points in (7, 5) if costs.count > NEAR_PLACES else (5,):
        axis = np.linspace(-width, width, points)
        grid = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), -1).reshape(1, -1, 3) + best[:, None]
        best = grid[np.arange(len(rims)), costs.totals(grid, some).argmin(1)]
        width *= 0.45
    best, (value, _, curve) = _downhill(costs, best)
    a = costs.directions
    out = []
    for k, half_hessian in enumerate(a.transpose(0, 2, 1) @ (a * curve[..., None]) / 2):
        try:
            u = np.sqrt(np.maximum(np.diag(np.linalg.inv(half_hessian)), (0.02 * costs.step) ** 2))
        except np.linalg.LinAlgError:
            u = np.full(3, costs.step)
        u = np.minimum(np.nan_to_num(u, nan=costs.step), 10 * costs.step)
        out.append(_Move(best[k], u, float(value[k].sum() / number[k])))
    return out


def _downhill(costs: _Costs, start: np.ndarray) -> tuple[np.ndarray, tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """Lowest places (c, 3) by Newton's method from `start`, and what `near` has there; steps that lead up are shortened."""
    best, here = start, costs.near(start)
    total, length = here[0].sum(1), np.ones(len(start))
    a = costs.directions
    turned = a.transpose(0, 2, 1)
    stiff = 1e-9 * np.eye(3)
    for _ in range(14):
        steep = np.maximum(here[2], 0.0) + 0.02 / costs.step**2
        move = -np.linalg.solve(turned @ (a * steep[..., None]) + stiff, turned @ here[1][..., None])[..., 0]
        size = np.abs(move).max(1)
        move *= (length * np.minimum(1.0, 1.5 * costs.step / (size + 1e-12)))[:, None]
        there = costs.near(best + move)
        now = there[0].sum(1)
        down = now < total
        best = np.where(down[:, None], best + move, best)
        here = tuple(np.where(down[:, None], new, old) for new, old in zip(there, here, strict=True))  # type: ignore[assignment]
        total, length = np.where(down, now, total), np.where(down, 1.0, 0.4 * length)
        if ((np.abs(move).max(1) < 0.02 * costs.step) | (length < 0.03)).all():
            break
    return best, here
