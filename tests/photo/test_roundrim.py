"""The circle behind a rough contour of which only the greater arc is round (arc_guess).

Contours are drawn exactly, pixel frame; what is asked is the circle they were cut from.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.photo.roundrim import arc_guess, round_guess

CENTRE, RADIUS = np.array([70.0, 50.0]), 30.0


def cut(span_deg: float, depth: float, jag: float = 0.0) -> np.ndarray:
    """An arc of this span, its ends joined by a line that runs through the circle at `depth` of the radius from the centre,
    jagged by so many px."""
    angle = np.radians(np.linspace(0.0, span_deg, 120))
    arc = CENTRE + RADIUS * np.stack([np.cos(angle), np.sin(angle)], 1)
    middle = math.radians(0.5 * span_deg + 180.0)
    inward = CENTRE + depth * RADIUS * np.array([math.cos(middle), math.sin(middle)])
    ways = np.linspace(0.0, 1.0, 40)[:, None]
    rest = np.concatenate([arc[-1] + ways * (inward - arc[-1]), inward + ways * (arc[0] - inward)])
    rest = rest + jag * np.random.default_rng(3).normal(size=rest.shape)
    return np.concatenate([arc, rest[1:-1]])


@pytest.mark.parametrize("span_deg, depth", [(200.0, 0.0), (240.0, 0.1), (280.0, 0.3), (300.0, -0.3)])
def test_the_circle_of_an_arc_is_found(span_deg: float, depth: float) -> None:
    found = arc_guess(cut(span_deg, depth))
    assert found is not None
    assert found[0] == pytest.approx(CENTRE, abs=0.06 * RADIUS) and found[1] == pytest.approx(RADIUS, rel=0.05)


def test_a_jagged_bite_does_not_matter() -> None:
    chain = cut(260.0, 0.2, 1.0)
    assert round_guess(chain, 1.0, 1.5, 0.06) is None
    found = arc_guess(chain)
    assert found is not None and found[0] == pytest.approx(CENTRE, abs=0.05 * RADIUS)


@pytest.mark.parametrize("span_deg", [90.0, 120.0, 150.0])
def test_less_than_half_a_circle_tells_nothing(span_deg: float) -> None:
    assert arc_guess(cut(span_deg, 0.0)) is None


def loop(corners: list[tuple[float, float]]) -> np.ndarray:
    ends = np.array(corners)
    return np.concatenate([a + np.linspace(0.0, 1.0, 50, endpoint=False)[:, None] * (b - a)
                           for a, b in zip(ends, np.roll(ends, -1, axis=0), strict=True)])


@pytest.mark.parametrize("corners", [
    [(0.0, 0.0), (60.0, 0.0), (60.0, 60.0), (0.0, 60.0)],
    [(0.0, 0.0), (90.0, 0.0), (90.0, 30.0), (0.0, 30.0)],
    [(0.0, 0.0), (60.0, 0.0), (30.0, 52.0)],
])
def test_straight_sided_openings_are_no_arcs(corners: list[tuple[float, float]]) -> None:
    assert arc_guess(loop(corners)) is None


def test_a_slot_is_no_arc() -> None:
    angle = np.linspace(-0.5 * math.pi, 0.5 * math.pi, 60)
    right = np.stack([40.0 + 15.0 * np.cos(angle), 15.0 * np.sin(angle)], 1)
    assert arc_guess(np.concatenate([right, -right])) is None


def test_what_stands_out_beyond_the_circle_denies_it() -> None:
    """A keyhole: its slot reaches out of the round end."""
    angle = np.radians(np.linspace(20.0, 340.0, 120))
    arc = CENTRE + RADIUS * np.stack([np.cos(angle), np.sin(angle)], 1)
    out = np.array([[CENTRE[0] + 1.6 * RADIUS, arc[-1, 1]], [CENTRE[0] + 1.6 * RADIUS, arc[0, 1]]])
    assert arc_guess(np.concatenate([arc, out])) is None
