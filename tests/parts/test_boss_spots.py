"""Where bosses stand along a pocket's wall: how far apart, in which corners, always beside the wall."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.errors import JobError
from afterpart.geometry.chain import distance_to_chain, polygon_chain
from afterpart.model.feature import Chain
from afterpart.model.outline import Circle, Point
from afterpart.parts.boss_spots import ABOUT, LEAST, RIM_BETWEEN, boss_spots
from afterpart.parts.seat import rounded_inside
from tests.parts.filter_jobs import box

R, C = 3.75, 0.3


def pocket(corners: tuple[Point, ...]) -> Chain:
    made = rounded_inside(polygon_chain(corners), R + C)
    assert made is not None
    return made


def stretches(width: float, depth: float, spots: tuple[Point, ...]) -> list[float]:
    """Rim lengths between bosses of a box, each boss moved out to the sharp box's edge: never shorter than the true ones."""

    def along(at: Point) -> float:
        x, y = max(-width / 2, min(width / 2, at[0])) + width / 2, at[1] + depth / 2
        sides = {x + 0: y, width + y: width - x, width + depth + (width - x): depth - y, 2 * width + depth + (depth - y): x}
        return min(sides, key=lambda s: sides[s])

    places = sorted(along(s) for s in spots)
    around = 2 * (width + depth)
    return [b - a for a, b in zip(places, [*places[1:], places[0] + around], strict=True)]


@settings(max_examples=40, deadline=None)
@given(st.floats(20, 300), st.floats(20, 300))
def test_any_box_has_three_bosses_or_more_none_far_apart_all_beside_the_wall(width: float, depth: float) -> None:
    wall = pocket(box(width, depth))
    spots = boss_spots(wall, R, C, None)
    assert len(spots) >= LEAST
    assert np.allclose(distance_to_chain(np.array(spots), wall), R + C, atol=1e-6)
    assert max(stretches(width, depth, spots)) <= ABOUT * RIM_BETWEEN + 4 * (R + C)


def test_a_small_box_takes_its_corners_and_no_more_than_three() -> None:
    spots = boss_spots(pocket(box(60, 40)), R, C, None)
    assert len(spots) == 3
    assert all((abs(x), abs(y)) == pytest.approx((30 - R - C, 20 - R - C)) for x, y in spots)


def test_a_long_box_gets_bosses_along_its_sides() -> None:
    spots = boss_spots(pocket(box(240, 50)), R, C, None)
    assert len(spots) == 6
    assert sorted(round(x, 6) for x, _ in spots)[2:4] == [0.0, 0.0]


def test_the_job_says_how_many() -> None:
    for count in (2, 3, 4, 5, 6, 9):
        assert len(boss_spots(pocket(box(100, 60)), R, C, count)) == count
    with pytest.raises(JobError, match=r"holder\.screws: 1 found"):
        boss_spots(pocket(box(100, 60)), R, C, 1)


def test_the_sharper_of_two_corners_is_taken() -> None:
    """A box with one corner cut by a long flat slope: the two corners of 22 degrees are passed over for those of 90 and 68."""
    corners = ((-50.0, -25.0), (50.0, -25.0), (50.0, 13.0), (20.0, 25.0), (-50.0, 25.0))
    spots = boss_spots(pocket(corners), R, C, None)
    assert len(spots) == 4
    assert all(math.dist(s, (20.0, 25.0)) > 10 for s in spots)


def test_a_round_pocket_has_its_bosses_evenly_round() -> None:
    spots = boss_spots((Circle("", (5.0, 2.0), 40.0),), R, C, None)
    angles_rad = np.unwrap([math.atan2(y - 2.0, x - 5.0) for x, y in spots])
    assert len(spots) == 3 and np.allclose(np.diff(angles_rad), math.tau / 3)
    assert np.allclose([math.dist(s, (5.0, 2.0)) for s in spots], 40.0 - R - C)
