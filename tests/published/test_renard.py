"""Preferred numbers of ISO 3: tables are rounded by the standard, not by rule.

Sources: R5 as a public page prints it; R10 and R20 from memory.  Tolerance: none; exact numbers within the 1.3 % the standard
allows itself (from memory: R10 deviates by up to 1.26 %).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.standards.preferred import SERIES, exact_number, nearest_preferred

PRINTED = {"R5": (1, 1.6, 2.5, 4, 6.3), "R10": (1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8)}


@pytest.mark.parametrize("name", PRINTED)
def test_series_as_printed(name: str) -> None:
    assert SERIES[name] == PRINTED[name]


@pytest.mark.parametrize("name", ["R5", "R10", "R20"])
def test_series_follow_the_geometric_steps(name: str) -> None:
    steps = int(name[1:])
    assert len(SERIES[name]) == steps
    for k, value in enumerate(SERIES[name]):
        assert value == pytest.approx(exact_number(steps, k), rel=0.0130)


def test_series_nest_and_are_not_plainly_rounded() -> None:
    assert set(SERIES["R5"]) < set(SERIES["R10"]) < set(SERIES["R20"])
    assert exact_number(10, 5) == pytest.approx(3.162, abs=0.00051) and 3.15 in SERIES["R10"]
    assert exact_number(5, 1) == pytest.approx(1.585, abs=0.00051) and 1.6 in SERIES["R5"]
    assert round(exact_number(10, 5), 2) not in SERIES["R10"]


@pytest.mark.parametrize("value, found", [(3.3, 3.15), (11.9, 12.5), (99, 100), (0.9, 1.0), (62, 63)])
def test_nearest(value: float, found: float) -> None:
    assert nearest_preferred(value) == pytest.approx(found)
