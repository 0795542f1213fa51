"""What the mate's picture adds to the design: ideal rims with a picture's errors, and a mate made to the same true drawing.

Truth: the drawings of tests/truth, whose places are exact numbers.  Limits: places alone are ideal; the booth's pair is in
tests/truth/test_pair.py.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from afterpart.model.edges import EdgeMap, Witness, WitnessHole
from afterpart.model.outline import Circle, Dimension, Outline
from afterpart.model.store import outline_json, parse_outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from tests.truth.drawings import DRAWINGS, Drawing
from tests.truth.ideal import ideal_edges

PLATE: Drawing = next(drawing for drawing in DRAWINGS if drawing.name == "pump_cover")
HOLES = np.array([loop[0][1] for loop in PLATE.loops if loop[0][0] == "circle"])


SHIFT = np.array([11.0, -4.0])
"""Where ideal_edges lays a drawing that is not turned."""


def edges_off(seed: int, off: float) -> EdgeMap:
    """Ideal rims whose openings each stand off by normal errors of this standard deviation in x and y, mm."""
    rng = np.random.default_rng([8, seed])
    edges = ideal_edges(PLATE, rng, turn_deg=0.0)
    return replace(edges, rims=tuple(replace(rim, points=rim.points + rng.normal(0.0, off, 2)) if rim.role == "opening" else rim
                                     for rim in edges.rims))


def numbers(outline: Outline) -> dict[str, int]:
    """Which hole of the true drawing each circle is, and with it its place in the edges' frame."""
    a = math.radians(outline.datum.angle_deg)
    turn = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
    circles = [loop.segments[0] for loop in outline.measured if isinstance(loop.segments[0], Circle)]
    return {circle.id: int(np.hypot(*(HOLES + SHIFT - turn @ np.array(circle.center) - outline.datum.origin).T).argmin())
            for circle in circles}


def witness_of(outline: Outline, rng: np.random.Generator, u: float = 0.015, moved: int | None = None) -> Witness:
    """The mate as its picture has it, seen from its other side: true places, turned, each with an error."""
    c, s = math.cos(0.7), math.sin(0.7)
    holes = []
    for k in numbers(outline).values():
        there = HOLES[k] + rng.normal(0.0, u, 2) + ((0.3, 0.2) if k == moved else (0.0, 0.0))
        x, y = np.array([[c, -s], [s, c]]) @ (there * [1, -1])
        holes.append(WitnessHole((float(HOLES[k][0] + SHIFT[0]), float(HOLES[k][1] + SHIFT[1])), (float(x), float(y)), u))
    return Witness(tuple(holes), True, 2e-4)


def distances(outline: Outline) -> dict[tuple[str, ...], Dimension]:
    return {d.of: d for d in outline.dimensions if d.kind == "distance"}


def true_distance(outline: Outline, of: tuple[str, ...]) -> float:
    known = numbers(outline)
    return math.dist(HOLES[known[of[0]]], HOLES[known[of[1]]])


def test_without_a_witness_nothing_changes_and_nothing_is_told() -> None:
    edges = ideal_edges(PLATE, np.random.default_rng(3))
    plain = outline_json(recover_outline(edges, OutlineSettings()))
    assert b'"mate"' not in plain
    assert outline_json(parse_outline(plain)) == plain


def test_the_measured_shape_stays_the_parts_own() -> None:
    edges = edges_off(1, 0.05)
    alone = recover_outline(edges, OutlineSettings())
    both = recover_outline(replace(edges, witness=witness_of(alone, np.random.default_rng(2))), OutlineSettings())
    for one, two in zip(alone.dimensions, both.dimensions, strict=True):
        assert (one.id, one.of, one.u) == (two.id, two.of, two.u) and one.measured == pytest.approx(two.measured, abs=1e-6)
    assert all(d.mate is not None and d.mate.used for d in distances(both).values())


def test_both_pictures_together_are_right_more_often_than_one() -> None:
    """Holes that stand off by 0.09 mm in the part's picture, as is known of it; the mate knows its own to 0.015."""
    poor = OutlineSettings(place_u=0.09)
    right = {"alone": 0, "both": 0}
    sure = wrong = 0
    for seed in range(4):
        edges = edges_off(seed, 0.09)
        alone = recover_outline(edges, poor)
        both = recover_outline(replace(edges, witness=witness_of(alone, np.random.default_rng(seed))), poor)
        for name, outline in (("alone", alone), ("both", both)):
            for of, d in distances(outline).items():
                is_right = abs(d.design - true_distance(outline, of)) < 5e-3
                right[name] += is_right
                sure += name == "both" and d.probability > 0.95
                wrong += name == "both" and d.probability > 0.95 and not is_right
    assert right["both"] > right["alone"] + 5
    assert wrong <= 0.05 * sure


def test_a_moved_hole_is_seen_and_not_averaged_in() -> None:
    edges = ideal_edges(PLATE, np.random.default_rng(5), turn_deg=0.0)
    alone = recover_outline(edges, OutlineSettings())
    both = recover_outline(replace(edges, witness=witness_of(alone, np.random.default_rng(6), moved=1)), OutlineSettings())
    told = distances(both)
    doubted = {of for of, d in told.items() if d.mate is not None and d.mate.moved > 0.9}
    common = set.intersection(*(set(of) for of in doubted))
    assert len(common) == 1 and doubted == {of for of in told if common <= set(of)}
    for of, d in told.items():
        assert d.mate is not None and d.mate.used == (of not in doubted)
        assert d.design == pytest.approx(distances(alone)[of].design, abs=1e-6)
        assert d.mate.moved > 0.9 or d.mate.moved < 0.05
