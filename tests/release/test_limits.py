"""Limits of size against the published tables they rest on, and against what they are for."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.model.feature import Groove, Hole
from afterpart.release.limits import (
    general_limits,
    groove_depth_limits,
    groove_width_limits,
    hole_limits,
    limits_text,
    located_limits,
    position_tolerance,
    thread_through,
)
from afterpart.standards.orings import GROOVES


def hole(diameter: float, role: str = "clears", screw: str = "M6") -> Hole:
    return Hole("c1", (0.0, 0.0), diameter, 0.0, 5.0, "bolt", screw, role=role)


def groove(width: float, depth: float, cord: float) -> Groove:
    return Groove((), (), (), width, depth, 0.3, 5.0, cord, 2.4, 2.0, (0.0, 0.0), 2.0, 2.0, "dust", "")


def test_grades_of_holes() -> None:
    """ISO 286-1, size step 6 to 10 mm: IT13 0.22, IT14 0.36 mm."""
    locating, clearing = hole_limits(hole(6.4, "locates")), hole_limits(hole(6.6))
    assert locating.high - locating.low == pytest.approx(0.22) and clearing.high - clearing.low == pytest.approx(0.36)
    assert (locating.low + locating.high) / 2 == pytest.approx(6.4)
    assert "from memory" in locating.why


def test_a_hole_is_never_allowed_smaller_than_its_bolt() -> None:
    assert hole_limits(hole(6.05)).low == 6.0
    assert hole_limits(hole(4.2, screw="M5")).low < 4.2  # a pilot hole is smaller than its screw by purpose


def test_screws_without_a_metric_thread_have_no_least_size() -> None:
    assert thread_through(hole(3.4, screw="pan head thread-forming screw")) == 0.0
    assert thread_through(hole(5.5, screw="M5 bolt")) == 5.0


def test_fixed_fasteners() -> None:
    """H = F + 2 T: with holes of 6.42 at the least and bolts of 6, each axis may lie in a zone of 0.21."""
    assert position_tolerance((hole(6.6), hole(7.0))) == pytest.approx(0.21)
    assert position_tolerance((hole(3.4, screw="a screw"),)) is None


@pytest.mark.parametrize("row", GROOVES, ids=lambda row: f"{row.cord:g}")
def test_groove_of_a_cord_keeps_to_its_table_on_the_side_it_allows(row) -> None:  # type: ignore[no-untyped-def]
    made = groove(row.width, row.depth, row.cord)
    width, depth = groove_width_limits(made), groove_depth_limits(made, 0.2)
    assert (width.low, depth.low) == (row.width, row.depth)
    assert (width.high, depth.high) == pytest.approx((row.width + row.width_plus, row.depth + row.depth_plus))


def test_groove_of_a_printed_ring_strays_by_what_prints_stray() -> None:
    width, depth = groove_width_limits(groove(3.6, 2.0, 0.0)), groove_depth_limits(groove(3.6, 2.0, 0.0), 0.2)
    assert (width.low, width.high) == pytest.approx((3.4, 3.8)) and (depth.low, depth.high) == pytest.approx((1.9, 2.1))


def test_a_located_edge_keeps_half_its_clearance() -> None:
    """Clearance c all round on a mating size of m: drawn m - 2 c; at its upper limit c / 2 is left all round."""
    mating, clearance = 100.0, 0.2
    limits = located_limits(mating - 2 * clearance, clearance)
    assert (mating - limits.high) / 2 == pytest.approx(clearance / 2)


@pytest.mark.parametrize(("size", "stray"), [(3.0, 0.2), (6.0, 0.3), (30.0, 0.5), (120.0, 0.8), (400.0, 1.2)])
def test_general_tolerance_class_c(size: float, stray: float) -> None:
    """ISO 2768-1, table 1, class c (coarse)."""
    limits = general_limits(size)
    assert limits is not None and limits.high - size == pytest.approx(stray) and size - limits.low == pytest.approx(stray)
    assert general_limits(0.3) is None


def test_limits_in_words() -> None:
    assert limits_text(6.4, hole_limits(hole(6.4, "locates"))) == "±0.11"
    row = GROOVES[0]
    assert limits_text(row.width, groove_width_limits(groove(row.width, row.depth, row.cord))) == f"+{row.width_plus:.2f} / 0"
    assert limits_text(1.0, None) == ""
