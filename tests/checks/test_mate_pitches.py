"""Pitches by both pictures, against Bayes by hand."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import pytest

from afterpart.checks.mate_pitches import MADE, shared_pitches
from afterpart.model.mate import MateHole
from afterpart.model.outline import Dimension, Outline
from tests.checks.mate_cases import mate_outline

HOLES = tuple(MateHole(f"c{k}", f"m{k}", (0.0, 0.0), 6.6, 5.0, (0.0, 0.0), (0.02, 0.02), 0.0, k == 3) for k in (1, 2, 3))


def _outline(*dimensions: Dimension) -> Outline:
    return replace(mate_outline(), dimensions=dimensions)


def _distance(of: tuple[str, str], measured: float, u: float, **told: object) -> Dimension:
    plain = Dimension("d1", "distance", of, measured, u, 80.0, 0.6, 80.5, "inferred")
    return replace(plain, **told)


def test_the_mate_turns_an_open_question() -> None:
    """Measured 80.20 +- 0.15 with odds 0.6 : 0.4 for 80.0; the mate has 80.02 +- 0.12, with MADE 0.13: odds times
    exp((0.48^2 - 0.02^2) / (2 0.13^2)) = exp(6.805...)."""
    cover, mate = _outline(_distance(("c1", "c2"), 80.2, 0.15)), _outline(_distance(("m2", "m1"), 80.02, 0.12))
    pitch, = shared_pitches(cover, mate, HOLES)
    assert MADE == 0.05 and math.hypot(0.12, MADE) == pytest.approx(0.13)
    odds = 0.6 / 0.4 * math.exp((0.48**2 - 0.02**2) / (2 * 0.13**2))
    assert pitch.probability == pytest.approx(odds / (1 + odds)) and pitch.probability > 0.99
    assert pitch.both == pytest.approx((80.2 / 0.15**2 + 80.02 / 0.13**2) / (1 / 0.15**2 + 1 / 0.13**2))
    assert pitch.u == pytest.approx((1 / 0.15**2 + 1 / 0.13**2) ** -0.5)


def test_a_mate_at_the_runner_up_makes_it_likelier() -> None:
    cover, mate = _outline(_distance(("c1", "c2"), 80.2, 0.15)), _outline(_distance(("m1", "m2"), 80.51, 0.03))
    assert shared_pitches(cover, mate, HOLES)[0].probability < 0.01


def test_a_mate_midway_says_nothing() -> None:
    cover, mate = _outline(_distance(("c1", "c2"), 80.2, 0.15)), _outline(_distance(("m1", "m2"), 80.25, 0.03))
    assert shared_pitches(cover, mate, HOLES)[0].probability == pytest.approx(0.6)


def test_moved_holes_and_free_pitches_are_no_witnesses() -> None:
    mate = _outline(_distance(("m1", "m3"), 80.0, 0.03), _distance(("m1", "m2"), 80.0, 0.03))
    assert not shared_pitches(_outline(_distance(("c1", "c3"), 80.0, 0.03)), mate, HOLES)
    assert not shared_pitches(_outline(_distance(("c1", "c2"), 80.0, 0.03, origin="free", runner_up=None)), mate, HOLES)
