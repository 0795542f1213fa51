"""What a stretch of rim that stands off does to the lines and arcs fitted together, against the closed form.

A fillet of a square corner that touches two long edges is moved along the bisector when its radius grows by dR: its rim then
moves by dR (1 - cos f / cos 45 deg) at the angle f from the bisector.  The radius that suits a rim standing off by e best (least
squares) is off by  e * integral of that factor / integral of its square, f from -45 to 45 degrees:
(2 - pi / 2) / (pi - 3) = 3.0313.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.outline.chain import Chain
from afterpart.outline.refine import Rope, settle

SIDE, RADIUS, STEP = 400.0, 10.0, 0.1
LEVERAGE = (2 - math.pi / 2) / (math.pi - 3)


def rounded_square() -> tuple[Rope, tuple]:
    """A rim walked counter-clockwise, its eight carriers beginning with the lower edge, and their exact start."""
    half, inner = SIDE / 2, SIDE / 2 - RADIUS
    run = np.arange(0.5 * STEP, 2 * inner, STEP)
    bend = np.arange(0.5 * STEP, 0.5 * math.pi * RADIUS, STEP) / RADIUS
    points, state, first = [], [], []
    for k in range(4):
        turn = 0.5 * math.pi * k
        c, s = math.cos(turn), math.sin(turn)
        edge = np.column_stack([run - inner, np.full(len(run), -half)])
        arc = np.column_stack([inner + RADIUS * np.sin(bend), -inner - RADIUS * np.cos(bend)])
        for own, row in ((edge, (math.remainder(turn, 2 * math.pi), -half, 0.0)),
                         (arc, (c * inner + s * inner, s * inner - c * inner, RADIUS))):
            first.append(sum(map(len, points)))
            points.append(own @ np.array([[c, s], [-s, c]]))
            state.append(row)
    rim = np.concatenate(points)
    count = len(rim)
    rope = Rope(rim, np.ones(count), 0.01, STEP * np.arange(count), STEP * count, 0.0, 14.0)
    return rope, (np.tile([False, True], 4), np.array(state), np.ones(8, bool), np.array(first))


@pytest.fixture(scope="module")
def fitted() -> tuple[Rope, tuple, Chain]:
    rope, start = rounded_square()
    return rope, start, settle(rope, *start)


def test_the_radius_of_a_fillet_moves_three_times_as_far_as_its_rim(fitted: tuple[Rope, tuple, Chain]) -> None:
    chain = fitted[2]
    assert chain.leans is not None and chain.leans.shape == (24, 8)
    assert chain.leans[3 * 1 + 2, 1] == pytest.approx(LEVERAGE, rel=0.03)


def test_an_edge_goes_with_its_rim_and_does_not_turn(fitted: tuple[Rope, tuple, Chain]) -> None:
    chain = fitted[2]
    assert chain.leans is not None
    assert chain.leans[1, 0] == pytest.approx(1.0, abs=0.02)
    assert abs(chain.leans[0, 0]) < 1e-6


def test_all_together_are_the_whole_rim_moved_aside(fitted: tuple[Rope, tuple, Chain]) -> None:
    """Every stretch to the left by 1 mm: the edges by 1 mm, the arcs about the same centres 1 mm smaller."""
    chain = fitted[2]
    assert chain.leans is not None
    together = chain.leans.sum(axis=1).reshape(8, 3)
    np.testing.assert_allclose(together[~chain.is_arc], np.tile([0.0, 1.0, 0.0], (4, 1)), atol=1e-6)
    np.testing.assert_allclose(together[chain.is_arc], np.tile([0.0, 0.0, -1.0], (4, 1)), atol=1e-6)


def test_a_fit_to_a_rim_that_stands_off_does_what_the_leans_say(fitted: tuple[Rope, tuple, Chain]) -> None:
    rope, start, chain = fitted
    assert chain.leans is not None
    off, own = 0.003, slice(int(chain.first[1]), int(chain.first[2]))
    points = rope.points.copy()
    toward = chain.state[1, :2] - points[own]
    points[own] += off * toward / np.hypot(*toward.T)[:, None]
    moved = settle(Rope(points, rope.samples, rope.noise, rope.along, rope.total, rope.guard, rope.tangent_price), *start)
    change = (moved.state - chain.state).ravel() / off
    assert moved.state[1, 2] - chain.state[1, 2] == pytest.approx(off * chain.leans[5, 1], rel=0.05)
    np.testing.assert_allclose(change, chain.leans[:, 1], atol=0.1)
