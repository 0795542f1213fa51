"""The two ways to state friction agree: K of the short form, coefficients in the full one."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.formulas.bolted import equivalent_k, k_band
from afterpart.standards.clearance_holes import clearance_hole
from afterpart.standards.fasteners import bolt, head
from afterpart.standards.friction import FRICTIONS, friction


@pytest.mark.parametrize("state", FRICTIONS, ids=lambda f: f.state)
@pytest.mark.parametrize("size", ["M4", "M5", "M6", "M8"])
def test_coefficients_give_about_the_same_k(state, size: str) -> None:
    """Within 0.02 of K at both ends, for socket head bolts in medium holes."""
    for coefficient, k in ((state.friction_low, state.k_low), (state.friction_high, state.k_high)):
        found = equivalent_k(bolt(size), coefficient, head("ISO 4762", size).bearing_diameter, clearance_hole(size).medium)
        assert found == pytest.approx(k, abs=0.02)


def test_a_wrench_widens_every_band() -> None:
    for state in FRICTIONS:
        low, high = k_band(state)
        assert low < state.k_low < state.k_high < high
    assert friction().state == "as received" and (friction().k_low, friction().k_high) == (0.18, 0.25)


def test_bands_as_printed() -> None:
    """A bolt supplier's page: waxed 0.10 to 0.14, lubricated 0.14 to 0.18, as received 0.18 to 0.25."""
    assert {f.state: (f.k_low, f.k_high) for f in FRICTIONS} == {
        "waxed": (0.10, 0.14), "lubricated": (0.14, 0.18), "as received": (0.18, 0.25)}
