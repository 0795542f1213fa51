"""Regions: closed forms, inclusion and exclusion of areas, shared stretches, openings, and shapely at fine chords."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon
from shapely.ops import unary_union

from afterpart.errors import SolidError
from afterpart.geometry.chain import (
    Chain,
    chain_area,
    chain_length,
    chain_points,
    chain_polygon,
    contains,
    is_inside,
    move_chain,
    polygon_chain,
    require_closed,
    reversed_chain,
)
from afterpart.geometry.offset import offset_chain
from afterpart.geometry.region import Region, combine, intersect, region_area, subtract, unite
from afterpart.model.outline import Arc, Circle, Line
from tests.geometry.shapes import disc, plain_shapes, rectangle, rounded_rectangle, slot

groups = st.booleans().flatmap(lambda on_grid: st.lists(plain_shapes(on_grid), min_size=2, max_size=5))


def total(regions: tuple[Region, ...]) -> float:
    return sum(region_area(r) for r in regions)


def polygon(region: Region) -> Polygon:
    return Polygon(chain_points(region.outer, 1e-4), [chain_points(o, 1e-4) for o in region.openings])


def assert_proper(regions: tuple[Region, ...]) -> None:
    """Closed chains, outer ones counter-clockwise, openings clockwise and inside, areas above nothing."""
    for region in regions:
        for chain in (region.outer, *region.openings):
            require_closed(chain)
        assert chain_area(region.outer) > 0 and region_area(region) > 0
        for opening in region.openings:
            assert chain_area(opening) < 0 or isinstance(opening[0], Circle)
            assert contains(region.outer, opening)


def test_two_discs() -> None:
    """Equal circles at distance d have in common 2 r^2 acos(d / 2r) - d / 2 sqrt(4 r^2 - d^2)."""
    r, d = 5.0, 6.0
    lens = 2 * r**2 * math.acos(d / (2 * r)) - d / 2 * math.sqrt(4 * r**2 - d**2)
    a, b = disc(0, 0, r), disc(d, 0, r)
    assert total(intersect(a, b)) == pytest.approx(lens, rel=1e-14)
    assert total(unite(a, b)) == pytest.approx(2 * math.pi * r**2 - lens, rel=1e-14)
    assert total(subtract(a, b)) == pytest.approx(math.pi * r**2 - lens, rel=1e-14)
    assert all(isinstance(s, Arc) for region in unite(a, b) for s in region.outer)


def test_a_ring_has_one_opening() -> None:
    ring, = subtract(disc(1, 2, 9), disc(2, 2, 4))
    assert ring == Region(disc(1, 2, 9), (disc(2, 2, 4),))
    assert region_area(ring) == pytest.approx(math.pi * (81 - 16), rel=1e-15)
    assert subtract(disc(2, 2, 4), disc(1, 2, 9)) == () and intersect(disc(0, 0, 2), disc(9, 0, 2)) == ()


def test_a_channel_between_two_parallel_curves() -> None:
    """A channel b wide along a centre line L long with rounded corners has the area b L."""
    centre = rounded_rectangle(60, 40, 8)
    outer, inner = offset_chain(centre, 1.8)[0], offset_chain(centre, -1.8)[0]
    channel, = subtract(outer, inner)
    assert region_area(channel) == pytest.approx(3.6 * chain_length(centre), rel=1e-12)
    assert len(channel.openings) == 1


def test_shared_sides_are_taken_once() -> None:
    left, right = rectangle(10, 10), rectangle(10, 10, 10, 0)
    both, = unite(left, right)
    assert len(both.outer) == 4 and both.openings == () and region_area(both) == pytest.approx(200.0)
    assert intersect(left, right) == () and subtract(left, right) == (Region(left),)
    notched, = subtract(left, rectangle(4, 4, 6, 3))
    assert len(notched.outer) == 8 and region_area(notched) == pytest.approx(84.0)
    assert subtract(left, left) == () and total(unite(left, left, reversed_chain(left))) == pytest.approx(100.0)
    assert total(intersect(left, reversed_chain(left))) == pytest.approx(100.0)


def test_shared_arcs_are_taken_once() -> None:
    """A slot and the disc that its end lies on; a disc cut by its own half."""
    end = disc(30, 0, 4)
    assert total(unite(slot(30, 4), end)) == pytest.approx(chain_area(slot(30, 4)), rel=1e-14)
    assert total(intersect(slot(30, 4), end)) == pytest.approx(math.pi * 16, rel=1e-14)
    half, = subtract(disc(0, 0, 6), rectangle(20, 20, 0, -10))
    assert region_area(half) == pytest.approx(math.pi * 18, rel=1e-14) and len(half.outer) == 2
    whole, = unite(half.outer, move_chain(half.outer, (0, 0), 180))
    assert whole.outer == (Circle("", (0.0, 0.0), 6.0),), "two halves are a circle again"


def test_touching_shapes_stay_apart_and_openings_that_touch_stay_openings() -> None:
    assert len(unite(rectangle(10, 10), rectangle(10, 10, 10, 10))) == 2
    assert len(unite(disc(0, 0, 4), disc(7, 0, 3))) == 2
    bored, = subtract(rectangle(20, 10), disc(4, 5, 4))
    assert region_area(bored) == pytest.approx(200 - 16 * math.pi, rel=1e-14) and bored.openings == (disc(4, 5, 4),)
    parted = subtract(rectangle(20, 10), disc(5, 5, 5))
    assert len(parted) == 3, "a disc that touches three sides cuts two corners off"
    assert total(parted) == pytest.approx(200 - 25 * math.pi, rel=1e-14)
    assert subtract(rectangle(20, 10), disc(-4, 5, 4)) == (Region(rectangle(20, 10)),)


def test_four_bars_round_a_window() -> None:
    frame, = unite(rectangle(30, 4), rectangle(30, 4, 0, 26), rectangle(4, 30), rectangle(4, 30, 26, 0))
    assert region_area(frame) == pytest.approx(900 - 22**2) and len(frame.openings) == 1
    assert len(frame.outer) == 4 and len(frame.openings[0]) == 4


def test_islands_inside_openings_are_regions_of_their_own() -> None:
    def stripes(inside: np.ndarray) -> np.ndarray:
        return inside.sum(axis=1) % 2 == 1
    rings = combine((disc(0, 0, 10), disc(0, 0, 8), disc(0, 0, 6), disc(0, 0, 4)), stripes)
    assert [(r.outer[0].radius, [o[0].radius for o in r.openings]) for r in rings] == [(10, [8]), (6, [4])]


def test_a_line_cuts_a_part_in_two_and_ids_stay() -> None:
    named = tuple(Line(f"s{k}", s.start, s.end) for k, s in enumerate(rectangle(30, 10)))
    halves = subtract(named, rectangle(2, 20, 14, -5))
    assert [region_area(h) for h in halves] == pytest.approx([140.0, 140.0])
    assert {s.id for h in halves for s in h.outer} == {"s0", "s1", "s2", "s3", ""}


@given(groups)
@settings(max_examples=80, deadline=None, derandomize=True)
def test_inclusion_and_exclusion(shapes: list[Chain]) -> None:
    a, b = shapes[:2]
    size_a, size_b = chain_area(a), chain_area(b)
    common = total(intersect(a, b))
    scale = size_a + size_b
    assert total(unite(a, b)) + common == pytest.approx(size_a + size_b, abs=1e-9 * scale)
    assert total(subtract(a, b)) + common == pytest.approx(size_a, abs=1e-9 * scale)
    assert total(subtract(b, a)) + common == pytest.approx(size_b, abs=1e-9 * scale)
    differing = combine((a, b), lambda inside: inside[:, 0] ^ inside[:, 1])
    assert total(differing) + 2 * common == pytest.approx(scale, abs=1e-9 * scale)


@given(groups)
@settings(max_examples=80, deadline=None, derandomize=True)
def test_regions_are_proper_and_agree_with_shapely(shapes: list[Chain]) -> None:
    polygons = [chain_polygon(s, 1e-4) for s in shapes]
    united, rest = unite(*shapes), subtract(*shapes)
    assert_proper(united)
    assert_proper(rest)
    within = 2e-4 * sum(chain_length(s) for s in shapes)
    whole = unary_union(polygons)
    assert abs(total(united) - whole.area) < within
    assert abs(total(rest) - polygons[0].difference(unary_union(polygons[1:])).area) < within
    assert unary_union([polygon(r) for r in united]).symmetric_difference(whole).area < within


@given(groups)
@settings(max_examples=50, deadline=None, derandomize=True)
def test_points_lie_where_the_rule_says(shapes: list[Chain]) -> None:
    points = np.random.default_rng(5).uniform(-30, 40, (500, 2))
    inside = np.column_stack([is_inside(points, s) for s in shapes])
    for regions, wanted in ((unite(*shapes), inside.any(axis=1)), (subtract(*shapes), inside[:, 0] & ~inside[:, 1:].any(axis=1))):
        found = np.zeros(len(points), bool)
        for region in regions:
            open_ = [is_inside(points, o) for o in region.openings]
            found |= is_inside(points, region.outer) & ~np.any([np.zeros(len(points), bool), *open_], axis=0)
        assert (found == wanted).all()


@given(groups)
@settings(max_examples=40, deadline=None, derandomize=True)
def test_order_does_not_matter(shapes: list[Chain]) -> None:
    assert total(unite(*shapes)) == pytest.approx(total(unite(*reversed(shapes))), rel=1e-9)
    turned = [reversed_chain(s) for s in shapes]
    assert total(subtract(*turned)) == pytest.approx(total(subtract(*shapes)), abs=1e-6)


def test_degenerate_chains_are_named() -> None:
    flat = polygon_chain([(0, 0), (10, 0), (5, 0)])
    with pytest.raises(SolidError, match="encloses no area"):
        unite(rectangle(10, 10), flat)
    with pytest.raises(SolidError, match="open at"):
        subtract(rectangle(10, 10), rectangle(4, 4)[:2])
