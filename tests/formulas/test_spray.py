"""Spray and openings: straight drops against the drawing of an opening and its hood."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.formulas.spray import greatest_dry_facing_deg, hood_length


def test_cases_by_hand() -> None:
    """Spray 60 degrees off the vertical on an upright opening 30 mm high: L = 30 tan 60 = 51.96 mm."""
    assert greatest_dry_facing_deg(60.0) == 30.0
    assert hood_length(30.0, 90.0, 60.0) == pytest.approx(30.0 * math.tan(math.radians(60.0)))
    assert hood_length(30.0, 35.0, 60.0) == pytest.approx(30.0 * math.tan(math.radians(5.0))), "just past dry: a short hood"
    assert hood_length(30.0, 0.0, 60.0) == 0.0 and hood_length(30.0, 30.0, 60.0) == 0.0
    assert hood_length(30.0, 120.0, 60.0) is None and hood_length(30.0, 180.0, 60.0) is None


@given(st.floats(5.0, 200.0), st.floats(0.0, 180.0), st.floats(5.0, 85.0), st.floats(0.0, 1.0))
def test_under_the_hood_no_drop_reaches_the_opening(height: float, facing: float, reach: float, share: float) -> None:
    """Each drop within the reach that passes the hood's tip lands below the opening's lower edge or never meets its plane.

    In the upright plane of the opening's normal: normal n, upper edge at the origin, the opening runs H along t, downhill.
    """
    hood = hood_length(height, facing, reach)
    if hood is None:
        return
    f = math.radians(facing)
    normal, along = (math.sin(f), -math.cos(f)), (-math.cos(f), -math.sin(f))
    lean = math.radians(-reach + 2.0 * share * reach)
    falls = (math.sin(lean), -math.cos(lean))
    towards = falls[0] * normal[0] + falls[1] * normal[1]
    slides = falls[0] * along[0] + falls[1] * along[1]
    if towards < -1e-9 and slides > 0.0:
        assert hood * slides / -towards >= height * (1.0 - 1e-6)
