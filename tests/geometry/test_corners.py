"""Tightest corners, and corners rounded: closed forms for lines and arcs, tangency, and corners without room."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.errors import SolidError
from afterpart.geometry.chain import chain_area, move_chain, polygon_chain, require_closed, reversed_chain
from afterpart.geometry.corners import SHARP_DEG, round_corners, tightest_corner, turns_rad
from afterpart.model.outline import Arc, Line
from tests.geometry.shapes import channel_wall, convex_shapes, cover, disc, jagged_shapes, rectangle, rounded_rectangle, slot


def assert_smooth(chain: tuple, radius: float) -> None:
    """Closed, no sharp corner, no arc under the radius."""
    require_closed(chain)
    assert np.abs(np.degrees(turns_rad(chain))).max() < SHARP_DEG
    assert min(s.radius for s in chain if isinstance(s, Arc)) >= radius * (1 - 1e-9)


def test_the_tightest_corner_of_known_chains() -> None:
    assert tightest_corner(rectangle(10, 5)).radius == 0.0 and tightest_corner(rectangle(10, 5)).at == (0.0, 0.0)
    assert tightest_corner(slot(30, 4)).radius == 4.0 and tightest_corner(disc(1, 2, 7)).radius == 7.0
    corner = tightest_corner(channel_wall())
    assert corner.radius == 2.0 and math.dist(corner.at, (-60, -34)) == pytest.approx(2.0)
    assert tightest_corner(cover()).radius == 14.0


def test_nearly_tangent_joints_are_no_corner() -> None:
    turned = [(1000 * math.cos(a), 1000 * math.sin(a)) for a in np.radians(np.arange(0, 360, 0.4))]
    assert tightest_corner(polygon_chain(turned)).radius == math.inf


@given(convex_shapes(), st.floats(0.2, 2.0))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_every_sharp_corner_of_a_polygon_loses_what_the_formula_says(chain: tuple, radius: float) -> None:
    """At a corner that turns by t an arc r cuts off r^2 (tan(t / 2) - t / 2)."""
    if any(isinstance(s, Arc) for s in chain):
        return
    try:
        rounded = round_corners(chain, radius)
    except SolidError as refusal:
        assert "too short" in str(refusal)
        return
    turns = turns_rad(chain)
    lost = radius**2 * (np.tan(turns / 2) - turns / 2).sum()
    assert chain_area(rounded) == pytest.approx(chain_area(chain) - lost, abs=1e-9)
    assert_smooth(rounded, radius)


def test_hollow_corners_are_filled() -> None:
    """An L: five corners lose (1 - pi / 4) r^2, the hollow one gains it."""
    shape = polygon_chain([(0, 0), (20, 0), (20, 8), (8, 8), (8, 20), (0, 20)])
    rounded = round_corners(shape, 2.0)
    assert chain_area(rounded) == pytest.approx(chain_area(shape) - 4 * (1 - math.pi / 4) * 4, abs=1e-12)
    assert sum(isinstance(s, Arc) and not s.ccw for s in rounded) == 1
    assert_smooth(rounded, 2.0)
    back = round_corners(reversed_chain(shape), 2.0)
    assert chain_area(back) == pytest.approx(-chain_area(rounded), abs=1e-12)


def test_tight_arcs_are_replaced_and_wide_ones_kept() -> None:
    wider = round_corners(rounded_rectangle(40, 25, 2.0), 5.0)
    assert chain_area(wider) == pytest.approx(chain_area(rounded_rectangle(40, 25, 5.0)), abs=1e-9)
    assert round_corners(wider, 5.0) == wider and round_corners(wider, 3.0) == wider
    wall = round_corners(channel_wall(), 4.0)
    assert_smooth(wall, 4.0)
    assert {s.radius for s in wall if isinstance(s, Arc)} == {4.0, 6.0, 13.0}, "the wide arcs stay as they are"


def test_a_run_of_arcs_that_turn_one_way_becomes_one_fillet() -> None:
    """A corner of 90 degrees made of two arcs, R 1 and R 2, and of sharp joints between, is one corner."""
    a, b = math.sqrt(2), math.sqrt(0.5)
    corner = (Line("a", (0.0, 0.0), (8.0, 0.0)), Arc("b", (8.0, 0.0), (8.0 + a, 2 - a), (8.0, 2.0), 2.0, True),
              Arc("c", (8.0 + a, 2 - a), (9 + b, 2.0 - b), (8.0 + b, 2 - b), 1.0, True))
    x = corner[-1].end[0]
    chain = (*corner, Line("d", corner[-1].end, (x, 20.0)), Line("e", (x, 20.0), (0.0, 20.0)), Line("f", (0.0, 20.0), (0.0, 0.0)))
    require_closed(chain)
    rounded = round_corners(chain, 4.0)
    assert chain_area(rounded) == pytest.approx(x * 20 - 4 * (1 - math.pi / 4) * 16, abs=1e-9)
    assert_smooth(rounded, 4.0)


def test_corners_between_arcs() -> None:
    """A lens of two arcs R 20: its tips become arcs tangent to both, and their centres lie on the long axis."""
    high = 20 * math.sqrt(3) / 2
    lens = (Arc("", (10.0, -high), (10.0, high), (0.0, 0.0), 20.0, True),
            Arc("", (10.0, high), (10.0, -high), (20.0, 0.0), 20.0, True))
    rounded = round_corners(lens, 3.0)
    assert_smooth(rounded, 3.0)
    tips = [s for s in rounded if s.radius == 3.0]
    assert len(tips) == 2
    for tip in tips:
        assert tip.center[0] == pytest.approx(10.0) and abs(tip.center[1]) == pytest.approx(math.sqrt(17**2 - 100))


@given(jagged_shapes(), st.floats(0.2, 3.0), st.floats(-180, 180))
@settings(max_examples=50, deadline=None, derandomize=True)
def test_what_is_rounded_is_smooth_and_turns_with_the_part(chain: tuple, radius: float, angle_deg: float) -> None:
    try:
        rounded = round_corners(chain, radius)
    except SolidError as refusal:
        assert "corner at (" in str(refusal) and "cannot be rounded with radius" in str(refusal)
        return
    if len(rounded) > 1:
        assert_smooth(rounded, radius)
    # a hair less, as rounding of the turned ends may take the room that is just enough
    turned = round_corners(move_chain(chain, (5.0, -3.0), angle_deg), radius * (1 - 1e-7))
    assert chain_area(turned) == pytest.approx(chain_area(rounded), abs=1e-4)


@pytest.mark.parametrize(("chain", "radius", "says"), [
    (rectangle(10, 4), 2.1, "too short for both"),
    (disc(0, 0, 3), 4.0, "smaller radius"),
    (slot(30, 4), 5.0, "corner at "),
    (polygon_chain([(0, 0), (20, 0), (20, 1), (19.5, 1), (19.5, 10), (0, 10)]), 3.0, r"corner at \((20, 0|20, 1|19.5, 1)\)"),
])
def test_corners_without_room_are_named(chain: tuple, radius: float, says: str) -> None:
    with pytest.raises(SolidError, match=says):
        round_corners(chain, radius)


def test_two_small_arcs_that_turn_different_ways_are_refused() -> None:
    wave = (Line("", (0.0, 0.0), (20.0, 0.0)), Line("", (20.0, 0.0), (20.0, 12.0)), Line("", (20.0, 12.0), (12.0, 12.0)),
            Arc("", (12.0, 12.0), (11.0, 11.0), (12.0, 11.0), 1.0, True),
            Arc("", (11.0, 11.0), (10.0, 10.0), (10.0, 11.0), 1.0, False),
            Line("", (10.0, 10.0), (0.0, 10.0)), Line("", (0.0, 10.0), (0.0, 0.0)))
    require_closed(wave)
    with pytest.raises(SolidError, match="turns the other way"):
        round_corners(wave, 1.5)


def test_a_radius_that_is_none_is_a_mistake() -> None:
    with pytest.raises(ValueError, match="above 0"):
        round_corners(rectangle(10, 4), 0.0)
