"""Geometric fits: exact where the data are exact, at the minimum they claim, honest about their spread, refusing where
they must.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.errors import FitError
from afterpart.geometry.fit import fit_arc, fit_circle, fit_circle_robust, fit_line, fit_line_robust


def arc(
    radius: float, span_deg: float, count: int, center: tuple[float, float] = (0.0, 0.0), start_deg: float = 20.0
) -> np.ndarray:
    t = np.radians(start_deg + np.linspace(0.0, span_deg, count))
    return np.column_stack((center[0] + radius * np.cos(t), center[1] + radius * np.sin(t)))


def test_fillet_is_not_shrunk() -> None:
    """R 5 over 90 and 45 degrees at 0.05 mm noise: the plain algebraic fit reads 4.952 and 4.333 (measurement notes)."""
    rng = np.random.default_rng(7)
    for span, limit in ((90.0, 0.02), (45.0, 0.1)):
        found = [fit_circle(arc(5.0, span, 60) + 0.05 * rng.normal(size=(60, 2))).radius for _ in range(300)]
        assert np.mean(found) == pytest.approx(5.0, abs=limit)


@pytest.mark.parametrize("span", [360.0, 180.0, 90.0, 45.0])
def test_any_push_makes_the_distances_larger(span: float) -> None:
    """The claim itself: squared distances are least at the fit."""
    rng = np.random.default_rng(3)
    points = arc(12.0, span, 80, (100.0, -40.0)) + 0.03 * rng.normal(size=(80, 2))
    fit = fit_circle(points)
    state = np.array([*fit.center, fit.radius])

    def cost(p: np.ndarray) -> float:
        return float(np.sum((np.hypot(points[:, 0] - p[0], points[:, 1] - p[1]) - p[2]) ** 2))

    assert all(cost(state + 0.003 * push) > cost(state) for push in rng.normal(size=(50, 3)))


def test_line_covariance_holds_its_spread() -> None:
    rng = np.random.default_rng(11)
    x = np.linspace(0.0, 40.0, 50)
    fits = [fit_line(np.column_stack((x, 0.5 * x)) + 0.02 * rng.normal(size=(50, 2)), 0.02) for _ in range(400)]
    stated = math.sqrt(fits[0].covariance[1, 1])
    assert np.std([f.angle_rad for f in fits]) == pytest.approx(stated, rel=0.12)
    assert np.mean([f.angle_rad for f in fits]) == pytest.approx(math.atan(0.5), abs=3.0 * stated / 20.0)


def test_line_direction_follows_the_points() -> None:
    assert fit_line(np.array([[3.0, 1.0], [2.0, 1.0], [0.0, 1.0]])).angle_rad == pytest.approx(math.pi)


def test_uneven_uncertainties_weigh() -> None:
    points = np.vstack((arc(10.0, 180.0, 60), arc(10.4, 180.0, 60, start_deg=200.0)))
    u = np.concatenate((np.full(60, 0.001), np.full(60, 10.0)))
    assert fit_circle(points, u).radius == pytest.approx(10.0, abs=1e-4)


def test_robust_circle_shrugs_off_a_shadow() -> None:
    """A sixth of the rim swallowed by 0.3 mm: plain least squares is off by more than 0.02 mm, the robust one by less
    than 0.005.
    """
    rng = np.random.default_rng(2)
    points = arc(8.0, 358.0, 240)
    points[:40] *= 8.3 / 8.0
    points += 0.01 * rng.normal(size=points.shape)
    plain, (robust, factor) = fit_circle(points, 0.01), fit_circle_robust(points, 0.01)
    assert abs(plain.radius - 8.0) > 0.02
    assert abs(robust.radius - 8.0) < 0.005 and math.hypot(*robust.center) < 0.01
    assert factor[:40].max() < 0.1 < factor[60:].min()


def test_robust_line_shrugs_off_a_step() -> None:
    x = np.linspace(0.0, 30.0, 120)
    y = 0.005 * np.sin(3.0 * x)
    y[100:] += 0.3
    fit, _ = fit_line_robust(np.column_stack((x, y)), 0.01)
    assert abs(fit.angle_rad) < 5e-4


def test_span_is_signed() -> None:
    points = arc(5.0, 120.0, 40)
    assert math.degrees(fit_arc(points).span_rad) == pytest.approx(120.0, abs=1e-6)
    assert math.degrees(fit_arc(points[::-1]).span_rad) == pytest.approx(-120.0, abs=1e-6)


@pytest.mark.parametrize(
    "points", [np.zeros((1, 2)), np.zeros((5, 2)), np.zeros((4, 3)), np.array([[0.0, 0.0], [1.0, np.nan], [2.0, 0.0]])]
)
def test_unusable_points_are_refused(points: np.ndarray) -> None:
    with pytest.raises(FitError):
        fit_circle(points)


def test_points_on_a_line_make_no_circle() -> None:
    with pytest.raises(FitError, match="straight line"):
        fit_circle(np.column_stack((np.arange(20.0), 2.0 * np.arange(20.0))))
