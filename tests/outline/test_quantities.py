"""Numbers read off a state: their slopes are what differences say, and all together the same as one by one."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.outline.quantities import LINEAR, Quantity, Together, gradient, read, spread

IS_ARC = np.array([False, True, False, True, False, True])
AXIS = (0.3, 2.0, -1.0)
LINES = ("direction", "offset", "turn", "same_direction", "sum_offset", "same_offset", "vertex_x", "vertex_y", "mirror_turn",
         "mirror_offset", "off_square")
PAIRS = ("turn", "same_direction", "sum_offset", "same_offset", "vertex_x", "vertex_y", "touch", "same_radius", "same_x",
         "same_y", "sum_x", "sum_y", "distance", "mirror_x", "mirror_y", "mirror_turn", "mirror_offset")
ONES = ("direction", "offset", "center_x", "center_y", "radius", "diameter", "off_axis", "off_square")


def quantities() -> list[Quantity]:
    """One of each kind; of radii one inside and one outside."""
    out = [Quantity(kind, (row,), AXIS if kind.startswith("off_") else ())
           for kind in ONES for row in ((0,) if kind in LINES else (1, 3))]
    out += [Quantity(kind, (0, 2) if kind in LINES else (1, 3), AXIS if kind.startswith("mirror") else ()) for kind in PAIRS]
    return [*out, Quantity("touch", (0, 1)), Quantity("touch", (3, 4)),
            Quantity("length", (1, 2, 3), (0.0, 0.0, 4.0, -7.0, 30.0, 9.0))]


def state() -> np.ndarray:
    """Three lines across each other; circles travelled either way."""
    return np.array([[0.2, 4.0, 0.0], [3.0, -2.0, 6.0], [1.4, -5.0, 0.0], [14.0, 9.0, -11.0], [-2.8, 1.5, 0.0], [0.5, 0.1, 2.0]])


@pytest.mark.parametrize("quantity", quantities(), ids=lambda q: f"{q.kind}{list(q.rows)}")
def test_value_slopes_and_variance_of_each_kind(quantity: Quantity) -> None:
    now, step = state(), 1e-6
    value, slope = gradient(quantity, IS_ARC, now)
    assert value == read(quantity, IS_ARC, now)[0]
    for place in range(now.size):
        up, down = now.copy(), now.copy()
        up.flat[place] += step
        down.flat[place] -= step
        difference = (read(quantity, IS_ARC, up)[0] - read(quantity, IS_ARC, down)[0]) / (2.0 * step)
        assert slope[place] == pytest.approx(difference, abs=2e-7)
    root = np.random.default_rng(3).normal(size=(now.size, now.size))
    assert spread(quantity, IS_ARC, now, root @ root.T) == pytest.approx((value, float(slope @ root @ root.T @ slope)), rel=1e-12)


def test_all_together_are_each_by_itself() -> None:
    asked, now = quantities(), state()
    assert set(LINEAR) < {q.kind for q in asked} > {"touch", "length"}
    values, slopes = Together(asked, IS_ARC).read(now)
    for quantity, value, slope in zip(asked, values, slopes, strict=True):
        alone = gradient(quantity, IS_ARC, now)
        assert value == alone[0] and (slope == alone[1]).all()


@pytest.mark.parametrize("kind", ["touch", "radius"])
def test_those_of_one_kind_alone_are_told_in_full(kind: str) -> None:
    asked = [quantity for quantity in quantities() if quantity.kind == kind]
    values, _ = Together(asked, IS_ARC).read(state())
    assert values.tolist() == [read(quantity, IS_ARC, state())[0] for quantity in asked]
