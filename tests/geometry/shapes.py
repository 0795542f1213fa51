"""Invented chains for the tests of plane geometry, and strategies that draw more of them.

Conventions: mm, counter-clockwise.  The cover is the drawing of the example's compressor inlet cover: its outer edge and, 12
inside it, the outer wall of its seal channel, as a drawing stores them, rounded to nine decimals.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
from hypothesis import assume
from hypothesis import strategies as st

from afterpart.errors import SolidError
from afterpart.geometry.chain import Chain, distance_to_chain, is_inside, move_chain, polygon_chain, round_corners
from afterpart.geometry.region import unite
from afterpart.model.outline import Arc, Circle, Line


def rectangle(width: float, height: float, x: float = 0.0, y: float = 0.0) -> Chain:
    """Lower left corner at (x, y)."""
    return polygon_chain([(x, y), (x + width, y), (x + width, y + height), (x, y + height)])


def rounded_rectangle(width: float, height: float, radius: float) -> Chain:
    return round_corners(rectangle(width, height), radius)


def disc(x: float, y: float, radius: float) -> Chain:
    return (Circle("", (x, y), radius),)


def slot(between: float, radius: float) -> Chain:
    """Two half circles about (0, 0) and (between, 0)."""
    return (Line("low", (0.0, -radius), (between, -radius)),
            Arc("right", (between, -radius), (between, radius), (between, 0.0), radius, True),
            Line("high", (between, radius), (0.0, radius)),
            Arc("left", (0.0, radius), (0.0, -radius), (0.0, 0.0), radius, True))


def dumbbell(neck: float) -> Chain:
    """Two squares 20 wide, joined by a bridge 10 long and `neck` high."""
    h = neck / 2
    return polygon_chain([(-25, -10), (-5, -10), (-5, -h), (5, -h), (5, -10), (25, -10), (25, 10), (5, 10), (5, h), (-5, h),
                          (-5, 10), (-25, 10)])


def cup(mouth: float) -> Chain:
    """A square 40 wide with a round bay of radius 12, open to the right through a mouth of this height."""
    x = math.sqrt(144 - mouth**2 / 4)
    h = mouth / 2
    return (Line("", (-20.0, -20.0), (20.0, -20.0)), Line("", (20.0, -20.0), (20.0, -h)), Line("", (20.0, -h), (x, -h)),
            Arc("", (x, -h), (x, h), (0.0, 0.0), 12.0, False), Line("", (x, h), (20.0, h)), Line("", (20.0, h), (20.0, 20.0)),
            Line("", (20.0, 20.0), (-20.0, 20.0)), Line("", (-20.0, 20.0), (-20.0, -20.0)))


def cover() -> Chain:
    return (
        Arc("s1", (-74.0, -34.0), (-60.0, -48.0), (-60.0, -34.0), 14.0, True),
        Line("s2", (-60.0, -48.0), (44.201010127, -48.0)),
        Arc("s3", (44.201010127, -48.0), (54.100505063, -43.899494937), (44.201010127, -34.0), 14.0, True),
        Line("s4", (54.100505063, -43.899494937), (68.727922061, -29.272077939)),
        Arc("s5", (68.727922061, -29.272077939), (74.0, -16.544155877), (56.0, -16.544155877), 18.0, True),
        Line("s6", (74.0, -16.544155877), (74.0, 22.52153854)),
        Arc("s7", (74.0, 22.52153854), (65.199469469, 35.520212212), (60.0, 22.52153854), 14.0, True),
        Line("s8", (65.199469469, 35.520212212), (38.47020682, 46.211917272)),
        Arc("s9", (38.47020682, 46.211917272), (29.185439911, 48.0), (29.185439911, 23.0), 25.0, True),
        Line("s10", (29.185439911, 48.0), (-60.0, 48.0)),
        Arc("s11", (-60.0, 48.0), (-74.0, 34.0), (-60.0, 34.0), 14.0, True),
        Line("s12", (-74.0, 34.0), (-74.0, -34.0)))


def channel_wall() -> Chain:
    return (
        Arc("s21", (-60.0, -36.0), (-62.0, -34.0), (-60.0, -34.0), 2.0, False),
        Line("s22", (-62.0, -34.0), (-62.0, 34.0)),
        Arc("s23", (-62.0, 34.0), (-60.0, 36.0), (-60.0, 34.0), 2.0, False),
        Line("s24", (-60.0, 36.0), (29.185439911, 36.0)),
        Arc("s25", (29.185439911, 36.0), (34.013518703, 35.070196982), (29.185439911, 23.0), 13.0, False),
        Line("s26", (34.013518703, 35.070196982), (60.742781353, 24.378491922)),
        Arc("s27", (60.742781353, 24.378491922), (62.0, 22.52153854), (60.0, 22.52153854), 2.0, False),
        Line("s28", (62.0, 22.52153854), (62.0, -16.544155877)),
        Arc("s29", (62.0, -16.544155877), (60.242640687, -20.786796564), (56.0, -16.544155877), 6.0, False),
        Line("s30", (60.242640687, -20.786796564), (45.615223689, -35.414213562)),
        Arc("s31", (45.615223689, -35.414213562), (44.201010127, -36.0), (44.201010127, -34.0), 2.0, False),
        Line("s32", (44.201010127, -36.0), (-60.0, -36.0)))


def signed_distance(points: np.ndarray, chain: Chain) -> np.ndarray:
    """Distance to the chain, negative inside."""
    return np.where(is_inside(points, chain), -1, 1) * distance_to_chain(points, chain)


def scattered(chain: Chain, seed: int, margin: float = 8.0, count: int = 1500) -> np.ndarray:
    """Points over the chain's surroundings."""
    ends = np.array([s.start if not isinstance(s, Circle) else s.center for s in chain])
    reach = margin + max([0.0, *(s.radius for s in chain if not isinstance(s, Line))])
    return np.random.default_rng(seed).uniform(ends.min(axis=0) - reach, ends.max(axis=0) + reach, (count, 2))


def _coordinates(on_grid: bool, low: float, high: float) -> st.SearchStrategy[float]:
    """Whole numbers make tangencies, shared edges and touching corners likely."""
    return st.integers(math.ceil(low), math.floor(high)).map(float) if on_grid else st.floats(low, high, allow_nan=False)


@st.composite
def plain_shapes(draw: st.DrawFn, on_grid: bool | None = None) -> Chain:
    """A disc, a rectangle or a rounded rectangle, some of them turned."""
    on_grid = draw(st.booleans()) if on_grid is None else on_grid
    x, y = draw(_coordinates(on_grid, -12, 12)), draw(_coordinates(on_grid, -12, 12))
    kind = draw(st.sampled_from(["disc", "rectangle", "rounded"]))
    if kind == "disc":
        return disc(x, y, draw(_coordinates(on_grid, 2, 10)))
    width, height = draw(_coordinates(on_grid, 3, 24)), draw(_coordinates(on_grid, 3, 24))
    shape = rectangle(width, height, x, y)
    if kind == "rounded":
        shape = round_corners(shape, min(width, height) * draw(st.sampled_from([0.1, 0.25, 0.5])))
    return move_chain(shape, (0.0, 0.0), draw(st.sampled_from([0.0, 0.0, 30.0, 45.0, 90.0])))


@st.composite
def jagged_shapes(draw: st.DrawFn) -> Chain:
    """The outer edge of several plain shapes laid over each other: arcs and lines with corners of every kind."""
    on_grid = draw(st.booleans())
    shapes = draw(st.lists(plain_shapes(on_grid), min_size=1, max_size=4))
    return unite(*shapes)[0].outer


@st.composite
def convex_shapes(draw: st.DrawFn) -> Chain:
    """A convex polygon with corners on an ellipse, its corners sharp or rounded."""
    count = draw(st.integers(3, 9))
    steps = draw(st.lists(st.floats(0.4, 1.0), min_size=count, max_size=count))
    angles = np.cumsum(steps) / sum(steps) * math.tau
    a, b = draw(st.floats(8, 30)), draw(st.floats(8, 30))
    shape = polygon_chain(np.column_stack([a * np.cos(angles), b * np.sin(angles)]))
    radius = draw(st.sampled_from([0.0, 0.5, 1.5]))
    try:
        return round_corners(shape, radius) if radius else shape
    except SolidError:
        assume(False)
        raise
