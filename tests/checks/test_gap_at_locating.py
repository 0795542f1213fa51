"""The gap left at worst, worked by hand: TG6 0.57 mm over 100 mm and 0.80 over 120 (DIN 16742 sheet), PETG 70e-6 / K."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest

from afterpart.checks.gap_at_locating import gap_at_locating
from afterpart.model.finding import FAILS, NOT_JUDGED
from afterpart.model.wishes import FitWish
from tests.checks.fit_cases import PAIR, coupon, fitted, outer_lip, pin_hole, plate

MEASURED = coupon(0.05, scatter=0.04)
MEASURED_MOST = 0.05 + math.sqrt(3.0) * math.hypot(0.04 / 20.0, 0.005 * 0.4)
"""400 holes of scatter 0.04: their mean is known to 0.04 / sqrt(400), and the scale to 0.5 % over the 0.4 mm to the bolt's 6."""
OFF_100 = 0.57 + 3 * 0.1 + 2 * 0.05 + 70e-6 * 20 * 100
"""Mating part, printer, outline and warmth (20 K) over 100 mm."""


def test_a_pair_of_holes_shares_what_is_left() -> None:
    """(g1 + g2 - dL) / 2 with g = (6.4 - 0.3 - 3 x 0.1 - 6) / 2 = -0.1."""
    found = gap_at_locating(plate())
    assert len(found) == 1
    assert found[0].value == pytest.approx((-0.1 - 0.1 - OFF_100) / 2)
    assert found[0].verdict == FAILS and found[0].from_memory
    assert found[0].suggestions == ()  # it would take more than the coarse series


def test_the_suggested_clearance_passes() -> None:
    """Good printer, close holes: 0.31 + 0.03 + 0.1 + 0.042 over 30 mm, undersize 0.05 as measured."""
    near = (("c1", (-15.0, 0.0), 6.4, "locates"), ("c2", (15.0, 0.0), 6.4, "locates"))
    fit = FitWish(printer_u=0.01, tool_specific=False)
    found = gap_at_locating(plate(near, fit=fit, trials=MEASURED))[0]
    assert found.value is not None and found.value < 0 and len(found.suggestions) == 1
    wide = tuple((i, at, 6.0 + 2 * float(found.suggestions[0].to) + 1e-6, role) for i, at, _, role in near)
    again = gap_at_locating(plate(wide, fit=fit, trials=MEASURED))[0]
    assert again.value == pytest.approx(0.0, abs=1e-5) and again.verdict != FAILS


def test_a_measured_coupon_takes_the_place_of_the_rule() -> None:
    by_rule, measured = gap_at_locating(plate())[0], gap_at_locating(plate(trials=MEASURED))[0]
    # undersize 0.3 at most by the rule; the printer's 3 x 0.1 falls to 3 x 0.04 in each hole and in the distance
    assert measured.value - by_rule.value == pytest.approx((0.3 - MEASURED_MOST) / 2 + 3 * 0.06 / 2 + 3 * 0.06 / 2)


def test_metal_sleeves_do_not_print_narrow() -> None:
    """g = (6.4 - 6) / 2 = 0.2 in each."""
    assert gap_at_locating(plate(sleeve=6.4))[0].value == pytest.approx((0.4 - OFF_100) / 2)


def test_a_lip_has_half_the_deviation_on_each_side() -> None:
    """0.6 - (0.80 + 0.3 + u + warmth) / 2 over 121.2 mm; u = 2 sqrt(0.05^2 - 0.03^2 + (3e-4 x 121.2)^2)."""
    found = gap_at_locating(plate((), lip=outer_lip(0.6)))[0]
    size = 121.2
    u = 2 * (0.05 ** 2 - 0.03 ** 2 + (3e-4 * size) ** 2) ** 0.5
    assert found.value == pytest.approx(0.6 - (0.80 + 0.3 + u + 70e-6 * 20 * size) / 2)
    assert [s.key for s in found.suggestions] == ["lip.clearance"]
    assert gap_at_locating(plate((), lip=outer_lip(float(found.suggestions[0].to) + 0.01)))[0].verdict != FAILS


def test_one_hole_alone_meets_its_own_bolt_only() -> None:
    assert gap_at_locating(plate(PAIR[:1], trials=MEASURED))[0].value == pytest.approx((6.4 - MEASURED_MOST - 0.12 - 6.0) / 2)


def test_three_holes_are_judged_with_their_farthest_partners() -> None:
    three = (*PAIR, ("c3", (0.0, 10.0), 6.6, "locates"))
    assert [f.subject.split(",")[0] for f in gap_at_locating(plate(three))] == ["holes c1 and c2", "holes c1 and c3"]


def test_what_is_not_known_is_not_judged() -> None:
    assert gap_at_locating(plate(more=(pin_hole(),)))[-1].verdict == NOT_JUDGED
    for case in (fitted(plate(), mate_group="TG4"), plate(purpose="insert"),
                 plate((PAIR[0], ("c2", (360.0, 0.0), 6.4, "locates")))):
        found = gap_at_locating(case)
        assert [f.verdict for f in found] == [NOT_JUDGED] and not found[0].missing
    for case, key in ((plate(material="moonstone"), "printer.material"), (plate(unit="px"), "reading")):
        assert gap_at_locating(case)[0].missing == (key,)


def test_a_distance_at_the_edge_of_the_table_is_judged() -> None:
    assert gap_at_locating(plate((PAIR[0], ("c2", (350.0, 0.0), 6.4, "locates"))))[0].verdict == FAILS


def test_nothing_locates_nothing_is_said() -> None:
    assert gap_at_locating(plate(tuple((*h[:3], "clears") for h in PAIR))) == ()
