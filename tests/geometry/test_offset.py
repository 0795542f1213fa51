"""Parallel curves: closed forms, the distance of every point, what splits and vanishes, corners, and random shapes.

On random shapes the other side is the definition itself: a point lies inside the curve at d exactly when its signed distance to
the chain is under d.  shapely's own buffers, at chords of 1e-3, are the second (finer chords made them drop pieces).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
import time
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.errors import SolidError
from afterpart.geometry.chain import (
    Chain,
    chain_area,
    chain_length,
    chain_points,
    chain_polygon,
    distance_to_chain,
    is_inside,
    polygon_chain,
    require_closed,
    reversed_chain,
)
from afterpart.geometry.offset import offset_chain
from afterpart.model.outline import Arc, Circle, Line
from tests.geometry.shapes import (
    channel_wall,
    convex_shapes,
    cover,
    cup,
    disc,
    dumbbell,
    jagged_shapes,
    rectangle,
    rounded_rectangle,
    scattered,
    signed_distance,
    slot,
)

distances_either_way = st.one_of(st.floats(-6, -0.1), st.floats(0.1, 6), st.sampled_from([-5.0, -4.0, -3.0, -2.0, -1.0]),
                                 st.sampled_from([1.0, 2.0, 3.0, 4.0, 5.0]))


def area(chains: tuple[Chain, ...]) -> float:
    return sum(chain_area(c) for c in chains)


def assert_parallel(found: tuple[Chain, ...], chain: Chain, distance: float, within: float = 1e-9) -> None:
    """Closed chains, every point of which has the distance to the chain."""
    for curve in found:
        require_closed(curve)
        off = np.abs(distance_to_chain(chain_points(curve, 0.01), chain) - abs(distance))
        assert off.max() <= within, f"a point lies {off.max():g} off"


def assert_holds_what_is_nearer(found: tuple[Chain, ...], chain: Chain, distance: float) -> None:
    points = scattered(chain, seed=4)
    apart = signed_distance(points, chain) - distance
    turns = sum(np.sign(chain_area(c)) * is_inside(points, c) for c in found) if found else np.zeros(len(points))
    sure = np.abs(apart) > 1e-6
    assert (turns[sure] == (apart[sure] < 0)).all()


@given(convex_shapes(), st.floats(0.01, 30))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_area_and_length_outside_a_convex_chain(chain: Chain, distance: float) -> None:
    """Steiner's formula: A + L d + pi d^2 and L + 2 pi d."""
    curve, = offset_chain(chain, distance)
    expected = chain_area(chain) + chain_length(chain) * distance + math.pi * distance**2
    assert chain_area(curve) == pytest.approx(expected, rel=1e-11)
    assert chain_length(curve) == pytest.approx(chain_length(chain) + 2 * math.pi * distance, rel=1e-9)
    assert_parallel((curve,), chain, distance)


@given(convex_shapes(), st.floats(0.01, 20))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_out_and_in_again_gives_a_convex_chain_back(chain: Chain, distance: float) -> None:
    back, = offset_chain(offset_chain(chain, distance)[0], -distance)
    assert len(back) == len(chain)
    assert chain_area(back) == pytest.approx(chain_area(chain), rel=1e-9)
    assert distance_to_chain(chain_points(back), chain).max() < 1e-6


def test_inside_a_rectangle_and_outside_with_sharp_corners() -> None:
    assert chain_area(offset_chain(rectangle(40, 25), -7.0)[0]) == pytest.approx(26 * 11, abs=1e-12)
    sharp, = offset_chain(rectangle(40, 25), 7.0, "sharp")
    assert chain_area(sharp) == pytest.approx(54 * 39, abs=1e-12) and len(sharp) == 4
    assert chain_area(offset_chain(rectangle(40, 25), 7.0)[0]) == pytest.approx(54 * 39 - (4 - math.pi) * 49, abs=1e-12)
    assert offset_chain(rectangle(40, 25), -12.5) == () and offset_chain(rectangle(40, 25), -13.0) == ()


def test_circles_and_slots() -> None:
    circle = disc(3, 4, 5)
    assert offset_chain(circle, 2.0) == ((replace(circle[0], radius=7.0),),)
    assert offset_chain(circle, -2.0) == ((replace(circle[0], radius=3.0),),)
    assert offset_chain(circle, -5.0) == () and offset_chain(circle, -9.0) == ()
    assert area(offset_chain(slot(30, 4), -3.0)) == pytest.approx(2 * 30 + math.pi, abs=1e-12)
    assert offset_chain(slot(30, 4), -4.0) == ()


@pytest.mark.parametrize("distance", [-2.0, -5.9999, -6.0, -6.0001, -9.0])
def test_arcs_that_vanish_leave_sharp_corners(distance: float) -> None:
    curve, = offset_chain(rounded_rectangle(40, 25, 6.0), distance)
    radius = max(6.0 + distance, 0.0)
    expected = (40 + 2 * distance) * (25 + 2 * distance) - (4 - math.pi) * radius**2
    assert chain_area(curve) == pytest.approx(expected, abs=1e-9)
    assert sum(isinstance(s, Arc) for s in curve) == (4 if radius else 0)


def test_ids_follow_the_segments() -> None:
    curve, = offset_chain(slot(30, 4), 1.5)
    assert [s.id for s in curve] == ["low", "right", "high", "left"]
    curve, = offset_chain(rectangle(10, 10), 1.0)
    assert [s.id for s in curve if isinstance(s, Arc)] == [""] * 4
    named = tuple(replace(s, id=f"s{k}") for k, s in enumerate(rectangle(10, 10)))
    sharp, = offset_chain(named, 1.0, "sharp")
    assert sorted(s.id for s in sharp) == ["s0", "s1", "s2", "s3"]


def test_a_neck_closes_and_leaves_two() -> None:
    """Squares 20 wide joined by a bridge 4 high: at 1.9 inside one curve, from 2 on two."""
    assert len(offset_chain(dumbbell(4.0), -1.9)) == 1
    for distance in (-2.0, -2.0001, -3.0):
        parts = offset_chain(dumbbell(4.0), distance)
        assert len(parts) == 2
        assert_parallel(parts, dumbbell(4.0), distance)
        assert_holds_what_is_nearer(parts, dumbbell(4.0), distance)
    # what lies between the arcs about the corners of the mouth: twice the integral of 3 - sqrt(9 - u^2) from 0 to 2
    bulge = 2 * (6 - math.sqrt(5) - 4.5 * math.asin(2 / 3))
    assert area(offset_chain(dumbbell(4.0), -3.0)) == pytest.approx(2 * (14 * 14 + bulge), abs=1e-9)


def test_a_bay_closes_and_leaves_an_opening_that_runs_clockwise() -> None:
    """Outside a cup with a mouth 4 high, at 2.5: the mouth is shut, the bay within is R 9.5 but for the two mouth corners."""
    for distance in (1.9, 2.0, 2.5, 5.0):
        curves = offset_chain(cup(4.0), distance)
        assert [chain_area(c) > 0 for c in curves] == ([True] if distance < 2 else [True, False])
        assert_parallel(curves, cup(4.0), distance)
        assert_holds_what_is_nearer(curves, cup(4.0), distance)
    assert len(offset_chain(cup(4.0), 12.5)) == 1, "the bay is full"


def test_direction_of_the_chain_does_not_matter() -> None:
    for distance in (-3.0, 3.0):
        there, back = offset_chain(cover(), distance), offset_chain(reversed_chain(cover()), distance)
        assert area(back) == pytest.approx(area(there), abs=1e-9)


def test_the_covers_edge_moved_in_by_12_is_its_channels_outer_wall() -> None:
    curve, = offset_chain(cover(), -12.0)
    assert len(curve) == len(channel_wall())
    assert distance_to_chain(chain_points(curve), channel_wall()).max() < 0.05
    assert distance_to_chain(chain_points(channel_wall()), curve).max() < 0.05
    assert distance_to_chain(chain_points(curve), channel_wall()).max() < 2e-9, "both are exact but for nine decimals"


@pytest.mark.parametrize("distance", [-1.0, -13.999998, -13.999999, -13.9999995, -13.9999998, -14.0, -14.0000001, -17.9, -18.0,
                                      -25.0, -30.0, -40.0, -47.9, 3.0, 50.0])
def test_the_cover_near_where_its_arcs_vanish(distance: float) -> None:
    curves = offset_chain(cover(), distance)
    assert len(curves) == 1
    assert_parallel(curves, cover(), distance, within=5e-9)
    assert_holds_what_is_nearer(curves, cover(), distance)


def test_the_cover_is_gone_at_half_its_height() -> None:
    assert offset_chain(cover(), -48.0) == () and offset_chain(cover(), -60.0) == ()


@given(jagged_shapes(), distances_either_way)
@settings(max_examples=80, deadline=None, derandomize=True)
def test_every_point_has_the_distance_and_all_that_is_nearer_lies_inside(chain: Chain, distance: float) -> None:
    found = offset_chain(chain, distance)
    assert_parallel(found, chain, distance, within=2e-9)
    assert_holds_what_is_nearer(found, chain, distance)
    buffer = chain_polygon(chain, 1e-3).buffer(distance, quad_segs=100)
    assert abs(area(found) - buffer.area) < 3e-3 * (buffer.length + 1)


@given(jagged_shapes(), distances_either_way)
@settings(max_examples=50, deadline=None, derandomize=True)
def test_sharp_corners_agree_with_shapely_on_polygons(chain: Chain, distance: float) -> None:
    straight = polygon_chain([s.start if not isinstance(s, Circle) else s.center for s in chain] if len(chain) > 2
                             else [(0, 0), (9, 1), (3, 8)])
    if not chain_polygon(straight).is_valid:
        return
    found = offset_chain(straight, distance, "sharp")
    rounded = offset_chain(straight, distance)
    grown = chain_polygon(straight).buffer(distance, join_style="mitre", mitre_limit=4.0)
    if all(isinstance(s, Line) for c in found for s in c):
        assert area(found) == pytest.approx(grown.area, abs=1e-6)
    assert (area(found) - area(rounded)) * math.copysign(1, distance) >= -1e-6


def test_a_corner_too_narrow_for_its_tip_is_rounded() -> None:
    """At 20 degrees the tip would lie 1 / sin 10 = 5.8 distances away."""
    wedge = polygon_chain([(0, 0), (100, -17.6), (100, 17.6)])
    curve, = offset_chain(wedge, 2.0, "sharp")
    assert [s.radius for s in curve if isinstance(s, Arc)] == [2.0]


@given(jagged_shapes(), distances_either_way, st.floats(1e-9, 1e-2), st.integers(0, 30))
@settings(max_examples=50, deadline=None, derandomize=True)
def test_tiny_segments_change_nothing(chain: Chain, distance: float, size: float, which: int) -> None:
    """A line is cut a little after its start; the short one may be no longer than rounding."""
    lines = [k for k, s in enumerate(chain) if isinstance(s, Line) and math.dist(s.start, s.end) > 0.1]
    if not lines:
        return
    k = lines[which % len(lines)]
    line = chain[k]
    share = size / math.dist(line.start, line.end)
    cut = (line.start[0] + share * (line.end[0] - line.start[0]), line.start[1] + share * (line.end[1] - line.start[1]))
    pieces = (*chain[:k], replace(line, end=cut), replace(line, start=cut), *chain[k + 1:])
    found, plain = offset_chain(pieces, distance), offset_chain(chain, distance)
    assert len(found) == len(plain)
    assert area(found) == pytest.approx(area(plain), abs=1e-4)
    assert_holds_what_is_nearer(found, chain, distance)


def test_a_cusp_is_no_corner_without_room() -> None:
    """A line that meets an arc turning right back: the curve at 3 outside goes round its tip."""
    x = 19 + math.sqrt(65)
    fan = (Line("", (19.0, -17.0), (32.0, -17.0)), Line("", (32.0, -17.0), (32.0, -4.0)), Line("", (32.0, -4.0), (x, -4.0)),
           Arc("", (x, -4.0), (19.0, -17.0), (19.0, -8.0), 9.0, False))
    for distance in (3.0, -1.0):
        curves = offset_chain(fan, distance)
        assert len(curves) == 1
        assert_parallel(curves, fan, distance)
        assert_holds_what_is_nearer(curves, fan, distance)


def test_what_cannot_be_moved_is_named() -> None:
    with pytest.raises(SolidError, match="open at"):
        offset_chain(rectangle(10, 10)[:3], 1.0)
    with pytest.raises(ValueError, match="round"):
        offset_chain(rectangle(10, 10), 1.0, "blunt")
    with pytest.raises(ValueError, match="finite"):
        offset_chain(rectangle(10, 10), math.nan)
    assert offset_chain(rectangle(10, 10), 0.0) == (rectangle(10, 10),)


def test_forty_segments_take_milliseconds() -> None:
    """Processor time, the best of 20; about 3 ms on two shared cores, the bound leaves room for slower machines."""
    points = [(30 * math.cos(a) * (1 + 0.2 * (k % 2)), 30 * math.sin(a) * (1 + 0.2 * (k % 2)))
              for k, a in enumerate(np.linspace(0, 2 * math.pi, 40, endpoint=False))]
    chain, best = polygon_chain(points), math.inf
    for _ in range(20):
        begun = time.process_time()
        offset_chain(chain, -2.0)
        best = min(best, time.process_time() - begun)
    assert best < 0.02
