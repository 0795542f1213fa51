"""Support bars: the least number that keeps the free span, exact ends, and windows in closed form."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.errors import JobError
from afterpart.geometry.bar_layout import SLENDEREST, least_bars
from afterpart.geometry.chain import chain_area, chain_polygon, distance_to_chain, polygon_chain
from afterpart.model.feature import Bar, Chain
from afterpart.model.outline import Circle, Point
from afterpart.parts.support_bars import WINDOW_CORNER, lay_bars
from tests.parts.filter_jobs import box

CORNERS = (4 - math.pi) * WINDOW_CORNER**2
"""What four rounded corners take from a window."""


def turned(points: tuple[Point, ...], angle_deg: float, shift: Point = (0.0, 0.0)) -> Chain:
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return polygon_chain([(x * c - y * s + shift[0], x * s + y * c + shift[1]) for x, y in points])


@settings(max_examples=200)
@given(st.floats(5, 400), st.floats(5, 60), st.floats(0.8, 6))
def test_as_many_bars_as_the_span_asks_and_not_one_more(length: float, span: float, width: float) -> None:
    count = least_bars(length, span, width)
    assert (length - count * width) / (count + 1) <= span + 1e-6
    if count:
        assert (length - (count - 1) * width) / count > span - 1e-6


@pytest.mark.parametrize(
    ("length", "span", "count"), [(20.0, 25.0, 0), (25.0, 25.0, 0), (25.1, 25.0, 1), (52.4, 25.0, 1), (80.0, 25.0, 3)]
)
def test_bars_of_a_rectangle_stand_evenly_across_it(length: float, span: float, count: int) -> None:
    """Each window: free span times depth, less its four round corners."""
    made = lay_bars(polygon_chain(box(length, 20.0)), span, 2.4, 0.0, 3.0)
    free = (length - count * 2.4) / (count + 1)
    assert len(made.bars) == count and len(made.windows) == count + 1
    for window in made.windows:
        assert abs(chain_area(window)) == pytest.approx(free * 20.0 - CORNERS)
    assert all(bar.start[0] == pytest.approx(bar.end[0]) for bar in made.bars)


def test_a_bar_ends_exactly_on_the_opening_whatever_its_shape_and_turn() -> None:
    house = ((-40.0, -20.0), (40.0, -20.0), (40.0, 10.0), (15.0, 24.0), (-40.0, 24.0))
    for angle_deg in (0.0, 17.0, 90.0, 133.0):
        opening = turned(house, angle_deg, (7.0, -3.0))
        made = lay_bars(opening, 20.0, 2.4, 0.0, 3.0)
        ends = np.array([p for bar in made.bars for p in (bar.start, bar.end)])
        assert len(made.bars) == 3 and len(made.windows) == 4
        assert distance_to_chain(ends, opening).max() < 1e-6


def test_windows_lie_in_the_opening_clear_of_every_bar_and_no_span_is_wider() -> None:
    opening = turned(((-40.0, -20.0), (40.0, -20.0), (40.0, 10.0), (15.0, 24.0), (-40.0, 24.0)), 31.0)
    made = lay_bars(opening, 20.0, 2.4, 0.0, 3.0)
    whole = chain_polygon(opening)
    windows = [chain_polygon(w, 1e-4) for w in made.windows]
    assert all(whole.buffer(1e-6).contains(w) for w in windows)
    for bar in made.bars:
        middle = ((bar.start[0] + bar.end[0]) / 2, (bar.start[1] + bar.end[1]) / 2)
        assert min(w.distance(shapely.Point(middle)) for w in windows) == pytest.approx(1.2)
    for w in windows:
        ring = np.array(w.minimum_rotated_rectangle.exterior.coords)
        assert min(np.hypot(*np.diff(ring[:3], axis=0).T)) <= 20.0 + 1e-3


def test_long_bars_get_a_crossing_one() -> None:
    """Bars 3 mm high may be 60 mm long; in an opening 100 x 80 they need one crossing bar, so 4 x 2 windows."""
    made = lay_bars(polygon_chain(box(100.0, 80.0)), 25.0, 2.4, 0.0, 3.0)
    across = [bar for bar in made.bars if abs(bar.start[0] - bar.end[0]) < 1e-9]
    assert len(across) == 3 and len(made.bars) == 4 and len(made.windows) == 8
    assert math.dist(across[0].start, across[0].end) == pytest.approx(80.0) and 80.0 > SLENDEREST * 3.0
    share = ((100 - 3 * 2.4) * (80 - 2.4) - 8 * CORNERS) / 8000
    assert sum(abs(chain_area(w)) for w in made.windows) / 8000 == pytest.approx(share)


def test_a_round_opening_gets_bars_too() -> None:
    made = lay_bars((Circle("", (3.0, 4.0), 30.0),), 20.0, 2.0, 0.0, 3.0)
    assert len(made.bars) == 2 and len(made.windows) == 3
    assert all(isinstance(bar, Bar) and bar.top == 3.0 for bar in made.bars)
    for bar in made.bars:
        assert math.dist(bar.start, (3.0, 4.0)) == pytest.approx(30.0, abs=0.01)


@pytest.mark.parametrize(("span", "width"), [(0.0, 2.4), (20.0, 0.0), (20.0, 0.5), (2.0, 2.4)])
def test_bars_that_cannot_work_are_refused(span: float, width: float) -> None:
    with pytest.raises(JobError, match=r"holder\.free_span, holder\.bar_width"):
        lay_bars(polygon_chain(box(60.0, 40.0)), span, width, 0.0, 3.0)
