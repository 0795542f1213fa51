"""The outline stage by itself: true rims of fifteen invented drawings with noise, an unknown turn and a scale a little off.

No photograph is involved, so what fails here cannot be blamed on edges.
Limits: noise 0.018 mm a point, most of it alike over half a millimetre.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from tests.truth.compare import OutlineScore, compare_outline
from tests.truth.drawings import DRAWINGS, drawing
from tests.truth.ideal import ideal_edges

NAMES = [d.name for d in DRAWINGS]


@cache
def _score(name: str) -> OutlineScore:
    rng = np.random.default_rng([41, NAMES.index(name)])
    edges = ideal_edges(drawing(name), rng, white=0.01, alike=0.015, scale=1 + rng.normal(0, 2e-4), scale_u=4e-4,
                        turn_deg=rng.uniform(0, 360))
    return compare_outline(recover_outline(edges, OutlineSettings()), drawing(name))


@pytest.mark.parametrize("name", NAMES)
def test_circles_are_found_and_none_is_invented(name):
    score = _score(name)
    assert score.found == score.circles and score.invented == 0
    assert score.extra_segments <= 0


def test_sizes_are_within_the_noise():
    errors = np.abs(np.concatenate([_score(name).dimensions for name in NAMES]))
    assert np.median(errors) < 0.015
    assert np.quantile(errors, 0.95) < 0.05


def test_design_dimensions_are_the_drawings_own():
    assert sum(_score(n).hits for n in NAMES) >= 0.95 * sum(_score(n).asked for n in NAMES)


def test_ninety_five_per_cent_intervals_hold():
    z = np.abs(np.concatenate([np.array(_score(name).z) for name in NAMES]))
    assert len(z) > 200
    assert np.mean(z < 1.96) >= 0.92


def test_what_is_called_sure_is_right():
    claims = [right for name in NAMES for p, right in _score(name).claims if p >= 0.95]
    assert len(claims) > 150
    assert np.mean(claims) >= 0.95
