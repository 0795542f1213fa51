"""The yardstick itself: a drawing moved about must come back without error, a spoilt one with the error it was given."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.model.edges import EdgeMap, Reference
from afterpart.model.outline import Arc, Circle, Datum, Dimension, Line, Loop, Outline
from tests.truth.compare import compare_edges, compare_outline
from tests.truth.drawings import DRAWINGS, Drawing, drawing
from tests.truth.ideal import ideal_edges

SCALE = Reference("rule", 10.0, 1e-4)


def _turned(point, degrees: float, shift: tuple[float, float]) -> tuple[float, float]:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return c * point[0] - s * point[1] + shift[0], s * point[0] + c * point[1] + shift[1]


def _edges(plate: Drawing, **spoilt: float) -> EdgeMap:
    return ideal_edges(plate, np.random.default_rng(0), **spoilt)


@pytest.mark.parametrize("plate", DRAWINGS, ids=lambda d: d.name)
def test_true_rims_score_zero(plate):
    score = compare_edges(_edges(plate), plate)
    assert score.rms < 1e-3 and score.openings_missed == 0 and score.openings_extra == 0
    assert abs(score.scale_error) < 1e-5


def test_material_grown_by_a_tenth_reads_as_bias_outside():
    score = compare_edges(_edges(drawing("pump_cover"), grow=0.1), drawing("pump_cover"))
    assert score.bias_outer == pytest.approx(-0.1, abs=0.01)
    assert score.bias_openings == pytest.approx(-0.1, abs=0.01)


def test_a_wrong_scale_and_a_missing_hole_are_seen():
    score = compare_edges(_edges(drawing("filter_frame"), scale=1.001, drop=1), drawing("filter_frame"))
    assert abs(abs(score.scale_error) - 0.001) < 2e-4
    assert score.openings_missed == 1


def _outline(plate: Drawing, grow_diameter: float = 0.0, extra: bool = False) -> Outline:
    """The true drawing as the outline stage would give it, turned; circles grown; one circle invented on request."""
    loops, dimensions, k = [], [], 0
    for number, loop in enumerate(plate.loops):
        segments = []
        for s in loop:
            k += 1
            moved = [_turned(p, -31.0, (3.0, 9.0)) if isinstance(p, tuple) else p for p in s[1:]]
            if s[0] == "line":
                segments.append(Line(f"s{k}", moved[0], moved[1]))
            elif s[0] == "arc":
                segments.append(Arc(f"s{k}", moved[0], moved[1], moved[2], math.dist(s[1], s[3]), s[4]))
            else:
                segments.append(Circle(f"c{k}", moved[0], s[2] + grow_diameter / 2))
                dimensions.append(Dimension(f"d{k}", "diameter", (f"c{k}",), 2 * s[2] + grow_diameter, 0.02, 2 * s[2], 0.99, None,
                                            "inferred"))
        loops.append(Loop("outer" if number == 0 else "opening", 1, tuple(segments)))
    if extra:
        loops.append(Loop("opening", 1, (Circle("c99", (3.0, 9.5), 1.2),)))
    return Outline("mm", SCALE, Datum("", (0.0, 0.0), 0.0), tuple(loops), tuple(loops), tuple(dimensions), ())


@pytest.mark.parametrize("name", ["pump_cover", "angle_bracket", "three_arm", "slotted_plate"])
def test_true_outline_scores_full(name):
    score = compare_outline(_outline(drawing(name)), drawing(name))
    assert score.found == score.circles and score.invented == 0 and score.arcs_found == score.arcs
    assert score.hits == score.asked and score.extra_segments == 0
    assert np.abs(score.dimensions).max() < 1e-6
    assert all(right for _, right in score.claims) and len(score.claims) == score.circles


def test_grown_holes_and_an_invented_one_are_counted():
    score = compare_outline(_outline(drawing("pump_cover"), 0.05, extra=True), drawing("pump_cover"))
    assert score.invented == 1
    assert np.median(score.diameters) == pytest.approx(0.05, abs=1e-6)
    assert score.hits < score.asked
    assert np.median(score.z) == pytest.approx(2.5, abs=1e-3)
