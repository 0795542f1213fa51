"""How near the built pilot hole stands to one that failed."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.checks.coupon_result import coupon_result
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, PASSES
from afterpart.model.wishes import CouponWish, Trial
from tests.checks.screw_cases import bolted, only, screwed


def test_nothing_to_say_without_formed_threads() -> None:
    assert coupon_result(bolted()) == ()


@pytest.mark.parametrize("trials", [(), (Trial("pilot", 2.4, "drove"),), (Trial("clearance", 3.4, "tight"),)])
def test_without_a_hole_that_failed_the_edge_is_not_known(trials: tuple[Trial, ...]) -> None:
    finding = only(coupon_result(screwed(trials=trials)))
    assert (finding.verdict, finding.missing) == (NOT_JUDGED, ("trial",))


@pytest.mark.parametrize(("step", "verdict"), [(0.05, PASSES), (0.1, FAILS)])
def test_a_whole_step_away_is_enough(step: float, verdict: str) -> None:
    trials = (Trial("pilot", 2.35, "snapped"), Trial("pilot", 2.4, "drove"), Trial("pilot", 2.6, "stripped"))
    finding = only(coupon_result(screwed(pilot=2.4, trials=trials, coupon=CouponWish(step=step))))
    assert finding.value == 0.05 and finding.verdict == verdict and "2.35 mm snapped" in finding.advice


def test_a_hole_that_stripped_is_as_near_as_one_that_snapped() -> None:
    trials = (Trial("pilot", 2.2, "snapped"), Trial("pilot", 2.4, "drove"), Trial("pilot", 2.43, "stripped"))
    finding = only(coupon_result(screwed(pilot=2.4, trials=trials)))
    assert finding.value == 0.03 and finding.verdict == FAILS and "2.43 mm stripped" in finding.advice


def test_the_hole_told_stands_a_whole_step_from_every_one_that_failed() -> None:
    """Of those that drove the nearest that is clear; where none is, a step narrower than what stripped."""
    ladder = (Trial("pilot", 2.3, "snapped"), Trial("pilot", 2.4, "drove"), Trial("pilot", 2.45, "drove"),
              Trial("pilot", 2.5, "stripped"))
    found = only(coupon_result(screwed(pilot=2.47, trials=ladder)))
    assert found.verdict == FAILS and [s.to for s in found.suggestions] == [2.45]
    assert only(coupon_result(screwed(pilot=2.45, trials=ladder))).verdict == PASSES
    alone = only(coupon_result(screwed(pilot=2.9, trials=(Trial("pilot", 2.9, "stripped"),))))
    assert [s.to for s in alone.suggestions] == [2.85] and "narrower" in alone.advice
    assert "try it first" in alone.suggestions[0].why
    shut = (Trial("pilot", 2.38, "snapped"), Trial("pilot", 2.42, "stripped"))
    assert [s.to for s in only(coupon_result(screwed(pilot=2.4, trials=shut))).suggestions] == []


def test_scatter_of_the_printed_holes_is_the_uncertainty() -> None:
    """-0.10, -0.14 and -0.12: s = 0.02; 0.10 less the step of 0.05 lies beyond 2 s = 0.04, 0.08 less 0.05 does not."""
    trials = (Trial("pilot", 2.3, "snapped", printed=2.20), Trial("pilot", 2.4, "drove", printed=2.26),
              Trial("pilot", 2.5, "drove", printed=2.38))
    far, near = only(coupon_result(screwed(pilot=2.4, trials=trials))), only(coupon_result(screwed(pilot=2.38, trials=trials)))
    assert far.u == pytest.approx(0.02) and "-0.12 mm" in far.advice
    assert (far.verdict, near.verdict) == (PASSES, ATTENTION)
