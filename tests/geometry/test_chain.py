"""Areas, insides, distances and motions of chains: closed forms, and shapely at fine chords as the other side."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.errors import SolidError
from afterpart.geometry.chain import (
    chain_area,
    chain_length,
    chain_points,
    chain_polygon,
    contains,
    counter_clockwise,
    distance_to_chain,
    gap,
    is_inside,
    move_chain,
    polygon_chain,
    require_closed,
    reversed_chain,
)
from afterpart.model.outline import Arc, Circle, Line
from tests.geometry.shapes import channel_wall, cover, disc, jagged_shapes, plain_shapes, rectangle, rounded_rectangle, slot


def test_area_and_length_of_a_rounded_rectangle() -> None:
    """w h - (4 - pi) r^2 and 2 (w + h) - (8 - 2 pi) r."""
    chain = rounded_rectangle(40.0, 25.0, 6.0)
    assert math.isclose(chain_area(chain), 40 * 25 - (4 - math.pi) * 36, rel_tol=1e-14)
    assert math.isclose(chain_length(chain), 2 * 65 - (8 - 2 * math.pi) * 6, rel_tol=1e-14)


def test_area_of_a_slot_and_a_disc_and_of_a_lens() -> None:
    """Slot: 2 r l + pi r^2.  Two equal discs at distance r have in common r^2 (2 pi / 3 - sqrt(3) / 2)."""
    assert math.isclose(chain_area(slot(30.0, 4.0)), 2 * 4 * 30 + math.pi * 16, rel_tol=1e-14)
    assert math.isclose(chain_area(disc(1e3, -7.0, 5.0)), math.pi * 25, rel_tol=1e-14)
    high = 5 * math.sqrt(3) / 2
    lens = (Arc("", (2.5, -high), (2.5, high), (0.0, 0.0), 5.0, True), Arc("", (2.5, high), (2.5, -high), (5.0, 0.0), 5.0, True))
    assert math.isclose(chain_area(lens), 25 * (2 * math.pi / 3 - math.sqrt(3) / 2), rel_tol=1e-14)


@given(jagged_shapes(), st.floats(-180, 180), st.floats(-50, 50), st.booleans())
@settings(max_examples=40, deadline=None, derandomize=True)
def test_motions_keep_area_length_and_what_is_inside(chain: tuple, angle_deg: float, shift: float, mirror: bool) -> None:
    moved = move_chain(chain, (shift, 3.0), angle_deg, mirror)
    sign = 1 if isinstance(chain[0], Circle) or not mirror else -1
    assert math.isclose(chain_area(moved), sign * chain_area(chain), rel_tol=1e-9)
    assert math.isclose(chain_length(moved), chain_length(chain), rel_tol=1e-12)
    require_closed(moved)
    points = np.random.default_rng(1).uniform(-30, 30, (200, 2))
    turned = np.array([shapely.affinity.translate(shapely.affinity.rotate(shapely.Point(x, -y if mirror else y), angle_deg,
                                                                         (0, 0)), shift, 3.0).coords[0] for x, y in points])
    away = distance_to_chain(points, chain) > 1e-6
    assert np.allclose(distance_to_chain(points, chain), distance_to_chain(turned, moved), atol=1e-9)
    assert (is_inside(points, chain) == is_inside(turned, moved))[away].all()


@given(jagged_shapes())
@settings(max_examples=40, deadline=None, derandomize=True)
def test_reversing_turns_the_area_and_nothing_else(chain: tuple) -> None:
    back = reversed_chain(chain)
    require_closed(back)
    assert reversed_chain(back) == chain
    assert math.isclose(chain_area(counter_clockwise(back)), abs(chain_area(chain)), rel_tol=1e-12)
    points = np.random.default_rng(2).uniform(-30, 30, (200, 2))
    assert (is_inside(points, chain) == is_inside(points, back)).all()


@given(jagged_shapes())
@settings(max_examples=40, deadline=None, derandomize=True)
def test_inside_area_and_distance_agree_with_shapely_at_fine_chords(chain: tuple) -> None:
    polygon = chain_polygon(chain, 1e-4)
    assert abs(polygon.area - abs(chain_area(chain))) < 1e-4 * chain_length(chain)
    points = np.random.default_rng(3).uniform(-35, 40, (800, 2))
    places = shapely.points(points)
    apart = shapely.distance(polygon.exterior, places)
    assert np.allclose(apart, distance_to_chain(points, chain), atol=2e-4)
    sure = apart > 2e-4
    assert (shapely.contains(polygon, places) == is_inside(points, chain))[sure].all()


@pytest.mark.parametrize("ccw", [True, False])
def test_inside_is_exact_on_the_lines_of_chords_and_ends(ccw: bool) -> None:
    """Points level with corners and on the chord of an arc, where counting rays trip."""
    chain = slot(30.0, 4.0) if ccw else reversed_chain(slot(30.0, 4.0))
    inside = [(0, 0), (-3.999, 0), (30, 0), (30, 3.999), (33.999, 0), (0, 2), (30, -2), (15, 0)]
    outside = [(-4.001, 0), (34.001, 0), (40, 0), (-20, 4), (50, 4), (-20, -4), (0, 4.001), (30, -4.001), (33, 3.5)]
    assert is_inside(np.array(inside), chain).all()
    assert not is_inside(np.array(outside), chain).any()


def test_inside_of_an_arc_of_more_than_half_a_turn() -> None:
    keyhole = (Arc("", (3.0, -4.0), (3.0, 4.0), (0.0, 0.0), 5.0, False), Line("", (3.0, 4.0), (3.0, -4.0)))
    assert is_inside(np.array([(-4.9, 0.0), (0.0, 4.9), (2.99, 3.9), (0.0, 0.0)]), keyhole).all()
    assert not is_inside(np.array([(3.01, 0.0), (4.9, 0.0), (-5.01, 0.0), (3.01, 3.99)]), keyhole).any()


def test_gaps_of_known_size() -> None:
    """Circles: d - r - s and r - d - s; line and circle: height - r; slots end to end; parallel lines."""
    apart = gap(disc(0, 0, 3), disc(10, 0, 2))
    assert apart.distance == 5.0 and apart.on_a == pytest.approx((3, 0)) and apart.on_b == pytest.approx((8, 0))
    inner = gap(disc(0, 0, 10), disc(4, 0, 2))
    assert inner.distance == pytest.approx(4.0, abs=1e-12)
    assert inner.on_a == pytest.approx((10, 0)) and inner.on_b == pytest.approx((6, 0))
    assert gap(disc(1, 1, 10), disc(1, 1, 4)).distance == pytest.approx(6.0, abs=1e-12)
    side = gap(rectangle(20, 10), disc(8, 15, 3))
    assert side.distance == pytest.approx(2.0, abs=1e-12)
    assert side.on_a == pytest.approx((8, 10)) and side.on_b == pytest.approx((8, 12))
    corner = gap(rectangle(20, 10), disc(23, 14, 3))
    assert corner.distance == pytest.approx(2.0, abs=1e-12) and corner.on_a == pytest.approx((20, 10))
    assert gap(rectangle(20, 10), rectangle(5, 5, 24, 13)).distance == pytest.approx(5.0, abs=1e-12)
    assert gap(rectangle(20, 10), rectangle(5, 5, 2, 2)).distance == pytest.approx(2.0, abs=1e-12)
    assert gap(slot(30, 4), move_chain(slot(30, 4), (50, 0))).distance == pytest.approx(12.0, abs=1e-12)


def test_gap_is_nothing_where_chains_touch_or_cross() -> None:
    assert gap(disc(0, 0, 3), disc(5, 0, 2)).distance == 0.0
    assert gap(disc(0, 0, 3), disc(4, 0, 2)).distance == 0.0
    assert gap(rectangle(10, 10), rectangle(10, 10, 10, 10)).on_a == pytest.approx((10, 10))
    assert gap(rectangle(10, 10), rectangle(10, 10, 10, 3)).distance == 0.0


def test_land_of_the_cover_outside_its_channel() -> None:
    """The drawing has the wall 12 inside the edge all round; stored to nine decimals."""
    assert gap(cover(), channel_wall()).distance == pytest.approx(12.0, abs=2e-9)
    assert distance_to_chain(chain_points(channel_wall()), cover()).max() == pytest.approx(12.0, abs=2e-9)


@given(plain_shapes(), plain_shapes())
@settings(max_examples=50, deadline=None, derandomize=True)
def test_gap_agrees_with_shapely_and_its_places_lie_on_the_chains(a: tuple, b: tuple) -> None:
    found, back = gap(a, b), gap(b, a)
    rings = [chain_polygon(c, 1e-5).exterior for c in (a, b)]
    assert found.distance == pytest.approx(rings[0].distance(rings[1]), abs=3e-5)
    assert found.distance == pytest.approx(back.distance, abs=1e-12)
    assert math.dist(found.on_a, found.on_b) == pytest.approx(found.distance, abs=1e-9)
    assert distance_to_chain(np.array([found.on_a]), a)[0] < 1e-7 and distance_to_chain(np.array([found.on_b]), b)[0] < 1e-7


@given(plain_shapes(), plain_shapes())
@settings(max_examples=50, deadline=None, derandomize=True)
def test_contains_agrees_with_shapely(outer: tuple, inner: tuple) -> None:
    hull, core = chain_polygon(outer, 1e-5), chain_polygon(inner, 1e-5)
    if contains(outer, inner):
        assert hull.buffer(3e-5).contains(core)
    else:
        assert not hull.buffer(-3e-5).contains(core)


def test_contains_at_its_edges() -> None:
    square = rectangle(10, 10)
    assert contains(square, square) and contains(square, disc(5, 5, 5)) and contains(square, rectangle(4, 4, 6, 0))
    assert contains(square, disc(5, 5, 5 + 5e-10)) and not contains(square, disc(5, 5, 5 + 1e-7))
    assert not contains(square, rectangle(4, 4, 6.0001, 0)) and not contains(square, disc(30, 5, 2))
    assert not contains(disc(5, 5, 2), square), "the smaller does not hold the larger"
    bay = polygon_chain([(0, 0), (10, 0), (10, 10), (6, 10), (6, 2), (4, 2), (4, 10), (0, 10)])
    assert not contains(bay, rectangle(8, 1, 1, 5)), "ends inside, middle across the bay"
    assert contains(bay, rectangle(8, 1, 1, 1)), "its upper edge runs along the floor of the bay"


def test_points_keep_to_the_chord() -> None:
    points = chain_points(slot(30.0, 4.0), 0.01)
    assert distance_to_chain(points, slot(30.0, 4.0)).max() < 1e-12
    middles = (points + np.roll(points, -1, axis=0)) / 2
    assert distance_to_chain(middles, slot(30.0, 4.0)).max() <= 0.01 * (1 + 1e-9)


def test_polygons_leave_out_repeated_points() -> None:
    assert polygon_chain([(0, 0), (4, 0), (4, 0), (4, 3), (0, 0)]) == (
        Line("", (0.0, 0.0), (4.0, 0.0)), Line("", (4.0, 0.0), (4.0, 3.0)), Line("", (4.0, 3.0), (0.0, 0.0)))
    with pytest.raises(ValueError, match="2 different points"):
        polygon_chain([(0, 0), (1, 1), (0, 0)])


@pytest.mark.parametrize(("chain", "says"), [
    ((), "no segment"),
    ((replace(rectangle(10, 10)[0], end=(9.0, 0.0)), *rectangle(10, 10)[1:]), r"open at \(10, 0\)"),
    ((Line("s1", (0.0, 0.0), (5.0, 0.0)), Line("s2", (5.0, 0.0), (0.0, 0.0))), "encloses no area"),
    ((*rectangle(10, 10), Circle("c1", (5.0, 5.0), 1.0)), "segment c1 at .* circle stands alone"),
    ((Circle("c1", (5.0, 5.0), 0.0),), "radius 0; it must be above 0"),
    ((Line("", (5.0, 0.0), (-5.0, 0.0)), Arc("s9", (-5.0, 0.0), (5.0, 0.0), (0.0, 0.0), 5.2, True)), "segment s9 .* its circle"),
    ((replace(rectangle(10, 10)[0], start=(math.nan, 0.0)), *rectangle(10, 10)[1:]), "open at"),
])
def test_degenerate_chains_are_named(chain: tuple, says: str) -> None:
    with pytest.raises(SolidError, match=says):
        require_closed(chain)
