"""Every finding that was judged says what moves it most, or why nothing does: over two examples as built, and by closed forms."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.checks.catalogue import CHECKS
from afterpart.checks.judge import ALONE, COUNTED, MEASURED, judged, strongest
from afterpart.model.finding import NOT_JUDGED, Finding, Limit
from tests.parts.examples import case_of

SLOW = ("fit_share", "fit_clearance_wanted")
"""Monte Carlo: their own tests ask them."""


def findings_of(name: str) -> tuple[Finding, ...]:
    case = case_of(name)
    return tuple(finding for check in CHECKS if check.__name__ not in SLOW for finding in check(case))


@pytest.mark.parametrize("name", ["bad_cover", "pump_lid"])
def test_every_judged_finding_says_what_moves_it_or_why_nothing_does(name: str) -> None:
    found = [finding for finding in findings_of(name) if finding.verdict != NOT_JUDGED]
    assert len(found) > 15
    silent = [(finding.check, finding.subject) for finding in found if not finding.sensitivity and not finding.insensitive]
    assert not silent
    assert {finding.insensitive for finding in found if len(finding.sensitivity) == 1} == {ALONE}
    assert {finding.insensitive for finding in found if len(finding.sensitivity) == 2} == {""}
    for finding in found:
        sizes = [abs(one.value_per_percent) for one in finding.sensitivity]
        assert len(sizes) <= 2 and sizes == sorted(sizes, reverse=True)


def test_the_two_strongest_of_a_power_law_are_its_exponents() -> None:
    """v = a^3 b^-2 c: one percent more moves it by 3, -2 and 1 percent, to second order."""
    found = strongest(lambda a, b, c: a**3 * b**-2 * c, {"a": 2.0, "b": 4.0, "c": 10.0})
    assert [one.input for one in found] == ["a", "b"]
    assert [one.value_per_percent for one in found] == pytest.approx([0.15, -0.10], rel=1e-3)


@pytest.mark.parametrize("why", [MEASURED, COUNTED])
def test_a_reason_stands_only_where_no_sensitivity_does(why: str) -> None:
    def told(inputs: dict[str, float]) -> Finding:
        return judged("x", "y", 1.0, "mm", Limit(high=2.0), source="s", formula="f", advice="a", insensitive=why,
                      sensitivity=strongest(lambda width: width, inputs))

    assert told({"width": 0.0}).insensitive == why and told({"width": 0.0}).sensitivity == ()
    (alone,) = told({"width": 1.0}).sensitivity
    assert told({"width": 1.0}).insensitive == ALONE and alone.value_per_percent == pytest.approx(0.01)
