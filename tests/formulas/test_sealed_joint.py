"""Flange, shares of a seal, unevenness and lift by pressure, against closed forms."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.formulas.sealed_joint import bolt_shares, effective_land, even_width, grooved_moment, pressure_load, unevenness


def test_a_flange_without_a_groove_is_a_plain_strip() -> None:
    """a h^3 / 12 = 20 x 64 / 12."""
    assert grooved_moment(20.0, 4.0, 0.0, 0.0) == pytest.approx(20 * 4.0**3 / 12)
    assert even_width(grooved_moment(20.0, 4.0, 0.0, 0.0), 4.0) == pytest.approx(20.0)


def test_a_groove_as_wide_as_the_flange_leaves_a_thinner_strip() -> None:
    assert grooved_moment(5.0, 9.0, 5.0, 2.0) == pytest.approx(5 * 7.0**3 / 12)


def test_a_grooved_flange_by_the_parallel_axis_theorem() -> None:
    """Two lands 3 x 9 (together) and a floor 4 x 7: areas 27 and 28, middles 4.5 and 3.5, common middle 3.99091; by hand."""
    e = (27 * 4.5 + 28 * 3.5) / 55
    hand = 3 * 9**3 / 12 + 27 * (4.5 - e) ** 2 + 4 * 7**3 / 12 + 28 * (3.5 - e) ** 2
    assert grooved_moment(7.0, 9.0, 4.0, 2.0) == pytest.approx(hand)


@pytest.mark.parametrize("sizes", [(3.0, 9.0, 4.0, 2.0), (7.0, 2.0, 4.0, 2.0), (0.0, 2.0, 0.0, 0.0)])
def test_a_groove_that_leaves_nothing_is_refused(sizes: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match="no room"):
        grooved_moment(*sizes)


def test_shares_add_up_to_the_seal() -> None:
    assert bolt_shares((10.0, 30.0, 20.0)) == (15.0, 20.0, 25.0)
    assert bolt_shares((42.0,)) == (42.0,)


def test_small_formulas() -> None:
    """One layer and 1 in 500; an eighth of the pitch; 10 kPa = 0.01 N/mm2 on 5000 mm2 is 50 N, and a vacuum lifts nothing."""
    assert unevenness(0.2, 50.0) == pytest.approx(0.3)
    assert effective_land(80.0) == pytest.approx(10.0)
    assert pressure_load(10.0, 5000.0) == pytest.approx(50.0)
    assert pressure_load(-10.0, 5000.0) == 0.0
