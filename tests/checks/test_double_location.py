"""Located once, twice, or not at all: freedoms counted by hand."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.double_location import double_location
from afterpart.model.finding import FAILS, PASSES
from tests.checks.fit_cases import PAIR, outer_lip, pin_hole, plate, round_lip


def test_a_pair_of_holes_locates_once() -> None:
    found = double_location(plate())
    assert [f.verdict for f in found] == [PASSES] and found[0].value == 0.0


def test_a_third_hole_fights_the_pair() -> None:
    """sqrt(50^2 + 30^2) = 58.3 mm apart: up to 80 mm TG6 lets it lie 0.37 mm elsewhere."""
    found = double_location(plate((*PAIR, ("c3", (0.0, 30.0), 6.4, "locates"))))
    assert found[0].verdict == FAILS and found[0].value == 1.0
    assert [(s.key, s.now, s.to) for s in found[0].suggestions] == [("role.role", "locates", "clears")]
    assert "may lie 0.37 mm elsewhere" in found[0].advice


def test_a_lip_holds_everything_so_that_both_holes_are_too_many() -> None:
    found = double_location(plate(lip=outer_lip(0.3)))
    assert found[0].value == 2.0
    assert "hole c1 and hole c2 locate what lip on outer already holds" in found[0].advice
    assert len(found[0].suggestions) == 2


def test_a_round_lip_and_one_hole_are_a_pair() -> None:
    assert [f.value for f in double_location(plate(PAIR[:1], lip=round_lip(0.3)))] == [0.0]


def test_holes_that_only_clear_leave_the_cover_without_a_place() -> None:
    found = double_location(plate(tuple((*h[:3], "clears") for h in PAIR)))
    assert [f.verdict for f in found] == [PASSES, FAILS]
    assert found[1].value == 0.0 and found[1].limit.low == 3.0


def test_one_hole_holds_the_place_but_not_the_direction() -> None:
    found = double_location(plate(PAIR[:1]))
    assert found[1].value == 2.0


def test_a_pin_counts_though_its_gap_is_not_known() -> None:
    assert double_location(plate(PAIR, more=(pin_hole(),)))[0].value == 1.0


def test_nothing_that_meets_a_machine_nothing_is_said() -> None:
    assert double_location(plate(())) == ()
