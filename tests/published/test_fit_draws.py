"""The simulation of whole fits against values that stand elsewhere.

Fit yield: P = Phi(gap / sqrt(s1^2 + s2^2)) = 0.98305 for a gap of 0.3 and deviations of 0.1 and 0.1, 0.92135 for 0.2 (computed
from the normal distribution's tables).  Irwin-Hall distribution of the sum of two rectangular numbers: F(s) = s^2 / 2 up to 1,
1 - (2 - s)^2 / 2 beyond (closed form).  JCGM 100:2008, 5.1.2: independent deviations add as squares.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest

from afterpart.formulas.fit_montecarlo import Contact, Spread, fit_share

FAR = 4.5
DRAWS = 400_000


@pytest.mark.parametrize(("gap", "printed"), ((0.3, 0.98305), (0.2, 0.92135)))
def test_fit_yield_of_one_gap(gap: float, printed: float) -> None:
    found = fit_share((Contact((0.0, 0.0), gap, None, "", 0.0, math.hypot(0.1, 0.1)),), Spread(), DRAWS, 1)
    assert abs(found.share - printed) < FAR * found.standard_error + 0.5e-5


@pytest.mark.parametrize("room", (-0.08, 0.02, 0.06))
def test_two_rectangular_deviations_follow_irwin_hall(room: float) -> None:
    """Walls 100 mm apart: e L <= 2 (c + q), e L and 2 q evenly within +-0.1 each: F((2 c + 0.2) / 0.2)."""
    walls = (Contact((50.0, 0.0), room, (1.0, 0.0), common=True), Contact((-50.0, 0.0), room, (-1.0, 0.0), common=True))
    found = fit_share(walls, Spread(thermal=0.001, gap_common=0.05), DRAWS, 2)
    s = (2 * room + 0.2) / 0.2
    expected = s * s / 2 if s <= 1 else 1 - (2 - s) ** 2 / 2
    assert abs(found.share - expected) < FAR * found.standard_error


def test_independent_deviations_add_as_squares() -> None:
    """Three causes of 0.06, 0.08 and 0.1 mm on a distance act as one of sqrt(0.02) mm."""
    holes = tuple(Contact((x, 0.0), 0.1, None, "", 0.06 / math.sqrt(2)) for x in (-50.0, 50.0))
    found = fit_share(holes, Spread(strain_u=0.0008, scale_u=0.001), DRAWS, 3)
    assert abs(found.share - math.erf(0.2 / math.sqrt(0.02) / math.sqrt(2))) < FAR * found.standard_error
