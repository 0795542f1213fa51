"""Grows a shape inside a room until nothing lets it grow any more.

Method (sequential projection): at the shape's parameters p the area and everything that may be touched are made linear; the
step is the slope of the area, brought back to the nearest step that breaks none of the linear limits:

        min |d - s g|^2   with   A d + c >= 0         g  slope of the area over p
                                                      A, c  slope and present value of each limit
                                                      s  sets the step's length
which is a least distance problem, solved exactly by non-negative least squares.  A step is taken when area - 2 * perimeter *
break grows; its reach grows after a success and shrinks after a failure; the pace says when no step is worth it any more.
Source: C. L. Lawson, R. J. Hanson, Solving Least Squares Problems, chapter 23 (problem LDP), from memory; the tests hold the
result against closed forms.
Conventions: room units (unit area).  Limits: finds the summit of the hill it starts on; starts are the caller's.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.optimize import nnls

from afterpart.geometry.room import Contacts, Room, area_slope, contacts, following, shape_area

_FIRST_REACH, _LONGEST_REACH = 0.08, 0.3
_PATIENCE = 3
"""A climb ends after this many steps in turn without a gain worth a step."""


@dataclass(frozen=True)
class Pace:
    """When a climb ends: the most steps, the least reach, and the gain of area below which a step was not worth it."""

    steps: int
    least_reach: float
    least_gain: float


ROUGH = Pace(steps=4, least_reach=2e-3, least_gain=1e-3)
FINE = Pace(steps=50, least_reach=1e-6, least_gain=1e-6)


class Shape(Protocol):
    """A family of polygons with m parameters."""

    def corners(self, p: np.ndarray) -> np.ndarray:
        """Its corners (k, 2), counter-clockwise."""

    def slopes(self, p: np.ndarray) -> np.ndarray:
        """How its corners move with p, (2 k, m)."""

    def limits(self, p: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Its own limits A d + c >= 0: (q, m) and (q,)."""


def climb(room: Room, shape: Shape, p: np.ndarray, pace: Pace = FINE) -> np.ndarray:
    """The parameters of the summit reached from p."""
    corners = shape.corners(p)
    met = contacts(room, corners)
    height, reach, idle = merit(corners, met), _FIRST_REACH, 0
    for _ in range(pace.steps):
        step = _step(room, shape, p, corners, met, reach)
        trial = shape.corners(p + step)
        trial_met = contacts(room, trial)
        gain = merit(trial, trial_met) - height
        if gain > 0:
            p, corners, met, height = p + step, trial, trial_met, height + gain
            reach = min(2.0 * reach, _LONGEST_REACH)
        else:
            reach /= 4.0
        idle = idle + 1 if gain < pace.least_gain else 0
        if reach < pace.least_reach or idle >= _PATIENCE:
            break
    return p


def merit(corners: np.ndarray, met: Contacts) -> float:
    """What a climb makes larger: the area, less twice the perimeter times the deepest break."""
    run = following(corners) - corners
    return shape_area(corners) - 2.0 * float(np.hypot(run[:, 0], run[:, 1]).sum()) * met.broken


def _step(room: Room, shape: Shape, p: np.ndarray, corners: np.ndarray, met: Contacts, reach: float) -> np.ndarray:
    slopes = shape.slopes(p)
    along_corners, value = _wall_limits(room, met, reach)
    around_obstacles, gap = _obstacle_limits(room, corners, met, reach)
    own, own_value = shape.limits(p)
    limits = np.vstack([along_corners @ slopes, around_obstacles @ slopes, own])
    present = np.concatenate([value, gap, own_value])
    slope = area_slope(corners).ravel() @ slopes
    wanted = slope * (2.0 * reach / max(float(np.linalg.norm(slope)), 1e-12))
    step = wanted + _nearest(limits, present + limits @ wanted)
    moved = float(np.abs(slopes @ step).max())
    return np.asarray(step * min(1.0, reach / max(moved, 1e-15)))


def _wall_limits(room: Room, met: Contacts, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """Each corner stays on the inner side of the walls it may reach."""
    corner, wall = walls_in_reach(room, met, reach)
    rows = np.zeros((len(corner), 2 * len(met.along)))
    rows[np.arange(len(corner)), 2 * corner] = room.inward[wall, 0]
    rows[np.arange(len(corner)), 2 * corner + 1] = room.inward[wall, 1]
    return rows, met.depth[corner, wall]


def walls_in_reach(room: Room, met: Contacts, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """Pairs of a corner and a wall whose line binds it for moves of up to `reach`, (m,) and (m,).

    A wall's line binds beyond the wall's end only where that end is an outward corner."""
    near = met.reach < 1.5 * reach
    before = (met.along < 0.0) & room.is_inward
    beyond = (met.along > room.length) & following(room.is_inward)
    # a corner deep behind a wall's line is inside the room only because the room bends away from that wall
    return np.nonzero(near & ~before & ~beyond & (met.depth > -0.5 * reach))  # type: ignore[return-value]


def _obstacle_limits(room: Room, corners: np.ndarray, met: Contacts, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """Each inward corner of the room that may be reached stays outside the side of the shape it is farthest outside of."""
    if not len(met.clear):
        return np.zeros((0, 2 * len(corners))), np.zeros(0)
    side, clear = met.clear.argmax(axis=1), met.clear.max(axis=1)
    near = clear < 2.0 * reach
    return clear_rows(corners, side[near], room.inward_corners[near])[0], clear[near]


def clear_rows(corners: np.ndarray, side: np.ndarray, places: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How far each place (m, 2) lies outside that side of the shape (m,), and its slopes over the corners, (m, 2 k) and (m,)."""
    count = len(corners)
    a, after = corners[side], (side + 1) % count
    run = corners[after] - a
    length = np.maximum(np.hypot(run[:, 0], run[:, 1]), 1e-9)
    x, y = run[:, 1] / length, -run[:, 0] / length
    # clear = outward . (place - a); moving a and b shifts the line and turns it about the foot of the place
    share = np.einsum("nd,nd->n", places - a, run) / length**2
    rows = np.zeros((len(side), 2 * count))
    index = np.arange(len(side))
    rows[index, 2 * side], rows[index, 2 * side + 1] = -x * (1.0 - share), -y * (1.0 - share)
    rows[index, 2 * after], rows[index, 2 * after + 1] = -x * share, -y * share
    return rows, x * (places[:, 0] - a[:, 0]) + y * (places[:, 1] - a[:, 1])


def _nearest(limits: np.ndarray, present: np.ndarray) -> np.ndarray:
    """The shortest y with limits @ y + present >= 0; the best compromise where there is none."""
    if not len(limits) or present.min() >= 0.0:
        return np.zeros(limits.shape[1])
    scale = float(np.abs(present).max())
    matrix = np.vstack([limits.T, -present / scale])
    target = np.zeros(len(matrix))
    target[-1] = 1.0
    weights, _ = nnls(matrix, target, maxiter=20 * matrix.shape[1])
    rest = matrix @ weights - target
    return np.asarray(-rest[:-1] / min(rest[-1], -1e-9) * scale)
