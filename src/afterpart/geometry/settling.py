"""Brings a shape that ascent.py has grown to the very summit of its hill.

A climb by slopes alone creeps along ridges: where a shape turns as it grows, each step gains little.  Near the summit it is known
which corner may meet which wall, and which side passes which inward corner of the room; with these pairs held fast the summit is
that of a smooth problem,

        max area(p)   with   depth of each paired corner behind its wall >= 0
                             clearance of each paired inward corner from its side >= 0
                             the shape's own limits >= 0
solved by sequential quadratic programming.  Pairs are then chosen anew, until that gains nothing more.
A shape that keeps its pairs lies in the room: each inward corner is parted from it by one of its sides.
Source: D. Kraft, A software package for sequential quadratic programming, DFVLR-FB 88-28, 1988, as scipy has it; the tests hold
the result against closed forms and a wider search.
Conventions: room units (unit area).  Limits: a local summit; what breaks a wall that was out of reach is answered as it was.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
from scipy.optimize import minimize

from afterpart.geometry.ascent import Shape, clear_rows, walls_in_reach
from afterpart.geometry.room import Room, area_slope, contacts, shape_area

_REACH = 0.1
"""How far a parameter may move between two choices of pairs."""
_STEPS = 20
_ROUNDS = 8
_LEAST_GAIN = 2e-4
_BREAK = 1e-5
"""Most a settled shape may break a wall; drawing it in takes that away again."""


def settle(room: Room, shape: Shape, p: np.ndarray) -> np.ndarray:
    """The parameters of the summit near p; p itself where none higher is found."""
    area, broken = _standing(room, shape, p)
    for _ in range(_ROUNDS):
        better = _settled(room, shape, p)
        new_area, new_broken = _standing(room, shape, better)
        if new_broken > max(_BREAK, broken) or (new_area <= area and broken <= _BREAK):
            break
        gain, p, area, broken = new_area - area, better, new_area, new_broken
        if abs(gain) < _LEAST_GAIN:
            break
    return p


def _standing(room: Room, shape: Shape, p: np.ndarray) -> tuple[float, float]:
    """Area, and the deepest break."""
    corners = shape.corners(p)
    return shape_area(corners), contacts(room, corners).broken


def _settled(room: Room, shape: Shape, p: np.ndarray) -> np.ndarray:
    met = contacts(room, shape.corners(p))
    corner, wall = walls_in_reach(room, met, _REACH)
    side = met.clear.argmax(axis=1) if len(met.clear) else np.zeros(0, int)
    near = met.clear.max(axis=1) < 2.0 * _REACH if len(met.clear) else np.zeros(0, bool)
    side, places = side[near], room.inward_corners[near]
    inward, lies_at = room.inward[wall], room.lies_at[wall]
    rows = np.zeros((len(corner), 2 * len(met.along)))
    rows[np.arange(len(corner)), 2 * corner], rows[np.arange(len(corner)), 2 * corner + 1] = inward[:, 0], inward[:, 1]

    def limits(q: np.ndarray) -> np.ndarray:
        now = shape.corners(q)
        return np.concatenate([np.einsum("nd,nd->n", now[corner], inward) - lies_at, clear_rows(now, side, places)[1],
                               shape.limits(q)[1]])

    def limits_slope(q: np.ndarray) -> np.ndarray:
        return np.vstack([np.vstack([rows, clear_rows(shape.corners(q), side, places)[0]]) @ shape.slopes(q), shape.limits(q)[0]])

    found = minimize(
        lambda q: -shape_area(shape.corners(q)), p, jac=lambda q: -(area_slope(shape.corners(q)).ravel() @ shape.slopes(q)),
        bounds=np.column_stack([p - _REACH, p + _REACH]), constraints={"type": "ineq", "fun": limits, "jac": limits_slope},
        method="SLSQP", options={"maxiter": _STEPS, "ftol": 1e-7})
    return np.asarray(found.x) if np.isfinite(found.x).all() else p
