"""How junctions and dimensions move with the state: what differences say, for every kind of junction and of dimension."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from afterpart.outline.chain import junction
from afterpart.outline.dimensions import Ends, Item, slope_of, value_of
from afterpart.outline.junction_slopes import junction_slopes
from afterpart.outline.part import Part
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.traced import trace_picture
from tests.truth.drawings import Drawing, box, circle, slot
from tests.truth.ideal import ideal_edges

STEP = 1e-5
LINE, OTHER_LINE, NEARLY_LINE = (0.4, 2.0, 0.0), (1.9, -3.0, 0.0), (0.4005, 2.1, 0.0)
ARC, INSIDE, FAR = (3.0, 5.0, 4.0), (4.0, 4.5, -2.0), (40.0, 5.0, 7.0)
CROSSING, BACKWARDS = (6.0, 7.0, 3.0), (6.0, 7.0, -3.0)


@pytest.mark.parametrize("tangent", [False, True])
@pytest.mark.parametrize(("arc_a", "a", "arc_b", "b"), [
    (False, LINE, False, OTHER_LINE), (False, LINE, True, ARC), (True, ARC, False, OTHER_LINE), (True, ARC, True, CROSSING),
    (True, ARC, True, BACKWARDS), (True, ARC, True, INSIDE), (False, LINE, True, INSIDE), (False, LINE, False, NEARLY_LINE),
    (True, ARC, True, FAR)])
def test_slopes_of_a_junction(arc_a: bool, a: tuple[float, ...], arc_b: bool, b: tuple[float, ...], tangent: bool) -> None:
    near, rows = np.array([5.0, 4.0]), [np.array(a), np.array(b)]

    def place(one: np.ndarray, two: np.ndarray) -> np.ndarray:
        return junction(arc_a, one, arc_b, two, tangent, near)

    x, y = place(*rows)
    for which, slopes in enumerate(junction_slopes(arc_a, rows[0], arc_b, rows[1], tangent, near, (float(x), float(y)))):
        assert slopes.shape == (2, 3)
        for k in range(3):
            up, down = [row.copy() for row in rows], [row.copy() for row in rows]
            up[which][k] += STEP
            down[which][k] -= STEP
            assert slopes[:, k] == pytest.approx((place(*up) - place(*down)) / (2.0 * STEP), abs=2e-7, rel=1e-6)


def drawn() -> tuple[Part, list[Item], list[np.ndarray]]:
    """A plate with rounded corners, a slanting notch, a slot and two holes, measured; its dimensions; rough ends."""
    corners = ((-8.0, -6.0), (9.0, -6.0), (6.0, 7.0))
    notched = tuple(("line", corners[k - 1], corners[k]) for k in range(3))
    drawing = Drawing("dimensions", (box(100.0, 70.0, 8.0), notched,
                                     slot(20.0, 0.0, 36.0, 0.0, 8.0), circle(-30.0, 20.0, 6.0), circle(30.0, 22.0, 9.0)))
    picture = trace_picture(ideal_edges(drawing, np.random.default_rng(2), white=0.01, alike=0.005), OutlineSettings())
    item = picture.parts[0]
    return item.part, item.items, item.near


def test_slopes_of_all_dimensions() -> None:
    part, items, near = drawn()
    assert {item.kind for item in items} == {"diameter", "distance", "width", "radius", "length", "angle"}
    _slopes_hold(part, [*items, Item("gap", (part.circles()[0], part.circles()[1]))], near)


def _slopes_hold(part: Part, items: list[Item], near: list[np.ndarray]) -> None:
    ends = Ends(part, near)
    slopes = np.array([slope_of(item, part, ends) for item in items])
    told = np.zeros_like(slopes)
    for place in range(part.state.size):
        values = []
        for step in (STEP, -STEP):
            state = part.state.copy()
            state.flat[place] += step
            other = replace(part, state=state)
            values.append([value_of(item, other, Ends(other, near)) for item in items])
        told[:, place] = (np.array(values[0]) - np.array(values[1])) / (2.0 * STEP)
    # what is not a number of a line does not count
    told.reshape(len(items), -1, 3)[:, ~part.is_arc, 2] = 0.0
    assert np.abs(slopes - told).max() < 1e-5
    assert (np.abs(slopes).max(axis=1) > 0.4).all()


def test_an_angle_of_two_edges_in_line_has_no_slope() -> None:
    """Whichever way one of them turns, it gets smaller."""
    part, items, near = drawn()
    pair = next(item for item in items if item.kind == "angle").rows
    state = part.state.copy()
    state[pair[1], 0] = state[pair[0], 0]
    straight = replace(part, state=state)
    item = Item("angle", pair)
    assert value_of(item, straight, Ends(straight, near)) == pytest.approx(180.0)
    assert not slope_of(item, straight, Ends(straight, near)).any()
    assert math.degrees(1.0) == pytest.approx(np.abs(slope_of(item, part, Ends(part, near))).max())
