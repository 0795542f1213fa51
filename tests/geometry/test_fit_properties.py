"""What holds of every fit: exact on exact points, moved, scaled with them, no neighbour fits better, no points end in a bug."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.errors import FitError
from afterpart.geometry.fit import fit_circle, fit_line

coordinate = st.floats(-300.0, 300.0)
radius = st.floats(0.5, 200.0)
span_rad = st.floats(0.5, 2 * math.pi)
seed = st.integers(0, 10_000)
any_points = st.lists(st.tuples(st.floats(), st.floats()), max_size=12)


def on_arc(x: float, y: float, r: float, span: float, count: int = 40) -> np.ndarray:
    turn = np.linspace(0.3, 0.3 + span, count, endpoint=False)
    return np.column_stack([x + r * np.cos(turn), y + r * np.sin(turn)])


@given(coordinate, coordinate, radius, span_rad)
@settings(deadline=None, max_examples=100)
def test_exact_points_give_their_circle(x: float, y: float, r: float, span: float) -> None:
    found = fit_circle(on_arc(x, y, r, span))
    assert found.radius == pytest.approx(r, rel=1e-6)
    assert np.allclose(found.center, (x, y), atol=1e-6 * max(r, 1.0))


@given(radius, span_rad, seed, coordinate, coordinate, st.floats(-math.pi, math.pi), st.floats(0.1, 10.0))
@settings(deadline=None, max_examples=80)
def test_a_circle_moves_turns_and_grows_with_its_points(r: float, span: float, number: int, x: float, y: float, turn: float,
                                                         grown: float) -> None:
    points = on_arc(0.0, 0.0, r, span) + np.random.default_rng(number).normal(0, 1e-3 * r, (40, 2))
    turned = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    before, after = fit_circle(points), fit_circle(grown * points @ turned.T + (x, y))
    assert after.radius == pytest.approx(grown * before.radius, rel=1e-5)
    assert np.allclose(after.center, grown * turned @ np.array(before.center) + (x, y), atol=1e-4 * grown * r)


@given(radius, span_rad, seed, st.floats(-math.pi, math.pi))
@settings(deadline=None, max_examples=80)
def test_no_neighbouring_circle_lies_nearer(r: float, span: float, number: int, towards: float) -> None:
    """The least sum of squared distances: the definition of an orthogonal distance fit."""
    points = on_arc(0.0, 0.0, r, span) + np.random.default_rng(number).normal(0, 1e-3 * r, (40, 2))
    found = fit_circle(points)

    def squares(center: np.ndarray, size: float) -> float:
        return float(np.sum((np.hypot(*(points - center).T) - size) ** 2))
    center, least = np.array(found.center), squares(np.array(found.center), found.radius)
    step = 1e-3 * r * np.array([math.cos(towards), math.sin(towards)])
    for moved, size in ((center + step, found.radius), (center - step, found.radius), (center, found.radius * 1.001),
                        (center, found.radius * 0.999)):
        assert squares(moved, size) >= least * (1 - 1e-9)


@given(any_points)
@settings(deadline=None, max_examples=200)
def test_any_points_are_fitted_or_refused(points: list[tuple[float, float]]) -> None:
    for fit in (fit_line, fit_circle):
        try:
            found = fit(np.array(points, float).reshape(-1, 2))
        except FitError as error:
            assert str(error)
        else:
            assert math.isfinite(found.rms)
