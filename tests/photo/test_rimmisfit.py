"""Which rounding explains a rim: the misfit's parts against closed forms, and roundings found on a disc drawn by calculation.

References: the vertex of a parabola; the evidence of a linear model with Gaussian priors, worked out the long way by the values'
own covariance (matrix determinant lemma; from memory).  The disc is seen from straight above in even light, its rounding shaded
from face to wall with the normal, blurred by a Gaussian, with noise.  Limits: one rim; the booth's parts are in tests/truth.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from afterpart.model.camera import Camera
from afterpart.photo.profile import RimShape, Spread, rim_patterns
from afterpart.photo.rimchain import resample_closed
from afterpart.photo.rimmisfit import (
    CLOSE,
    FREEDOM,
    SPREAD_FAULT,
    expected_faults,
    least_costs,
    level_freedom,
    with_faults,
)
from afterpart.photo.rimprobe import Course, ProbeBlock, read_probes

PX, HEIGHT, RADIUS = 0.1, 6.0, 20.0
FACE, WALL, TABLE = 18.0, 11.0, 100.0
SHAPE = RimShape(HEIGHT, 0.4, 0.0, 600.0 + HEIGHT)


def camera() -> Camera:
    """Straight above the disc, a pixel 0.1 mm wide on its face."""
    down = ((1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0))
    return Camera(600, 600, 6000.0, 0.0, 0.0, down, (0.0, 0.0, SHAPE.camera_z))


def circle() -> np.ndarray:
    """The disc's wall, counter-clockwise."""
    turn = np.linspace(0.0, 2.0 * np.pi, 800, endpoint=False)
    return resample_closed(RADIUS * np.column_stack((np.cos(turn), np.sin(turn))), 2.0 * PX)


def picture(rounding: float, blur_px: float) -> np.ndarray:
    """Linear light (600, 600) of the disc: every pixel the mean of 16 points."""
    side = (np.arange(2400) + 0.5) / 4.0
    away = PX * np.hypot(*np.meshgrid(side - 300.0, side - 300.0)) - RADIUS
    sine = np.clip((away + rounding) / rounding, 0.0, 1.0)
    light = np.where(away < 0.0, FACE * np.sqrt(1.0 - sine**2) + WALL * sine, TABLE)
    light = cv2.GaussianBlur(light.reshape(600, 4, 600, 4).mean((1, 3)), (0, 0), blur_px)
    return (light + np.random.default_rng(4).normal(0.0, 0.3, light.shape)).astype(np.float32)


def block(rounding: float = 0.4) -> ProbeBlock:
    return read_probes(picture(rounding, 0.9), camera(), [Course(circle(), 4.0, 10.0)], SHAPE, PX, CLOSE)


def test_the_least_cost_lies_between_the_places() -> None:
    lowest, places = np.array([0.3, -1.2, 1.49]), np.arange(-3.0, 4.0)
    costs = 7.0 + 2.0 * (places - lowest[:, None]) ** 2
    assert least_costs(costs) == pytest.approx(np.full(3, 7.0))
    assert (costs.min(axis=1) > 7.01).all()


def test_at_the_end_of_the_places_the_cost_there_counts() -> None:
    assert least_costs(np.array([[1.0, 2.0, 5.0, 9.0], [9.0, 7.0, 4.0, 3.0]])) == pytest.approx([1.0, 3.0])


def test_no_value_counts_for_more_than_the_fault_of_the_spread() -> None:
    plain, faulty = block(), with_faults(block())
    seen = plain.weights > 0.0
    most = 1.0 / (SPREAD_FAULT * (TABLE - FACE)) ** 2
    assert (faulty.weights > 0.0)[seen].all() and not faulty.weights[~seen].any()
    assert faulty.weights.max() < 1.02 * most < plain.weights.max()
    assert 1.0 / faulty.weights[seen] - 1.0 / plain.weights[seen] == pytest.approx(np.full(seen.sum(), 1.0 / most), rel=0.03)


def test_faults_cost_what_they_are_expected_to() -> None:
    seen = with_faults(block())
    fault = SPREAD_FAULT * (TABLE - FACE)
    values = np.random.default_rng(5).normal(0.0, fault, (4000, seen.weights.shape[1]))
    cost = np.mean([(values**2 * own).sum(axis=1).mean() for own in seen.weights[seen.kind]]) / seen.correlation
    assert expected_faults(seen) == pytest.approx([cost], rel=0.03)


def test_freedom_is_what_sets_evidence_and_least_cost_apart() -> None:
    seen = block()
    spread = Spread(0.9, 0.0)
    patterns = rim_patterns(SHAPE, seen.slope, seen.foot, PX, spread, seen.t0, seen.step, seen.values.shape[1]).astype(float)
    told = []
    for own, weight, prior_u in zip(patterns, seen.weights, seen.prior_u, strict=True):
        counts = weight > 0.0
        noise = np.diag(1.0 / weight[counts])
        values = noise + own[:, counts].T @ np.diag(prior_u**2) @ own[:, counts]
        told.append(np.linalg.slogdet(values)[1] - np.linalg.slogdet(noise)[1])
    mean = np.average(told, weights=np.diff(seen.kinds))
    no_step = replace(seen, table=seen.face)
    assert level_freedom(no_step, SHAPE, spread) == pytest.approx([FREEDOM * mean], rel=1e-6)


def test_levels_that_only_follow_faults_have_no_freedom() -> None:
    still = replace(block(), weights=block().weights * 1e6)
    assert level_freedom(with_faults(still), SHAPE, Spread(0.9, 0.0)) == pytest.approx([0.0], abs=1e-3)


def test_a_wide_rounding_has_more_freedom() -> None:
    seen = with_faults(block())
    taken = [level_freedom(seen, RimShape(HEIGHT, r, 0.0, SHAPE.camera_z), Spread(0.9, 0.0))[0] for r in (0.1, 0.3, 0.6, 1.0)]
    assert (np.diff(taken) > 0.0).all()
