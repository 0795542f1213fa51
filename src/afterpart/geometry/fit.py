"""Geometric fits of line, circle and arc: the sum of squared *distances* is what is made least, and a covariance comes along.

Words: a *residual* is the signed distance of a point to the fitted curve; *u* is a point's standard uncertainty along the normal.
A circle is started by Taubin's algebraic fit and then refined by Gauss-Newton steps with damping (Levenberg-Marquardt); the
algebraic result is never handed out, it shrinks short arcs.  Covariances are first order, C = (J' W J)^-1 with W = 1/u2; they
hold for independent errors, a caller with correlated errors hands in a larger u.
Not known here: which points belong to a curve.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.errors import FitError
from afterpart.geometry.angles import wrap_rad
from afterpart.geometry.robust import fit_robust

FARTHEST, LEAST_EXTENT = 1e12, 1e-12
"""Points farther away have squares that drown all else; points nearer to each other are one point, mm or px."""
SETTLED = 1e-10
"""A step this small, in units of the data's size, ends a fit; below it rounding decides whether a step is one forward."""


@dataclass(frozen=True)
class LineFit:
    """Line through `point` (weighted middle of the data) in direction angle_rad.

    covariance: (2, 2) of (offset along the left normal at `point`, angle in radians).
    """

    point: tuple[float, float]
    angle_rad: float
    covariance: np.ndarray
    rms: float

    def residuals(self, points: np.ndarray) -> np.ndarray:
        """(n,) signed distance, positive to the left of the direction."""
        return (points[:, 1] - self.point[1]) * math.cos(self.angle_rad) - (points[:, 0] - self.point[0]) * math.sin(
            self.angle_rad
        )


@dataclass(frozen=True)
class CircleFit:
    """covariance: (3, 3) of (centre x, centre y, radius); rms: weighted root mean square of the residuals."""

    center: tuple[float, float]
    radius: float
    covariance: np.ndarray
    rms: float

    def residuals(self, points: np.ndarray) -> np.ndarray:
        """(n,) signed distance, positive outside."""
        return np.hypot(points[:, 0] - self.center[0], points[:, 1] - self.center[1]) - self.radius


@dataclass(frozen=True)
class ArcFit(CircleFit):
    """A circle with the span its points cover: from start_rad, turning by span_rad (positive counter-clockwise)."""

    start_rad: float = 0.0
    span_rad: float = 0.0


def fit_line(points: np.ndarray, u: np.ndarray | float = 1.0) -> LineFit:
    """Orthogonal distance line; its direction follows the order of the points.

    points (n, 2), u (n,) or one number, same unit.  Raises FitError for fewer than two points or no extent.
    """
    points, weights = _checked(points, u, least=2)
    return _weighted_line(points, weights)


def fit_circle(points: np.ndarray, u: np.ndarray | float = 1.0) -> CircleFit:
    """Orthogonal distance circle.  points (n, 2), u (n,) or one number, same unit.

    Raises FitError for fewer than three points, coincident points, or points on one straight line.
    """
    points, weights = _checked(points, u, least=3)
    return _weighted_circle(points, weights)


def fit_arc(points: np.ndarray, u: np.ndarray | float = 1.0) -> ArcFit:
    """Like fit_circle, with the span followed by the points in their order."""
    circle = fit_circle(points, u)
    direction_rad = np.arctan2(points[:, 1] - circle.center[1], points[:, 0] - circle.center[0])
    turn = wrap_rad(np.diff(direction_rad))
    return ArcFit(circle.center, circle.radius, circle.covariance, circle.rms, float(direction_rad[0]), float(np.sum(turn)))


def fit_line_robust(points: np.ndarray, u: np.ndarray | float = 1.0) -> tuple[LineFit, np.ndarray]:
    """fit_line inside the robust loop; also gives the robust factors (n,)."""
    points, weights = _checked(points, u, least=2)
    return fit_robust(lambda w: _weighted_line(points, w), lambda f: f.residuals(points), weights**-0.5)


def fit_circle_robust(points: np.ndarray, u: np.ndarray | float = 1.0) -> tuple[CircleFit, np.ndarray]:
    """fit_circle inside the robust loop; also gives the robust factors (n,)."""
    points, weights = _checked(points, u, least=3)
    return fit_robust(lambda w: _weighted_circle(points, w), lambda f: f.residuals(points), weights**-0.5)


def taubin_circle(points: np.ndarray, weights: np.ndarray) -> tuple[float, float, float]:
    """Centre x, y and radius of Taubin's algebraic fit: a start value only.

    Source: N. Chernov, Circular and Linear Regression (2010), section 5.10 (formulas from memory); root by Newton from zero.
    Raises FitError when the points lie on one straight line.
    """
    total = weights.sum()
    middle = weights @ points / total
    x, y = (points - middle).T
    z = x * x + y * y
    mxx, myy, mxy = weights @ (x * x) / total, weights @ (y * y) / total, weights @ (x * y) / total
    mxz, myz, mzz = weights @ (x * z) / total, weights @ (y * z) / total, weights @ (z * z) / total
    mz, cov = mxx + myy, mxx * myy - mxy * mxy
    a3, a2 = 4.0 * mz, -3.0 * mz * mz - mzz
    a1 = mzz * mz + 4.0 * cov * mz - mxz * mxz - myz * myz - mz**3
    a0 = mxz * mxz * myy + myz * myz * mxx - mzz * cov - 2.0 * mxz * myz * mxy + mz * mz * cov
    root = 0.0
    for _ in range(30):
        slope = a1 + root * (2.0 * a2 + root * 3.0 * a3)
        if slope == 0.0:
            break
        step = (a0 + root * (a1 + root * (a2 + root * a3))) / slope
        root -= step
        if abs(step) <= 1e-14 * mz:
            break
    det = root * root - root * mz + cov
    if not abs(det) > 1e-13 * mz * mz:
        raise FitError(f"The {len(points)} points lie on one straight line; a circle needs points off it.")
    cx, cy = (mxz * (myy - root) - myz * mxy) / det / 2.0, (myz * (mxx - root) - mxz * mxy) / det / 2.0
    return float(middle[0] + cx), float(middle[1] + cy), math.sqrt(cx * cx + cy * cy + mz)


def _checked(points: np.ndarray, u: np.ndarray | float, least: int) -> tuple[np.ndarray, np.ndarray]:
    """Points as (n, 2) floats and weights 1/u2; refuses what no curve can be fitted to."""
    points = np.asarray(points, float)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < least:
        raise FitError(f"Found an array of shape {points.shape}, expected at least {least} points (n, 2).")
    u = np.broadcast_to(np.asarray(u, float), (len(points),))
    if not (np.isfinite(points).all() and np.isfinite(u).all() and (u > 0.0).all()):
        raise FitError("Found points or uncertainties that are not finite or not positive; every point needs both.")
    if float(np.abs(points).max()) > FARTHEST:
        raise FitError(f"Found points farther than {FARTHEST:g} from the origin; expected mm or px of a picture.")
    if float(np.ptp(points, axis=0).max()) <= LEAST_EXTENT:
        raise FitError(f"All {len(points)} points coincide; a curve needs extent.")
    return points, u**-2.0


def _weighted_line(points: np.ndarray, weights: np.ndarray) -> LineFit:
    total = weights.sum()
    middle = weights @ points / total
    x, y = (points - middle).T
    sxx, syy, sxy = weights @ (x * x), weights @ (y * y), weights @ (x * y)
    angle = 0.5 * math.atan2(2.0 * sxy, sxx - syy)
    run = points[-1] - points[0]
    if run[0] * math.cos(angle) + run[1] * math.sin(angle) < 0.0:
        angle += math.pi
    along = x * math.cos(angle) + y * math.sin(angle)
    across = y * math.cos(angle) - x * math.sin(angle)
    covariance = np.diag([1.0 / total, 1.0 / float(weights @ (along * along))])
    return LineFit(
        (float(middle[0]), float(middle[1])),
        float(wrap_rad(angle)),
        covariance,
        math.sqrt(float(weights @ (across * across)) / total),
    )


def _weighted_circle(points: np.ndarray, weights: np.ndarray) -> CircleFit:
    """Levenberg-Marquardt from Taubin's start, about the data's middle and in its own size so that no digits are lost."""
    middle = points.mean(axis=0)
    size = float(np.abs(points - middle).max())
    local = (points - middle) / size
    cx, cy, radius = taubin_circle(local, weights)
    state = np.array([cx, cy, radius])
    damping, cost, normal = 1e-4, math.inf, np.eye(3)
    residual, jacobian = _circle_terms(local, state)
    cost = float(weights @ residual**2)
    for _ in range(100):
        normal = (jacobian * weights[:, None]).T @ jacobian
        gradient = jacobian.T @ (weights * residual)
        try:
            step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), -gradient)
        except np.linalg.LinAlgError as error:
            raise FitError(f"The {len(points)} points do not fix a circle (rank of the equations too low).") from error
        trial = state + step
        trial_residual, trial_jacobian = _circle_terms(local, trial)
        trial_cost = float(weights @ trial_residual**2)
        if trial[2] > 0.0 and trial_cost <= cost:
            small = float(np.abs(step).max()) <= SETTLED * max(1.0, trial[2])
            state, residual, jacobian, cost, damping = (
                trial,
                trial_residual,
                trial_jacobian,
                trial_cost,
                max(damping * 0.1, 1e-13),
            )
            if small:
                break
        else:
            damping *= 10.0
            if damping > 1e12 or float(np.abs(step).max()) <= SETTLED * max(1.0, state[2]):
                break
    normal = (jacobian * weights[:, None]).T @ jacobian
    try:
        covariance = np.linalg.inv(normal)
    except np.linalg.LinAlgError as error:
        raise FitError(f"The {len(points)} points do not fix a circle (rank of the equations too low).") from error
    return CircleFit(
        (float(middle[0] + state[0] * size), float(middle[1] + state[1] * size)),
        float(state[2] * size),
        covariance,
        math.sqrt(cost / weights.sum()) * size,
    )


def _circle_terms(points: np.ndarray, state: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Residuals (n,) and their derivatives (n, 3) by centre x, centre y, radius."""
    dx, dy = points[:, 0] - state[0], points[:, 1] - state[1]
    reach = np.maximum(np.hypot(dx, dy), 1e-300)
    return reach - state[2], np.column_stack((-dx / reach, -dy / reach, -np.ones(len(points))))
