"""Tolerances and shrinkage of moulded plastic.

Sources: a supplier's sheet of DIN 16742 (now ISO 20457), group TG6, found in two identical copies; NW of a step equals W of the
next, which holds the table against itself.  Shrinkage: a handbook's table 7.1.  Walls: a moulder's guide in inches.
Draft and ribs: two
moulders' guides.  Tolerance: none; walls to their last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.standards.moulding import (
    DRAFT,
    GREATEST_RIB_HEIGHT,
    LEAST_INNER_RADIUS,
    MOULDINGS,
    RIB_OVER_WALL,
    draft_shift,
    moulding,
)
from afterpart.standards.tolerances import MOULDING_RANGE, moulding_scatter, moulding_tolerance

LIMITS = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400)
TOOL_BOUND = (0.07, 0.12, 0.18, 0.22, 0.26, 0.31, 0.37, 0.57, 0.80, 0.93, 1.05, 1.15)
NOT_TOOL_BOUND = (0.12, 0.18, 0.22, 0.26, 0.31, 0.37, 0.57, 0.80, 0.93, 1.05, 1.15, 1.60)
SHRINKAGE = {"ABS": (0.4, 0.7), "ASA": (0.4, 0.7), "PC": (0.6, 0.8), "PA6": (0.8, 2.5), "PA66": (0.8, 2.5), "POM": (1.5, 2.5),
             "PP": (1.3, 2.5), "PE-HD": (1.5, 3.0), "PBT": (1.0, 2.2)}
WALLS = {"ABS": (1.14, 3.56), "PA6": (0.76, 2.92), "PC": (1.02, 3.81), "POM": (0.76, 3.05), "PP": (0.64, 3.81)}


def test_group_as_printed() -> None:
    assert tuple(moulding_tolerance(limit) for limit in LIMITS) == TOOL_BOUND
    assert tuple(moulding_tolerance(limit, tool_bound=False) for limit in LIMITS) == NOT_TOOL_BOUND


def test_across_the_parting_line_is_the_next_step() -> None:
    for here, following in zip(LIMITS, LIMITS[1:], strict=False):
        assert moulding_tolerance(here, tool_bound=False) == moulding_tolerance(following)


def test_scatter_of_a_hundred_millimetres() -> None:
    assert moulding_tolerance(100) == 0.57 and moulding_scatter(100) == pytest.approx(0.19)


def test_outside_the_table_nothing_is_said() -> None:
    assert not MOULDING_RANGE.holds(401)
    with pytest.raises(ValueError, match="400"):
        moulding_tolerance(401)


@pytest.mark.parametrize("name", SHRINKAGE)
def test_shrinkage_as_printed(name: str) -> None:
    figure = moulding(name).shrinkage
    assert (figure.low, figure.high, figure.unit) == (*SHRINKAGE[name], "%") and not figure.from_memory


def test_walls_as_printed() -> None:
    for name, printed in WALLS.items():
        wall = moulding(name).wall
        assert wall is not None and (wall.low, wall.high) == printed
    assert {item.material for item in MOULDINGS} == set(SHRINKAGE)


def test_draft_as_computed() -> None:
    """20 mm at 1 degree: 0.349 mm."""
    assert draft_shift(20, 1) == pytest.approx(0.349, abs=0.00051)


def test_draft_and_ribs_as_printed() -> None:
    """Draft 0.5 to 2 degrees, in which the 40' to 1 degree 20' of an ABS cavity lie; ribs 50 to 60 % of the wall, lower
    than 3 walls; inner radius half a wall."""
    assert (DRAFT.low, DRAFT.high) == (0.5, 2.0) and DRAFT.holds(40 / 60) and DRAFT.holds(1 + 20 / 60)
    assert (RIB_OVER_WALL.low, RIB_OVER_WALL.high, GREATEST_RIB_HEIGHT, LEAST_INNER_RADIUS) == (0.5, 0.6, 3.0, 0.5)
