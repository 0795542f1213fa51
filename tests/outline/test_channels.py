"""Channels in the drawing, from true walls with noise: lines and arcs of the parallel outline, width and distance as dimensions.

The true walls are the valve cover's outline set inwards by 14.5 and 17.5 mm (tests/truth/drawings.py).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Polygon

from afterpart.model.edges import EdgeMap, Rim
from afterpart.model.outline import Loop, Outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from tests.truth.drawings import drawing
from tests.truth.ideal import ideal_edges

INSET, WIDTH, DEPTH, NOISE = 14.5, 3.0, 2.0, 0.015


def _edges(seed: int, with_channel: bool = True, round_corner: float = 0.0) -> EdgeMap:
    """The valve cover's rims with noise; the channel's walls, their convex corners rounded by round_corner."""
    rng = np.random.default_rng([41, seed])
    edges = ideal_edges(drawing("valve_cover"), rng, white=NOISE, turn_deg=20.0)
    if not with_channel:
        return edges
    whole = ideal_edges(drawing("valve_cover"), rng, turn_deg=20.0, spacing=0.02).rims[0].points
    walls = []
    for wall, inset in (("outer", INSET), ("inner", INSET + WIDTH)):
        land = Polygon(whole).buffer(-inset - round_corner, join_style="mitre").buffer(round_corner, quad_segs=64)
        line = land.exterior
        count = int(line.length / 0.2)
        points = np.array([line.interpolate(k / count, normalized=True).coords[0] for k in range(count)])
        if (Polygon(points).exterior.is_ccw) != (wall == "inner"):
            points = points[::-1]
        tangent = np.roll(points, -1, 0) - np.roll(points, 1, 0)
        across = np.c_[tangent[:, 1], -tangent[:, 0]] / np.hypot(*tangent.T)[:, None]
        points = points + NOISE * rng.standard_normal(count)[:, None] * across
        walls.append(Rim("channel", 1, points, np.full(count, NOISE), wall, DEPTH))
    return replace(edges, rims=(*edges.rims, *walls))


def _channels(loops: tuple[Loop, ...]) -> list[Loop]:
    return [loop for loop in loops if loop.role == "channel"]


def _dimension(outline: Outline, kind: str, loop_kind: str) -> tuple[float, float, float]:
    """(measured, design, probability) of the one dimension of this kind; loop_kind: "both" ends on a channel, or "one"."""
    ids = {s.id for loop in _channels(outline.design) for s in loop.segments}
    found = [d for d in outline.dimensions if d.kind == kind and len(d.of) == 2
             and sum(name in ids for name in d.of) == (2 if loop_kind == "both" else 1)]
    assert len(found) == 1
    return found[0].measured, found[0].design, found[0].probability


@pytest.mark.parametrize("seed", range(3))
def test_width_and_distance_are_measured_and_designed(seed: int) -> None:
    outline = recover_outline(_edges(seed), OutlineSettings())
    measured, design, probability = _dimension(outline, "gap", "one")
    assert measured == pytest.approx(INSET, abs=0.03)
    assert design == pytest.approx(INSET, abs=1e-6) and probability > 0.5
    measured, design, probability = _dimension(outline, "width", "both")
    assert measured == pytest.approx(WIDTH, abs=0.03)
    assert design == pytest.approx(WIDTH, abs=1e-6) and probability > 0.5


def test_two_closed_loops_with_walls_and_depth() -> None:
    outline = recover_outline(_edges(0), OutlineSettings())
    for loops in (outline.measured, outline.design):
        walls = _channels(loops)
        assert [loop.wall for loop in walls] == ["outer", "inner"]
        assert all(loop.depth == DEPTH for loop in walls)
        for loop in walls:
            for one, two in zip(loop.segments, loop.segments[1:] + loop.segments[:1], strict=True):
                assert math.dist(one.end, two.start) < 1e-9
    # as many lines as the outline has, no more: its parallel has corners where its arcs are smaller than the inset
    assert all(len(loop.segments) <= 10 for loop in _channels(outline.measured))


def test_rounded_corners_of_a_wall_touch_its_lines() -> None:
    outline = recover_outline(_edges(1, round_corner=3.0), OutlineSettings())
    tangent = {frozenset(r.of) for r in outline.relations if r.kind == "tangent"}
    for loop in _channels(outline.design):
        arcs = [k for k, s in enumerate(loop.segments) if hasattr(s, "radius")]
        assert len(arcs) >= 4
        for k in arcs:
            assert frozenset((loop.segments[k - 1].id, loop.segments[k].id)) in tangent


def test_the_rest_of_the_drawing_does_not_depend_on_the_channel() -> None:
    with_it, without = (recover_outline(_edges(2, have), OutlineSettings()) for have in (True, False))
    own = {d.id: d for d in without.dimensions}
    for dimension in with_it.dimensions:
        if dimension.id in own:
            assert (dimension.kind, dimension.of) == (own[dimension.id].kind, own[dimension.id].of)
            assert dimension.measured == pytest.approx(own[dimension.id].measured, abs=1e-6)
            assert dimension.design == pytest.approx(own[dimension.id].design, abs=1e-6)
