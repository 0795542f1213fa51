"""Rectangles on beds: nothing overlaps, nothing sticks out, the same pieces lie the same way."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.geometry.bed_layout import BedPlan, lay_out

BED = (220.0, 200.0)
SIDE = st.floats(5.0, 260.0)


def assert_sound(plan: BedPlan, sizes: dict[str, tuple[float, float]], gap: float) -> None:
    for one in plan.laid:
        assert one.at[0] >= 0 and one.at[1] >= 0
        assert one.at[0] + one.size[0] <= BED[0] + 1e-6 and one.at[1] + one.size[1] <= BED[1] + 1e-6
        assert sorted(one.size) == sorted(sizes[one.name]) and one.turned == (one.size != sizes[one.name])
    for a, b in combinations(plan.laid, 2):
        apart = [max(b.at[i] - a.at[i] - a.size[i], a.at[i] - b.at[i] - b.size[i]) for i in (0, 1)]
        assert a.bed != b.bed or max(apart) >= gap - 1e-6, (a, b)


@given(st.lists(st.tuples(SIDE, SIDE), min_size=1, max_size=12), st.floats(0.0, 10.0))
def test_every_piece_that_fits_lies_once_and_free_of_the_others(sides: list[tuple[float, float]], gap: float) -> None:
    sizes = {f"p{i}": side for i, side in enumerate(sides)}
    plan = lay_out(tuple(sizes.items()), BED, gap)
    assert_sound(plan, sizes, gap)
    too_large = {name for name, (w, d) in sizes.items() if max(w, d) > 220.0 or min(w, d) > 200.0}
    assert set(plan.too_large) == too_large and sorted(one.name for one in plan.laid) == sorted(set(sizes) - too_large)
    assert plan.beds == max((one.bed for one in plan.laid), default=0) <= max(1, len(sizes))
    assert lay_out(tuple(reversed(sizes.items())), BED, gap).laid == plan.laid, "order does not matter"


def test_four_quarters_with_their_gaps_fill_one_bed() -> None:
    quarters = tuple((f"q{i}", (107.5, 97.5)) for i in range(4))
    assert lay_out(quarters, BED, 5.0).beds == 1
    assert lay_out((*quarters, ("one more", (20.0, 20.0))), BED, 5.0).beds == 2


def test_sizes_that_are_none_are_refused() -> None:
    with pytest.raises(ValueError, match="more than 0"):
        lay_out((("flat", (0.0, 3.0)),), BED, 5.0)
