"""The clearance for the wanted share, against the normal distribution's tables and against the share itself."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest

from afterpart.checks.fit_clearance_wanted import fit_clearance_wanted
from afterpart.checks.fit_share import fit_share
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED
from afterpart.model.wishes import FitWish
from tests.checks.fit_cases import PAIR, coupon, fitted, plate

MEASURED = coupon(0.1)


def test_a_pair_needs_what_the_tables_of_the_normal_distribution_say() -> None:
    """2 (g - 0.05) = 2.575829 u (99 % between), u^2 = (0.57 / 3)^2 + 0.1^2 + 0.05^2 + 2 x 0.05^2."""
    fit = FitWish(temperature_span_c=0.0, draws=200_000)
    found = fit_clearance_wanted(plate(fit=fit, trials=MEASURED))[0]
    u = math.sqrt((0.57 / 3) ** 2 + 0.1 ** 2 + 0.05 ** 2 + 2 * 0.05 ** 2)
    assert found.limit.low == pytest.approx(2.575829 * u / 2 + 0.05, abs=0.004)
    assert found.value == pytest.approx(0.2) and found.verdict == FAILS


def test_holes_opened_so_far_reach_the_wanted_share() -> None:
    for wanted in (0.8, 0.95, 0.99):
        case = fitted(plate(), wanted_share=wanted)
        to = fit_clearance_wanted(case)[0].suggestions[0].to
        wide = tuple((i, at, 6.0 + 2 * float(to) + 1e-6, role) for i, at, _, role in PAIR)
        opened = fitted(plate(wide), wanted_share=wanted)
        share = fit_share(opened)[0].value
        assert share is not None and 100 * wanted <= share + 0.01 < 100 * wanted + 0.3
        assert fit_clearance_wanted(opened)[0].verdict == ATTENTION


def test_a_higher_share_never_needs_less_clearance() -> None:
    needed = [fit_clearance_wanted(fitted(plate(), wanted_share=p))[0].limit.low for p in (0.5, 0.9, 0.99, 0.999)]
    assert needed == sorted(needed)


def test_the_holes_that_come_of_it_are_told_and_those_too_wide_warned_of() -> None:
    found = fit_clearance_wanted(plate())[0]
    assert found.limit.low is not None and found.value is not None
    assert f"c1, c2 6.4 to {6.0 + 2 * found.limit.low:.2f} mm" in found.advice
    assert ("coarse series" in found.advice) == (6.0 + 2 * found.limit.low > 7.0)
    assert "90% +" in found.advice and "Assumed spread" in found.advice
    far = plate((PAIR[0], ("c2", (150.0, 0.0), 6.4, "locates")))
    assert "coarse series" in fit_clearance_wanted(far)[0].advice


def test_a_loose_cover_is_told_how_far_it_could_close() -> None:
    found = fit_clearance_wanted(plate(tuple((i, at, 9.0, role) for i, at, _, role in PAIR)))[0]
    assert found.verdict == ATTENTION and found.suggestions[0].to < 1.5 and "could even shrink" in found.advice


def test_what_is_not_known_is_not_judged() -> None:
    assert fit_clearance_wanted(fitted(plate(), mate_group="TG9"))[0].verdict == NOT_JUDGED
    assert fit_clearance_wanted(plate(unit="px"))[0].missing == ("reading",)
    assert fit_clearance_wanted(plate(())) == ()
