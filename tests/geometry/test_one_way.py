"""Wrong ways to fit a cover, against patterns whose symmetries are known by construction."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest
from shapely.geometry import Point, Polygon, box

from afterpart.geometry.one_way import OneWay, ways_to_fit
from afterpart.model.feature import Hole


def bolt_hole(x: float, y: float, diameter: float = 6.6) -> Hole:
    return Hole(f"h{x:.0f},{y:.0f}", (x, y), diameter, 0.0, 6.0, "bolt", "M6")


def turns(ways: OneWay) -> list[float]:
    return sorted(round(m.angle_deg, 3) for m in ways.motions if not m.turned_over)


def axes(ways: OneWay) -> list[float]:
    return sorted(round(m.angle_deg, 3) % 180 for m in ways.motions if m.turned_over)


RECTANGLE = tuple(bolt_hole(x, y) for x, y in ((-50, -30), (50, -30), (50, 30), (-50, 30)))


def test_a_rectangle_of_holes_goes_on_half_a_turn_round_and_over_two_ways() -> None:
    ways = ways_to_fit(RECTANGLE, 6.0, box(-60, -40, 60, 40))
    assert turns(ways) == [180.0] and axes(ways) == [0.0, 90.0]
    assert [m.harmless for m in ways.motions if not m.turned_over] == [True]
    assert ways.can_be_fitted_wrongly and all(m.turned_over for m in ways.wrong)


def test_a_square_has_all_eight_motions_of_its_group() -> None:
    holes = tuple(bolt_hole(x, y) for x in (-40, 40) for y in (-40, 40))
    ways = ways_to_fit(holes, 6.0, box(-50, -50, 50, 50), faces_alike=True)
    assert turns(ways) == [90.0, 180.0, 270.0] and axes(ways) == [0.0, 45.0, 90.0, 135.0]
    assert not ways.can_be_fitted_wrongly, "a plain square plate looks the same every way"


def test_a_window_off_the_middle_makes_a_turn_harmful() -> None:
    ways = ways_to_fit(RECTANGLE, 6.0, box(-60, -40, 60, 40), (box(-30, -10, 10, 10),))
    assert [m.angle_deg for m in ways.wrong if not m.turned_over] == pytest.approx([180.0])


@pytest.mark.parametrize("count", [3, 5, 6, 8])
def test_a_pitch_circle_turns_by_its_count(count: int) -> None:
    holes = tuple(bolt_hole(42.5 * math.cos(math.tau * i / count), 42.5 * math.sin(math.tau * i / count)) for i in range(count))
    ways = ways_to_fit(holes, 6.0, Point(0, 0).buffer(57.5, 64 * count))
    assert turns(ways) == pytest.approx([360 / count * k for k in range(1, count)], abs=1e-3)
    assert len(axes(ways)) == count
    assert all(m.harmless for m in ways.motions if not m.turned_over)


@pytest.mark.parametrize(("moved", "fits"), [(0.55, True), (1.3, False)])
def test_the_play_of_the_bolts_decides(moved: float, fits: bool) -> None:
    """One hole out of line by `moved`: after half a turn two of four holes are off by it, less what the best place gives."""
    holes = (*RECTANGLE[:3], bolt_hole(-50, 30 + moved))
    ways = ways_to_fit(holes, 6.0, box(-60, -40, 60, 40))
    assert (180.0 in [round(a) for a in turns(ways)]) is fits
    for motion in ways.motions:
        assert motion.off <= motion.play == pytest.approx(0.3)


def test_the_best_place_is_as_far_off_as_counted_by_hand() -> None:
    """By hand: the middle of the pattern moves by d/4; after half a turn about it every hole is d/2 off its bolt."""
    d = 0.4
    holes = (*RECTANGLE[:3], bolt_hole(-50, 30 + d))
    motion = next(m for m in ways_to_fit(holes, 6.0, box(-60, -40, 60, 40)).motions if not m.turned_over)
    assert motion.off == pytest.approx(d / 2, abs=1e-3)


def test_six_holes_of_no_symmetry_go_on_one_way_only() -> None:
    """The demo's hole pattern."""
    holes = tuple(bolt_hole(x, y) for x, y in ((-66, 40), (14, 41), (66, 24), (58, -29), (-66, -40), (-4, -41)))
    assert not ways_to_fit(holes, 6.0, box(-74, -48, 74, 48)).can_be_fitted_wrongly


def test_one_bolt_or_none_lets_it_turn() -> None:
    assert ways_to_fit((bolt_hole(0, 0),), 6.0, box(-9, -9, 9, 9)).turns_freely
    assert ways_to_fit((), 6.0, box(-9, -9, 9, 9)).can_be_fitted_wrongly


def test_an_edge_that_meets_the_machine_blocks_a_turn_but_not_turning_over() -> None:
    skew = Polygon([(-60, -40), (60, -40), (60, 20), (40, 40), (-60, 40)])
    free = ways_to_fit(RECTANGLE, 6.0, skew)
    held = ways_to_fit(RECTANGLE, 6.0, skew, edge_room=0.5)
    assert turns(free) == [180.0] and turns(held) == []
    assert axes(held) == axes(free) == [0.0, 90.0]
